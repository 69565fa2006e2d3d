"""An explanation as an answer: what held the finish, who waits for what, and how one trial went."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from towerpace.answers.cautions import limits_cautions
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day, share, words
from towerpace.answers.said.tables import Chapter, Column, Fact, Table, Value
from towerpace.answers.why.chain import DATE_CAUSE
from towerpace.answers.why.explain import ExplanationDetail
from towerpace.answers.why.explained_tables import explained_tables
from towerpace.answers.why.telling import Story
from towerpace.answers.why.trial_tables import Span, trial_tables, waits_of
from towerpace.answers.why.unfinished import locked

_NEEDS = {"held_the_finish": "trades", "who_waits_for_what": "waiting", "chain_of_trial": "chain"}
EXPLAINED_FIGURES = tuple(_NEEDS)
_BEGINS_SHOWN = 4


def said(why: ExplanationDetail, *, story: Story | None = None, days: Span | None = None) -> Answer:
    """The explanation as everybody gets it.

    story : one trial that is told. days : first and last day of its diary that a terminal shows.
    """
    tables = explained_tables(why)
    if story is not None:
        tables = (*tables, *trial_tables(story, days))
    filled = {table.name: table for table in tables if table.rows}
    return Answer(
        question="explain",
        about="What held the finish",
        run=run_of(why.ready.scenario, why.ready.tower, seed=why.seed, trials=why.trials, asked=why.asked),
        said=_first(why, filled),
        facts=[*_facts(why), *([] if story is None else _trial_facts(story))],
        tables=tables,
        chapters=_chapters(why, filled, story),
        cautions=list(_cautions(why)),
        figures=[name for name, needed in _NEEDS.items() if needed in filled],
    )


def _chapters(why: ExplanationDetail, filled: dict[str, Table], story: Story | None) -> list[Chapter]:
    held = [_first(why, filled)]
    if "held" in filled:
        held += [*_begins(filled), *_equal(why)]
    chapters = [
        Chapter("What held the finish", held, ("held_the_finish", "trades", "begins", "held")),
        Chapter("Where the chain runs", shows=("levels", "bands", "pools")),
        Chapter(
            "Who waits for what",
            shows=("who_waits_for_what", "short_of_a_resource", "for_what_comes_before", "waiting"),
        ),
        Chapter("Trials that do not finish", list(_unfinished(why)), ("unfinished",)),
    ]
    typical = filled.get("typical")
    if typical is not None:
        look = ", ".join(f"trial {trial} is at {p}" for p, trial, _ in typical.rows)
        chapters.append(Chapter("", [f"To look at one: {look} (--trial N)."], on=On.TERMINAL))
        chapters.append(Chapter("Trials to look at", shows=("typical",), on=On.PAGE))
    chapters.append(Chapter("One truth about each source", shows=("reconciled",)))
    return chapters if story is None else [*chapters, *_trial(story, filled)]


def _trial(story: Story, filled: dict[str, Table]) -> Iterator[Chapter]:
    trial, finish = story.played.trial, story.played.diary.finish
    if finish is not None:
        ends = f"Trial {trial} finishes on {day(story.played.ready.days.date_of(finish))}."
    else:
        ends = f"Trial {trial} does not finish: it has no controlling chain."
        if locked(waits_of(story)):
            ends += " Nothing could have gone on, however long the clock ran."
    shows = ("chain_of_trial", "trial_waits", "legs", "stretches", "diary_days", "diary")
    yield Chapter(f"How trial {trial} went", [ends], shows)
    if "diary_days" not in filled:
        yield Chapter("", ["Nothing happened on these days."], on=On.TERMINAL)


def _first(why: ExplanationDetail, filled: dict[str, Table]) -> str:
    if "held" not in filled:
        return "No trial finishes inside the horizon, so there is no controlling chain."
    whole = float(why.held_days.sum())
    mean = f"The finish comes {whole:.1f} days after the start in the mean of the {why.finished} trials"
    trades = filled["trades"].rows if "trades" in filled else ()
    if not trades:
        return f"{mean}, and all of them pass before its date."
    chain, worked = (
        whole - _before(why),
        sum(_number(days) for days in filled["trades"].column("working_days")),
    )
    return (
        f"{mean}; the controlling chain takes {chain:.1f} of them, with {worked:.1f} working days. "
        f"Most of it, {_number(trades[0][1]):.1f} days, passes on {trades[0][0]}."
    )


def _before(why: ExplanationDetail) -> float:
    """Mean days before the planned dates at which the chains begin. [d]"""
    return float(why.held_days[:, why.causes.index(DATE_CAUSE)].sum())


def _begins(filled: dict[str, Table]) -> Iterator[str]:
    """Until when nothing could start, and with what the chains begin."""
    rows = filled["begins"].rows
    names = [f"{name} ({share(_number(part))})" for name, _, part in rows[:_BEGINS_SHOWN]]
    dates = sorted({planned for _, planned, _ in rows if isinstance(planned, date)})
    more = f" and {len(rows) - _BEGINS_SHOWN} more" if len(rows) > _BEGINS_SHOWN else ""
    tail = f"{', '.join(names)}{more}; what came before did not hold the finish."
    if not dates:
        yield f"The chain begins with {tail}"
    elif len(dates) == 1:
        yield f"Until {day(dates[0])} nothing on the chain could start: it begins with {tail}"
    else:
        between = f"between {day(dates[0])} and {day(dates[-1])}"
        yield f"Nothing on the chain could start before its date, {between}: it begins with {tail}"


def _equal(why: ExplanationDetail) -> Iterator[str]:
    """What holds the finish as long as the chain that is told, where two end in one minute."""
    equal = sorted(why.equally_long().items(), key=lambda item: (-item[1], item[0]))
    if equal:
        names = [f"{words(row)} ({share(part)} of the trials)" for row, part in equal[:_BEGINS_SHOWN]]
        more = f" and {len(equal) - _BEGINS_SHOWN} more" if len(equal) > _BEGINS_SHOWN else ""
        yield f"Equally long is another chain, over {', '.join(names)}{more}: either alone holds the finish."


def _number(value: Value) -> float:
    return float(str(value))


def _unfinished(why: ExplanationDetail) -> Iterator[str]:
    missing = why.unfinished
    if missing:
        locked_count = sum(trial.locked for trial in missing)
        stuck = (
            f" In {locked_count} of them nothing could go on, however long the clock." if locked_count else ""
        )
        yield f"{len(missing)} of {why.trials} trials do not finish.{stuck}"


def _facts(why: ExplanationDetail) -> Sequence[Fact]:
    mean = float(why.held_days.sum()) if why.finished else None
    before = _before(why) if why.finished else None
    about = "days before the planned dates at which the chains begin, mean of the trials that finish"
    return [
        Fact(Column("finished", Kind.COUNT, about="trials that finish inside the horizon"), why.finished),
        Fact(Column("beyond_horizon", Kind.COUNT, about="trials that do not"), why.trials - why.finished),
        Fact(Column("mean_days", Kind.DAYS, about="from the start to the finish, mean of those"), mean),
        Fact(Column("before_begin_days", Kind.DAYS, about=about), before),
    ]


def _trial_facts(story: Story) -> Sequence[Fact]:
    finish = story.played.diary.finish
    ended = None if finish is None else story.played.ready.days.date_of(finish)
    stuck = locked(waits_of(story))
    return [
        Fact(Column("trial", Kind.COUNT, about="number of the trial that is told"), story.played.trial),
        Fact(Column("trial_finish", Kind.DATE, about="day of its finish"), ended),
        Fact(Column("trial_locked", Kind.TRUTH, about="whether nothing in it could have gone on"), stuck),
    ]


def _cautions(why: ExplanationDetail) -> Iterator[str]:
    if why.trials < why.asked:
        yield f"The run was interrupted: {why.trials} of {why.asked} trials were finished."
    beyond = why.trials - why.finished
    if beyond:
        yield (
            f"{beyond} of {why.trials} trials do not finish inside the horizon; they count as later than all "
            "others and have no chain: days of the finish are means of those that finish."
        )
    yield from limits_cautions(why.ready.scenario.settings)
