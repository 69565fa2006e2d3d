"""Changes laid over a scenario file: dotted keys and their new values."""

import re
from collections.abc import Mapping

from towerpace.scenario.complaints import Complaint, Path, RefusalError, shown
from towerpace.scenario.raw import Tree

_PART = re.compile(
    r"""\s*(?:"((?:[^"\\]|\\.)*)"|'([^']*)'|([A-Za-z0-9_-]+))\s*((?:\[\d+\])*)\s*(\.|$)""", re.DOTALL
)
_ESCAPED = re.compile(r"\\(?:u([0-9a-fA-F]{4})|(.))", re.DOTALL)
_SHORT = {"n": "\n", "t": "\t", "r": "\r", "b": "\b", "f": "\f"}


def parse_key(key: str) -> Path:
    """Path of a dotted key, list elements in brackets.

    Raises
    ------
    RefusalError
        If the text is no dotted key.

    Examples
    --------
    >>> parse_key("trade.panels.after[1].lag_h")
    ('trade', 'panels', 'after', 1, 'lag_h')
    >>> parse_key('level."from 20".slip_days')
    ('level', 'from 20', 'slip_days')
    """
    path: Path = ()
    at = 0
    while True:
        part = _PART.match(key, at)
        if part is None:
            raise RefusalError([Complaint((key,), "no dotted key", "a key as resource.hoist.count")])
        quoted, literal, bare = part.group(1, 2, 3)
        path += (_unescaped(quoted) if quoted is not None else bare if literal is None else literal,)
        path += tuple(int(number) for number in re.findall(r"\d+", part.group(4)))
        at = part.end()
        if part.group(5) == "":
            return path


def _unescaped(quoted: str) -> str:
    """A name as it stood before it was put into quotes, in which backslashes and quotes are escaped."""
    return _ESCAPED.sub(lambda m: chr(int(m[1], 16)) if m[1] else _SHORT.get(m[2], m[2]), quoted)


def apply_changes(tree: Tree, changes: Mapping[str, object]) -> tuple[list[Path], list[Complaint]]:
    """Lay changes over a tree, in place; a value of None takes the key away.

    Returns
    -------
    list of tuple
        Path of each change.
    list of Complaint
        Changes that have no place in the tree.
    """
    paths: list[Path] = []
    complaints: list[Complaint] = []
    for key, value in changes.items():
        try:
            paths.append(parse_key(key))
            _lay(tree, path=paths[-1], value=_plain(value))
        except RefusalError as refused:
            paths.append(refused.complaints[0].path)
            complaints += refused.complaints
    return paths, complaints


def _lay(tree: Tree, *, path: Path, value: object) -> None:
    node: object = tree
    for place, part in enumerate(path):
        last = place == len(path) - 1
        if isinstance(node, list) and isinstance(part, int) and part < len(node):
            if last:
                node[part : part + 1] = [] if value is None else [value]
            else:
                node = node[part]
        elif isinstance(node, dict) and isinstance(part, str):
            if last and value is None:
                node.pop(part, None)
            elif last:
                node[part] = value
            else:
                node = node.setdefault(part, {})
        else:
            raise RefusalError(
                [Complaint(path, f"no place for it in {shown(node)}", "a key of a table of the file")]
            )


def _plain(value: object) -> object:
    """The value with the types that a TOML file would give."""
    if isinstance(value, Mapping):
        return {str(key): _plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(entry) for entry in value]
    item = getattr(value, "item", None)
    # Numbers out of numpy arrays.
    return item() if callable(item) else value
