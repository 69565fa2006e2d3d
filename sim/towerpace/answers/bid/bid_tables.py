"""The tables of a bid: what each confidence needs, where contingency comes from, what drives the finish."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import isnan

from towerpace.answers.bid.bid import Bid
from towerpace.answers.bid.contingency import Days, Part, Split
from towerpace.answers.bid.swings import Side
from towerpace.answers.choice.paired import Difference
from towerpace.answers.estimates import BEYOND, Percentile
from towerpace.answers.forecast_tables import NO_INTERVAL, dates_of
from towerpace.answers.reconciled import reconciled_table
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table, interval
from towerpace.units import DAY_MIN

_DRIVERS_SHOWN, _SWINGS_SHOWN = 10, 12
_ON_PAGES = On.PROGRAMS | On.PAGE


def _days(name: str, label: str = "", about: str = "", *, signed: bool = True) -> Column:
    return Column(name, Kind.DAYS, label, about=about, signed=signed, digits=1)


def _ends(name: str, *, signed: bool = True, on: On = On.ALL) -> tuple[Column, Column]:
    return interval(name, Kind.DAYS, about="end of its 95 % interval", signed=signed, digits=1, on=on)


NEEDED = Table(
    "needed",
    "What each confidence needs",
    (
        Column("confidence", Kind.SHARE, " ", about="share of the trials that have finished"),
        Column(
            "finish",
            Kind.DATE,
            "allow to",
            about="day by which they have",
            blank=BEYOND,
            event="finish, {confidence} confidence",
        ),
        *interval("finish", Kind.DATE, about="end of its 95 % interval", blank=NO_INTERVAL),
        Column("working_day", Kind.WORKING_DAY, about="working days from the start to that day"),
        _days("over_plan_days", "over plan [d]", "days over the plan without uncertainty"),
    ),
    about="the duration that each confidence needs",
)
DAMAGES = Table(
    "damages",
    "Damages",
    (
        Column("contract", Kind.NAME, " ", about="contract date, or all together"),
        Column("unit", Kind.NAME, about="unit of money", on=On.PROGRAMS),
        Column("expected", Kind.MONEY, about="average of all trials", digits=0),
        *interval(
            "expected",
            Kind.MONEY,
            about="end of its 95 % interval; blank where none is due",
            label="interval",
            digits=0,
        ),
        Column("p80", Kind.MONEY, "P80", about="four trials in five owe no more", digits=0),
        Column("chance", Kind.SHARE, "any due", about="chance that some fall due", digits=1),
    ),
    about="damages for late contract dates",
)
DURATION = Table(
    "duration",
    "Base, allowance and contingency",
    (
        Column("part", Kind.NAME, " ", about="base, allowance, contingency, or the date they add up to"),
        Column("source", Kind.NAME, about="source of spread, or what the line is"),
        _days("shift_days", "days", "calendar days; base, allowance and contingency add up", signed=False),
        *_ends("shift_days", signed=False),
        _days("alone_mean_days", "on its own", "added in the mean, all others as planned"),
        Column("moves", Kind.SHARE, "moves it in", about="share of the trials whose finish it moves"),
    ),
    about="base, allowance by source, and contingency up to the date at the confidence",
    note="Base: all as planned. Allowance: sources that move the finish in 95 % of the trials or more; days "
    "saved in the mean by each removed from all, then by all of them together. Contingency: the rest up to "
    "the date, rarer sources in whole. A source that moves nearly every trial by next to nothing counts as "
    "allowance, too: the share of the trials decides, not the days.",
)
SOURCES = Table(
    "sources",
    "What each source does to the date, in days on common draws",
    (
        Column("source", Kind.NAME, about="source of spread; then what does not add up, and the total"),
        _days("removed_days", "saved if removed", "all on less all but this one", signed=False),
        *_ends("removed_days", signed=False),
        _days("alone_days", "added on its own", "this one on and all others as planned"),
        *_ends("alone_days"),
        Column(
            "sd_alone_days",
            Kind.DAYS,
            "spread on its own",
            about="deviation of the finish",
            digits=1,
            on=_ON_PAGES,  # a terminal of eighty columns has no room for it
        ),
        Column("removed_mean_days", Kind.DAYS, about="saved, average of all trials", on=On.PROGRAMS),
        Column("alone_mean_days", Kind.DAYS, about="added, average of all trials", on=On.PROGRAMS),
        Column("sd_removed_days", Kind.DAYS, about="deviation left without it", on=On.PROGRAMS),
    ),
    about="what each source does to the finish at the confidence",
    note="Removed: this source as planned and all others on. On its own: this one on and all others as "
    "planned, over the date without uncertainty. Sources do not add up where they meet; the remainder is "
    "not shared out.",
)
SHARES = Table(
    "shares",
    "What each source adds in the mean of sampled orders",
    (
        Column("source", Kind.NAME, " ", about="source of spread"),
        _days("share_days", "share [d]", "mean of what it adds to those before it; all add up"),
        Column("error_days", Kind.DAYS, "error", about="standard error of sampling the orders", digits=2),
    ),
    about="sampled Shapley means: what sources do together, shared out over the mean finish",
    note="Shares add up to the mean finish over the plan. The error is that of sampling orders, all of them "
    "on the same draws.",
)
DRIVERS = Table(
    "drivers",
    "What drives the finish",
    (
        Column("input", Kind.NAME, "drawn input", about="what chance decided"),
        Column("source", Kind.NAME, about="its source of spread", on=On.PROGRAMS),
        Column("unit", Kind.NAME, about="its unit", on=On.PROGRAMS),
        *(Column(f"p{p}", Kind.NUMBER, about=f"P{p} of the input", on=On.PROGRAMS) for p in (10, 50, 90)),
        Column(
            "rank",
            Kind.NUMBER,
            about="correlation of ranks with the finish",
            signed=True,
            digits=2,
            on=_ON_PAGES,
        ),
        *interval("rank", Kind.NUMBER, about="end of its 95 % interval", signed=True, digits=2, on=_ON_PAGES),
        Column(
            "regression", Kind.NUMBER, about="in the regression of ranks", signed=True, digits=2, on=_ON_PAGES
        ),
        *interval("regression", Kind.NUMBER, about="end of its 95 % interval", on=On.PROGRAMS),
        Column("known", Kind.SHARE, "share explained", about="of the variance, if it were known"),
        *interval("known", Kind.SHARE, about="end of its 95 % interval", on=On.PROGRAMS),
        Column("sd_known_days", Kind.DAYS, "spread left [d]", about="deviation if it were known", digits=1),
        Column("verdict", Kind.NAME, " ", about="drives, no effect seen, or constant"),
    ),
    about="what chance decides, most explained first",
    most=_DRIVERS_SHOWN,
    first_rows=True,
)
_SIDES = [
    column
    for end in ("low", "high")
    for column in (
        Column(f"{end}_value", Kind.NUMBER, end, uneven=True, about=f"the number at its {end} end"),
        _days(f"{end}_diff_days", "days", "of the mean finish against the scenario as it is"),
        *_ends(f"{end}_diff_days", on=_ON_PAGES),
        Column(f"{end}_p80_diff_days", Kind.DAYS, about="of P80", on=On.PROGRAMS),
        *_ends(f"{end}_p80_diff_days", on=On.PROGRAMS),
    )
]
SWINGS = Table(
    "swings",
    "One number at a time, on common draws",
    (
        Column("key", Kind.NAME, about="key of the scenario"),
        Column("stated", Kind.TEXT, about="as the scenario states it", on=On.PROGRAMS),
        Column("moved", Kind.TEXT, about="what its two ends are", on=On.PROGRAMS),
        *_SIDES,
        Column("width_days", Kind.DAYS, about="from the earlier end to the later", on=On.PROGRAMS),
        Column("verdict", Kind.NAME, " ", about="moves, unclear or no effect"),
        Column("remark", Kind.TEXT, about="why an end is missing", on=_ON_PAGES),
    ),
    about="every number at both its ends, the widest first",
    most=_SWINGS_SHOWN,
    first_rows=True,
)
STAGES = Table(
    "stages",
    "Would more trials change it",
    (
        Column("trials", Kind.COUNT, about="the first so many trials"),
        Column("of_seed", Kind.COUNT, "seed", about="of which seed"),
        Column("finish", Kind.DATE, about="finish at the confidence asked", blank=BEYOND),
        *interval("finish", Kind.DATE, about="end of its 95 % interval", blank=NO_INTERVAL),
    ),
    about="the answer as trials are added, and under a second seed",
)


def bid_tables(bid: Bid) -> Iterator[Table]:
    """The tables of a bid beside those of its forecast, in the order of reading."""
    yield NEEDED.filled(_needed(bid))
    damages = DAMAGES.filled(_damages(bid))
    yield replace(damages, title=f"Damages, {bid.damages[0].unit}") if bid.damages else damages
    yield DURATION.filled(_duration(bid.split))
    yield SOURCES.filled(_sources(bid))
    by_days = sorted(bid.shares, key=lambda share: -share.mean)
    yield SHARES.filled((share.source, share.mean, share.error) for share in by_days)
    yield reconciled_table(bid.reconciled)
    yield DRIVERS.filled(_drivers(bid), note=_drivers_note(bid))
    yield SWINGS.filled(_swings(bid), note=_swings_note(bid))
    yield STAGES.filled(_stages(bid), note=_agreement(bid))


def _needed(bid: Bid) -> Iterator[Row]:
    days = bid.forecast.days
    for need in bid.needed:
        minute = need.finish.value
        worked = None if minute is None else days.working_day(minute)
        yield (need.confidence, *dates_of(bid.forecast, need.finish), worked, need.over)


def _damages(bid: Bid) -> Iterator[Row]:
    for due in bid.damages:
        expected = due.expected
        three = (None,) * 3 if expected is None else (expected.value, *_known(expected.low, expected.high))
        yield (due.name, due.unit, *three, due.p80, due.any.value)


def _duration(split: Split | None) -> Iterator[Row]:
    base = None if split is None else split.planned.base
    if split is None or base is None:
        return
    none = (None, None)
    yield ("base", "all goes as planned", base / DAY_MIN, *none, None, None)
    for part in split.frequent:
        yield ("allowance", part.source, *_difference(part.off_mean), part.alone_mean, part.moves)
    if len(split.frequent) > 1:
        yield ("allowance", "where they meet", split.remainder_allowance, *none, None, None)
    yield ("allowance", "all together", *_difference(split.together), None, None)
    yield ("contingency", "up to the date", split.contingency, *none, None, None)
    for part in split.parts:
        if not part.frequent:
            yield ("of contingency", part.source, None, *none, part.alone_mean, part.moves)
    total = split.total
    ends = none if total is None else (_since(base, total.low), _since(base, total.high))
    yield (
        "date",
        f"P{split.p * 100:g}",
        None if total is None else _since(base, total.value),
        *ends,
        None,
        None,
    )


def _since(base: int, over: float | None) -> float | None:
    """Days from the start, of days over the base."""
    return None if over is None else base / DAY_MIN + over


def _known(*ends: float) -> tuple[float | None, ...]:
    return tuple(None if isnan(end) else end for end in ends)


def _sources(bid: Bid) -> Iterator[Row]:
    split = bid.split
    if split is None:
        return
    for part in split.parts:
        yield _part(part)
    nothing = (None, None)
    yield (
        "remainder",
        split.remainder_off,
        *nothing,
        split.remainder_alone,
        *nothing,
        None,
        None,
        None,
        None,
    )
    total, mean = _estimate(split.total), split.total_mean
    yield ("over the plan", *total, *total, split.sd, mean, mean, None)
    if split.no_weather is not None:
        yield _part(split.no_weather)


def _part(part: Part) -> Row:
    return (
        part.source,
        *_difference(part.off),
        *_estimate(part.alone),
        part.sd_alone,
        None if part.off_mean is None else part.off_mean.mean,
        part.alone_mean,
        part.sd_off,
    )


def _difference(found: Difference | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if found is None else (found.mean, found.low, found.high)


def _estimate(days: Days | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if days is None else (days.value, days.low, days.high)


def _drivers(bid: Bid) -> Iterator[Row]:
    for driver in bid.drivers.drivers:
        three = [
            number
            for estimate in (driver.rank, driver.regression, driver.known)
            for number in ((None,) * 3 if estimate is None else (estimate.value, estimate.low, estimate.high))
        ]
        spread = (driver.p10, driver.p50, driver.p90)
        head = (driver.name, driver.source, driver.unit)
        yield (*head, *spread, *three, driver.sd_known, driver.verdict)


def _drivers_note(bid: Bid) -> str:
    constant = [driver.name for driver in bid.drivers.drivers if driver.verdict == "constant"]
    spread = "" if bid.drivers.sd is None else f" The finish spreads by {bid.drivers.sd:.1f} days (sd)."
    same = f" The same in every trial: {', '.join(constant)}." if constant else ""
    explained = "Share explained, spread left: of the finish, if this input were known."
    return f"{explained}{spread}{_together(bid)}{same}"


def _together(bid: Bid) -> str:
    share = bid.drivers.together
    if share is None:
        return ""
    low, high = 100 * share.low, 100 * share.high
    interval_text = f"{100 * share.value:.0f} % ({low:.0f} to {high:.0f} %)"
    return f" Together with others, or with what is not listed: {interval_text}."


def _swings(bid: Bid) -> Iterator[Row]:
    for swing in bid.swings:
        head = (swing.range.key, swing.range.text, swing.range.how)
        yield (*head, *_side(swing.low), *_side(swing.high), swing.width, swing.verdict, swing.remark)


def _side(side: Side | None) -> Row:
    if side is None:
        return (None,) * 7
    return (side.value, *_difference(side.days), *_difference(side.p80_days))


def _swings_note(bid: Bid) -> str:
    if not bid.swings:
        return ""
    at_once = [swing.range.key for swing in bid.swings if swing.range.items is None]
    also = f" Moved for all at once, which overstates: {', '.join(at_once)}." if at_once else ""
    return (
        f"Days of the mean finish at each end, {bid.swing_trials} trials; less is earlier. What is drawn "
        "once stands at its P10 and P90; of what is drawn for many items the mean is moved, by its own "
        f"spread.{also}"
    )


def _stages(bid: Bid) -> Iterator[Row]:
    seed = bid.forecast.seed
    for stage in bid.stages:
        yield (stage.trials, seed, *_dated(bid, stage.percentile))
    if bid.second is not None:
        yield (bid.second.trials, bid.second.seed, *_dated(bid, bid.second.percentile))


def _dated(bid: Bid, found: Percentile) -> Row:
    return dates_of(bid.forecast, found)


def _agreement(bid: Bid) -> str:
    agrees = None if bid.second is None else bid.second.agrees
    if agrees is None:
        return ""
    found = "no more than" if agrees else "more than"
    return f"The two seeds differ by {found} chance explains (difference against its standard error, 95 %)."
