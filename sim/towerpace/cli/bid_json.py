"""A bid as one JSON object: every number of it, in flat tables where there are many."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from towerpace import __version__
from towerpace.answers.bid.bid import Bid
from towerpace.answers.bid.contingency import Part, Split
from towerpace.answers.bid.saved import FORMAT
from towerpace.answers.estimates import Chance, Percentile
from towerpace.answers.forecast import Forecast, iso
from towerpace.cli.forecast_json import as_data as forecast_data
from towerpace.render.cautions import cautions_of

if TYPE_CHECKING:
    from towerpace.answers.bid.allowance import Allowance, Lost
    from towerpace.answers.bid.screening import Screened
    from towerpace.answers.bid.swings import Side, Swing
    from towerpace.answers.choice.paired import Difference

METHODS = {
    "percentiles": "order statistics with exact binomial intervals, 95 %; those beyond the horizon last",
    "chances": "shares of trials with Clopper-Pearson intervals, 95 %",
    "no_uncertainty": "minutes at their means, levels and trucks on their dates, nothing lost, no risks",
    "sources": "each source off with all others on, and on alone, on the same draws; paired bootstrap "
    "intervals at the confidence, paired-t in the mean; the remainder is what does not add up",
    "rank": "Spearman correlation with the finish, interval of Bonett and Wright",
    "regression": "least squares on standardised ranks of all varying inputs, t intervals",
    "known": "first-order share of variance by groups of like input, adjusted for chance, jackknife "
    "interval; inputs that go together share it",
    "swings": "one number of the scenario at a time at both ends, paired on the same draws",
}


def as_data(bid: Bid) -> dict[str, Any]:
    """Every number of a bid.

    Dates are ISO dates, null beyond the horizon; days are calendar days unless called working days; shares
    and chances lie between 0 and 1.
    """
    forecast = bid.forecast
    return {
        "format": FORMAT,
        "scenario": forecast.tower.name,
        "hash": forecast.scenario.hash,
        "seed": forecast.seed,
        "trials": forecast.trials,
        "trials_played": bid.trials_played,
        "version": __version__,
        "start": forecast.tower.start.isoformat(),
        "methods": METHODS,
        "confidence": bid.confidence,
        "question": _question(bid),
        "stated": _stated(bid),
        "planned": _planned(bid),
        "needed": [
            {
                "confidence": n.confidence,
                **_percentile(forecast, n.finish),
                "contingency_days": _round(n.over),
            }
            for n in bid.needed
        ],
        "contract": [
            {"name": c.name, "level": c.level, "date": c.date.isoformat(), **_chance(c.chance)}
            for c in forecast.contracts
        ],
        "joint": None if forecast.joint is None else _chance(forecast.joint),
        "damages": [_damages(one) for one in bid.damages],
        "contingency": None if bid.split is None else _split(bid.split),
        "drivers": _drivers(bid),
        "swings": {"trials": bid.swing_trials, "numbers": [_swing(one) for one in bid.swings]},
        "convergence": _convergence(bid),
        "allowance": _allowance(bid),
        "screening": [_screened(one) for one in bid.screened],
        "cautions": cautions_of(forecast),
        "forecast": forecast_data(forecast),
    }


def _question(bid: Bid) -> dict[str, Any]:
    asked = bid.question
    day = None if asked.date is None else asked.date.isoformat()
    return {"working_days": asked.working_days, "date": day, "confidence": asked.confidence}


def _stated(bid: Bid) -> dict[str, Any] | None:
    if bid.stated is None:
        return None
    day, worked = bid.stated.date.isoformat(), bid.stated.working_days
    return {"date": day, "working_days": worked, **_chance(bid.stated.chance)}


def _planned(bid: Bid) -> dict[str, Any]:
    def one(minute: int | None) -> dict[str, Any]:
        days = bid.forecast.days
        worked = None if minute is None else days.working_day(minute)
        return {"date": iso(days, minute), "working_days": worked}

    planned = bid.planned
    return {
        "no_weather": one(planned.calm),
        "weather_as_recorded": one(planned.recorded),
        "counted_from": "no_weather" if planned.recorded is None else "weather_as_recorded",
    }


def _percentile(forecast: Forecast, found: Percentile) -> dict[str, Any]:
    days = forecast.days
    ends = (found.low, found.high) if found.bounded else (None, None)
    worked = [None if m is None else days.working_day(m) for m in (found.value, *ends)]
    return {
        "date": iso(days, found.value),
        "working_days": worked[0],
        "low": iso(days, ends[0]),
        "high": iso(days, ends[1]),
        "low_working_days": worked[1],
        "high_working_days": worked[2],
        # Where the number of trials allows no interval, none is invented.
        "interval": found.bounded,
    }


def _damages(one: Any) -> dict[str, Any]:
    return {
        "name": one.name,
        "unit": one.unit,
        **_estimate("expected", one.expected),
        "p80": _round(one.p80),
        "chance_of_any": one.any.value,
    }


def _split(found: Split) -> dict[str, Any]:
    total = found.total
    return {
        "confidence": found.p,
        "trials": found.trials,
        **_estimate("total_days", total),
        "total_mean_days": _round(found.total_mean),
        "sd_days": _round(found.sd),
        "remainder_off_days": _round(found.remainder_off),
        "remainder_alone_days": _round(found.remainder_alone),
        "sources": [_part(part) for part in found.parts],
        "no_weather_at_all": _part(found.no_weather) if found.no_weather else None,
    }


def _part(part: Part) -> dict[str, Any]:
    return {
        "source": part.source,
        **_difference("off_days", part.off),
        **_difference("off_mean_days", part.off_mean),
        **_estimate("alone_days", part.alone),
        "alone_mean_days": _round(part.alone_mean),
        "sd_off_days": _round(part.sd_off),
        "sd_alone_days": _round(part.sd_alone),
    }


def _drivers(bid: Bid) -> dict[str, Any]:
    found = bid.drivers
    inputs = [
        {
            "name": d.name,
            "source": d.source,
            "unit": d.unit,
            "p10": _round(d.p10),
            "p50": _round(d.p50),
            "p90": _round(d.p90),
            **_estimate("rank", d.rank),
            **_estimate("regression", d.regression),
            **_estimate("known", d.known),
            "sd_known_days": _round(d.sd_known),
            "verdict": d.verdict,
        }
        for d in found.drivers
    ]
    head = {"sd_days": _round(found.sd), "r_squared": _round(found.r_squared), "groups": found.groups}
    return {"trials": found.trials, **head, "inputs": inputs}


def _swing(found: Swing) -> dict[str, Any]:
    stated = found.range
    return {
        "key": stated.key,
        "stated": stated.text,
        "moved": stated.how,
        "width_days": _round(found.width),
        **_side("low", found.low),
        **_side("high", found.high),
        "verdict": found.verdict,
        "remark": found.remark,
    }


def _side(name: str, side: Side | None) -> dict[str, Any]:
    days, most = (None, None) if side is None else (side.days, side.p80_days)
    return {
        f"{name}_value": None if side is None else _round(side.value),
        **_difference(f"{name}_days", days),
        **_difference(f"{name}_p80_days", most),
    }


def _convergence(bid: Bid) -> dict[str, Any]:
    forecast, second = bid.forecast, bid.second
    stages = [{"trials": s.trials, **_percentile(forecast, s.percentile)} for s in bid.stages]
    again = None
    if second is not None:
        again = {
            "seed": second.seed,
            "trials": second.trials,
            "p50": iso(forecast.days, second.half.value),
            **_percentile(forecast, second.percentile),
            "intervals_overlap": second.agrees,
        }
    return {"confidence": bid.confidence, "stages": stages, "second_seed": again}


def _allowance(bid: Bid) -> dict[str, Any] | None:
    if bid.basis is None:
        return None
    basis = asdict(bid.basis)
    basis["record_years"] = list(bid.basis.record_years)
    return {"basis": basis, "rows": [_lost_row(row) for row in bid.allowance]}


def _lost_row(row: Allowance) -> dict[str, Any]:
    made: dict[str, Any] = {
        "operation": row.operation,
        "limits": ", ".join(row.limits),
        "lowest": row.lowest,
        "highest": row.highest,
        "month": row.month,
        "shift_h": _round(row.shift_h),
        "shift_days": row.shift_days,
        "record_h": _round(row.record_h),
        "record_most_h": _round(row.record_most_h),
        "record_days": _round(row.record_days),
    }
    made |= _lost("h", row.hours, 60) | _lost("days", row.days, 1000)
    # Without a year factor both would be the same.
    return made | _lost("h_no_year_factor", row.hours if row.steady_hours is None else row.steady_hours, 60)


def _lost(unit: str, lost: Lost, scale: int) -> dict[str, Any]:
    made: dict[str, Any] = {f"mean_{unit}": _round(lost.mean)}
    for found in (lost.p50, lost.p80, lost.p90):
        name = f"p{round(100 * found.p)}_{unit}"
        ends = (found.low, found.high) if found.bounded else (None, None)
        values = [None if v is None else _round(v / scale) for v in (found.value, *ends)]
        made |= dict(zip((name, f"{name}_low", f"{name}_high"), values, strict=True))
    return made


def _screened(found: Screened) -> dict[str, Any]:
    pairs = found.pairs or {}
    return {
        "method": found.method,
        "runs": found.runs,
        "constant": found.constant,
        "numbers": [*map(asdict, found.effects), *map(asdict, found.indices)],
        "pairs": [{"first": a, "second": b, "index": v} for (a, b), v in pairs.items()],
    }


def _chance(found: Chance) -> dict[str, float]:
    return {"chance": found.value, "low": round(found.low, 6), "high": round(found.high, 6)}


def _difference(name: str, found: Difference | None) -> Mapping[str, float | None]:
    if found is None:
        return {name: None, f"{name}_low": None, f"{name}_high": None}
    return {name: _round(found.mean), f"{name}_low": _round(found.low), f"{name}_high": _round(found.high)}


def _estimate(name: str, found: Any) -> Mapping[str, float | None]:
    """A value with low and high, or nothing."""
    if found is None:
        return {name: None, f"{name}_low": None, f"{name}_high": None}
    return {name: _round(found.value), f"{name}_low": _round(found.low), f"{name}_high": _round(found.high)}


def _round(value: float | None) -> float | None:
    return None if value is None else round(float(value), 6)
