"""The tables of marks: what each holds, and its rows."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from towerpace.answers.estimates import BEYOND
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import words
from towerpace.answers.said.tables import Column, Row, Table
from towerpace.answers.score.marks import moves_and_open
from towerpace.answers.score.promise_tables import PROMISE_TABLES, promise_tables
from towerpace.answers.score.score import Marked, Score
from towerpace.units import Floats

_NO_ROOM = On.ALL & ~On.TERMINAL
_FORECAST = Column(
    "data_date", Kind.DATE, "forecast of", about="data date of the forecast", blank="the start"
)
MARKS = Table(
    "marks",
    "Each forecast beside what came",
    (
        _FORECAST,
        Column("marked", Kind.COUNT, about="closing-ins and the finish that were open when it was made"),
        Column("come", Kind.COUNT, about="of them, those that have come"),
        Column("late", Kind.COUNT, "later than P80", about="of them, those known to be later than their P80"),
        Column("late_mean", Kind.NUMBER, "usual", about="how many a right forecast has, mean", digits=1),
        Column(
            "late_as_badly", Kind.SHARE, "as many", about="chance that a right forecast has as many or more"
        ),
        Column(
            "score_days", Kind.DAYS, "score [d]", about="mean score (CRPS), cut at the data date", digits=2
        ),
        Column(
            "score_as_badly", Kind.SHARE, "as bad", about="chance that a right forecast scores so or worse"
        ),
        Column(
            "place",
            Kind.SHARE,
            about="mean place of what came, 50 % if right",
            on=On.PROGRAMS,
        ),
        Column(
            "effective", Kind.NUMBER, about="independent outcomes that tell as much", digits=1, on=On.PROGRAMS
        ),
        Column("trials", Kind.COUNT, about="trials of the forecast", on=On.PROGRAMS),
        Column("scenario_changed", Kind.TRUTH, about="whether its scenario was another one", on=On.PROGRAMS),
        Column("folder", Kind.NAME, about="results folder", on=On.PROGRAMS),
    ),
    about="marks of each forecast, judged against its own trials",
    note="Judged against its own trials: each in turn is taken as the truth. Levels move together, so a "
    "right forecast too may have many late ones.",
)
OUTCOMES = Table(
    "outcomes",
    "What was forecast and what came",
    (
        _FORECAST,
        Column("milestone", Kind.NAME, "what", about="finish, or the closing-in of a level"),
        Column("level", Kind.COUNT, about="its level", on=On.PROGRAMS),
        *(
            Column(f"p{p}", Kind.DATE, f"P{p}", about=f"P{p} then", blank=BEYOND, on=on)
            for p, on in ((10, _NO_ROOM), (50, On.ALL), (80, _NO_ROOM), (90, _NO_ROOM))
        ),
        Column("came", Kind.DATE, about="day on which it came", blank="open"),
        Column("told", Kind.TRUTH, about="whether somebody dated it", on=On.PROGRAMS),
        Column(
            "place", Kind.SHARE, about="where it lies among the trials; the middle of what is left if open"
        ),
    ),
    about="every outcome that was open when a forecast was made",
    groups=True,
    folded=True,
    most=12,
)
CHANCES = Table(
    "chances",
    "Chances of the contract dates, forecast by forecast",
    (
        Column("contract", Kind.NAME, about="contract date"),
        _FORECAST,
        Column("due", Kind.DATE, about="contract date", on=On.ALL & ~On.TERMINAL),
        Column("chance", Kind.SHARE, about="chance that it is met, as forecast then"),
        Column("came", Kind.TRUTH, "met", about="whether it was met", blank="open"),
    ),
    about="chance of every contract date as it was forecast at each data date",
    groups=True,
)
MOVES = Table(
    "moves",
    "How much the chances moved",
    (
        Column("contract", Kind.NAME, about="contract date"),
        Column("moved", Kind.NUMBER, about="sum of the squared moves of its chance", digits=3),
        Column("still_open", Kind.NUMBER, about="p (1 - p) of its last chance p, 0 once decided", digits=3),
        Column(
            "honest",
            Kind.NUMBER,
            "sum if honest",
            about="p (1 - p) of its first chance p: mean of moved and still open together if all that is "
            "known is used",
            digits=3,
        ),
    ),
    about="moves of chances and what they leave open, against the mean of chances that use all that is known",
    note="Moved and still open together are in the mean what the first chance left open. Much more: the "
    "forecasts jumped more than what became known can say. Much less: they were slow to learn. One "
    "contract date alone proves neither.",
)
SCORE_TABLES = (MARKS, OUTCOMES, CHANCES, MOVES, *PROMISE_TABLES)


def score_tables(score: Score) -> Iterator[Table]:
    """All tables, in the order of `SCORE_TABLES`."""
    yield MARKS.filled(_mark(one, changed=one.earlier in score.changed) for one in score.marked)
    yield OUTCOMES.filled(row for one in score.marked for row in _outcomes(score, one))
    chances = list(_chances(score))
    yield CHANCES.filled(chances)
    yield MOVES.filled(_moves(chances))
    yield from promise_tables(score.settled)


def _mark(one: Marked, *, changed: bool) -> Row:
    earlier = one.earlier
    return (
        earlier.day,
        len(one.which),
        one.come,
        one.late,
        float(one.late_of_own.mean()),
        one.late_as_badly,
        one.score,
        one.score_as_badly,
        float(one.places.mean()),
        one.effective[1],
        len(one.trials),
        changed,
        earlier.folder,
    )


def _outcomes(score: Score, one: Marked) -> Iterator[Row]:
    ordered = np.sort(one.trials, axis=0)
    ranks = [max(1, int(np.ceil(len(ordered) * p - 1e-9))) - 1 for p in (0.1, 0.5, 0.8, 0.9)]
    for k, column in enumerate(one.which):
        level = one.came.levels[column]
        dates = [_date(score, float(ordered[rank, k])) for rank in ranks]
        what = "finish" if level is None else f"closing-in L{level}"
        came = _date(score, float(one.outcome[k]))
        told = bool(one.came.told[column]) if came is not None else None
        yield one.earlier.day, what, level, *dates, came, told, float(one.places[k])


def _date(score: Score, day: float) -> date | None:
    return score.ready.tower.start + timedelta(day) if np.isfinite(day) else None


def _chances(score: Score) -> Iterator[Row]:
    contracts = score.ready.scenario.settings.contract
    for name, contract in contracts.items():
        column = next((k for k, level in enumerate(score.came.levels) if level == contract.level), None)
        if column is None:
            continue
        due, came = (contract.date - score.ready.tower.start).days, score.came.days[column]
        met = bool(came <= due) if np.isfinite(came) or due <= score.came.seen else None
        for one in score.marked:
            chance = float((one.earlier.trials[:, column] <= due).mean())
            yield words(name), one.earlier.day, contract.date, chance, met


def _moves(chances: list[Row]) -> Iterator[Row]:
    for name in dict.fromkeys(str(row[0]) for row in chances):
        own = [row for row in chances if row[0] == name]
        path: Floats = np.array(
            [float(str(row[3])) for row in own]
            + [float(bool(row[4])) for row in own[-1:] if row[4] is not None]
        )
        if len(path) > 1:
            yield name, *moves_and_open(path)
