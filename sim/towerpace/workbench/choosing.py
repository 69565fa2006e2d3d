"""The trade-off of cost against P80 for the page: the search of `towerpace choose`, and what it found."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from towerpace.answers.choice.paired import Difference
from towerpace.answers.choose.choice import ChoiceDetail
from towerpace.answers.choose.goal import P80, Goal
from towerpace.answers.choose.held import held
from towerpace.answers.choose.keeping import usual_file
from towerpace.answers.choose.trade_off import KEPT, OnCurve
from towerpace.answers.days import Days
from towerpace.answers.estimates import percentile
from towerpace.face import defaults
from towerpace.face.choose import choose
from towerpace.scenario.load import load
from towerpace.workbench.beside import DONE, RUNNING, told_on

if TYPE_CHECKING:
    from towerpace.workbench.beside import Line


@dataclass(frozen=True)
class ChoiceTold:
    """How far a search for the trade-off has come.

    unit : of money. points : as the page reads them, the cheapest first. set_ups : changes of each by the
    name that the page gives back.
    """

    state: str
    text: str
    unit: str = ""
    points: Sequence[Mapping[str, object]] = ()
    set_ups: Mapping[str, Mapping[str, object]] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """As the page reads it; changes stay with the program."""
        return {"state": self.state, "text": self.text, "unit": self.unit, "points": list(self.points)}


NOTHING = ChoiceTold(RUNNING, "")


def search(
    line: Line, path: str, seed: int, trials: int = defaults.CHOOSE_TRIALS, fresh: int = defaults.CHOOSE_FRESH
) -> None:
    """Search for the trade-off of a file, and tell of it on a line; what was played before is kept."""

    def searched(tell: Callable[..., None]) -> None:
        scenario = load(path)
        kept = usual_file(scenario, seed)
        choice = choose(
            scenario, kept=kept, seed=seed, trials=trials, fresh=fresh, say=lambda what: tell(text=f"{what}.")
        )
        detail = choice.detail
        told = [(f"trade-off {k + 1}", one) for k, one in enumerate(detail.curve)]
        cost = scenario.settings.cost
        tell(
            state=DONE,
            text=choice.answer.said,
            unit="" if cost is None else cost.unit,
            points=[point_of(detail, name, one) for name, one in told],
            set_ups={name: detail.opened.changes(one.point) for name, one in told},
        )

    told_on(line, NOTHING, searched)


def point_of(detail: ChoiceDetail, name: str, one: OnCurve) -> dict[str, object]:
    """A set-up of the trade-off: its decisions, its cost and P80, and both against the file."""
    assert detail.file is not None, "a whole trade-off has the file beside it"
    beside = held(
        one.point, one.sample, detail.file, goal=Goal(), seed=detail.asked.seed, is_priced=detail.is_priced
    )
    days = Days(detail.opened.scenario.settings)
    p80 = percentile(one.sample.finish, P80)
    ends = (p80.value, p80.low, p80.high)
    value, low, high = (None if end is None else days.date_of(end).isoformat() for end in ends)
    standing = detail.opened.space.standing
    return {
        "name": name,
        "set_up": detail.opened.name(one.point),
        "is_file": one.point == standing,
        "is_kept": one.verdict == KEPT,
        "decisions": [
            {
                "name": decided.name,
                "choice": decided.options[place].label,
                "file": decided.options[decided.standing].label,
            }
            for decided, place in zip(detail.opened.decided, one.point, strict=True)
        ],
        "cost": one.sample.mean_cost,
        "p80": value,
        "p80_low": low,
        "p80_high": high,
        "p80_days": _ends(beside.p80_days),
        "cost_more": _ends(beside.money),
        "trials": len(one.sample),
    }


def _ends(difference: Difference | None) -> dict[str, float] | None:
    if difference is None:
        return None
    return {"value": difference.mean, "low": difference.low, "high": difference.high}
