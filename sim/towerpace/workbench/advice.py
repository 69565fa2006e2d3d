"""What to add to the changes at hand: the search of `towerpace add`, in a process that may be ended."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from towerpace.answers.choice.add import Ranked, add
from towerpace.answers.choice.add_said import said
from towerpace.answers.choice.lab import Lab
from towerpace.scenario.load import load
from towerpace.workbench.beside import DONE, RUNNING, told_on

if TYPE_CHECKING:
    from towerpace.workbench.beside import Line


@dataclass(frozen=True)
class AdviceTold:
    """How far a search has come.

    rows : as the page reads them, best first. of, done : additions in all, and those that have been tried.
    """

    state: str
    text: str
    rows: Sequence[Mapping[str, object]] = ()
    of: int = 0
    done: int = 0

    def as_json(self) -> dict[str, Any]:
        """As the page reads it."""
        return {
            "state": self.state,
            "text": self.text,
            "rows": list(self.rows),
            "of": self.of,
            "done": self.done,
        }


NOTHING = AdviceTold(RUNNING, "")


def search(line: Line, path: str, changes: Mapping[str, object], seed: int) -> None:
    """Search, and tell of it on a line."""

    def searched(tell: Callable[..., None]) -> None:
        def on_ranked(ranked: Sequence[Ranked], of: int) -> None:
            tell(rows=[row_of(r) for r in ranked], of=of, done=len(ranked))

        scenario = load(path, changes)
        advice = add(
            scenario, lab=Lab(seed), seed=seed, say=lambda what: tell(text=what), on_ranked=on_ranked
        )
        rows = [row_of(ranked) for ranked in advice.ranking]
        tell(state=DONE, text=said(advice).said, rows=rows, of=len(rows), done=len(rows))

    told_on(line, NOTHING, searched)


def row_of(ranked: Ranked) -> dict[str, object]:
    """One addition: days of the finish that it gains, which are the negative of what it adds. [d]"""
    days, p80 = ranked.days, ranked.p80_days
    return {
        "what": ranked.option.name,
        "gain": None if days is None else -days.mean,
        "low": None if days is None else -days.high,
        "high": None if days is None else -days.low,
        "p80_gain": None if p80 is None else -p80.mean,
        "trials": ranked.trials,
        "verdict": ranked.verdict,
    }
