"""Every key of a scenario is told: in a sentence, with an example that the program itself takes."""

import re
import tomllib

import pytest
from pydantic import BaseModel, ConfigDict, create_model

from towerpace.faults import InputError
from towerpace.scenario import schema
from towerpace.scenario.json_schema import json_schema
from towerpace.scenario.vocabulary import NAME, look_up, vocabulary

MODELS = [
    model
    for name in schema.__all__
    if isinstance(model := getattr(schema, name), type) and issubclass(model, BaseModel)
]
FIELDS = [
    pytest.param(field, id=f"{model.__name__}.{field.alias or name}")
    for model in MODELS
    for name, field in model.model_fields.items()
]


def dotted_keys(node, *, root, prefix):
    """Every key below a JSON Schema, dotted: a second walk, over what editors are given."""
    node = root["$defs"][node["$ref"].rpartition("/")[2]] if "$ref" in node else node
    for branch in node.get("oneOf", []):
        yield from dotted_keys(branch, root=root, prefix=prefix)
    if node.get("type") == "array":
        yield from dotted_keys(node["items"], root=root, prefix=f"{prefix}[]")
    if isinstance(node.get("additionalProperties"), dict) and "$ref" in str(node["additionalProperties"]):
        yield from dotted_keys(node["additionalProperties"], root=root, prefix=f"{prefix}.{NAME}")
    for name, below in node.get("properties", {}).items():
        dotted = f"{prefix}.{name}" if prefix else name
        yield dotted
        yield from dotted_keys(below, root=root, prefix=dotted)


def test_the_walk_tells_every_key_of_the_schema():
    root = json_schema()
    keys = {key for key in dotted_keys(root, root=root, prefix="") if not key.endswith(("[].NAME", "NAME"))}
    told = {key.name.removesuffix(".NAME").removesuffix("[]") for key in vocabulary()}

    assert len(keys) > 300
    assert told == keys


def test_no_key_is_told_twice():
    names = [key.name for key in vocabulary()]

    assert len(names) == len(set(names))


@pytest.mark.parametrize("field", FIELDS)
def test_every_key_has_a_sentence(field):
    assert field.description
    assert re.fullmatch(r"[A-Z].{12,}\.", field.description), "a whole sentence, from capital to full stop"


@pytest.mark.parametrize("field", FIELDS)
def test_every_example_is_one_that_the_program_takes(field):
    example = field.examples[0]
    if re.match(r"\[\[?[a-z]", example):
        assert tomllib.loads(example), "the headline of a table"
        return
    value = tomllib.loads(f"value = {example}")["value"]
    config = ConfigDict(strict=True, arbitrary_types_allowed=True)
    table = create_model("OneKey", __config__=config, key=(field.rebuild_annotation(), ...))

    table.model_validate({"key": as_tuples(value)})


def as_tuples(value):
    if isinstance(value, dict):
        return {key: as_tuples(entry) for key, entry in value.items()}
    return tuple(as_tuples(entry) for entry in value) if isinstance(value, list) else value


def test_a_unit_is_read_off_the_end_of_a_key():
    units = {key.name: key.unit for key in vocabulary()}

    assert units["hoist.speed_m_s"] == "m/s"
    assert units["hoist.acceleration_m_s2"] == "m/s²"
    assert units["limit.NAME.rain_above_mm_h"] == "mm/h"
    assert units["activity.NAME.height_m"] == "m"
    assert units["tower.name"] == ""


def test_numbers_name_their_unit_or_say_that_they_have_none():
    without = [
        key.name
        for key in vocabulary()
        if not key.unit and key.allowed.startswith(("a number", "a whole number")) and key.last != "level"
    ]

    assert without == ["weather.replay_year"]


def test_a_key_of_one_kind_of_trade_says_which():
    [families] = look_up("trade.panels.families")

    assert families.needed == 'with kind = "panels"'
    assert families.meaning.endswith('Only with kind = "panels".')


def test_names_of_the_user_may_stand_in_what_is_looked_up():
    assert [key.name for key in look_up("calendar.site.week.mon")] == ["calendar.NAME.week.mon"]
    assert [key.name for key in look_up("slip_days")] == ["structure.slip_days", "level.NAME.slip_days"]


def test_an_unknown_key_is_refused_with_the_nearest():
    with pytest.raises(InputError) as caught:
        look_up("hoist.shar")

    assert str(caught.value).endswith("; nearest: hoist.share")
