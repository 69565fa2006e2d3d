"""Base, allowance and contingency of one chain whose parts are known by hand."""

import numpy as np
import pytest

from support.small_site import made
from towerpace.answers.bid.contingency import split
from towerpace.answers.choice.lab import FinishMeasure
from towerpace.plan import chance as spread
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials

DAY = 1440
TRIALS = 300

# In line: a mock-up that passes at its second try (5 days, mending 2 to 8 with mean 5, 5 again; planned: 5),
# then in one trial of five a strike of 5 days, then the crown, 10 days for certain.
ONE_CHAIN = """
[activity.crown]
days = 10
after = [{ on = "mock_up" }]

[[risk]]
name = "strike"
chance = 0.2
on = "crown"
delay_days = 5

[mock_up]
try_days = 5
fix_days = { low = 2, likely = 5, high = 8, shape = "triangular" }
pass_chance = 0
most_tries = 2
"""


@pytest.fixture(scope="module", params=[0.5, 0.8, 0.95])
def parts(request, tmp_path_factory):
    ready = made(tmp_path_factory.mktemp("chain"), ONE_CHAIN)
    finish = run_trials(Job(ready.chooser, FinishMeasure(None), 1), trials=TRIALS).outcomes.values["finish"]
    return finish, split(ready, finish, p=request.param, seed=1)


def test_certain_uncertain_and_rare_fall_into_base_allowance_and_contingency(parts):
    _, found = parts

    assert found.planned.base == 15 * DAY
    assert [part.source for part in found.frequent] == [spread.MOCK_UP]
    # Five days again and a mean of five to mend; the deviation of the triangle is 3 / sqrt(6).
    assert found.allowance == pytest.approx(10, abs=4 * 3 / np.sqrt(6 * TRIALS))
    risk = next(part for part in found.parts if part.source == spread.RISKS)
    assert risk.moves == pytest.approx(0.2, abs=4 * np.sqrt(0.2 * 0.8 / TRIALS))
    assert risk.off_mean.mean == pytest.approx(5 * risk.moves)
    assert not next(part for part in found.parts if part.source == spread.STRUCTURE).moves


def test_the_parts_add_up_to_the_date_and_the_sources_to_the_allowance(parts):
    finish, found = parts
    date = found.planned.base / DAY + found.total.value

    assert found.planned.base / DAY + found.allowance + found.contingency == pytest.approx(date, abs=1e-9)
    # Independent of the split: the smallest finish that so many trials keep.
    assert np.mean(finish <= round(date * DAY)) >= found.p > np.mean(finish < round(date * DAY))
    saved = sum(part.off_mean.mean for part in found.frequent)
    assert saved + found.remainder_allowance == pytest.approx(found.allowance, abs=1e-9)
