"""What a reader must know before using a forecast, in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from towerpace.answers.forecast import PERCENTILES, Forecast, percentile_names
from towerpace.scenario.assumptions import counts_by_kind
from towerpace.scenario.complaints import dotted
from towerpace.scenario.load import Scenario
from towerpace.scenario.longer_hours import longer_hours
from towerpace.scenario.raised_limits import raised_limits
from towerpace.scenario.schema import Settings

LIMITS_CAUTION = (
    "Weather limits are planning inputs, never permission to lift: makers' limits, the lift plan, "
    "local law and the person on site govern."
)
TIRED = (
    "Longer hours ({}) tire people, and night brings cold and darkness: limits get lower, not higher, and "
    "what long weeks lose in output is in the numbers only where the scenario states it."
)
LEE_CAUTION = (
    "Limits that look at faces count wind from elsewhere by a factor that the scenario states: wind turns "
    "back in the lee and is stronger at corners. A lee face is a planning input, no permission to lift."
)


_RESTS_ON = {
    "published": "published",
    "memory": "from memory",
    "practice": "common practice",
    "invented": "invented",
    "blank": "without any source",
}


def sources_said(scenario: Scenario) -> str:
    """How many assumptions rest on what, in one sentence."""
    assumptions = scenario.assumptions()
    counts = counts_by_kind(assumptions)
    rest = ", ".join(f"{count} {_RESTS_ON[kind]}" for kind, count in counts.items() if count)
    return f"{len(assumptions)} assumptions: {rest}."


def limits_cautions(settings: Settings) -> list[str]:
    """What holds of every limit, and of those that look at faces."""
    faces = any(limit.looks_at_faces for limit in settings.limit.values())
    return [LIMITS_CAUTION, *([LEE_CAUTION] if faces else [])]


def raised_banners(base: Scenario, changed: Iterable[tuple[str, Scenario]]) -> list[str]:
    """What stands over every answer in which a wind limit lies above that of the scenario as it is.

    changed : name and scenario of each set-up, candidate or point.
    """
    return [
        f"WIND LIMIT RAISED in {name}: {raised.text()}. What it gains is no permission to lift."
        for name, scenario in changed
        for raised in raised_limits(base, scenario)
    ]


def hours_cautions(base: Scenario, changed: Iterable[Scenario]) -> list[str]:
    """What stands beside every answer in which somebody works longer than in the scenario as it is."""
    names = dict.fromkeys(name for scenario in changed for name in longer_hours(base, scenario))
    return [TIRED.format(", ".join(dotted(("calendar", name)) for name in names))] if names else []


def cautions_of(forecast: Forecast) -> list[str]:
    """Cautions that hold for this run, the gravest first."""
    return [
        *_unfinished(forecast),
        *_too_few(forecast),
        *_lifts(forecast),
        *_sources(forecast),
        *_limits(forecast),
        *hours_cautions(forecast.scenario, [forecast.scenario]),
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
    past = float(forecast.outcomes.values["past_shift"].mean())
    if past:
        yield (
            f"On average {past:.1f} lifts and hoist trips a trial ran past the end of their shift: only "
            "their expected minutes must fit into it."
        )


def _sources(forecast: Forecast) -> Iterator[str]:
    if forecast.scenario.sources_missing():
        yield sources_said(forecast.scenario)


def _limits(forecast: Forecast) -> Iterator[str]:
    yield from limits_cautions(forecast.scenario.settings)
    if forecast.scenario.settings.storage is not None:
        yield "Floor slots are never an engineer's agreement to the load."
