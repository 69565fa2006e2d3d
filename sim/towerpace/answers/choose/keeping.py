"""What was played of a search, kept in a file line by line: what is torn off at its end is played again."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from towerpace import __version__
from towerpace.answers.choose.goal import Sample
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import Scenario
from towerpace.units import Ints

FORMAT = 1


@dataclass(frozen=True)
class Part:
    """Trials in a row of one set-up. first : number of the first. items : cost by item, summed over them."""

    first: int
    finish: Ints
    cost: Ints
    items: Mapping[str, float]

    @property
    def after(self) -> int:
        """Number of the trial after the last."""
        return self.first + len(self.finish)


class Kept:
    """Parts by set-up, in memory and where wanted in a file.

    of : what the trials depend on beside the set-up: hash of the scenario, seed, version. path : of the file;
    a file of something else is a fault, a line that is not whole is passed over.
    """

    def __init__(self, path: Path | None, *, of: Mapping[str, object]) -> None:
        self.path, self._of = path, {"format": FORMAT, **of}
        self._parts: dict[str, dict[int, Part]] = {}
        self.found = 0
        if path is not None:
            self._begin(path)

    def has(self, changes: Mapping[str, object], start: int) -> int:
        """Trials of a set-up that are there, from `start` on without a gap."""
        return sum(len(part.finish) for part in self._in_a_row(changes, start))

    def sample(self, changes: Mapping[str, object], start: int, n: int) -> Sample:
        """Trials start .. start + n - 1 of a set-up, which must be there."""
        parts = list(self._in_a_row(changes, start))
        return Sample(
            np.concatenate([part.finish for part in parts])[:n],
            np.concatenate([part.cost for part in parts])[:n],
        )

    def items(self, changes: Mapping[str, object], start: int, last: int) -> tuple[dict[str, float], int]:
        """Cost by item over the parts from `start` to `last`, summed, and how many trials these are."""
        sums, n = dict[str, float](), 0
        for part in self._in_a_row(changes, start):
            if part.after > last:
                break
            n += len(part.finish)
            for name, amount in part.items.items():
                sums[name] = sums.get(name, 0.0) + amount
        return sums, n

    def add(self, changes: Mapping[str, object], part: Part) -> None:
        """Take a part, and write it at the end of the file."""
        key = _key(changes)
        self._parts.setdefault(key, {})[part.first] = part
        if self.path is not None:
            row = {"set": key, "first": part.first, "finish": part.finish.tolist()}
            self._write({**row, "cost": part.cost.tolist(), "items": dict(part.items)}, self.path)

    def _in_a_row(self, changes: Mapping[str, object], start: int) -> Iterator[Part]:
        parts = self._parts.get(_key(changes), {})
        while start in parts:
            yield parts[start]
            start = parts[start].after

    def _begin(self, path: Path) -> None:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if path.exists() and path.stat().st_size:
                self._read(path)
            else:
                self._write(self._of, path)
        except OSError as error:
            found = f"a file that cannot be written or read: {error.strerror or error}"
            raise InputError([Fault(str(path), None, "kept", found, "a file of its own")]) from None

    def _read(self, path: Path) -> None:
        lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
        head = _whole(lines[0]) or {}
        for key, value in self._of.items():
            if head.get(key) != value:
                found, allowed = str(head.get(key, "no file of a choice"))[:60], f"{value}, or another file"
                raise InputError([Fault(str(path), 1, f"kept: {key}", found, allowed)])
        for line in lines[1:]:
            row = _whole(line)
            part = None if row is None else _part(row)
            if row is not None and part is not None:
                self._parts.setdefault(str(row["set"]), {})[part.first] = part
                self.found += len(part.finish)
        if not path.read_bytes().endswith(b"\n"):  # torn off: what follows begins on a line of its own
            with path.open("a", encoding="utf-8") as file:
                file.write("\n")

    def _write(self, row: Mapping[str, object], path: Path) -> None:
        with path.open("a", encoding="utf-8", newline="\n") as file:
            file.write(json.dumps(row, ensure_ascii=False, separators=(",", ":")) + "\n")
            file.flush()
            os.fsync(file.fileno())


def usual_file(scenario: Scenario, seed: int) -> Path:
    """Where trials are kept if nobody says where: a name that tells scenario, seed and version apart."""
    plain = re.sub(r"[^a-z0-9]+", "_", scenario.settings.tower.name.lower()).strip("_") or "scenario"
    digest = hashlib.sha256(f"{scenario.hash}/{seed}/{__version__}".encode()).hexdigest()[:12]
    return Path("results") / f"choose-{plain}-{digest}.jsonl"


def _key(changes: Mapping[str, object]) -> str:
    return json.dumps(changes, sort_keys=True, ensure_ascii=False, default=str)


def _whole(line: str) -> dict[str, Any] | None:
    """A line as it was written; None of one that is torn or damaged."""
    try:
        row = json.loads(line)
    except ValueError:
        return None
    return row if isinstance(row, dict) else None


def _part(row: dict[str, Any]) -> Part | None:
    try:
        finish, cost = (np.array(row[key], dtype=np.int64) for key in ("finish", "cost"))
        items = {str(name): float(amount) for name, amount in row["items"].items()}
        whole = finish.ndim == 1 and finish.shape == cost.shape and len(finish) and int(row["first"]) >= 0
        return Part(int(row["first"]), finish, cost, items) if whole else None
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError):
        return None
