"""The weeks ahead as everybody gets them: panels, what must be there, promises, bookings."""

from __future__ import annotations

import numpy as np

from towerpace.answers import methods
from towerpace.answers.ahead.ahead import Ahead
from towerpace.answers.ahead.ahead_tables import BAND, ahead_tables
from towerpace.answers.ahead.meeting import meeting
from towerpace.answers.cautions import limits_cautions
from towerpace.answers.progress import ranked
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.people import day as day_said
from towerpace.answers.said.people import share
from towerpace.answers.said.tables import Chapter, Column, Fact
from towerpace.answers.update.update_said import PINNED, UNPROVEN

_FORETOLD = (
    "The weather forecast is laid over the hours that it speaks of: members of an ensemble as they are, "
    "trial by trial; a single one with an error of its wind that grows from 10 % to 35 % in a week "
    "(judgement, no source). All other hours are drawn from the record. A forecast of wind is no permission "
    "to lift."
)


def said(ahead: Ahead) -> Answer:
    """The weeks ahead as everybody gets them."""
    ready, tables = ahead.ready, ahead_tables(ahead)
    sheet, sheet_chapters = meeting(ahead, tables, seen=_seen(ahead))
    foretold = [] if ahead.foretold is None else [Method(_FORETOLD)]
    return Answer(
        question="ahead",
        about="What lies in the weeks ahead",
        run=run_of(ready.scenario, ready.tower, seed=ahead.seed, trials=ahead.trials, asked=ahead.asked),
        said=_said(ahead),
        facts=_facts(ahead),
        tables=[*tables, *sheet],
        chapters=[*_chapters(ahead), *sheet_chapters],
        cautions=[*limits_cautions(ready.scenario.settings), UNPROVEN],
        methods=[methods.SCHEDULE, PINNED, *foretold],
    )


def _said(ahead: Ahead) -> str:
    panels = ahead.outcomes.values["panels"].sum(axis=1)
    low, half, high = (int(ranked(panels, p)) for _, p in BAND)
    first, last = ahead.days[0], ahead.days[-1]
    text = (
        f"From {day_said(first)} to {day_said(last)} {half:,} panels are set in the middle of the trials, "
        f"{low:,} to {high:,} in eight of ten."
    )
    if not ahead.promises:
        return text
    n = len(ahead.promises)
    together = f"all {n} promises" if n > 1 else "the one promise"
    return (
        f"{text} The chance that {together} {'are' if n > 1 else 'is'} kept is {share(ahead.all_kept.value)}."
    )


def _facts(ahead: Ahead) -> list[Fact]:
    record = ahead.state.record
    facts = [
        Fact(Column("data_date", Kind.DATE, about="day at whose end the site was seen"), record.at),
        Fact(Column("record_hash", Kind.NAME, about="SHA-256 of the files of the record"), record.hash),
        Fact(Column("weeks", Kind.COUNT, about="weeks looked ahead"), ahead.weeks),
    ]
    if ahead.promises:
        together = ahead.all_kept
        about = "chance that every open promise is kept"
        facts.append(Fact(Column("all_kept", Kind.SHARE, about=about), together.value))
        facts.append(Fact(Column("all_kept_low", Kind.SHARE, about="end of its 95 % interval"), together.low))
        facts.append(
            Fact(Column("all_kept_high", Kind.SHARE, about="end of its 95 % interval"), together.high)
        )
    return facts


def _seen(ahead: Ahead) -> str:
    """Up to when the site was seen, and how far the weather is foretold."""
    record = ahead.state.record
    at = f"Data date {day_said(record.at)}, record {record.hash[:12]}."
    if ahead.foretold is None:
        return at
    n, days = len(ahead.foretold.members), (ahead.foretold.last_h - ahead.state.past.until // 60) / 24
    at += f" Weather forecast of {n} {'members' if n > 1 else 'member'}, {days:.0f} days ahead."
    return at + "".join(f" Doubtful: {remark.said}" for remark in ahead.foretold.remarks)


def _chapters(ahead: Ahead) -> list[Chapter]:
    chapters = [Chapter("What will be done", (_seen(ahead), _said(ahead)), ("weeks",))]
    if ahead.promises:
        chapters.append(Chapter("What was promised", (_together(ahead),), ("promises",)))
    return [
        *chapters,
        Chapter("What must be there", shows=("needed",)),
        Chapter("Which fronts", shows=("fronts",)),
    ]


def _together(ahead: Ahead) -> str:
    together, alone = ahead.all_kept, np.prod(ahead.kept.mean(axis=0))
    return (
        f"All are kept in {share(together.value)} of the trials ({share(together.low)} to "
        f"{share(together.high)}); were they independent, in {share(float(alone))}."
    )
