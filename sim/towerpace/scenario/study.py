"""Reading a study file: a scenario, factors of it, a design of points, and the answers wanted at each."""

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ValidationError

from towerpace.faults import Fault, InputError, nearest_word
from towerpace.scenario.complaints import Complaint, RefusalError, dotted, without_echoes
from towerpace.scenario.complaints import Path as Key
from towerpace.scenario.positions import line_index, syntax_fault_place
from towerpace.scenario.raw import Tree, text_at, with_tuples
from towerpace.scenario.spelling import Spelling
from towerpace.scenario.study_responses import Response, parse_response
from towerpace.scenario.study_rules import study_rules
from towerpace.scenario.study_schema import StudySettings
from towerpace.scenario.unseen import unseen_rules
from towerpace.scenario.words import complaints_of

_NOT_CONTENT = {("study", "scenario"), ("study", "note"), ("study", "source")}


@dataclass(frozen=True)
class StudyFile:
    """A study file that has passed every check of its own; its points are checked later, one by one.

    Parameters
    ----------
    settings : StudySettings
        The file.
    responses : tuple of Response
        The answers wanted, in the order of the file.
    path : str
        The study file as the user named it.
    scenario : str
        The scenario file, seen from where the study file was named.
    content : mapping
        Every dotted key that decides the results, with its value in words.
    """

    settings: StudySettings
    responses: tuple[Response, ...]
    path: str
    scenario: str
    content: Mapping[str, str]
    _lines: Mapping[Key, int] = field(repr=False, compare=False)

    def line(self, key: Key) -> int | None:
        """Line of a key, or of the nearest table around it."""
        return _line(self._lines, key)

    def fault(self, key: Key, *, found: str, allowed: str, nearest: str | None = None) -> Fault:
        """A fault of a value of the file that only showed later, at its line."""
        return Fault(self.path, self.line(key), dotted(key), found, allowed, nearest)


def read_study(path: str | os.PathLike[str]) -> StudyFile:
    """Read and check a study file.

    Raises
    ------
    InputError
        With every fault of the file.
    """
    shown_as = os.fspath(path)
    text = _text(Path(shown_as), shown_as)
    try:
        tree = tomllib.loads(text)
    except ValueError as error:
        line, found = syntax_fault_place(error, text)
        raise InputError([Fault(shown_as, line, "syntax", found, "TOML 1.0")]) from None
    settings, complaints = _checked(tree)
    responses = _responses(tree, complaints)
    scenario = _scenario(tree, folder=Path(shown_as).parent, complaints=complaints)
    lines = line_index(text)
    if complaints or settings is None:
        raise InputError(_located(complaints, lines=lines, shown_as=shown_as))
    return StudyFile(settings, responses, shown_as, scenario, content_of(tree), lines)


def content_of(tree: object, *, prefix: Key = ()) -> dict[str, str]:
    """Every leaf of a tree with its value in words, file order; where files lie and remarks are left out."""
    if isinstance(tree, Mapping) and tree:
        flat: dict[str, str] = {}
        for name, entry in tree.items():
            if (*prefix, name) not in _NOT_CONTENT:
                flat |= content_of(entry, prefix=(*prefix, str(name)))
        return flat
    if isinstance(tree, list) and any(isinstance(entry, Mapping) for entry in tree):
        flat = {}
        for number, entry in enumerate(tree):
            flat |= content_of(entry, prefix=(*prefix, number))
        return flat
    return {dotted(prefix): repr(tree) if isinstance(tree, str | list | float) else str(tree)}


def _text(path: Path, shown_as: str) -> str:
    if not path.is_file():
        found = "a folder" if path.is_dir() else "missing file"
        siblings = [entry.name for entry in path.parent.iterdir()] if path.parent.is_dir() else []
        nearest = nearest_word(path.name, siblings)
        raise InputError([Fault(shown_as, None, "study", found, "a study file", nearest)])
    content = path.read_bytes()
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise InputError([Fault(shown_as, line, "encoding", "bytes that are no UTF-8", "UTF-8")]) from None


def _checked(tree: Tree) -> tuple[StudySettings | None, list[Complaint]]:
    settings, complaints = None, []
    spelling = Spelling.of(tree, root=StudySettings)
    try:
        settings = StudySettings.model_validate(with_tuples(spelling.tree))
    except ValidationError as error:
        complaints += complaints_of(error, root=StudySettings)
    complaints += [*unseen_rules(spelling.tree), *study_rules(spelling.tree)]
    return settings, without_echoes([*spelling.complaints, *spelling.as_written(complaints)])


def _responses(tree: Tree, complaints: list[Complaint]) -> tuple[Response, ...]:
    head = tree.get("study")
    stated = head.get("responses") if isinstance(head, dict) else None
    responses: list[Response] = []
    for number, text in enumerate(stated if isinstance(stated, list) else []):
        place: Key = ("study", "responses", number)
        if not isinstance(text, str):
            continue
        try:
            response = parse_response(text)
        except RefusalError as refused:
            complaints += [complaint.under(place) for complaint in refused.complaints]
            continue
        if response in responses:
            complaints.append(Complaint(place, f'"{text}" a second time', "each response once"))
        responses.append(response)
    return tuple(responses)


def _located(complaints: list[Complaint], *, lines: Mapping[Key, int], shown_as: str) -> list[Fault]:
    return [
        Fault(
            shown_as,
            _line(lines, complaint.path),
            dotted(complaint.path),
            complaint.found,
            complaint.allowed,
            complaint.nearest,
        )
        for complaint in complaints
    ]


def _line(lines: Mapping[Key, int], key: Key) -> int | None:
    for length in range(len(key), 0, -1):
        if key[:length] in lines:
            return lines[key[:length]]
    return None


def _scenario(tree: Tree, *, folder: Path, complaints: list[Complaint]) -> str:
    """The scenario file; a complaint if there is none."""
    name = text_at(tree, "study", "scenario") or ""
    path = Path(os.path.normpath(folder / name))
    if name and not path.is_file():
        siblings = [entry.name for entry in path.parent.iterdir()] if path.parent.is_dir() else []
        allowed = "a scenario file, its path relative to the study file"
        place: Key = ("study", "scenario")
        found = f"missing file {path}"
        complaints.append(Complaint(place, found, allowed, nearest_word(path.name, siblings)))
    return str(path)
