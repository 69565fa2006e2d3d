"""Commands ended at a random moment, by SIGKILL or SIGINT: nothing finished is lost, and all goes on.

Into a folder that holds earlier results the same command is run again with other numbers and ended on the
way. Whatever the moment, the folder then holds the earlier results or the new ones, whole. Run once more,
without being disturbed, it holds the same bytes as one that was never disturbed.

Each run is a copy of this process, which has imported all it needs, so that moments fall into the work.
"""

from __future__ import annotations

import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from support.attacked_files import SHEET, STUDY
from support.dice import Dice
from support.site_record import LEVELS, MORE, TOML
from towerpace.cli.app import main
from towerpace.faults import InputError
from towerpace.render.saved.answer_file import load_saved

KILLED, INTERRUPTED = -signal.SIGKILL, 130
OUT = "out"
Files = Mapping[str, bytes]


@dataclass(frozen=True)
class Command:
    """A command that is ended.

    words : of it. first : those that made the earlier results. page : what it writes. before : commands that
    give it what it reads.
    """

    words: Sequence[str]
    first: Sequence[str]
    page: str = OUT
    before: Sequence[Sequence[str]] = ()


COMMANDS = {
    "forecast": Command(
        ("forecast", "scenario.toml", "--trials", "300", "--out", OUT),
        ("forecast", "scenario.toml", "--trials", "5", "--out", OUT),
    ),
    "update": Command(
        ("update", "scenario.toml", "--progress", "progress.csv", "--trials", "30", "--out", OUT),
        ("update", "scenario.toml", "--progress", "progress.csv", "--trials", "2", "--out", OUT),
    ),
    "report": Command(
        ("report", "results", "--out", "page.html"),
        ("report", "other", "--out", "page.html"),
        "page.html",
        before=[
            ("forecast", "scenario.toml", "--trials", trials, "--out", name)
            for name, trials in (("results", "20"), ("other", "5"))
        ],
    ),
    "sweep": Command(("sweep", "study.toml", "--out", OUT, "--no-figures"), ()),
}


@dataclass(frozen=True)
class Ended:
    """How a run was ended. wrong : what must not be, in words; empty if all is well."""

    by: str
    after_s: float
    left: str
    wrong: tuple[str, ...]


def prepare(folder: Path) -> Path:
    """A small site with its sheet and a study."""
    for name, text in {
        "levels.csv": LEVELS,
        "scenario.toml": TOML + MORE,
        "progress.csv": SHEET,
        "study.toml": STUDY.replace("trials = 2", "trials = 100"),
    }.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


class Victim:
    """One command of the site, ended again and again; it knows what it leaves undisturbed."""

    def __init__(self, site: Path, name: str) -> None:
        self._site, self._name, self._command = site, name, COMMANDS[name]
        self._kept = site / f"earlier {name}"
        self._earlier: Files = {}
        for words in self._command.before:
            _whole(site, words)
        if self._command.first:
            self._earlier = self._undisturbed(self._command.first)
            shutil.rmtree(self._kept, ignore_errors=True)
            (site / self._command.page).rename(self._kept)
        begin = time.perf_counter()
        self._wanted = self._undisturbed(self._command.words)
        self._lasts_s = time.perf_counter() - begin

    def end(self, dice: Dice) -> Ended:
        """Set the earlier results out, end the command at a moment, look at what is left, run it again."""
        self._set_out()
        by, after_s = dice.of([signal.SIGKILL, signal.SIGINT]), self._lasts_s * dice.whole(1, 1000) / 1000
        more = () if self._name == "report" else ("--workers", dice.of(["1", "1", "2"]))
        with tempfile.TemporaryFile() as stderr:
            copy = _started(self._site, (*self._command.words, *more), stderr.fileno())
            time.sleep(after_s)
            os.kill(copy, by)  # a copy that has ended stays until it is waited for
            code = os.waitstatus_to_exitcode(os.waitpid(copy, 0)[1])
            stderr.seek(0)
            said = stderr.read().decode()
        parts = _parts(self._site)
        wrong = [*_wrong_end(code, by, said), *self._wrong_left()]
        left = f"{len(parts)} parts" if self._name == "sweep" else self._left()
        _whole(self._site, (*self._command.words, *more))
        again = [part.name for part, then in parts.items() if _stamp(part) != then]
        wrong += [f"part {name} was played again" for name in again]
        if _files(self._site / self._command.page) != self._wanted:
            wrong.append("run again it leaves other bytes")
        return Ended(by.name, after_s, left, tuple(wrong))

    def _undisturbed(self, words: Sequence[str]) -> Files:
        _clear(self._site / self._command.page)
        _whole(self._site, words)
        return _files(self._site / self._command.page)

    def _set_out(self) -> None:
        place, kept = self._site / self._command.page, self._kept
        _clear(place)
        if kept.is_dir():
            shutil.copytree(kept, place)
        elif kept.is_file():
            shutil.copy(kept, place)

    def _left(self) -> str:
        files = _files(self._site / self._command.page)
        if files == self._earlier:
            return "the earlier results"
        return "the new results" if files == self._wanted else "results of the trials that were done"

    def _wrong_left(self) -> list[str]:
        """What is left and neither the earlier nor the new nor, interrupted, an answer of fewer trials."""
        files = _files(self._site / self._command.page)
        if self._name == "sweep" or files in (self._earlier, self._wanted):
            return []
        try:
            load_saved(self._site / self._command.page)
        except InputError as error:
            return [f"what is left cannot be read: {error}"]
        return []


def _wrong_end(code: int, by: signal.Signals, said: str) -> list[str]:
    allowed = {0, KILLED} if by == signal.SIGKILL else {0, INTERRUPTED}
    wrong = [] if code in allowed else [f"exit {code}: {said[-400:]}"]
    return [*wrong, *([f"a traceback: {said[-600:]}"] if "Traceback" in said else [])]


def _started(site: Path, words: Sequence[str], stderr: int) -> int:
    """A copy of this process that runs the command and ends; its number."""
    copy = os.fork()
    if copy:
        return copy
    code = 1
    try:
        os.chdir(site)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(stderr, 2)
        sys.stdout, sys.stderr = (os.fdopen(number, "w", buffering=1) for number in (1, 2))
        # A shell starts what it runs in the background with Ctrl-C ignored.
        signal.signal(signal.SIGINT, signal.default_int_handler)
        sys.argv = ["towerpace", *words]
        main()
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 0
    except KeyboardInterrupt:
        code = INTERRUPTED  # before the command line began, or after it had ended
    finally:
        os._exit(code)


def _whole(site: Path, words: Sequence[str]) -> None:
    with tempfile.TemporaryFile() as stderr:
        copy = _started(site, words, stderr.fileno())
        code = os.waitstatus_to_exitcode(os.waitpid(copy, 0)[1])
        stderr.seek(0)
        assert code == 0, stderr.read().decode()


def _clear(place: Path) -> None:
    shutil.rmtree(place) if place.is_dir() else place.unlink(missing_ok=True)


def _files(place: Path) -> Files:
    """Contents by name, but for manifests, which say when a run was made."""
    if place.is_file():
        return {"": place.read_bytes()}
    kinds = (".csv", ".json")
    found = [
        file for file in sorted(place.rglob("*")) if file.suffix in kinds and file.name != "manifest.json"
    ]
    return {file.relative_to(place).as_posix(): file.read_bytes() for file in found}


def _parts(site: Path) -> dict[Path, tuple[int, int]]:
    """Finished points of a study, with what shows that they were not written again."""
    return {part: _stamp(part) for part in sorted((site / OUT / "parts").glob("point-*.csv"))}


def _stamp(path: Path) -> tuple[int, int]:
    stat = path.stat()
    return stat.st_mtime_ns, stat.st_size
