"""The scenario file as a JSON Schema, for editors that complete keys and mark faults while one types.

It sees types, bounds and unknown keys; names that nothing defines and keys that depend on one another are
left to `check`, which decides.
"""

import datetime as dt
import json
import tomllib
from importlib.resources import files
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from towerpace.scenario.meanings import NEEDED, UNIT
from towerpace.scenario.number_forms import FORM, Schema, form_definitions, reference
from towerpace.scenario.quantities import Value
from towerpace.scenario.schema import Settings
from towerpace.scenario.spreads import Spread

NAME = "scenario.schema.json"
_NOT_SHIPPED = ("examples", UNIT, NEEDED, "title")
DIALECT = "https://json-schema.org/draft/2020-12/schema"


class _SchemaWriter(GenerateJsonSchema):
    """pydantic's generator without what a TOML file cannot say: null, and defaults that are no JSON."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        inner = self.generate_inner(schema["schema"])
        default = schema.get("default")
        if isinstance(default, Spread):
            default = default.params[0]
        elif isinstance(default, Value):
            default = float(default)
        if not isinstance(default, bool | int | float | str):
            return inner
        return {**inner, "default": default}

    def field_title_should_be_set(self, schema: object) -> bool:  # noqa: ARG002  pydantic's interface
        return False


def json_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of a whole scenario file."""
    generated = Settings.model_json_schema(schema_generator=_SchemaWriter, by_alias=True)
    schema: Schema = _with_words(generated)
    schema["$defs"] |= form_definitions()
    head: Schema = {"$schema": DIALECT, "title": "A towerpace scenario"}
    return head | schema


def json_schema_text() -> str:
    """The schema as a file."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def shipped_text() -> str:
    """The schema as it is shipped with the program."""
    return (files("towerpace.scenario") / NAME).read_text(encoding="utf-8")


def _with_words(node: Any) -> Any:
    """The same schema; units and conditions join the description, examples are values instead of TOML."""
    if isinstance(node, list):
        return [_with_words(entry) for entry in node]
    if not isinstance(node, dict):
        return node
    if FORM in node:
        return reference(node[FORM])
    words = {key: entry for key, entry in node.items() if key not in _NOT_SHIPPED}
    # Below "properties" the same words are keys of the user, each with a schema of its own.
    words |= {key: entry for key, entry in node.items() if isinstance(entry, dict)}
    # A word of another standard, which readers of JSON Schema pass over.
    words.pop("discriminator", None)
    shipped = {key: _with_words(entry) for key, entry in words.items()}
    # pydantic leaves out a description that is the first line of the table's docstring.
    if isinstance(node.get("examples"), list) and "description" in node:
        shipped["description"] = _described(node)
        example = _example(node["examples"][0])
        if example is not None:
            shipped["examples"] = [example]
    return shipped


def _described(node: Schema) -> str:
    unit, needed = node.get(UNIT), node.get(NEEDED)
    words = [node["description"]]
    words += [f"Unit: {unit}."] if isinstance(unit, str) else []
    words += [f"Needed {needed}."] if isinstance(needed, str) else []
    return " ".join(words)


def _example(text: str) -> object:
    """An example as JSON; None for the headline of a table."""
    if text.startswith("[") and not text.startswith(('["', "[{", "[2", "[]", '[["')):
        return None
    return _plain(tomllib.loads(f"example = {text}")["example"])


def _plain(value: object) -> object:
    if isinstance(value, dict):
        return {key: _plain(entry) for key, entry in value.items()}
    if isinstance(value, list):
        return [_plain(entry) for entry in value]
    return value.isoformat() if isinstance(value, dt.date) else value
