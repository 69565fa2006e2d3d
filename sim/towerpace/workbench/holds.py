"""What holds the finish: the controlling chains of a few trials, by trade and by cause."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from towerpace.answers.ledger.waits import SHIFT, WORK
from towerpace.answers.said.people import number, words
from towerpace.answers.why.chain import DATE_CAUSE, LATER_CAUSE
from towerpace.scenario.load import Scenario
from towerpace.units import DAY_MIN
from towerpace.workbench.causes import page_cause
from towerpace.workbench.messages import Held

CHAINS_OF = 20  # trials, as the search for what to add reads
LEAST_DAYS = 0.05


def holds_json(held: Held, scenario: Scenario) -> dict[str, Any]:
    """What the chains of some trials run through, days in the mean of a trial, the longest first."""
    days = held.minutes / (DAY_MIN * max(1, held.finished))
    # What passes before the date of the first link is nobody's.
    chain = [k for k, cause in enumerate(held.causes) if cause != DATE_CAUSE]
    trades = _sorted(zip(map(words, held.rows), days[:, chain].sum(axis=1), strict=True))
    causes: dict[str, float] = {}
    for name, spent in zip(held.causes, days.sum(axis=0).tolist(), strict=True):
        group = _group(name, scenario)
        causes[group] = causes.get(group, 0.0) + spent
    return {
        "trials": held.finished,
        "text": _said(held.finished, trades, whole=float(days.sum()), chain=float(days[:, chain].sum())),
        "trades": [{"name": name, "days": round(spent, 2)} for name, spent in trades],
        "causes": [{"name": name, "days": round(spent, 2)} for name, spent in _sorted(causes.items())],
    }


def _group(cause: str, scenario: Scenario) -> str:
    if cause in (DATE_CAUSE, LATER_CAUSE, WORK):
        return cause
    if cause == SHIFT:
        return "nights and closed days"
    return page_cause(cause, scenario.settings) or cause


def _sorted(pairs: Iterable[tuple[str, float]]) -> list[tuple[str, float]]:
    known = [(name or "made, repaired, remade", float(spent)) for name, spent in pairs if spent > LEAST_DAYS]
    return sorted(known, key=lambda pair: -pair[1])


def _said(finished: int, trades: list[tuple[str, float]], *, whole: float, chain: float) -> str:
    if not finished or not trades:
        return "No trial finishes before the last day that is played: there is no controlling chain."
    name, spent = trades[0]
    return (
        f"The controlling chain takes {number(chain, digits=0)} of the {number(whole, digits=0)} days to the "
        f"finish, {number(spent, digits=0)} of them on {name} (mean of {finished} trials)."
    )
