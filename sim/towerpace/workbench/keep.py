"""Keeping what was tried: a set-up appended to the scenario file, or values changed where they stand.

Nothing else of the file changes: not a comment, not the end of a line. The new text is read and checked
before it takes the place of the old one, in one step.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import tomllib
from bisect import bisect_left
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from towerpace.faults import Fault, InputError
from towerpace.scenario.as_toml import toml_change, toml_value
from towerpace.scenario.changes import apply_changes, parse_key
from towerpace.scenario.load import load
from towerpace.scenario.positions import value_spans
from towerpace.scenario.setups import BASE, named_setup

NAME = re.compile(r"[a-z][a-z0-9_]{0,59}")
NOTE = re.compile(r"[^\x00-\x1f\x7f]{0,400}")
BOM = b"\xef\xbb\xbf"


class ChangedMeanwhileError(Exception):
    """The file is no longer the one that the page has shown."""


def keep_set_up(path: str, *, name: str, note: str, changes: Mapping[str, object], was: str) -> int:
    """Append [setup.NAME] to a scenario file; the number of lines added.

    was : SHA-256 of the file that the page has shown. Raises `ChangedMeanwhileError` if it is another now,
    and `InputError` for a name, a note or changes that cannot be kept.
    """
    content = _unchanged(path, was)
    faults = [*_name_faults(path, name), *_note_faults(path, note), *_change_faults(path, changes)]
    if faults:
        raise InputError(faults)
    text = _text(content)
    lines = [f"[setup.{name}]", *([f"note = {toml_value(note)}"] if note else [])]
    lines += [toml_change(key, value) for key, value in changes.items()]
    begin = "" if text.endswith("\n") or not text else "\n"
    added = begin + "".join(f"{line}\n" for line in ("", *lines))
    _check_tree(path, text, text + added, {f"setup.{name}": _stated(added, name)})
    end = b"\r\n" if b"\r\n" in content else b"\n"
    new = content + added.encode().replace(b"\n", end)
    _replace(path, new, was=was, check=lambda place: _same_as(place, name, path, changes))
    return len(lines) + 1


def keep_values(path: str, *, changes: Mapping[str, object], was: str) -> int:
    """Write changed values in the place of those of the file; the number of values changed.

    Raises `ChangedMeanwhileError` if the file is another now, and `InputError` for what the file does not
    state itself: that has no place in it, and a set-up keeps it.
    """
    content = _unchanged(path, was)
    text = _text(content)
    spans = value_spans(text)
    faults = _change_faults(path, changes)
    places = {key: spans.get(parse_key(key)) for key in changes}
    faults += [
        Fault(path, None, key, "no value in the file", "a value that the file states; a set-up keeps others")
        for key, span in places.items()
        if span is None
    ]
    if faults:
        raise InputError(faults)
    found = {span: toml_value(changes[key]) for key, span in places.items() if span is not None}
    new_text = _spliced(text, found)
    _check_tree(path, text, new_text, changes)
    new = _spliced_bytes(content, found)
    _replace(path, new, was=was, check=load)
    return len(found)


def digest_of(path: str) -> str:
    """SHA-256 of a file, hexadecimal: what tells that it is still the one that was shown."""
    return hashlib.sha256(Path(path).read_bytes()).hexdigest()


def check_name(path: str, name: str) -> None:
    """Raise `InputError` for a name under which a file cannot keep a set-up."""
    if faults := _name_faults(path, name):
        raise InputError(faults)


def _unchanged(path: str, was: str) -> bytes:
    content = Path(path).read_bytes()
    if hashlib.sha256(content).hexdigest() != was:
        raise ChangedMeanwhileError
    return content


def _text(content: bytes) -> str:
    return content.decode("utf-8-sig").replace("\r\n", "\n")


def _name_faults(path: str, name: str) -> list[Fault]:
    allowed = "a new name of small letters, digits and _, beginning with a letter, at most 60"
    tree = tomllib.loads(_text(Path(path).read_bytes()))
    taken = {BASE, *tree.get("setup", {}), *tree.get("candidate", {})}
    fits = NAME.fullmatch(name) and name not in taken
    return [] if fits else [Fault(path, None, "name", repr(name[:80]), allowed)]


def _note_faults(path: str, note: str) -> list[Fault]:
    fits = NOTE.fullmatch(note)
    return [] if fits else [Fault(path, None, "note", "other text", "one line of at most 400 signs")]


def _change_faults(path: str, changes: Mapping[str, object]) -> list[Fault]:
    if not changes:
        return [Fault(path, None, "changes", "none", "at least one")]
    return [
        Fault(path, None, key, "a value that is taken away", "a value: a file has no word for none")
        for key, value in changes.items()
        if value is None
    ]


def _stated(added: str, name: str) -> object:
    return tomllib.loads(added)["setup"][name]


def _check_tree(path: str, old: str, new: str, changes: Mapping[str, object]) -> None:
    """Hold the new text to the old one with the changes, and nothing else."""
    tree = tomllib.loads(old)
    _, complaints = apply_changes(tree, changes)
    if complaints or tomllib.loads(new) != tree:
        allowed = "a file in which these values stand by themselves"
        raise InputError([Fault(path, None, "changes", "a text that would mean something else", allowed)])


def _spliced(text: str, found: Mapping[tuple[int, int], str]) -> str:
    for (begin, end), value in sorted(found.items(), reverse=True):
        text = text[:begin] + value + text[end:]
    return text


def _spliced_bytes(content: bytes, found: Mapping[tuple[int, int], str]) -> bytes:
    """The same in the bytes of the file, with its own mark at the beginning and its own ends of lines."""
    mark = BOM if content.startswith(BOM) else b""
    raw = content[len(mark) :].decode()
    # Line feeds, counted in the text without returns, before which the file has a return.
    returns = [match.start() - k for k, match in enumerate(re.finditer("\r\n", raw))]
    moved = {
        (begin + bisect_left(returns, begin), end + bisect_left(returns, end)): value
        for (begin, end), value in found.items()
    }
    return mark + _spliced(raw, moved).encode()


def _same_as(place: str, name: str, path: str, changes: Mapping[str, object]) -> None:
    """Raise `InputError` unless the set-up that was written is what was tried."""
    if named_setup(load(place), name).scenario.hash != load(path, changes).hash:
        raise InputError([Fault(path, None, f"setup.{name}", "other changes than were tried", "the same")])


def _replace(path: str, content: bytes, *, was: str, check: Callable[[str], object]) -> None:
    """Put a new file in the place of the old one, once it has passed its check."""
    target = Path(path).resolve()
    mode = target.stat().st_mode
    descriptor, place = tempfile.mkstemp(prefix=f".{target.name}-", suffix=".toml", dir=target.parent)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
        Path(place).chmod(mode)
        try:
            check(place)
        except InputError as error:
            raise InputError(replace(fault, file=path) for fault in error.faults) from None
        _unchanged(path, was)
        Path(place).replace(target)
    finally:
        Path(place).unlink(missing_ok=True)
