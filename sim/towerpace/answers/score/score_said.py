"""Marks of forecasts as everybody gets them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from towerpace.answers.cautions import LIMITS_CAUTION
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.people import day as day_said
from towerpace.answers.said.people import number, share
from towerpace.answers.said.tables import Chapter, Column, Fact
from towerpace.answers.score.marks import brier, brier_of_right
from towerpace.answers.score.promise_tables import LEAST_FOR_BINS, REASONS, RELIABILITY, SETTLED, WEEKS, given
from towerpace.answers.score.score import Score
from towerpace.answers.score.score_tables import score_tables

SCORE_FIGURES = ("came", "trend", "kept", "reliability")
_METHOD = Method(
    "Scores are continuous ranked probability scores in the fair form, trials and outcomes cut at the last "
    "day seen; of what has not come the place is the middle of what is left. A forecast is judged against "
    "its own trials: each in turn is taken as the truth and marked against the others.",
    "T. Gneiting, F. Balabdaoui & A. E. Raftery (2007), Probabilistic forecasts, calibration and sharpness, "
    "Journal of the Royal Statistical Society B 69: 243-268 (from memory)",
)


def said(score: Score) -> Answer:
    """The marks as everybody gets them."""
    tables = [table for table in score_tables(score) if table.rows]
    return Answer(
        question="score",
        about="What earlier forecasts were worth",
        run=score.marked[-1].earlier.answer.run,
        said=_said(score),
        facts=_facts(score),
        tables=tables,
        chapters=list(_chapters(score, {table.name for table in tables})),
        cautions=[*_doubts(score), LIMITS_CAUTION],
        figures=_figures(score, {table.name for table in tables}),
        methods=[_METHOD],
    )


def _figures(score: Score, names: set[str]) -> list[str]:
    """Figures of which there is something to show: a trend of several forecasts, promises by week, groups."""
    shown = {"came": True, "trend": len(score.marked) > 1, "kept": WEEKS.name in names}
    return [name for name in SCORE_FIGURES if shown.get(name, name in names)]


def _chapters(score: Score, names: set[str]) -> Iterator[Chapter]:
    yield Chapter("How the forecasts stood up", _sentences(score), ("marks", "came", "trend", "outcomes"))
    if "chances" in names:
        yield Chapter("How chances moved", shows=[name for name in ("chances", "moves") if name in names])
    if score.settled:
        shown = [table.name for table in (WEEKS, REASONS, RELIABILITY, SETTLED) if table.name in names]
        yield Chapter("Promises", (_kept(score),), ("kept", *shown))


def _said(score: Score) -> str:
    one = score.marked[-1]
    whose = "from the start" if one.earlier.day is None else f"of {day_said(one.earlier.day)}"
    return (
        f"The forecast {whose} misses what came by {number(one.score, digits=1)} days in the mean; a right "
        f"forecast does as badly or worse in {share(one.score_as_badly)} of its own trials. "
        f"{one.late} of its {len(one.which)} outcomes are known to be later than their P80; in the mean what "
        f"came lies at {share(float(one.places.mean()))} of its trials (50 % if right)."
    )


def _sentences(score: Score) -> list[str]:
    one = score.marked[-1]
    mean, effective = one.effective
    text = [f"Seen up to {day_said(score.record.at)}, record {score.record.hash[:12]}.", _said(score)]
    if np.isfinite(mean):
        text.append(
            f"Its {len(one.which)} outcomes tell as much as {number(effective, digits=1)} that were "
            f"independent (mean correlation {number(mean, digits=2)})."
        )
    return text


def _doubts(score: Score) -> Iterator[str]:
    if score.changed:
        n = len(score.changed)
        yield f"{n} of the forecasts {'is' if n == 1 else 'are'} of another state of the scenario than now."
    untold = sum(1 for k, day in enumerate(score.came.days) if np.isfinite(day) and not score.came.told[k])
    if untold:
        yield f"{untold} of the days on which something came nobody told: they follow from the order of work."
    if names := [one.promise.name for one in score.settled if one.quarrels]:
        yield f"Done in time by the record, and with a reason why not: promises {', '.join(names)}."


def _facts(score: Score) -> list[Fact]:
    facts = [
        Fact(Column("data_date", Kind.DATE, about="last day that was seen"), score.record.at),
        Fact(Column("record_hash", Kind.NAME, about="SHA-256 of the files of the record"), score.record.hash),
    ]
    if score.settled:
        kept = sum(one.kept for one in score.settled)
        facts.append(Fact(Column("promises", Kind.COUNT, about="promises that were due"), len(score.settled)))
        facts.append(Fact(Column("promises_kept", Kind.COUNT, about="of them kept"), kept))
    if (briers := _brier(score)) is not None:
        abouts = (
            ("brier", "mean squared difference of the chances of promises and what came (Brier)"),
            ("brier_right", "its mean if the chances are right"),
            ("brier_as_bad", "chance that right ones have it as high or higher, were they independent"),
        )
        for (name, about), value in zip(abouts, briers, strict=True):
            facts.append(Fact(Column(name, Kind.NUMBER, about=about, digits=3), value))
    return facts


def _kept(score: Score) -> str:
    kept, due = sum(one.kept for one in score.settled), len(score.settled)
    told = [one.chance for one in score.settled if one.chance is not None]
    text = f"{kept} of {due} promises that were due were kept ({share(kept / due)})."
    guessed = sum(one.kept and not one.told for one in score.settled)
    missed = sum(one.missed_by_reason for one in score.settled)
    if guessed:
        text += f" Of {guessed} of these nobody dated the day: they were kept by the order of work."
    if missed:
        text += f" {missed} count as not kept for their reason alone, their day is not told."
    if told:
        had = sum(one.kept for one in score.settled if one.chance is not None)
        expected = number(sum(told), digits=1)
        text += f" Looks ahead gave {len(told)} of them chances that add up to {expected} kept; {had} were."
    if (briers := _brier(score)) is not None:
        got, right, as_bad = briers
        text += (
            f" Brier score {number(got, digits=3)}; right chances have {number(right, digits=3)} in the "
            f"mean, and so high or higher in {share(as_bad)} of cases, were promises independent."
        )
    return text


def _brier(score: Score) -> tuple[float, float, float] | None:
    """Brier score, its mean if right, and how often a right one is as high; None of too few promises."""
    chances, kept = given(score.settled)
    if len(chances) < LEAST_FOR_BINS:
        return None
    got = brier(chances, kept)
    return got, *brier_of_right(chances, got)
