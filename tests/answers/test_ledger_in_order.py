"""The split that reads what the kernel left, its steps in any order, against that of the diary alone."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations
from types import SimpleNamespace

import numpy as np
import pytest

from support.command_line import ROOT
from support.dice import on_random
from support.random_plans import random_case, random_case_with_lags
from support.weather_cases import random_case_in_weather
from towerpace import load
from towerpace.answers.ledger.block import gaps_in_order, split_in_order
from towerpace.answers.ledger.book import LedgerParts
from towerpace.answers.ledger.gaps import GapArrays, book_gaps
from towerpace.answers.ledger.split import split_all
from towerpace.answers.ledger.waits import WORK, Timekeeper
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.compiling.addresses import Laid
from towerpace.engine import kernel
from towerpace.engine.kernel import tables
from towerpace.engine.kernel.block import Block
from towerpace.engine.kernel.tables import compiled
from towerpace.trials.job import Job
from towerpace.trials.outcome import stacked
from towerpace.trials.player import BLOCK, TrialPlayer

pytestmark = pytest.mark.skipif(not kernel.available(), reason="blocks are played by compiled code alone")


class _Reader:
    """Splits every trial of a block behind its play."""

    def __init__(self, keeper, block):
        plan = keeper.plan
        numbers = np.arange(plan.n, dtype=np.int32)
        work = np.full(plan.n, keeper.column[WORK], dtype=np.int32)
        parts = LedgerParts(keeper.laid.arrays, None, numbers, work, np.arange(plan.n) % 3 > 0)
        self.waiting, self.doing = np.zeros((2, plan.n, len(keeper.causes)), dtype=np.int64)
        self.caught, self.past_shift = np.zeros((2, plan.n), dtype=np.bool_)
        self.is_lift, self.lifts = parts.is_lift, np.zeros(2, dtype=np.int64)
        into = {name: getattr(self, name) for name in ("waiting", "doing", "caught", "past_shift", "lifts")}
        seen_level = np.zeros(len(plan.pools.names), dtype=np.int64)
        self._laid = Laid(split_in_order(parts, block.trial)._replace(seen_level=seen_level, **into))
        self._block = block
        block.read_by(self._calls)

    def forget(self):
        """Begin anew behind another trial, of which nothing may be left."""
        for array in (self.waiting, self.doing, self.caught, self.past_shift, self.lifts):
            array[...] = 0

    def _calls(self, k):
        return ((split_all, self._laid.but(self._block.in_windows(k))),)


def assert_read_alike(plan, draw):
    order = np.random.default_rng(plan.n).permutation(plan.n)
    compiled(plan).put_in_order(order)
    block = Block(plan, 1)
    keeper = Timekeeper(plan, [f"no {name}" for name in plan.pools.names])
    reader = _Reader(keeper, block)
    assert block.play([replace(draw, work=draw.work // 2)])
    reader.forget()
    assert block.play([draw])
    expected = keeper.split(draw, block.diary(0))
    assert np.array_equal(reader.waiting.T, expected.waiting)
    assert np.array_equal(reader.doing.T, expected.doing)
    number = block.trial.steps.number
    for befell, counted, wanted in zip(
        (reader.caught, reader.past_shift),
        reader.lifts.tolist(),
        (expected.caught, expected.past_shift),
        strict=True,
    ):
        assert np.array_equal(befell, wanted[number])
        assert counted == np.count_nonzero(wanted & reader.is_lift)


@on_random(random_case, cases=200)
def test_random_plans_in_any_order_are_split_alike(case):
    assert_read_alike(*case)


@on_random(random_case_with_lags, cases=100)
def test_random_plans_with_lags_in_any_order_are_split_alike(case):
    assert_read_alike(*case)


@on_random(random_case_in_weather, cases=200)
def test_random_plans_in_random_weather_and_any_order_are_split_alike(case):
    assert_read_alike(*case)


@pytest.mark.parametrize("seed", range(3))
def test_ledgers_of_a_tower_in_any_order_are_those_of_its_trials(monkeypatch, seed):
    """Minutes, gaps and what befell lifts, of every trial and of all."""
    ready = prepare(load(ROOT / "scenarios" / "tower_crane" / "scenario.toml"))
    plan = ready.tower.plan
    monkeypatch.setattr(tables, "MANY", plan.n + 1)
    tables._COMPILED.pop(plan, None)
    compiled(plan).put_in_order(np.random.default_rng(seed).permutation(plan.n))
    play = TrialPlayer(Job(ready.chooser, ForecastMeasure(ready.tower, None), seed))
    together, alone = play.block(0, BLOCK), stacked(play(trial) for trial in range(BLOCK))
    assert np.array_equal(together.sums["ledger"], alone.sums["ledger"])
    for name in ("ledger", "caught", "past_shift"):
        assert np.array_equal(together.values[name], alone.values[name])


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_of_predecessors_that_end_in_one_minute_the_highest_number_is_blamed_in_any_order(order):
    """Steps 0 and 1 last from 0 to 10, and step 2 waits for both."""
    book, number = np.zeros((1, 3), dtype=np.int64), np.array(order, dtype=np.int32)
    ready, finished = np.array([[0, 0, 10], [10, 10, 20]], dtype=np.int32)
    gaps = GapArrays(
        book=book,
        clocks=np.array([2], dtype=np.int32),
        spot=np.zeros(3, dtype=np.int32),
        ready=ready,
        finished=finished,
        first_before=np.array([0, 0, 0, 2], dtype=np.int32),
        before=np.array([0, 1], dtype=np.int32),
        first_since=np.zeros(2, dtype=np.int32),
        since=np.zeros(0, dtype=np.int32),
        missing_cause=np.arange(3, dtype=np.int32),
        number=np.arange(3, dtype=np.int32),
    )
    steps = SimpleNamespace(number=number, ready=ready[number], finished=finished[number])
    own = Laid(gaps_in_order(gaps, steps)._replace(book=book))
    book_gaps(own.table)
    assert book.tolist() == [[0, 10, 0]]
