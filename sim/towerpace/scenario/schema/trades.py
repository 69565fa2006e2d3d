"""Trades that work through the fronts, and who is served first."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from towerpace.scenario.complaints import Complaint, RefusalError
from towerpace.scenario.fields import (
    Count,
    Names,
    NumberAbove0,
    NumberFrom0,
    Share,
    SomeNames,
    SourcedTable,
    SpreadAbove0,
    SpreadFrom0,
    Text,
    Truth,
    Whole,
    number_in,
    spread_in,
)
from towerpace.scenario.meanings import key
from towerpace.scenario.quantities import Bounds, Value
from towerpace.scenario.spreads import Spread
from towerpace.scenario.words import Words

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
Month = Literal["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]

_FRONT = "A front is one trade's work in one zone of one level."


class Learning(SourcedTable):
    """Unit (Crawford) learning curve over fronts in planned order."""

    rate: Annotated[
        Share,
        key(
            "Minutes after each doubling of the fronts done, over those before: 0.95 is 5 % quicker.",
            "0.95",
            unit="-",
        ),
    ]
    plateau_fronts: Annotated[
        Count, key("Number of fronts after which nobody gets quicker.", "16", unit="fronts")
    ]
    reset: Annotated[
        Literal["difficulty"] | None,
        key(
            "Learning begins anew at every front whose difficulty differs from the front before; without the "
            "key "
            "it runs on.",
            '"difficulty"',
        ),
    ] = None


class LongShift(SourcedTable):
    """Output lost in long shifts."""

    after_h: Annotated[
        NumberAbove0,
        key("Hours of a working day from which on output falls.", "8", unit="working hours"),
    ]
    loss: Annotated[
        Spread,
        *spread_in(Bounds(low=0, high=1, high_open=True)),
        key(
            "Share of output lost for each hour beyond, taken over the hours of an average week of the "
            "calendar.",
            '{ low = 0.02, likely = 0.04, high = 0.08, shape = "pert" }',
            unit="share an hour",
        ),
    ]


class After(SourcedTable):
    """A condition for the start of a front."""

    on: Annotated[
        Text,
        key(
            'What must be done first: "handover" of the level, "closing_in", "water_test", a trade, an '
            "activity "
            'or "mock_up".',
            '"brackets"',
        ),
    ]
    levels_up: Annotated[
        Whole,
        key(
            "On which level it must be done: 0 the front's own, 1 the level above, -1 the one below. Not "
            "with "
            "what happens once.",
            "1",
            unit="levels",
        ),
    ] = 0
    zones: Annotated[
        Literal["same", "all"],
        key("Whether the same zone of that level must be done, or all its zones.", '"all"'),
    ] = "same"
    lag_h: Annotated[
        SpreadFrom0,
        key("How long to wait after that, by the clock, as for curing.", "24", unit="clock hours"),
    ] = Spread.constant(0.0)


class TradeTable(SourcedTable):
    """What every trade says."""

    pace: Annotated[
        SpreadAbove0,
        key(
            "Factor on all minutes of the trade, drawn once a trial: how fast the gangs of this job turn out "
            "to "
            "be. 1 is as planned, above 1 slower.",
            '{ low = 0.9, likely = 1.0, high = 1.3, shape = "pert" }',
            unit="-",
        ),
    ] = Spread.constant(1.0)
    needs: Annotated[
        dict[str, Count],
        Field(min_length=1),
        Words("resource = quantity, at least one"),
        key(
            "Resources that a front takes together and keeps until it is done, as a gang and its platform. "
            + _FRONT,
            "{ board_pair = 1, platform = 1 }",
            unit="units",
        ),
    ]
    calendar: Annotated[Text, key("Name of the calendar in which the trade works.", '"site"')]
    after: Annotated[
        tuple[After, ...],
        Field(min_length=1),
        Words("a list of tables, at least one"),
        key("What must be done before a front may start: all of these conditions.", '[{ on = "handover" }]'),
    ]
    learning: Annotated[
        Learning | None,
        key(
            "How the trade gets quicker with practice; without the table it does not.",
            "[trade.NAME.learning]",
        ),
    ] = None
    long_shift: Annotated[
        LongShift | None,
        key("What long working days cost in output; without the table nothing.", "[trade.NAME.long_shift]"),
    ] = None


class PieceClass(SourcedTable):
    """Pieces of one class of a trade."""

    column: Annotated[
        Text, key("Column of the level table that counts the pieces of this class.", '"tight_m2"')
    ]
    unit_min: Annotated[
        SpreadFrom0,
        key(
            "Working minutes for one piece of this class.",
            '{ low = 12, likely = 20, high = 40, shape = "pert" }',
            unit="working minutes",
        ),
    ]


class GangTrade(TradeTable):
    """A trade whose gang does a front in one go, or coat by coat."""

    kind: Annotated[
        Literal["gang"],
        key(
            'Whether gangs do the work of a front by its units ("gang"), or panels are lifted one by one '
            '("panels").',
            '"gang"',
        ),
    ]
    column: Annotated[
        Text | None,
        key(
            "Column of the level table that counts the units of a front.",
            '"brackets"',
            needed="without classes",
        ),
    ] = None
    unit_min: Annotated[
        SpreadFrom0 | None,
        key(
            "Working minutes for one unit, drawn front by front.",
            '{ low = 9, likely = 14, high = 30, shape = "pert" }',
            unit="working minutes",
            needed="without classes",
        ),
    ] = None
    classes: Annotated[
        dict[str, PieceClass],
        key(
            "Instead of column and unit_min: several classes of pieces, each with its own. Tighter curves "
            "take "
            "smaller pieces and more of them.",
            "[trade.NAME.classes.NAME]",
        ),
    ] = Field(default_factory=dict)
    coats: Annotated[
        Count, key("How often each unit is gone over, unit_min each time.", "3", unit="coats")
    ] = 1
    drying_h: Annotated[
        SpreadFrom0 | None,
        key(
            "How long a coat dries before the next, by the clock.",
            '{ low = 6, likely = 19, high = 48, shape = "pert" }',
            unit="clock hours",
            needed="when coats is above 1",
        ),
    ] = None
    drying_cold_h: Annotated[
        NumberAbove0 | None,
        key(
            "Mean of drying_h in the cold months; whatever is drawn is stretched by the ratio.",
            "48",
            unit="clock hours",
            needed="with cold_months",
        ),
    ] = None
    cold_months: Annotated[
        tuple[Month, ...],
        Words("a list of months as jan"),
        key("Months in which coats dry slowly.", '["nov", "dec", "jan", "feb"]', needed="with drying_cold_h"),
    ] = ()
    drying_limits: Annotated[
        Names, key("Limits of weather in which drying stands still.", '["cold_joints"]')
    ] = ()
    difficulty: Annotated[
        Truth,
        key("Whether the difficulty of the level table multiplies the minutes of this trade.", "false"),
    ] = True
    limits: Annotated[
        Names, key("Limits of weather in which the work pauses.", '["rain_on_joints", "cold_joints"]')
    ] = ()
    outside: Annotated[
        Truth,
        key(
            "Whether the gang stands outside: then nobody works below or above it in the same strip, and no "
            "lift "
            "passes over it. A strip is one zone over all levels.",
            "true",
        ),
    ] = False

    @model_validator(mode="after")
    def _dries_slower_in_the_cold(self) -> Self:
        if self.drying_h is not None and self.drying_cold_h is not None:
            mean = self.drying_h.mean()
            if not 0 < mean <= self.drying_cold_h:
                allowed = f"at least the mean of drying_h, which is {mean:g} and must be above 0"
                found = f"{self.drying_cold_h:g}"
                raise RefusalError([Complaint(("drying_cold_h",), found, allowed)])
        return self


class Returns(SourcedTable):
    """New panels of a level are gathered, so that gang and crane come back once for several."""

    most: Annotated[
        Count,
        key(
            "So many new panels of a level fill a return visit; it goes when they are up.", "6", unit="panels"
        ),
    ]
    days: Annotated[
        NumberFrom0,
        key(
            "A panel that would come more than so long after the first of a visit is left to the next one.",
            "28",
            unit="calendar days",
        ),
    ]
    visits: Annotated[
        Count,
        key(
            "Return visits to a level at most: the last takes whatever is left. Each adds steps to the plan.",
            "3",
            unit="visits",
        ),
    ] = 2


class PanelTrade(TradeTable):
    """The trade that lifts panels."""

    kind: Annotated[
        Literal["panels"],
        key(
            'Whether gangs do the work of a front by its units ("gang"), or panels are lifted one by one '
            '("panels").',
            '"panels"',
        ),
    ]
    families: Annotated[
        SomeNames,
        key("Families of panels that this trade sets, in this order on each front.", '["flat", "corner"]'),
    ]
    method: Annotated[
        Text | None,
        key(
            'How its panels are lifted in: a table of [method.NAME], or "crane", the default: the '
            "floor cranes of [crane]. The level table, [level.NAME] and a family may say another.",
            '"hook"',
        ),
    ] = None
    hole: Annotated[
        Literal["return", "hold", "infill"],
        key(
            'What a lost panel does until its replacement comes: "hold" keeps the trades after its front and '
            "the "
            'zone above waiting; "return" lets them go on, and gang and crane come back for it; "infill" '
            "sheets "
            "the hole meanwhile, so that it does not even hold closing-in.",
            '"return"',
        ),
    ] = "return"
    return_set_factor: Annotated[
        NumberAbove0,
        key("Setting time of a panel on a return visit over the usual one.", "1.3", unit="-"),
    ] = Value(1.0)
    returns: Annotated[
        Returns | None,
        key(
            "How new panels are gathered for return visits; without the table gang and crane come for each "
            "as soon as it is up.",
            "[trade.NAME.returns]",
        ),
    ] = None


Trade = Annotated[GangTrade | PanelTrade, Field(discriminator="kind")]


class Correlation(SourcedTable):
    """How alike the paces of trades turn out."""

    trades: Annotated[
        tuple[Text, ...],
        Field(min_length=2),
        Words("a list of names, at least two"),
        key("Trades whose paces go together, pair by pair.", '["framing", "boards_1", "boards_2"]'),
    ]
    rho: Annotated[
        Value,
        *number_in(Bounds(low=-1, high=1, low_open=True, high_open=True)),
        key(
            "How closely the paces go together: 0 not at all, near 1 a slow job is slow in all of them "
            "(Gaussian copula).",
            "0.5",
            unit="-",
        ),
    ]


class Policy(SourcedTable):
    """Who is served first."""

    rank: Annotated[
        Literal["lowest front", "most urgent"],
        key(
            "Which front comes first when several wait for the same gang: the lowest, or the one whose "
            "latest "
            "start comes first if nobody had to wait for anything.",
            '"lowest front"',
        ),
    ] = "lowest front"
