"""Whether two answers of the program are the same down to the last byte of their arrays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass

import numpy as np


def first_unlike(a: object, b: object, where: str = "") -> str | None:
    """Where two things part, in words; None if they are the same."""
    if type(a) is not type(b):
        return f"{where}: {type(a).__name__} and {type(b).__name__}"
    if isinstance(a, np.ndarray):
        same = a.dtype == b.dtype and a.shape == b.shape and a.tobytes() == b.tobytes()
        return None if same else f"{where}: arrays differ"
    parts = _parts(a)
    if parts is None:
        return None if a == b else f"{where}: {a!r} and {b!r}"
    others = _parts(b)
    if parts.keys() != others.keys():
        return f"{where}: {sorted(map(str, parts.keys() ^ others.keys()))}"
    unlike = (first_unlike(parts[key], others[key], f"{where}.{key}") for key in parts)
    return next((word for word in unlike if word is not None), None)


def _parts(thing: object) -> Mapping[object, object] | None:
    """What a thing is made of; None of what is compared as a whole."""
    if is_dataclass(thing):
        return {field.name: getattr(thing, field.name) for field in fields(thing)}
    if isinstance(thing, Mapping):
        return {**thing, "order": tuple(thing)}
    if isinstance(thing, tuple | list):
        return dict(enumerate(thing))
    if hasattr(thing, "__getstate__") and type(thing).__name__ == "Plan":
        return thing.__getstate__()
    return None
