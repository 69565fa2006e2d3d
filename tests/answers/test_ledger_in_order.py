"""The split that reads what the kernel left, its steps in any order, against that of the diary alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from support.dice import on_random
from support.random_plans import random_case, random_case_with_lags
from support.weather_cases import random_case_in_weather
from towerpace.answers.ledger.block import split_in_order
from towerpace.answers.ledger.book import LedgerParts
from towerpace.answers.ledger.split import split_all
from towerpace.answers.ledger.waits import WORK, Timekeeper
from towerpace.compiling.addresses import Laid
from towerpace.engine import kernel
from towerpace.engine.kernel.block import Block
from towerpace.engine.kernel.tables import compiled

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
