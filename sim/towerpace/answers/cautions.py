"""What a reader must know before using a forecast, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.answers.forecast import PERCENTILES, Forecast, percentile_names

LIMITS_CAUTION = (
    "Weather limits are planning inputs, never permission to lift: makers' limits, the lift plan, "
    "local law and the person on site govern."
)


def cautions_of(forecast: Forecast) -> list[str]:
    """Cautions that hold for this run, the gravest first."""
    return [
        *_unfinished(forecast),
        *_too_few(forecast),
        *_lifts(forecast),
        *_sources(forecast),
        *_limits(forecast),
    ]


def _unfinished(forecast: Forecast) -> Iterator[str]:
    if forecast.trials < forecast.asked:
        yield f"The run was interrupted: {forecast.trials} of {forecast.asked} trials were finished."
    if forecast.beyond:
        yield (
            f"{forecast.beyond} of {forecast.trials} trials do not finish inside the horizon of "
            f"{forecast.scenario.settings.tower.horizon_days} days; they count as later than all others."
        )


def _too_few(forecast: Forecast) -> Iterator[str]:
    estimates = zip(percentile_names(), map(forecast.finish_at, PERCENTILES), strict=True)
    lacking = [name for name, estimate in estimates if not estimate.bounded]
    if lacking:
        yield f"{forecast.trials} trials allow no 95 % interval for {', '.join(lacking)}: run more trials."


def _lifts(forecast: Forecast) -> Iterator[str]:
    caught = float(forecast.outcomes.values["caught"].mean())
    if caught:
        yield (
            f"On average {caught:.1f} lifts and hoist trips a trial were under way when their hour "
            "turned bad; they finish, as nobody foresees the next hour."
        )


def _sources(forecast: Forecast) -> Iterator[str]:
    missing, total = len(forecast.scenario.sources_missing()), len(forecast.scenario.assumptions())
    if missing:
        yield f"{missing} of {total} assumptions have no source."


def _limits(forecast: Forecast) -> Iterator[str]:
    yield LIMITS_CAUTION
    if forecast.scenario.settings.storage is not None:
        yield "Floor slots are never an engineer's agreement to the load."
