"""The tables of a bid's variants, of its risk register, and of who stands for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from towerpace.answers.bid.bid import Bid
from towerpace.answers.bid.variants import TOGETHER, WIND, YEARS, Variant, remains
from towerpace.answers.estimates import BEYOND, Percentile
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day, words
from towerpace.answers.said.tables import Column, Row, Table, Value, interval
from towerpace.scenario.schema import Risk
from towerpace.scenario.spreads import Spread

NOT_STATED = "not stated"
_PAGES = On.ALL & ~On.TERMINAL


def _days(name: str, label: str, about: str) -> Column:
    return Column(name, Kind.DAYS, label, about=about, signed=True, digits=1)


DOCUMENT = Table(
    "document",
    "Who stands for it",
    (
        Column("item", Kind.NAME, " ", about="what the scenario says under [bid]"),
        Column("said", Kind.TEXT, " ", about="what stands there", blank=NOT_STATED),
    ),
    about="who has prepared and reviewed the bid, its revision and data date, and what it leaves out",
    on=_PAGES,
)
VARIANTS = Table(
    "variants",
    "The same site under other assumptions, on the same draws",
    (
        Column("group", Kind.NAME, " ", about="what is varied"),
        Column("variant", Kind.NAME, " ", about="how"),
        Column("finish", Kind.DATE, "allow to", about="finish at the confidence of the bid", blank=BEYOND),
        replace(_days("over_days", "[d]", "that less the finish as the scenario stands"), on=_PAGES),
        _days("mean_days", "mean [d]", "mean finish less that as the scenario stands"),
        *interval("mean_days", Kind.DAYS, about="end of its 95 % interval", signed=True, digits=1),
    ),
    note="Answered: with the response to a risk. Paces: how they go together. Mean: of the finish, less "
    "that of the scenario as it stands.",
    about="responses to risks, how paces go together, windy years, and each year of the record",
    groups=True,
)
REGISTER = Table(
    "risks",
    "Risk register",
    (
        Column("risk", Kind.NAME, " ", about="as the scenario names it"),
        Column("on", Kind.NAME, about="what it befalls", on=_PAGES),
        Column("owner", Kind.NAME, about="who answers for it", blank=NOT_STATED, on=_PAGES),
        Column("response", Kind.TEXT, about="what is done about it", blank=NOT_STATED, on=_PAGES),
        Column("chance", Kind.SHARE, about="that it befalls"),
        Column("effect", Kind.TEXT, about="what it does then, on average"),
        Column("chance_after", Kind.SHARE, "chance then", about="chance that remains after the response"),
        Column("effect_after", Kind.TEXT, "effect then", about="effect that remains after the response"),
        _days("gain_days", "moves [d]", "what the response alone does to the mean finish"),
        *interval("gain_days", Kind.DAYS, about="end of its 95 % interval", signed=True, digits=1, on=_PAGES),
    ),
    about="every risk before and after its response, and what the response does to the finish",
    note="Then: what remains after the response. It moves the mean finish, on the same draws.",
)


def variant_tables(bid: Bid) -> tuple[Table, ...]:
    """Document, variants and register."""
    return (
        DOCUMENT.filled(_document(bid)),
        VARIANTS.filled(_variant(bid, variant) for variant in bid.variants),
        REGISTER.filled(_register(bid)),
    )


def _document(bid: Bid) -> Iterator[Row]:
    stated = bid.forecast.scenario.settings.bid
    if stated is None:
        return
    at = None if stated.data_date is None else day(stated.data_date)
    yield "prepared by", stated.prepared_by
    yield "reviewed by", stated.reviewed_by
    yield "revision", stated.revision
    yield "data date", at
    yield "contingency held by", stated.contingency_held_by
    for number, exclusion in enumerate(stated.exclusions or (None,)):
        yield "does not hold" if number == 0 else None, exclusion


def _variant(bid: Bid, variant: Variant) -> Row:
    mean = variant.over_mean
    moved = (None, None, None) if mean is None else (mean.mean, mean.low, mean.high)
    return variant.group, variant.name, _date(bid, variant.at), variant.over, *moved


def _date(bid: Bid, at: Percentile) -> Value:
    return None if at.value is None else bid.forecast.days.date_of(at.value)


def _register(bid: Bid) -> Iterator[Row]:
    alone = {variant.risk: variant for variant in bid.variants if variant.risk is not None}
    for k, risk in enumerate(bid.forecast.scenario.settings.risk):
        after = remains(risk)
        chance_after = float(risk.chance_after) if risk.chance_after is not None else float(risk.chance)
        told = (chance_after, _effect(risk, after=True)) if after else (None, None)
        mean = alone[k].over_mean if k in alone else None
        gain = (None, None, None) if mean is None else (mean.mean, mean.low, mean.high)
        on = words(risk.on) + ("" if risk.level is None else f" of L{risk.level}")
        yield risk.name, on, risk.owner, risk.response, float(risk.chance), _effect(risk), *told, *gain


def _effect(risk: Risk, *, after: bool = False) -> str:
    days = _after(risk.delay_days, risk.delay_days_after if after else None)
    if days is not None:
        return f"{days.mean():.0f} days later"
    factor = _after(risk.factor, risk.factor_after if after else None)
    assert factor is not None, "a risk has one of the two"
    return f"{100 * (factor.mean() - 1):+.0f} % minutes"


def _after(stated: Spread | None, then: Spread | None) -> Spread | None:
    return stated if then is None else then


def variants_said(bid: Bid) -> Iterator[str]:
    """What the variants come to: where another assumption moves the mean finish, and where not."""
    for group, subject in _MATTERS.items():
        own = [(v.name, v.over_mean) for v in bid.variants if v.group == group and v.over_mean is not None]
        clear = [(name, over) for name, over in own if over.low > 0 or over.high < 0]
        if clear:
            name, over = max(clear, key=lambda moved: abs(moved[1].mean))
            yield f"{subject} matters: {name} moves the mean finish by {over.mean:+.1f} days."
        elif own:
            yield f"{subject} is not seen to move the mean finish in {bid.forecast.trials:,} trials."
    risks = bid.forecast.scenario.settings.risk
    unanswered = [risk.name for risk in risks if risk.response is None]
    if unanswered:
        yield f"{len(unanswered)} of {len(risks)} risks have no response: {', '.join(unanswered)}."


_MATTERS = {
    TOGETHER: "How paces go together",
    WIND: "How windy the years are",
    YEARS: "Which year of the record is played",
}
