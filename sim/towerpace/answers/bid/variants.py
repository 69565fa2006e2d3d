"""The same site under other assumptions: responses to risks, how paces go together, windier and other years.

What a bid cannot know it must at least try: each variant is played on the draws of the forecast, so that the
difference is its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations

import numpy as np

from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.choice.paired import Difference, paired_difference
from towerpace.answers.estimates import LATER, Percentile, percentile
from towerpace.answers.prepare import Prepared, prepare
from towerpace.climate.source import WeatherSource
from towerpace.draws import Chooser
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import Risk
from towerpace.scenario.setups import changed
from towerpace.scenario.spreads import Spread
from towerpace.trials.job import Job
from towerpace.trials.run import played
from towerpace.units import DAY_MIN, Ints

RISKS, ANSWERED, TOGETHER, WIND, YEARS = "risks", "answered", "paces", "wind", "record"
STRONGER = 0.7  # between the paces of any two trades; our own choice
WINDIER = 0.05  # of the wind, where the scenario states no year_factor_sd; our own choice
MOST_YEARS = 10
Remains = dict[str, object]


@dataclass(frozen=True)
class Case:
    """A variant that can be played.

    group, name : what is varied, and how. chooser : makes its draws. risk : number of the risk whose
    response alone it is.
    """

    group: str
    name: str
    chooser: Callable[[], Chooser]
    risk: int | None = None


@dataclass(frozen=True)
class Variant:
    """What a variant does to the finish.

    at : its finish at the confidence of the bid. over, over_mean : that and the mean, less those of the
    forecast, paired. None beyond the horizon. [d]
    """

    group: str
    name: str
    risk: int | None
    middle: Percentile
    at: Percentile
    over: float | None
    over_mean: Difference | None


def remains(risk: Risk) -> Remains:
    """Keys of a risk and their values after its response; empty where nothing is stated to remain."""
    stated = {"chance": risk.chance_after, "delay_days": risk.delay_days_after, "factor": risk.factor_after}
    return {
        key: value.stated() if isinstance(value, Spread) else float(value)
        for key, value in stated.items()
        if value is not None
    }


def cases_of(ready: Prepared) -> list[Case]:
    """Every variant of a scenario, in the order in which they are told."""
    return [*_responses(ready.scenario), *_together(ready.scenario), *_wind(ready), *_years(ready)]


def variant_trials(ready: Prepared, *, trials: int) -> int:
    """Trials that the variants play."""
    return trials * len(cases_of(ready))


def variants(
    ready: Prepared,
    finish: Ints,
    *,
    p: float,
    seed: int,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> tuple[Variant, ...]:
    """Every variant against a forecast. finish : (n,) of the forecast with this seed. [min]"""
    measure, told = FinishMeasure(None), []
    for case in cases_of(ready):
        job = Job(case.chooser(), measure, seed)
        own = played(job, trials=len(finish), executor=executor, on_done=on_done).values["finish"]
        told.append(_against(finish, own, case, p=p))
    return tuple(told)


def _against(finish: Ints, own: Ints, case: Case, *, p: float) -> Variant:
    first, at = percentile(finish, p), percentile(own, p)
    over = None if first.value is None or at.value is None else (at.value - first.value) / DAY_MIN
    whole = len(finish) > 1 and not np.any((finish == LATER) | (own == LATER))
    over_mean = paired_difference(own / DAY_MIN, finish / DAY_MIN) if whole else None
    return Variant(case.group, case.name, case.risk, percentile(own, 0.5), at, over, over_mean)


def _responses(scenario: Scenario) -> Iterator[Case]:
    """No risk at all, every response alone, and all of them."""
    risks = scenario.settings.risk
    if risks:
        none: Remains = {f"risk[{k}].chance": 0.0 for k in range(len(risks))}
        yield Case(RISKS, "none befalls", partial(_chooser, scenario, none))
    answered = {k: remains(risk) for k, risk in enumerate(risks) if remains(risk)}
    for k, after in answered.items():
        yield Case(ANSWERED, risks[k].name, partial(_chooser, scenario, _keys(k, after)), risk=k)
    if len(answered) > 1:
        together: Remains = {}
        for k, after in answered.items():
            together |= _keys(k, after)
        yield Case(ANSWERED, "all risks that have a response", partial(_chooser, scenario, together))


def _keys(k: int, after: Remains) -> Remains:
    return {f"risk[{k}].{key}": value for key, value in after.items()}


def _together(scenario: Scenario) -> Iterator[Case]:
    """Paces that are independent, and paces of which any two go together strongly."""
    settings = scenario.settings
    paces = {name: trade.pace for name, trade in settings.trade.items() if trade.pace is not None}
    uneven = [name for name, pace in paces.items() if pace.kind != "constant"]
    if settings.correlation:
        yield Case(TOGETHER, "all paces independent", partial(_chooser, scenario, {"correlation": None}))
    if len(uneven) > 1:
        pairs = [{"trades": list(pair), "rho": STRONGER} for pair in combinations(uneven, 2)]
        yield Case(TOGETHER, f"any two at {STRONGER:g}", partial(_chooser, scenario, {"correlation": pairs}))


def _chooser(scenario: Scenario, changes: Remains) -> Chooser:
    return prepare(changed(scenario, "variant", changes).scenario).chooser


def _wind(ready: Prepared) -> Iterator[Case]:
    """Every year windier than the record, and calmer."""
    weather = ready.chooser.weather
    if weather is not None and any(window.limits for window in ready.tower.plan.windows):
        step = weather.year_factor_sd or WINDIER
        for sign, word in ((1, "windier"), (-1, "calmer")):
            blown = replace(weather, windier=1 + sign * step)
            yield Case(WIND, f"every year {100 * step:.0f} % {word}", partial(_under, ready, blown))


def _years(ready: Prepared) -> Iterator[Case]:
    """Each year of the record as it came, for all trials."""
    weather = ready.chooser.weather
    if weather is not None:
        for year in weather.record.years[-MOST_YEARS:]:
            replayed = replace(weather, block_days=None, replay_year=year)
            yield Case(YEARS, f"{year} as it came", partial(_under, ready, replayed))


def _under(ready: Prepared, weather: WeatherSource) -> Chooser:
    return replace(ready.chooser, weather=weather)
