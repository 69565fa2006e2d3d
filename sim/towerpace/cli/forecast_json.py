"""The forecast as one JSON object: the same bytes for the same scenario, seed, trials and version."""

from __future__ import annotations

from typing import Any

from towerpace import __version__
from towerpace.answers.estimates import Chance, Percentile
from towerpace.answers.forecast import PERCENTILES, Forecast, iso, percentile_names


def as_data(forecast: Forecast) -> dict[str, Any]:
    """Every number of a forecast.

    Dates are ISO dates, null beyond the horizon. mean_days and sd_days are calendar days from the start,
    null if some trial did not finish inside the horizon. Ledger hours are means per trial.
    """
    return {
        "scenario": forecast.tower.name,
        "hash": forecast.scenario.hash,
        "seed": forecast.seed,
        "trials": forecast.trials,
        "trials_asked": forecast.asked,
        "version": __version__,
        "start": forecast.tower.start.isoformat(),
        "finish": _finish(forecast),
        "contract": [
            {"name": c.name, "level": c.level, "date": c.date.isoformat(), **_chance(c.chance)}
            for c in forecast.contracts
        ],
        "joint": None if forecast.joint is None else _chance(forecast.joint),
        "closing_in": _closing_in(forecast),
        "ledger": [
            {"trade": row, "cause": cause, "hours": round(float(hours), 3)}
            for row, by_cause in zip(forecast.rows, forecast.ledger_h, strict=True)
            for cause, hours in zip(forecast.causes, by_cause, strict=True)
            if hours
        ],
        "lifts_caught_by_weather": round(float(forecast.outcomes.values["caught"].mean()), 3),
        "assumptions": [
            {"key": a.key, "text": a.text, "source": a.source} for a in forecast.scenario.assumptions()
        ],
    }


def _finish(forecast: Forecast) -> dict[str, Any]:
    made: dict[str, Any] = {
        name.lower(): _percentile(forecast, forecast.finish_at(p), working_days=True)
        for name, p in zip(percentile_names(), PERCENTILES, strict=True)
    }
    spread = forecast.finish_days
    made["mean_days"] = None if spread is None else round(spread[0], 6)
    made["sd_days"] = None if spread is None else round(spread[1], 6)
    made["beyond_horizon"] = forecast.beyond
    return made


def _percentile(forecast: Forecast, found: Percentile, *, working_days: bool = False) -> dict[str, Any]:
    days = forecast.days
    made: dict[str, Any] = {"date": iso(days, found.value)}
    if working_days:
        made["working_days"] = None if found.value is None else days.working_day(found.value)
    # Where the number of trials allows no interval, none is invented.
    made["low"] = iso(days, found.low) if found.bounded else None
    made["high"] = iso(days, found.high) if found.bounded else None
    made["interval"] = found.bounded
    return made


def _closing_in(forecast: Forecast) -> list[dict[str, Any]]:
    return [
        {
            "level": level,
            "p50": iso(forecast.days, half.value),
            "p80": iso(forecast.days, most.value),
            "p80_low": iso(forecast.days, most.low) if most.bounded else None,
            "p80_high": iso(forecast.days, most.high) if most.bounded else None,
        }
        for (level, half), (_, most) in zip(forecast.closing_in(0.5), forecast.closing_in(0.8), strict=True)
    ]


def _chance(found: Chance) -> dict[str, float]:
    return {"chance": found.value, "low": round(found.low, 6), "high": round(found.high, 6)}
