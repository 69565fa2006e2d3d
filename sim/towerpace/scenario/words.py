"""What the vocabulary allows at a path, in words; pydantic errors turned into complaints with those words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from towerpace.faults import nearest_word
from towerpace.scenario.complaints import (
    MISSING,
    Complaint,
    Path,
    RefusalError,
    dotted,
    shown,
    unknown_key,
)

# Words in use elsewhere for a choice of ours: a fault names our word even where they are not spelt alike.
OTHER_WORDS = {
    "lhs": "latin",
    "lhc": "latin",
    "latin hypercube": "latin",
    "factorial": "grid",
    "full factorial": "grid",
    "eurocode": "en1991",
    "ec1": "en1991",
    "log": "en1991",
    "average": "mean",
    "sustained": "mean",
    "peak": "gust",
    "bootstrap": "blocks",
    "record": "replay",
    "crew": "gang",
    "fifo": "first come",
}


@dataclass(frozen=True, slots=True)
class Words:
    """What a type of field allows, as the end of a sentence; stands in the field's annotation."""

    text: str


@dataclass(frozen=True, slots=True)
class Slot:
    """A type of the vocabulary with its words, without the wrapping of optional and annotated types."""

    type: Any
    words: str | None = None


def complaints_of(error: ValidationError, *, root: type[BaseModel]) -> list[Complaint]:
    """Every fault that pydantic found, in the words of the vocabulary."""
    complaints: list[Complaint] = []
    for detail in error.errors(include_url=False):
        # Of a value that may be of several types each type complains, in the same words.
        complaints += [one for one in _complaints(detail, root=root) if one not in complaints]
    return complaints


def keys_of(model: type[BaseModel]) -> list[str]:
    """Keys of a table as the user writes them, its own before `source` and `note`."""
    keys = [field.alias or name for name, field in model.model_fields.items()]
    return [key for key in keys if key not in ("source", "note")] + [
        key for key in ("source", "note") if key in keys
    ]


def _complaints(detail: ErrorDetails, *, root: type[BaseModel]) -> Sequence[Complaint]:
    path, table, slot = _walk(detail["loc"], root=root)
    match detail["type"]:
        case "value_error" if isinstance(detail["ctx"]["error"], RefusalError):
            return [complaint.under(path) for complaint in detail["ctx"]["error"].complaints]
        case "missing":
            return [Complaint(path, MISSING, allowed_words(slot, path=path))]
        case "extra_forbidden":
            model = table.type
            return [unknown_key(path, keys=keys_of(model), remark=str(getattr(model, "remark", "")))]
        case "union_tag_not_found":
            return [Complaint((*path, "kind"), MISSING, kinds_words(slot))]
        case "union_tag_invalid":
            kind = detail["input"]["kind"]
            return [_wrong((*path, "kind"), kind, allowed=kinds_words(slot), choices=list(kinds_of(slot)))]
        case _:
            choices = get_args(slot.type) if get_origin(slot.type) is Literal else ()
            return [_wrong(path, detail["input"], allowed=allowed_words(slot, path=path), choices=choices)]


def _wrong(path: Path, value: object, *, allowed: str, choices: Sequence[str]) -> Complaint:
    nearest = _nearest_choice(value, choices) if isinstance(value, str) else None
    return Complaint(path, shown(value), allowed, nearest)


def _nearest_choice(value: str, choices: Sequence[str]) -> str | None:
    """The choice that a word stands for elsewhere, or the one most like it."""
    other = OTHER_WORDS.get(value.lower().replace("_", " ").replace("-", " "))
    return other if other in choices else nearest_word(value, choices)


def _walk(loc: Sequence[str | int], *, root: type[BaseModel]) -> tuple[Path, Slot, Slot]:
    """The path of a fault as the user writes it, the slot that holds its last key, and the slot of that key.

    loc : where pydantic says the fault lies. For a table that may be of several kinds it names the kind too,
        which is no key of the user's file and so no part of the path.
    """
    path: Path = ()
    outer = slot = Slot(root)
    for part in loc:
        tagged = kinds_of(slot)
        if tagged:
            slot = Slot(tagged[str(part)])
            continue
        if get_origin(slot.type) in (Union, UnionType):
            break  # what follows names a type, which is no key either
        outer, slot = slot, _inner(slot, part)
        path += (part,)
    return path, outer, slot


def _inner(slot: Slot, part: str | int) -> Slot:
    if isinstance(slot.type, type) and issubclass(slot.type, BaseModel):
        for name, field in slot.type.model_fields.items():
            if part in (name, field.alias):
                return field_slot(field)
        return Slot(None)
    arguments = get_args(slot.type)
    if get_origin(slot.type) is dict:
        return unwrapped(arguments[1])
    if get_origin(slot.type) is tuple:
        return unwrapped(arguments[0])
    return Slot(None)


def field_slot(field: FieldInfo) -> Slot:
    """The slot of a field, with its own words before those of its type."""
    slot = unwrapped(field.annotation)
    own = [mark.text for mark in field.metadata if isinstance(mark, Words)]
    return Slot(slot.type, own[-1]) if own else slot


def unwrapped(annotation: Any) -> Slot:
    """The slot of an annotation."""
    if get_origin(annotation) is Annotated:
        inner, *marks = get_args(annotation)
        slot = unwrapped(inner)
        own = [mark.text for mark in marks if isinstance(mark, Words)]
        return Slot(slot.type, own[-1]) if own else slot
    options = [option for option in get_args(annotation) if option is not NoneType]
    if get_origin(annotation) in (Union, UnionType) and len(options) == 1:
        return unwrapped(options[0])
    return Slot(annotation)


def kinds_of(slot: Slot) -> Mapping[str, type[BaseModel]]:
    """Models of a slot that may be of several kinds, by kind."""
    if get_origin(slot.type) not in (Union, UnionType):
        return {}
    models = [
        option for option in get_args(slot.type) if isinstance(option, type) and issubclass(option, BaseModel)
    ]
    return {get_args(model.model_fields["kind"].annotation)[0]: model for model in models}


def kinds_words(slot: Slot) -> str:
    """The kinds of a slot that may be of several, as the end of a sentence."""
    return " or ".join(f'"{kind}"' for kind in kinds_of(slot))


def allowed_words(slot: Slot, *, path: Path) -> str:
    """What a slot allows, as the end of a sentence."""
    if slot.words is not None or get_origin(slot.type) is Literal:
        return slot.words or " or ".join(f'"{choice}"' for choice in get_args(slot.type))
    if isinstance(slot.type, type) and issubclass(slot.type, BaseModel):
        return f"a table with the keys {', '.join(keys_of(slot.type))}"
    if kinds_of(slot):
        return f"a table with kind = {kinds_words(slot)}"
    if get_origin(slot.type) is dict:
        return f"tables [{dotted(path)}.NAME]"
    if get_origin(slot.type) is tuple:
        return "a list of tables"
    raise TypeError(f"the vocabulary has no words for {slot.type} at {dotted(path)}")
