"""The folder of a study: its manifest, its points, one part a finished point, and the combined table."""

from __future__ import annotations

import json
import os
import platform
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from itertools import zip_longest
from math import isnan
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from towerpace import __version__
from towerpace.answers.sweep.design import NUMBER, TEXT, WHOLE, Design, Point
from towerpace.answers.sweep.tables import Columns, Row, csv_rows, has_parquet, read_rows, write_whole
from towerpace.answers.sweep.tasks import Played
from towerpace.faults import Fault, InputError

FORMAT = 1
MOST_POINTS = 10_000_000
MANIFEST, POINTS, DICTIONARY, COMBINED = "manifest.json", "points.csv", "columns.csv", "study"
GROUPS = ("parts", "trials")  # folders of what is kept of every point
HASH_SHOWN = 12
_PACKAGES = ("numpy", "scipy", "pandas", "simpy")


@dataclass(frozen=True)
class StudyManifest:
    """What a folder says of its study, field by field as in `manifest.json`.

    hash : SHA-256 of `study`, `scenario_keys` and `files`.
    study, scenario_keys : dotted keys with their values in words. files : SHA-256 of what the scenario names.
    kinds : what the cells of factors hold.
    """

    format: int
    name: str
    scenario: str
    scenario_hash: str
    hash: str
    version: str
    seed: int
    design: str
    draws: str
    points: int
    factors: Sequence[str]
    kinds: Sequence[str]
    responses: Sequence[str]
    quantities: Sequence[str]
    keep_trials: bool
    study: Mapping[str, str]
    scenario_keys: Mapping[str, str]
    files: Mapping[str, str]
    python: str
    packages: Mapping[str, str]
    created_utc: str


def stamp() -> dict[str, object]:
    """The fields of a manifest that say where and when it was made."""
    return {
        "format": FORMAT,
        "version": __version__,
        "python": platform.python_version(),
        "packages": {name: version(name) for name in _PACKAGES},
        "created_utc": datetime.now(UTC).isoformat(timespec="seconds"),
    }


def read_manifest(folder: str | os.PathLike[str]) -> StudyManifest:
    """The manifest of a folder; raises `InputError` if there is none of this format."""
    path = Path(folder) / MANIFEST
    allowed = f"the manifest of a study, format {FORMAT}"
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
        if content["format"] != FORMAT:
            raise ValueError(f"format {content['format']}")
        manifest = TypeAdapter(StudyManifest).validate_python(content)
        if not (1 <= manifest.points <= MOST_POINTS and len(manifest.factors) == len(manifest.kinds)):
            raise ValueError(f"{manifest.points} points of {len(manifest.factors)} factors")
        return manifest
    except (FileNotFoundError, NotADirectoryError):
        raise InputError([Fault(str(path), None, "file", "missing file", allowed)]) from None
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(map(str, first["loc"])) or "format"
        raise InputError([Fault(str(path), None, key, f"{first['input']!r:.60}", allowed)]) from None
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise InputError([Fault(str(path), None, "format", str(error), allowed)]) from None


class Store:
    """Reads and writes the folder of one study.

    Parts are CSV: a Parquet file of a dozen rows takes four times as long to write. Trials, which may be
    many, and the combined table are Parquet where pyarrow is installed.
    """

    def __init__(self, folder: Path, manifest: StudyManifest) -> None:
        self.folder, self.manifest = folder, manifest
        factors, kinds = tuple(manifest.factors), tuple(manifest.kinds)
        row = (("response", TEXT), ("value", NUMBER), ("low", NUMBER), ("high", NUMBER), ("trials", WHOLE))
        run = (("scenario_hash", TEXT), ("seed", WHOLE), ("version", TEXT))
        self.columns = _columns(("point", WHOLE), *zip(factors, kinds, strict=True), *row, *run)
        self.point_columns = _columns(("point", WHOLE), *zip(factors, kinds, strict=True), *run[:2])
        quantities = [(name, NUMBER) for name in manifest.quantities]
        self.trial_columns = _columns(("point", WHOLE), ("trial", WHOLE), *quantities)

    def begin(self, design: Design, hashes: Sequence[str]) -> None:
        """Write points and manifest; the manifest comes last, so a folder with one is complete so far."""
        self.make_room()
        rows = ((*_place(point), digest, point.seed) for point, digest in zip(design, hashes, strict=True))
        write_whole(self.folder / POINTS, rows=rows, columns=self.point_columns, lasting=True)
        text = json.dumps(asdict(self.manifest), indent=2, ensure_ascii=False) + "\n"
        temporary = self.folder / f".{MANIFEST}.{os.getpid()}.tmp"
        temporary.write_text(text, encoding="utf-8", newline="\n")
        temporary.replace(self.folder / MANIFEST)

    def make_room(self) -> None:
        """Folders for what is kept of every point."""
        for group in GROUPS if self.manifest.keep_trials else GROUPS[:1]:
            (self.folder / group).mkdir(parents=True, exist_ok=True)

    def changed_points(self, design: Design, hashes: Sequence[str]) -> list[int]:
        """Numbers of the points that are not as they were when the study began."""
        then = csv_rows(self.folder / POINTS, columns=self.point_columns)
        now = ((*_place(point), digest, point.seed) for point, digest in zip(design, hashes, strict=True))
        return [k for k, (old, new) in enumerate(zip_longest(then, now), 1) if old != new]

    def done(self) -> set[int]:
        """Numbers of the points whose part is there, whole, and of this study; a damaged part is none."""
        return {number for number in range(1, self.manifest.points + 1) if self._good(number)}

    def _good(self, number: int) -> bool:
        try:
            rows = self.rows(number)
        except (OSError, ValueError, KeyError):
            return False
        at = self.columns.names.index("response")
        whole = [(number, text, self.manifest.version) for text in self.manifest.responses]
        return [(row[0], row[at], row[-1]) for row in rows] == whole

    def rows(self, number: int) -> list[Row]:
        """Rows of a finished point; raises `FileNotFoundError` if it has none."""
        return read_rows(self._path("parts", number, ".csv"), columns=self.columns)

    def _path(self, group: str, number: int, suffix: str) -> Path:
        width = len(str(self.manifest.points))
        return self.folder / group / f"point-{number:0{width}d}{suffix}"

    def keep(self, point: Point, played: Played, *, scenario_hash: str) -> None:
        """Write the part of a finished point; its trials first, so that a part says they are there."""
        place = _place(point)
        if played.trials is not None:
            kept = [[None if isnan(v) else v for v in values.tolist()] for values in played.trials.values()]
            rows: Iterator[Row] = ((point.number, k, *row) for k, row in enumerate(zip(*kept, strict=True)))
            suffix = ".parquet" if has_parquet() else ".csv"
            write_whole(self._path("trials", point.number, suffix), rows=rows, columns=self.trial_columns)
        run = (scenario_hash[:HASH_SHOWN], point.seed, self.manifest.version)
        estimates = [(*place, e.response, e.value, e.low, e.high, e.trials, *run) for e in played.estimates]
        write_whole(self._path("parts", point.number, ".csv"), rows=estimates, columns=self.columns)

    def combine(self) -> list[Path]:
        """All parts in one table, in the order of the points, as CSV and where possible as Parquet."""
        suffixes = (".csv", ".parquet") if has_parquet() else (".csv",)
        paths = [self.folder / f"{COMBINED}{suffix}" for suffix in suffixes]
        write_whole(*paths, rows=self.all_rows(), columns=self.columns)
        for group in ("", "parts", "trials"):
            for left in (self.folder / group).glob(".*.tmp"):
                left.unlink()
        return paths

    def all_rows(self) -> Iterator[Row]:
        """Rows of all points, a part at a time."""
        for number in range(1, self.manifest.points + 1):
            yield from self.rows(number)


def _columns(*pairs: tuple[str, str]) -> Columns:
    return Columns(tuple(name for name, _ in pairs), tuple(kind for _, kind in pairs))


def _place(point: Point) -> Row:
    return (point.number, *point.cells)
