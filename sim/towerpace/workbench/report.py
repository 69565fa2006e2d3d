"""The report of what is seen, a page that stands alone, written in a process of its own."""

from __future__ import annotations

import tempfile
import traceback
from collections.abc import Mapping
from contextlib import suppress
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any

from towerpace.faults import InputError
from towerpace.scenario.load import load
from towerpace.trials.processes import ignore_interrupts
from towerpace.workbench.standing import interrupts_ignored

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    Line = Connection[Any, Any]
NAME = "changed"  # of the changes in the report; the file itself is the base


class NoReportError(Exception):
    """There is no report; its words say why."""


class Writing:
    """A report that is being written in a process of its own."""

    def __init__(self, path: str, changes: Mapping[str, object], *, trials: int, seed: int) -> None:
        context = get_context("spawn")
        self._near, far = context.Pipe(duplex=False)
        arguments = (far, path, dict(changes), trials, seed)
        self._process = context.Process(target=_write, args=arguments, daemon=True)
        with interrupts_ignored():
            self._process.start()
        far.close()

    def result(self) -> bytes:
        """The page, once it is written; raises `NoReportError`."""
        try:
            written: bytes | str = self._near.recv()
        except (EOFError, OSError):
            raise NoReportError("The report was lost, as by lack of memory.") from None
        if isinstance(written, str):
            raise NoReportError(written)
        return written

    def end(self) -> None:
        """End its process, written or not."""
        self._process.terminate()
        self._process.join()
        self._near.close()


def _write(line: Line, path: str, changes: Mapping[str, object], trials: int, seed: int) -> None:
    ignore_interrupts()
    with suppress(OSError):
        try:
            line.send(report_of(path, changes, trials=trials, seed=seed))
        except InputError as error:
            line.send(str(error))
        except Exception:
            line.send(f"A fault of towerpace: {traceback.format_exc().strip().splitlines()[-1]}")


def report_of(path: str, changes: Mapping[str, object], *, trials: int, seed: int) -> bytes:
    """The forecast of a file, or what changes gain against it, as one page of HTML."""
    from towerpace.face.compare import compare
    from towerpace.face.forecast import forecast
    from towerpace.face.report import report

    scenario = load(path)
    with tempfile.TemporaryDirectory() as folder:
        if changes:
            result = compare(scenario, {NAME: changes}, trials=trials, seed=seed)
            result.save(f"{folder}/run", command="towerpace open")
        else:
            alone = forecast(scenario, trials=trials, seed=seed)
            alone.save(f"{folder}/run", command="towerpace open")
        (page,) = report(f"{folder}/run").written
        return Path(page).read_bytes()
