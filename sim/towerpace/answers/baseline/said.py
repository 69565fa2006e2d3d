"""A baseline as an answer."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from towerpace.answers import methods
from towerpace.answers.baseline.baseline import Baseline
from towerpace.answers.baseline.tables import baseline_tables
from towerpace.answers.cautions import LIMITS_CAUTION
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.people import day, share
from towerpace.answers.said.tables import Chapter, Column, Fact

BASELINE_FIGURES = ("float",)
_FLOAT = Method(
    "Float is reckoned backward from the finish of each trial along the links, inside the hours in which "
    "work is open in that trial; resources do not bind it.",
    "J. E. Kelley (1961), Critical-path planning and scheduling: mathematical basis, Operations Research 9: "
    "296-320, for the backward pass.",
)
_APART = (
    "Each date is of its own work alone, so they do not add up: the chance of keeping several together is "
    "told above."
)


def said(base: Baseline) -> Answer:
    """A baseline as everybody gets it."""
    first, scenario = " ".join(_first(base)), base.ready.scenario
    return Answer(
        question="baseline",
        about="Dates to hold the work to",
        run=run_of(
            base.ready.scenario, base.ready.tower, seed=base.seed, trials=base.trials, asked=base.asked
        ),
        said=first,
        facts=_facts(base),
        tables=baseline_tables(base),
        chapters=(
            Chapter("The baseline", [first], shows=("milestones", "activities", "kept")),
            Chapter("Work areas and their float", [_APART], shows=("float", "fronts", "health", "logic")),
        ),
        cautions=list(_cautions(base)),
        figures=BASELINE_FIGURES,
        methods=[*methods.of_trials(scenario), methods.RANKS, methods.COUNTS, _FLOAT],
    )


def _finish(base: Baseline) -> date | None:
    return base.baseline("done")[-1]


def _p80(base: Baseline) -> date | None:
    minute = base.percentile("done", 0.8)[-1].value
    return None if minute is None else base.ready.days.date_of(minute)


def _first(base: Baseline) -> Iterator[str]:
    finish, p80, planned = _finish(base), _p80(base), _planned(base)
    dates = base.baseline("done")
    dated = base.dated(dates)
    whose = "Your own dates" if base.own else f"The baseline at P{100 * base.at:g}"
    if finish is None:
        yield f"{whose} have no finish." if base.own else f"{whose} ends after the last day played."
    else:
        kept = share(float(base.kept(dates)[:, -1].mean()))
        verb = "end" if base.own else "ends"
        yield f"{whose} {verb} on {day(finish)}, which {kept} of the trials keep."
    yield f"All {len(dated):,} dates together are kept in {share(base.joint(dates).value)}."
    if planned is not None and finish is not None:
        yield f"As planned, without chance, it would finish on {day(planned)}{_over(base, planned, finish)}."
    if finish is not None and p80 is not None and p80 > finish:
        more = _working_days(base, finish, p80)
        yield f"P80 is {day(p80)}: to promise it takes a contingency of {more} working days on the baseline."


def _over(base: Baseline, planned: date, finish: date) -> str:
    more = _working_days(base, planned, finish)
    if more == 0:
        return ", the baseline's own date"
    return f", {abs(more)} working days {'before' if more > 0 else 'after'} the baseline"


def _working_days(base: Baseline, first: date, last: date) -> int:
    days = base.ready.days
    return days.working_day(days.last_minute(last)) - days.working_day(days.last_minute(first))


def _planned(base: Baseline) -> date | None:
    return None if base.planned is None else base.ready.days.date_of(base.planned)


def _facts(base: Baseline) -> list[Fact]:
    finish, p80 = _finish(base), _p80(base)
    contingency = None if finish is None or p80 is None else _working_days(base, finish, p80)
    joint = base.joint(base.baseline("done"))
    return [
        Fact(
            Column("confidence", Kind.SHARE, about="of each date by itself; none of own dates"),
            None if base.own else base.at,
        ),
        Fact(
            Column("baseline_finish", Kind.DATE, about="finish of the baseline", event="finish, baseline"),
            finish,
        ),
        Fact(Column("planned_finish", Kind.DATE, about="finish as planned, without chance"), _planned(base)),
        Fact(Column("p80_finish", Kind.DATE, about="P80 of the finish"), p80),
        Fact(
            Column("contingency_days", Kind.DAYS, about="working days from the baseline to P80"),
            contingency,
        ),
        Fact(Column("kept_together", Kind.SHARE, about="chance of keeping all dates"), joint.value),
    ]


def _cautions(base: Baseline) -> Iterator[str]:
    if base.trials < base.asked:
        yield f"The run was interrupted: {base.trials} of {base.asked} trials were finished."
    beyond = base.trials - len(base.floats)
    if beyond:
        yield f"{beyond} of {base.trials} trials do not finish inside the horizon: floats are of the others."
    joint = base.joint(base.baseline("done")).value
    if joint < 0.5:
        yield f"To promise every date of this baseline is to promise what {share(joint)} of the trials keep."
    yield LIMITS_CAUTION
