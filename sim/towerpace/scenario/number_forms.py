"""The forms in which a number may be written, with what each of their keys means, and their JSON Schemas."""

import math
from typing import Any

from towerpace.scenario.quantities import Bounds

Schema = dict[str, Any]

# key of a form: what it means, and an example.
NUMBER_KEYS: dict[str, tuple[str, str]] = {
    "value": ("The number itself, beside its source.", "9.8"),
    "low": ("The lowest value that can happen.", "18"),
    "likely": ("The value that happens most often.", "36"),
    "high": ("The highest value that can happen.", "75"),
    "shape": (
        'How the values between lie: "pert", a smooth hump that thins out towards both ends (beta-PERT, the '
        'usual choice), or "triangular", straight lines with more weight on the ends.',
        '"pert"',
    ),
    "p10": ("The value that one case in ten stays below.", "25"),
    "p50": ("The value that half of the cases stay below.", "40"),
    "p90": ("The value that nine cases in ten stay below.", "75"),
    "samples": (
        "Measured values: a CSV file, its path relative to this file; values between them may happen too.",
        '"setting_times.csv"',
    ),
    "column": ("Column of that file that holds the values.", '"minutes"'),
    "source": ("Where the number comes from.", '"from memory"'),
    "note": ("A remark for the next reader.", '"as agreed"'),
}
# The forms: what each is for, and the keys that it must have.
FORMS: dict[str, tuple[str, tuple[str, ...]]] = {
    "number with its source": ("A certain number that says where it comes from.", ("value",)),
    "range": ("Lowest, most likely and highest value.", ("low", "likely", "high", "shape")),
    "quantiles": ("Three values with the share of cases below each.", ("p10", "p50", "p90")),
    "samples": ("Measured values from a file.", ("samples", "column")),
}
# pydantic refuses references to definitions that it has not made: this word stands in for them until then.
FORM = "number form"

_ALSO = ("source", "note")
_TEXTS = ("samples", "column", "source", "note")


def number_schema(bounds: Bounds) -> Schema:
    """JSON Schema of a number, plain or with its source."""
    return {"anyOf": [_plain(bounds), {FORM: "number with its source"}]}


def spread_schema(bounds: Bounds) -> Schema:
    """JSON Schema of a number or a spread; that the ends of a spread keep the bounds is left to `check`."""
    return {"anyOf": [_plain(bounds), *({FORM: form} for form in FORMS)]}


def form_definitions() -> dict[str, Schema]:
    """The definitions for which `number_schema` and `spread_schema` have `FORM`."""
    return {_name(form): _form(form) for form in FORMS}


def _form(form: str) -> Schema:
    meaning, keys = FORMS[form]
    return {
        "type": "object",
        "description": meaning,
        "properties": {key: _key(key) for key in (*keys, *_ALSO)},
        "required": list(keys),
        "additionalProperties": False,
    }


def _key(key: str) -> Schema:
    schema: Schema = {"type": "string" if key in _TEXTS else "number", "description": NUMBER_KEYS[key][0]}
    return {"enum": ["pert", "triangular"], "description": NUMBER_KEYS[key][0]} if key == "shape" else schema


def _plain(bounds: Bounds) -> Schema:
    schema: Schema = {"type": "number"}
    # JSON knows no infinity.
    if math.isfinite(bounds.low):
        schema["exclusiveMinimum" if bounds.low_open else "minimum"] = bounds.low
    if math.isfinite(bounds.high):
        schema["exclusiveMaximum" if bounds.high_open else "maximum"] = bounds.high
    return schema


def _name(form: str) -> str:
    return form.replace(" ", "_")


def reference(form: str) -> Schema:
    """Reference to the definition of a form."""
    return {"$ref": f"#/$defs/{_name(form)}"}
