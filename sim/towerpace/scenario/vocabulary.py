"""Every key of a scenario file with what it means: one walk of the schema, for people to look things up."""

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from towerpace.faults import Fault, InputError, nearest_word
from towerpace.scenario.complaints import listed
from towerpace.scenario.meanings import NEEDED, UNIT
from towerpace.scenario.number_forms import FORMS, NUMBER_KEYS
from towerpace.scenario.schema import Settings
from towerpace.scenario.spreads import Spread
from towerpace.scenario.words import Slot, allowed_words, field_slot, kinds_of, kinds_words, unwrapped

NAME = "NAME"
ALWAYS = "always"
SPREAD = "spread"  # stands for any key whose number may be uncertain
REMARKS = ("source", "note")
# The longest ends first: "_m_s" is no length.
_UNITS = (
    ("_mm_h", "mm/h"),
    ("_m_s3", "m/s³"),
    ("_m_s2", "m/s²"),
    ("_m_s", "m/s"),
    ("_degC", "°C"),
    ("_days", "days"),
    ("_min", "min"),
    ("_km", "km"),
    ("_kg", "kg"),
    ("_m2", "m²"),
    ("_h", "h"),
    ("_m", "m"),
)


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a scenario file.

    Parameters
    ----------
    name : str
        Dotted; NAME stands for a name of the user, [] for any entry of a list.
    meaning, unit, allowed, default, example : str
        In words; of a table, `example` is its headline and `unit` and `default` are empty.
    needed : str
        "always" (where its table is given), a condition, or "" where it may be left out.
    is_table : bool
        Whether keys stand below it.
    """

    name: str
    meaning: str
    unit: str
    allowed: str
    default: str
    needed: str
    example: str
    is_table: bool

    @property
    def last(self) -> str:
        """The key itself, without the tables around it."""
        return self.name.rpartition(".")[2].removesuffix("[]")

    @property
    def line(self) -> str:
        """How it stands in the file."""
        top = self.name.partition(".")[0].removesuffix("[]")
        headline = self.example.startswith((f"[{top}", f"[[{top}"))
        return self.example if headline else f"{self.last} = {self.example}"


def vocabulary() -> list[Key]:
    """Every key, in the order of the schema, tables before what stands in them."""
    return list(_of_model(Settings, prefix=""))


def look_up(prefix: str) -> list[Key]:
    """Keys that begin with a dotted prefix, in which names of the user's own may stand.

    Raises
    ------
    InputError
        If there is none.

    Examples
    --------
    >>> [key.name for key in look_up("limit.flat_lift.kind")]
    ['limit.NAME.kind']
    >>> [key.name for key in look_up("likely")]
    ['spread.likely']
    """
    keys = [*vocabulary(), *_of_numbers()]
    asked = prefix.replace("[]", "").split(".")
    matching = [key for key in keys if _matches(asked, key.name.replace("[]", "").split("."))]
    if not matching:
        named = [key for key in keys if key.last == asked[-1]]
        if named and len(asked) == 1:
            return named
        raise InputError([_unknown(prefix, keys)])
    return matching


def _of_numbers() -> Iterator[Key]:
    """Keys of the forms in which a number may be written: `spread.low` and so on."""
    for key, (meaning, example) in NUMBER_KEYS.items():
        forms = [form for form, (_, keys) in FORMS.items() if key in keys]
        needed = f"in the form {' or '.join(forms)}" if forms else ""
        yield Key(f"{SPREAD}.{key}", meaning, "", "", "", needed, example, is_table=False)


def _unknown(prefix: str, keys: list[Key]) -> Fault:
    names = [key.name.replace("[]", "") for key in keys]
    tables = list(dict.fromkeys(name.partition(".")[0] for name in names))
    lasts = [key.last for key in keys]
    nearest = nearest_word(prefix, [*tables, *names]) or nearest_word(prefix.rpartition(".")[2], lasts)
    return Fault(
        "keys", None, "PREFIX", f'"{prefix}"', f"a table, or a key of one: {listed(tables)}", nearest
    )


def _matches(asked: list[str], parts: list[str]) -> bool:
    if len(asked) > len(parts):
        return False
    return all(part in (NAME, ask) for ask, part in zip(asked, parts, strict=False))


def _of_model(model: type[BaseModel], *, prefix: str) -> Iterator[Key]:
    fields = list(model.model_fields.items())
    # What is said of every table stands last.
    fields.sort(key=lambda pair: pair[0] in REMARKS)
    for name, field in fields:
        yield from _of_field(field, name=f"{prefix}{field.alias or name}")


def _of_field(field: FieldInfo, *, name: str) -> Iterator[Key]:
    slot = field_slot(field)
    suffix, inner = _inside(slot)
    yield _key(field, slot, name=name + suffix, is_table=inner is not None)
    if inner is None:
        return
    kinds = kinds_of(inner)
    prefix = f"{name}{suffix}."
    yield from _of_kinds(kinds, inner, prefix=prefix) if kinds else _of_model(inner.type, prefix=prefix)


def _inside(slot: Slot) -> tuple[str, Slot | None]:
    """What a field adds to the path of the keys in its table, and the table; None where it holds a value."""
    arguments = get_args(slot.type)
    if get_origin(slot.type) is dict:
        inner = unwrapped(arguments[1])
        return (f".{NAME}", inner) if _is_table(inner) else ("", None)
    if get_origin(slot.type) is tuple:
        inner = unwrapped(arguments[0])
        return ("[]", inner) if _is_table(inner) else ("", None)
    return "", slot if _is_table(slot) else None


def _is_table(slot: Slot) -> bool:
    return bool(kinds_of(slot)) or (isinstance(slot.type, type) and issubclass(slot.type, BaseModel))


def _of_kinds(kinds: Any, slot: Slot, *, prefix: str) -> Iterator[Key]:
    """Keys of a table that may be of several kinds: those of all kinds once, the others with their kind."""
    of_kind = {kind: list(_of_model(model, prefix=prefix)) for kind, model in kinds.items()}
    names = [{key.name for key in keys} for keys in of_kind.values()]
    shared = set.intersection(*names)
    first = next(iter(of_kind.values()))
    for key in first:
        if key.name == f"{prefix}kind":
            yield replace(key, allowed=kinds_words(slot))
    yield from (key for key in first if key.name in shared and key.last not in ("kind", *REMARKS))
    for kind, keys in of_kind.items():
        only = f'with kind = "{kind}"'
        for key in keys:
            if key.name not in shared:
                yield replace(key, needed=_with(only, key.needed), meaning=f"{key.meaning} Only {only}.")
    yield from (key for key in first if key.name in shared and key.last in REMARKS)


def _with(only: str, needed: str) -> str:
    if needed == ALWAYS:
        return only
    return f"{only}, {needed}" if needed else ""


def _key(field: FieldInfo, slot: Slot, *, name: str, is_table: bool) -> Key:
    extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    last = name.rpartition(".")[2]
    unit = str(extra.get(UNIT) or next((unit for end, unit in _UNITS if last.endswith(end)), ""))
    needed = ALWAYS if field.is_required() else str(extra.get(NEEDED, ""))
    return Key(
        name=name,
        meaning=field.description or "",
        unit="" if is_table else unit,
        allowed=_allowed(slot, is_table=is_table),
        default="" if is_table or field.is_required() else _default(field),
        needed=needed,
        example=str((field.examples or [""])[0]),
        is_table=is_table,
    )


def _allowed(slot: Slot, *, is_table: bool) -> str:
    if not is_table:
        return allowed_words(slot, path=())
    if get_origin(slot.type) is dict:
        return "tables, each under a name of its own"
    return slot.words or ("a list of tables" if get_origin(slot.type) is tuple else "a table")


def _default(field: FieldInfo) -> str:
    default = field.get_default(call_default_factory=True)
    if default is None:
        return "none"
    if isinstance(default, Spread):
        return f"{default.params[0]:g}"
    if isinstance(default, bool):
        return "true" if default else "false"
    if isinstance(default, int | float):
        return f"{float(default):g}"
    if isinstance(default, tuple | dict):
        return "none"
    return json.dumps(default, ensure_ascii=False) if default else "none"
