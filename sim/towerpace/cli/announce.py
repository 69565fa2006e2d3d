"""What a large run will take, said before it begins: memory above 2 GB, time above an hour."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from towerpace.scenario import Scenario

# Of tests/bench/bench_needs.py on 2026-11-28, rounded up: a forecast's process at its highest, the steps of a
# plan in it, and the processor time of a step in a trial. Steps a panel are those of the demo.
_STEPS_A_PANEL = 10
_BYTES_A_STEP = 3_000
_BYTES_A_PROCESS = 210_000_000
# Openings and weather of a day beyond as many: of checks of the demo with 2,000 to 18,000 days, rounded up.
_USUAL_DAYS, _BYTES_A_DAY = 1_000, 140_000
_S_A_STEP = 0.32e-6
_S_TO_WRITE = 25e-6  # a step, when a plan is written out and checked: of a check of 998,000 steps
_SAID_FROM_WRITING_S = 20
_SAID_FROM_BYTES, _SAID_FROM_S = 2e9, 3600


def announce(scenario: Scenario, *, trials: int, workers: int) -> None:
    """Say on standard error about how much memory and time are needed, where that is much."""
    days = scenario.settings.tower.horizon_days
    if words := needs(steps_of(scenario), trials=trials, workers=workers, horizon_days=days):
        typer.echo(words, err=True)


def announce_check(scenario: Scenario) -> None:
    """Say on standard error what it takes to write the plans of a scenario out, where that is much."""
    settings = scenario.settings
    setups, days = len(settings.setup) + len(settings.candidate), settings.tower.horizon_days
    if words := check_needs(steps_of(scenario), setups=setups, horizon_days=days):
        typer.echo(words, err=True)


def check_needs(steps: int, *, setups: int, horizon_days: int = _USUAL_DAYS) -> str:
    """Time and memory of a check in words, at most if every set-up has other steps; "" where neither is much.

    >>> check_needs(24_000, setups=8)
    ''
    >>> check_needs(900_000, setups=2)
    'about 900,000 steps: roughly 22 s and 2.9 GB of memory; 2 set-ups and candidates may each take as long'
    >>> check_needs(24_000, setups=0, horizon_days=36_500)
    'about 24,000 steps: roughly 1 s and 5.3 GB of memory; horizon_days = 36500 takes 5.0 GB of it'
    """
    seconds, size = steps * _S_TO_WRITE, _bytes_of(steps, horizon_days=horizon_days)
    if seconds * (1 + setups) < _SAID_FROM_WRITING_S and size < _SAID_FROM_BYTES:
        return ""
    more = f"; {setups} set-ups and candidates may each take as long" if setups else ""
    more += _by_horizon(horizon_days)
    return f"about {steps:,} steps: roughly {seconds:.0f} s and {size / 1e9:.1f} GB of memory{more}"


def steps_of(scenario: Scenario) -> int:
    """About as many steps as the plan will have: those of its panels and of its fronts."""
    levels, settings = scenario.levels, scenario.settings
    panels = sum(int(levels.counts[family.column].sum()) for family in settings.family.values())
    fronts = len(levels.levels) * len(levels.zones)
    return _STEPS_A_PANEL * panels + fronts * len(settings.trade)


def _bytes_of(steps: int, *, horizon_days: int) -> float:
    return _BYTES_A_PROCESS + steps * _BYTES_A_STEP + _bytes_of_horizon(horizon_days)


def _bytes_of_horizon(days: int) -> float:
    return max(0, days - _USUAL_DAYS) * _BYTES_A_DAY


def _by_horizon(days: int) -> str:
    """What of the memory a long horizon takes, which a shorter one would spare."""
    size = _bytes_of_horizon(days)
    return f"; horizon_days = {days} takes {size / 1e9:.1f} GB of it" if size >= _SAID_FROM_BYTES / 2 else ""


def needs(steps: int, *, trials: int, workers: int, horizon_days: int = _USUAL_DAYS) -> str:
    """Memory and time of a run in words; "" where neither is much.

    >>> needs(20_000, trials=1000, workers=4)
    ''
    >>> needs(900_000, trials=20_000, workers=2)
    'about 900,000 steps: roughly 8.7 GB of memory on 2 workers, and 0.8 h; fewer --workers need less memory'
    """
    processes = workers if workers == 1 else workers + 1  # each has the plan, and so has this one
    size = processes * _bytes_of(steps, horizon_days=horizon_days)
    seconds = trials * steps * _S_A_STEP / workers
    if size < _SAID_FROM_BYTES and seconds < _SAID_FROM_S:
        return ""
    many = "worker" if workers == 1 else "workers"
    memory = f"roughly {size / 1e9:.1f} GB of memory on {workers} {many}"
    fewer = "fewer --workers need less memory"
    return f"about {steps:,} steps: {memory}, and {seconds / 3600:.1f} h; {fewer}{_by_horizon(horizon_days)}"
