"""Laws of chance against the same laws written out step by step, panel by panel, bit by bit."""

import os
import subprocess
import sys
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from towerpace.draws import stream, streams_of
from towerpace.lots.streams import Streams
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import NOTHING_KNOWN, Drawn
from towerpace.plan.laws import Durations, PaceLaw
from towerpace.plan.site.absences import BreakdownLaw
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.work_law import Term, WorkLaw
from towerpace.scenario.spreads import Spread

DAY_MIN, HOUR_MIN = 1440, 60
SHORT, LONG = Spread.pert(low=1, likely=3, high=9), Spread.pert(low=20, likely=30, high=90)
OTHERS = (Spread.constant(4), Spread.triangular(low=0, likely=1, high=7), Spread.samples([2, 5, 11, 30]))


def nothing_drawn(n: int) -> Drawn:
    zeros = np.zeros(n, dtype=np.int64)
    return Drawn(zeros, zeros.copy(), np.zeros(n, dtype=np.bool_))


def works() -> tuple[WorkLaw, ...]:
    """Laws with no term, one, two and three, with and without pace and weights, over 400 steps."""
    rng = np.random.default_rng(23)
    steps = rng.permutation(400)
    terms = [
        (),
        (Term(SHORT, "a"),),
        (Term(LONG, "b"), Term(SHORT, "a")),
        (Term(OTHERS[0], "c"), Term(OTHERS[1], "d"), Term(OTHERS[2], "b")),
        (Term(LONG, "a"), Term(OTHERS[1], "e")),
    ]
    return tuple(
        WorkLaw(
            steps=steps[80 * k : 80 * k + 80],
            items=rng.integers(0, 300, 80),
            factor=rng.choice([0.0, 1.0, 1.25, 1440.0], 80),
            fixed=rng.choice([0.0, 0.3, 12.0], 80),
            terms=some,
            pace=(None, "panels", "seal")[k % 3],
            weights=rng.uniform(0, 4, (80, len(some))) if k in (3, 4) else None,
        )
        for k, some in enumerate(terms)
    )


def minutes_one_by_one(law: WorkLaw, pace: dict[str, float], trial: int) -> list[int]:
    """Factor x pace x (fixed + terms) of every step, each from a stream of its own making."""
    minutes = []
    for k, item in enumerate(law.items.tolist()):
        total = 0.0
        for number, term in enumerate(law.terms):
            u = stream(7, trial, term.purpose).random(300)[item : item + 1]
            total += (1.0 if law.weights is None else law.weights[k, number]) * term.spread.quantile(u)[0]
        exact = law.factor[k] * (pace[law.pace] if law.pace else 1.0) * (law.fixed[k] + total)
        minutes.append(max(round(exact), 1) if exact > 0 else 0)
    return minutes


def by_numpy(seed: int, trial: int) -> Streams:
    """The streams as numpy's generators alone; those of `streams_of` are drawn by compiled code."""
    return partial(stream, seed, trial)


both_ways = pytest.mark.parametrize("streams_from", [by_numpy, streams_of])


@both_ways
@pytest.mark.parametrize("trial", [0, 1])
def test_durations_drawn_together_are_those_drawn_one_by_one(trial, streams_from):
    pace = PaceLaw({"panels": SHORT, "seal": Spread.constant(1.1)}, np.array([[1.0, 0.0], [0.6, 0.8]]))
    into, streams = nothing_drawn(400), streams_from(7, trial)
    Durations(works(), pace).apply(into, streams, NOTHING_KNOWN)

    for law in works():
        assert into.work[law.steps].tolist() == minutes_one_by_one(law, pace.factors(streams), trial)


@both_ways
def test_durations_of_no_steps_draw_nothing(streams_from):
    into = nothing_drawn(3)
    Durations((), PaceLaw({}, np.eye(0))).apply(into, streams_from(1, 0), NOTHING_KNOWN)
    assert not into.work.any()


@dataclass(frozen=True)
class Breakable:
    """What the law asks of a family of panels."""

    chances: dict[str, float]
    remake_days: Spread = LONG
    later_found_days: Spread = SHORT
    misfit_min: Spread = LONG
    spares: int = 0
    spare_days: float | None = None

    def chance(self, key: str) -> float:
        return self.chances.get(key, 0.0)


FAMILIES = (
    Breakable(
        {"reject_chance": 0.2, "later_break_chance": 0.2, "misfit_chance": 0.5}, spares=2, spare_days=3
    ),
    Breakable({"transit_break_chance": 0.3, "handling_break_chance": 0.4, "misfit_chance": 0.3}),
)
PANELS = 60


def losses() -> LossLaw:
    """Sixty panels, every third number missing; panel k has steps 8 k to 8 k + 7, all of them its own."""
    first = 8 * np.arange(PANELS)[:, None]
    hole = first + np.array([1, 2, 3])
    hole[::7, 2] = NONE
    return LossLaw(
        trade="panels",
        families=FAMILIES,
        family=np.arange(PANELS) % 2,
        items=np.arange(PANELS) * 3 // 2,
        unfit=hole,
        broken=hole,
        later=first + np.array([4, 5]),
        normal=first[:, 0],
        passes=np.arange(PANELS) % 5 > 0,
        set_if_unfit=first[:, 0] + 6,
        set_if_broken=first[:, 0] + 7,
    )


def befalls(law: LossLaw, k: int, trial: int) -> dict[str, bool]:
    """What befalls a panel, by its chances alone."""

    def happens(key: str) -> bool:
        return number(law, key, k, trial) < law.families[law.family[k]].chance(key)

    unfit = happens("reject_chance") or happens("transit_break_chance")
    broken = not unfit and happens("handling_break_chance")
    later = not unfit and not broken and happens("later_break_chance") and law.later[k, 0] != NONE
    return {"unfit": unfit, "broken": broken, "later": later, "misfit": happens("misfit_chance")}


def number(law: LossLaw, key: str, k: int, trial: int) -> float:
    return stream(3, trial, f"{key} of panels").random(1000)[law.items[k]]


def quantile(law: LossLaw, key: str, k: int, trial: int) -> float:
    spread = getattr(law.families[law.family[k]], key)
    return spread.quantile(np.array([number(law, key, k, trial)]))[0]


def expected_losses(law: LossLaw, trial: int) -> Drawn:
    """The losses of one trial, panel by panel."""
    into, lost_before = nothing_drawn(8 * PANELS), [0, 0]
    for k in range(PANELS):
        happened = befalls(law, k, trial)
        chain = next((word for word in ("unfit", "broken", "later") if happened[word]), None)
        for steps in (law.unfit[k], law.broken[k], law.later[k]):
            into.skip[steps[steps != NONE]] = True
        into.skip[law.normal[k]] = happened["unfit"] and law.passes[k]
        if chain is not None:
            needed, family = getattr(law, chain)[k], law.families[law.family[k]]
            stocked = lost_before[law.family[k]] < family.spares
            days = family.spare_days if stocked else quantile(law, "remake_days", k, trial)
            days += quantile(law, "later_found_days", k, trial) if chain == "later" else 0
            lost_before[law.family[k]] += 1
            into.skip[needed[needed != NONE]] = False
            into.work[needed[0]] = round(days * DAY_MIN)
        if happened["misfit"]:
            sets = {"unfit": law.set_if_unfit, "broken": law.set_if_broken}.get(chain, law.normal)[k]
            into.work[sets] += round(quantile(law, "misfit_min", k, trial))
    return into


@both_ways
@pytest.mark.parametrize("trial", range(4))
def test_losses_drawn_together_are_those_drawn_panel_by_panel(trial, streams_from):
    law, into = losses(), nothing_drawn(8 * PANELS)
    law.apply(into, streams_from(3, trial), NOTHING_KNOWN)
    expected = expected_losses(law, trial)

    assert {word for k in range(PANELS) for word, yes in befalls(law, k, trial).items() if yes} == {
        "unfit",
        "broken",
        "later",
        "misfit",
    }
    assert np.array_equal(into.skip, expected.skip)
    assert np.array_equal(into.work, expected.work)


@dataclass(frozen=True)
class Wear:
    """What the law asks of a breakdown."""

    every_h: Spread = LONG
    repair_h: Spread = SHORT
    swap_h: Spread | None = OTHERS[0]


@both_ways
def test_units_drawn_together_fail_as_each_fails_alone(streams_from):
    """The running times and the repairs of a unit are those of its own stream, in order."""
    runs, repairs = np.arange(120).reshape(2, 3, 20)
    nowhere = np.zeros((0, 2), dtype=np.int64)
    since = np.zeros(3, dtype=np.int64)
    law, into = (
        BreakdownLaw("hoist", runs, repairs, since, (nowhere,) * 3, np.ones(3, dtype=bool), Wear()),
        nothing_drawn(120),
    )
    law.apply(into, streams_from(9, 4), NOTHING_KNOWN)

    for unit in range(3):
        lots = stream(9, 4, f"breakdown of hoist {unit + 1}").random((20, 3))
        for k in range(20):
            repair_h = min(SHORT.quantile(lots[k, 1:2])[0], 4.0)
            assert into.work[runs[unit, k]] == round(LONG.quantile(lots[k, :1])[0] * HOUR_MIN)
            assert into.work[repairs[unit, k]] == round(repair_h * HOUR_MIN)


def test_hours_in_repair_are_those_of_failures_that_wait_for_nobody():
    """Failure k comes after k running times and k repairs; the days away put it off."""
    runs, repairs = np.arange(120).reshape(2, 3, 20)
    one, until = np.array([[3000, 9000], [40_000, 41_000]]), 50_000
    since, absent = np.array([500, 500, 900]), (one, one, one[:1])
    law, into = (
        BreakdownLaw("hoist", runs, repairs, since, absent, np.zeros(3, dtype=bool), Wear()),
        nothing_drawn(120),
    )
    law.apply(into, partial(stream, 9, 4), NOTHING_KNOWN)

    expected = 0
    for unit in range(3):
        minute = int(since[unit])
        for k in range(20):
            minute += into.work[runs[unit, k]]
            date = minute
            for gone, back in absent[unit].tolist():
                date += back - gone if date >= gone else 0
            expected += into.work[repairs[unit, k]] if date < until else 0
            minute += into.work[repairs[unit, k]]
    (probe,) = law.probes(None, until=until)
    assert probe.read(into) == expected
    assert 0 < expected < into.work[repairs].sum()


@pytest.mark.slow
def test_what_is_drawn_is_the_same_without_the_compiler():
    words = "together or nothing or lots or kinds"
    files = [__file__, str(Path(__file__).parents[1] / "scenario" / "test_spread_rows.py")]
    command = [sys.executable, "-m", "pytest", "-q", "-n0", "-p", "no:cacheprovider", "-k", words, *files]
    done = subprocess.run(
        command, env=os.environ | {"NUMBA_DISABLE_JIT": "1"}, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout
