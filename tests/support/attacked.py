"""What an attack came to: refused with faults, answered, or one of the ends that must never be."""

from __future__ import annotations

import signal
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import process_time
from types import FrameType

from support.dice import Dice
from towerpace import Plan, Step, check, forecast, load, run
from towerpace.answers.engines import first_difference
from towerpace.answers.prepare import prepare
from towerpace.faults import InputError
from towerpace.scenario.load import Scenario

PATIENCE_S, LARGE_PATIENCE_S, LARGE_STEPS = 20, 300, 100_000
REFUSED, ANSWERED = "refused with faults", "answered"
# What must never be.
FAULT_LATE = "check was content, forecast refused"
NO_PLACE = "a fault without file, key, found or allowed"
ERROR = "an error that is no fault of the input"
SLOW = f"over {PATIENCE_S} s"
APART = "engines differ"
LARGE = f"over {PATIENCE_S} s, of a plan of more than {LARGE_STEPS:,} steps"
NEVER = (FAULT_LATE, NO_PLACE, ERROR, SLOW, APART)


@dataclass(frozen=True)
class End:
    """How an attack ended. words : what was said of it. steps : that both engines played alike."""

    what: str
    words: str = ""
    steps: int = 0
    seconds: float = 0.0


Attack = Callable[[Dice], End]


class TooSlowError(BaseException):
    """No `Exception`, so that nobody on the way takes it for one of theirs."""


@contextmanager
def patience(seconds: float) -> Iterator[None]:
    """Raise `TooSlowError` in the block when it takes so much processor time, on any busy machine. [s]"""

    def ring(_signal: int, _frame: FrameType | None) -> None:
        raise TooSlowError

    before = signal.signal(signal.SIGPROF, ring)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def compiled_once() -> None:
    """Have the engine compiled, so that the time of that falls into no attack."""
    run(Plan([Step("first", work=1)]))


def end_of(attack: Callable[[], End]) -> End:
    """Carry an attack out and say how it ended."""
    begin = process_time()
    try:
        with patience(PATIENCE_S):
            end = attack()
    except InputError as error:
        end = End(REFUSED, str(error)) if all(map(_has_place, error.faults)) else End(NO_PLACE, str(error))
    except TooSlowError:
        end = End(SLOW, traceback.format_exc())
    except Exception:
        end = End(ERROR, traceback.format_exc())
    return End(end.what, end.words, end.steps, process_time() - begin)


def _has_place(fault: object) -> bool:
    return all(getattr(fault, word) for word in ("file", "key", "found", "allowed"))


def scenario(path: Path, *, trials: int = 1) -> End:
    """Check a scenario; where that is content, play it, on both engines."""
    loaded = load(path)
    try:
        check(loaded)
    except TooSlowError:
        return _large(loaded)
    try:
        forecast(loaded, trials=trials).to_json()
    except InputError as error:
        return End(FAULT_LATE, str(error))
    ready = prepare(loaded)
    apart = first_difference(ready, trials=trials, seed=1)
    if apart is not None:
        return End(APART, apart)
    return End(ANSWERED, steps=trials * ready.tower.plan.n)


def _large(loaded: Scenario) -> End:
    """Whether what took so long is a plan so large that it may."""
    with patience(LARGE_PATIENCE_S):
        steps = prepare(loaded).tower.plan.n
    return End(LARGE if steps > LARGE_STEPS else SLOW, f"{steps:,} steps")
