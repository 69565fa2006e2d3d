"""The tables of an update: before and now, what moved it, what is recorded, and the trend."""

from __future__ import annotations

from dataclasses import replace

from towerpace.answers.estimates import BEYOND
from towerpace.answers.forecast_tables import CONTRACT, NO_INTERVAL
from towerpace.answers.forecast_tables import FINISH as TRIALS
from towerpace.answers.learn.learned_said import CHANCES, LEARNED
from towerpace.answers.progress import FLOW
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Table, interval
from towerpace.answers.update.held_said import HELD

_NO_ROOM = On.ALL & ~On.TERMINAL
FINISH = Table(
    "percentiles",
    "Finish, before and now",
    (
        Column("percentile", Kind.NAME, " ", about="P80: four trials in five finish by this day"),
        Column("before", Kind.DATE, about="forecast before this update", blank=BEYOND),
        *interval("before", Kind.DATE, about="end of its 95 % interval", blank=NO_INTERVAL, on=On.PROGRAMS),
        Column("finish", Kind.DATE, "now", about="forecast now", blank=BEYOND, event="finish, {percentile}"),
        *interval("finish", Kind.DATE, about="end of its 95 % interval", blank=NO_INTERVAL, on=_NO_ROOM),
        Column("moved_days", Kind.DAYS, "moved by [d]", about="now less before", signed=True, digits=1),
    ),
    about="finish dates by confidence, before and now",
)
MOVES = Table(
    "moves",
    "What moved it",
    (
        Column("cause", Kind.NAME, " ", about="what became known: progress, weather, what was learned"),
        Column("p50_days", Kind.DAYS, "P50 [d]", about="by how much P50 moved", signed=True, digits=1),
        Column("p80_days", Kind.DAYS, "P80 [d]", about="by how much P80 moved", signed=True, digits=1),
        Column(
            "diff_days",
            Kind.DAYS,
            "mean [d]",
            about="mean paired difference of the finish",
            signed=True,
            digits=1,
        ),
        *interval("diff_days", Kind.DAYS, about="end of its 95 % interval", signed=True, digits=1),
    ),
    about="moves of the finish: each became known after the one above it, on the same draws",
    note=(
        "One after the other in this order, on the same draws; in another order the parts would differ. "
        "Weather: what measured hours leave of work in progress; the days that they cost are in progress."
    ),
)
CLOSING_IN = Table(
    "closing_in",
    "Closing-in, before and now",
    (
        Column("level", Kind.COUNT, about="number of the level"),
        Column(
            "before", Kind.DATE, "P50 before", about="half of the trials, before", blank=BEYOND, on=_NO_ROOM
        ),
        Column("p50", Kind.DATE, "P50 now", about="half of the trials, now", blank=BEYOND),
        *interval("p50", Kind.DATE, about="end of the 95 % interval of P50", blank=NO_INTERVAL, on=_NO_ROOM),
        Column("p80", Kind.DATE, "P80 now", about="four trials in five, now", blank=BEYOND),
        Column("baseline", Kind.DATE, about="to be closed in by this day"),
        Column(
            "moved_days",
            Kind.DAYS,
            "moved by [d]",
            about="now, at the confidence of the baseline, less the baseline",
            signed=True,
            digits=0,
        ),
        Column("built", Kind.TRUTH, about="whether it is closed in at the data date"),
    ),
    about="when each level is closed in, before and now",
    most=12,
)
DONE = Table(
    "done",
    "Done as reported",
    (
        Column("what", Kind.NAME, " ", about="word of the sheet"),
        Column("done", Kind.NUMBER, about="units reported as done"),
        Column("of", Kind.NUMBER, about="units of the tower"),
        Column("share", Kind.SHARE, about="of them"),
    ),
    about="what the sheet reports, and of how much",
)
FILLED = Table(
    "filled_in",
    "Filled in: nobody reported it, but it must have happened",
    (Column("what", Kind.NAME, " ", about="trade"), Column("steps", Kind.COUNT, about="steps filled in")),
    about="steps that nobody reported and that what is reported needs",
    folded=True,
)
REMARKS = Table(
    "remarks",
    "Remarks",
    (
        Column("file", Kind.NAME, about="file of the record"),
        Column("lines", Kind.TEXT, about="its lines, the later first"),
        Column("remark", Kind.TEXT, about="what was let through"),
    ),
    about="what is doubtful about the record and was let through",
)
SCENARIO_THEN = Column(
    "scenario_then",
    Kind.NAME,
    "scenario",
    about="'as it was' where the forecast is of the scenario of the last update, which has changed since",
    on=_NO_ROOM,
)
TREND = Table(
    "trend",
    "The forecast over the data dates",
    (
        Column("data_date", Kind.DATE, about="day at whose end the site was seen", blank="start"),
        *(
            Column(
                name.lower(), Kind.DATE, name, about=f"{name} of the finish as seen then", blank=BEYOND, on=on
            )
            for name, on in (("P10", _NO_ROOM), ("P50", On.ALL), ("P80", On.ALL))
        ),
        Column("contract", Kind.NAME, about="contract date"),
        Column("chance", Kind.SHARE, about="chance that it is met, as seen then"),
        SCENARIO_THEN,
    ),
    about="finish and chances of the contract dates as they were forecast at every data date",
)
HELD_FLOW = Column("baseline", Kind.DATE, about="to be done by this day in the baseline")
UPDATE_FLOW = replace(FLOW, columns=(*FLOW.columns, HELD_FLOW))
UPDATE_TABLES = (
    FINISH,
    MOVES,
    CONTRACT,
    HELD,
    CLOSING_IN,
    LEARNED,
    CHANCES,
    DONE,
    FILLED,
    REMARKS,
    TREND,
    UPDATE_FLOW,
    TRIALS,
)
