"""Loading a scenario: the file, its tables, and all faults of both at once."""

import os
import pickle
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from pydantic import ValidationError

from towerpace.faults import Fault, InputError, nearest_word
from towerpace.scenario import complaints as told
from towerpace.scenario.absence_rules import absence_rules
from towerpace.scenario.assumptions import Assumption, assumptions_of
from towerpace.scenario.changes import apply_changes
from towerpace.scenario.cited_limits import cite_limits
from towerpace.scenario.complaints import Complaint, RefusalError, dotted, without_echoes
from towerpace.scenario.conditions import condition_rules
from towerpace.scenario.dates import column_rules, date_rules, level_rules, row_faults
from towerpace.scenario.decision_rules import decision_rules
from towerpace.scenario.depth import DEEPEST, deeper_than, deepest_line
from towerpace.scenario.face_rules import face_level_rules, face_rules
from towerpace.scenario.fingerprint import fingerprint
from towerpace.scenario.interior_rules import interior_rules
from towerpace.scenario.level_changes import laid_over
from towerpace.scenario.levels import Levels, levels_from
from towerpace.scenario.makers_limits import makers_limits, makers_rules
from towerpace.scenario.method_rules import method_faults, method_rules
from towerpace.scenario.once_rules import once_level_rules, once_rules
from towerpace.scenario.own import Own, with_own
from towerpace.scenario.panel_rules import leave_out_faults, panel_level_rules, panel_rules
from towerpace.scenario.positions import line_index, syntax_fault_place
from towerpace.scenario.raw import Tree, text_at, with_tuples
from towerpace.scenario.references import reference_rules
from towerpace.scenario.schema import Settings
from towerpace.scenario.sequence import sequence_rules
from towerpace.scenario.size_rules import size_faults
from towerpace.scenario.spelling import Spelling
from towerpace.scenario.supply_rules import supply_rules
from towerpace.scenario.tables import Folder, read_table
from towerpace.scenario.unseen import unseen_rules
from towerpace.scenario.words import complaints_of

_RULES = (
    unseen_rules,
    reference_rules,
    condition_rules,
    face_rules,
    sequence_rules,
    date_rules,
    once_rules,
    interior_rules,
    supply_rules,
    absence_rules,
    panel_rules,
    method_rules,
    decision_rules,
)


@dataclass(frozen=True, slots=True)
class Scenario:
    """A scenario that has passed every check.

    Parameters
    ----------
    settings : Settings
        The scenario file with the changes laid over it.
    levels : Levels
        The level table.
    folder : Path
        Folder of the scenario file.
    path : str
        The scenario file as the user named it.
    hash : str
        SHA-256 of the content, hexadecimal; comments, white space and places of files do not change it.
    changes : mapping
        Dotted keys and values that were laid over the file.
    own : tuple
        Laws of chance and rules of dispatch that were added from Python.
    """

    settings: Settings
    levels: Levels
    folder: Path
    path: str
    hash: str
    changes: Mapping[str, object]
    own: tuple[Own, ...]
    _locate: Callable[[Complaint], Fault] = field(repr=False, compare=False)

    def fault(self, key: told.Path, *, found: str, allowed: str) -> Fault:
        """A fault of a value that only showed later, at its line in the file.

        key : path of the value, as ("storage", "slots_per_level").
        """
        return self._locate(Complaint(key, found, allowed))

    @property
    def weather_record(self) -> Path | None:
        """The file of the weather record, or None without weather."""
        weather = self.settings.weather
        return None if weather is None else self.folder / weather.record

    def assumptions(self) -> list[Assumption]:
        """Every number that decides an answer, with its own source, its table's, or none."""
        return assumptions_of(self.settings)

    def sources_missing(self) -> list[str]:
        """Keys of the assumptions without a source."""
        return [assumption.key for assumption in self.assumptions() if not assumption.source]


def load(
    path: str | os.PathLike[str], changes: Mapping[str, object] | None = None, *, own: Sequence[Own] = ()
) -> Scenario:
    """Read and check a scenario file with its tables.

    Parameters
    ----------
    path : path-like
        The scenario file.
    changes : mapping, optional
        Dotted keys and the values laid over the file before it is checked; None takes a key away. The maker's
        limit of a limit of the file is nobody's to change.
    own : sequence, optional
        Laws of chance (`OwnLaw`) and a rule of dispatch (`OwnRule`) of one's own; they go into the hash by
        name and version. A spread of one's own is the value of a change.

    Raises
    ------
    InputError
        With every fault of the file and its tables.
    """
    shown_as = os.fspath(path)
    text = _text(shown_as)
    try:
        tree: Tree = pickle.loads(_tree_of(text))
    except RecursionError:
        line, allowed = deepest_line(text), f"at most {DEEPEST} of them"
        raise InputError(
            [Fault(shown_as, line, "syntax", "tables or lists deep within each other", allowed)]
        ) from None
    except ValueError as error:
        line, found = syntax_fault_place(error, text)
        raise InputError([Fault(shown_as, line, "syntax", found, "TOML 1.0")]) from None
    of_file = makers_limits(tree)
    changed, complaints = apply_changes(tree, changes or {})
    complaints += makers_rules(tree, of_file=of_file)
    folder = Folder(Path(shown_as).parent)
    settings, levels, faults = _checked(tree, folder=folder, complaints=complaints)
    locate = _Locator(shown_as, _lines_of(text), changed)
    faults = [*map(locate, complaints), *folder.faults, *faults]
    if faults or settings is None or levels is None:
        raise InputError(faults)
    content = with_own(fingerprint(settings, levels, folder=folder.path), own)
    return Scenario(settings, levels, folder.path, shown_as, content, dict(changes or {}), tuple(own), locate)


@lru_cache(maxsize=4)
def _tree_of(text: str) -> bytes:
    """The tree of a file, from which copies are made: changes are laid over one file many times."""
    tree = tomllib.loads(text)
    if deeper_than(tree, DEEPEST):
        raise RecursionError
    return pickle.dumps(tree)


_lines_of = lru_cache(maxsize=4)(line_index)


def _text(shown_as: str) -> str:
    path = Path(shown_as)
    if not path.is_file():
        found = "a folder" if path.is_dir() else "missing file"
        siblings = [entry.name for entry in path.parent.iterdir()] if path.parent.is_dir() else []
        nearest = "scenario.toml" if (path / "scenario.toml").is_file() else nearest_word(path.name, siblings)
        raise InputError([Fault(shown_as, None, "scenario", found, "a scenario file", nearest)])
    content = path.read_bytes()
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise InputError([Fault(shown_as, line, "encoding", "bytes that are no UTF-8", "UTF-8")]) from None


def _checked(
    tree: Tree, *, folder: Folder, complaints: list[Complaint]
) -> tuple[Settings | None, Levels | None, list[Fault]]:
    """Settings, levels and the faults of the level table; adds to the complaints."""
    settings = None
    spelling = Spelling.of(tree, root=Settings)
    tree = spelling.tree
    raised: list[Complaint] = [*cite_limits(tree)]
    try:
        settings = Settings.model_validate(with_tuples(tree), context=folder)
    except ValidationError as error:
        raised += complaints_of(error, root=Settings)
    for rules in _RULES:
        raised += rules(tree)
    levels, faults = _levels(tree, folder=folder, complaints=raised)
    record = text_at(tree, "weather", "record")
    if record:
        _existing(folder, record, path=("weather", "record"), complaints=raised)
    complaints += without_echoes([*spelling.complaints, *spelling.as_written(raised)])
    return settings, levels, faults


def _levels(tree: Tree, *, folder: Folder, complaints: list[Complaint]) -> tuple[Levels | None, list[Fault]]:
    name = text_at(tree, "tower", "levels")
    path = _existing(folder, name, path=("tower", "levels"), complaints=complaints) if name else None
    if name is None or path is None:
        return None, []
    laid = laid_over(read_table(path, shown_as=folder.shown(name)), tree)
    table = laid.table
    levels, faults = levels_from(table)
    if table.columns and not table.faults:
        complaints += column_rules(tree, table=table)
        faults += [*row_faults(tree, table=table), *leave_out_faults(tree, table=table)]
        faults += [*size_faults(tree, table=table), *method_faults(tree, table=table)]
    faults, of_keys = laid.told(faults)
    complaints += [*laid.complaints, *of_keys]
    if levels is not None:
        for rules in (level_rules, once_level_rules, panel_level_rules, face_level_rules):
            complaints += rules(tree, levels=levels)
    return levels, faults


def _existing(folder: Folder, name: str, *, path: told.Path, complaints: list[Complaint]) -> Path | None:
    try:
        return folder.existing(name)
    except RefusalError as refused:
        complaints += [complaint.under(path) for complaint in refused.complaints]
        return None


@dataclass(frozen=True, slots=True)
class _Locator:
    """Turns a complaint into a fault: the line of its path, or the change that caused it."""

    file: str
    lines: Mapping[told.Path, int]
    changed: Sequence[told.Path]

    def __call__(self, complaint: Complaint) -> Fault:
        key, line = dotted(complaint.path), self.line(complaint.path)
        if self.by_change(complaint.path):
            key, line = f"set {key}", None
        return Fault(self.file, line, key, complaint.found, complaint.allowed, complaint.nearest)

    def by_change(self, path: told.Path) -> bool:
        """Whether a change put the value there, or made the table in which something is wrong."""
        prefixes = [path[: length + 1] for length in range(len(path))]
        new = next((prefix for prefix in prefixes if prefix not in self.lines), None)
        return any(change in prefixes or change[: len(new or ())] == new for change in self.changed)

    def line(self, path: told.Path) -> int | None:
        """Line of the path, or of the nearest table around it."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None
