"""Values and changes written as TOML 1.0."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from towerpace.scenario.complaints import dotted, quoted


def toml_value(value: object) -> str:
    """A value as it stands behind the equals sign, tables inline.

    Raises
    ------
    TypeError
        For what TOML has no word for, as None.

    Examples
    --------
    >>> toml_value({"low": 1, "likely": 2.5, "shape": "pert"})
    '{ low = 1, likely = 2.5, shape = "pert" }'
    >>> toml_value([dt.date(2027, 3, 26), True])
    '[2027-03-26, true]'
    """
    if isinstance(value, Mapping):
        pairs = ", ".join(f"{dotted((str(key),))} = {toml_value(entry)}" for key, entry in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(toml_value, value))}]"
    return _plain(value)


def _plain(value: object) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return repr(float(value) if isinstance(value, float) else int(value))
        case str():
            return quoted(value)
        case dt.date():
            return value.isoformat()
    raise TypeError(f"TOML has no word for {value!r}")


def toml_change(key: str, value: object) -> str:
    """A change of a set-up on a line of its own; a key into a list is quoted as a whole.

    >>> toml_change("resource.hoist.count", 3)
    'resource.hoist.count = 3'
    >>> toml_change("risk[0].chance", 0.2)
    '"risk[0].chance" = 0.2'
    """
    written = quoted(key) if "[" in key else key
    return f"{written} = {toml_value(value)}"
