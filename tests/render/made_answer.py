"""An answer made by hand that holds every kind of value, and names as only people can give them."""

from __future__ import annotations

from datetime import date

from towerpace.answers.said.answer import Answer, Method, Run
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Chapter, Column, Fact, Table, interval

HOSTILE = (
    "[/]",
    "Wharf [phase 2]",
    "$1^^2$",
    '=HYPERLINK("http://example.invalid","x")',
    "+1",
    "-1",
    "@SUM(A1)",
    "\ttab",
    "<script>alert(1)</script>",
    "&amp; & 'quotes' \"more\"",
    "#set text(red)",
    "../../up",
    "塔 Élan \u202eright to left",
    "12",
    "nan",
    "NA",
    "%s {0} {day}",
    "\\back\\slash #{x}",
    "]]> <!-- &#27;",
    "*bold* _low_ `code` ~",
    "a.b/c, d; e|f",
    "long" * 30,
)
RUN = Run(
    scenario="Made by hand",
    path="made/scenario.toml",
    hash="ab" * 32,
    seed=7,
    trials=40,
    asked=40,
    start=date(2027, 3, 1),
    last=date(2027, 6, 30),
    levels=3,
    zones=2,
    version="9.9",
)
NAMES = Table(
    "names",
    "Names as people give them",
    (Column("name", Kind.NAME), Column("words", Kind.TEXT), Column("count", Kind.COUNT)),
    [(name, f"about {name}", k) for k, name in enumerate(HOSTILE)],
)
_DAYS = (date(2027, 3, 25), date(2027, 3, 24), date(2027, 3, 27))
_EARLY = ("one", *_DAYS, 19, -1.43, -1.7, -1.16, 1795.25, 45, 1234567.5, 0.999, 0.9, 1.0, 12.5, True, 0.1)
_SURE = ("one", *_DAYS[:1] * 3, 19, -0.01, -0.04, 0.02, 0.5, 0, 0.0, 0.0004, 0.0, 0.01, 4.0, False, 0.2)
KINDS = Table(
    "kinds",
    "Every kind of value",
    (
        Column("group", Kind.NAME),
        Column("day", Kind.DATE, blank="never"),
        *interval("day", Kind.DATE, blank="no interval"),
        Column("working_day", Kind.WORKING_DAY),
        Column("late_days", Kind.DAYS, signed=True, digits=1),
        *interval("late_days", Kind.DAYS, signed=True, digits=1),
        Column("mean_h", Kind.HOURS),
        Column("wait_min", Kind.MINUTES),
        Column("cost", Kind.MONEY),
        Column("share", Kind.SHARE),
        *interval("share", Kind.SHARE),
        Column("height_m", Kind.NUMBER, unit="m"),
        Column("met", Kind.TRUTH),
        Column("hidden", Kind.NUMBER, on=On.PROGRAMS),
    ),
    [_EARLY, _SURE, ("two", *(None,) * 16)],
    groups=True,
)
MADE = Answer(
    question="made",
    about="An answer made by hand",
    run=RUN,
    said="For 80 % confidence allow to Thu 25 Mar 2027.",
    facts=[
        Fact(Column("mean_days", Kind.DAYS), 24.5),
        Fact(Column("day", Kind.DATE), date(2027, 3, 25)),
        Fact(Column("none", Kind.DAYS), None),
    ],
    tables=[KINDS, NAMES],
    chapters=[
        Chapter("Kinds", ("All kinds of values.",), ("mean_days", "kinds")),
        Chapter("Names", (), ("names",)),
    ],
    banners=["WIND LIMIT RAISED in windy: 12 m/s."],
    cautions=["Planning inputs, never permission to lift."],
    methods=[Method("By hand.", "A book.")],
)
