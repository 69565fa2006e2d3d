"""How deep tables and lists of a file may lie within each other: far deeper than any key, not without end."""

import re

DEEPEST = 40
_QUOTED = re.compile(r'"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'')


def deeper_than(tree: object, most: int) -> bool:
    """Whether something lies within more than so many tables and lists.

    >>> deeper_than({"a": [{"b": 1}]}, 2), deeper_than({"a": [{"b": 1}]}, 3)
    (True, False)
    """
    here: list[object] = [tree]
    for _ in range(most + 1):
        here = [value for parent in here for value in _within(parent)]
        if not here:
            return False
    return bool(here)


def _within(parent: object) -> list[object]:
    if isinstance(parent, dict):
        return list(parent.values())
    return parent if isinstance(parent, list) else []


def deepest_line(text: str) -> int:
    r"""The line at which brackets, braces and dotted parts lie deepest, roughly.

    >>> deepest_line("a = 1\nb = [[[\n]]]\nc = [1]")
    2
    """
    depth, depths = 0, []
    for line in text.split("\n"):
        bare = _QUOTED.sub("", line).partition("#")[0]
        opened = bare.count("[") + bare.count("{")
        depths.append(depth + opened + bare.count("."))
        depth += opened - bare.count("]") - bare.count("}")
    return depths.index(max(depths)) + 1
