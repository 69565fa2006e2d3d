"""Working days of a chain: shifts that meet at midnight are days of their own."""

import numpy as np
import pytest

from towerpace.answers.why.pace import Pace
from towerpace.plan.model import Plan
from towerpace.plan.parts import Step, Window

DAY = 1440
ROUND_THE_CLOCK = [(week * 7 * DAY, (week * 7 + 5) * DAY) for week in range(4)]
DAY_SHIFT = [(day * DAY + 420, day * DAY + 960) for day in range(20)]
NIGHTS = [(day * DAY + 1200, day * DAY + 1800) for day in range(20)]


@pytest.mark.parametrize(("shifts", "day_min"), [(ROUND_THE_CLOCK, DAY), (DAY_SHIFT, 540), (NIGHTS, 600)])
def test_a_working_day_is_one_day_of_the_calendar(shifts, day_min):
    """Monday to Friday without a break is one shift of five working days, not of one."""
    plan = Plan([Step("set", work=60, window="site", mode="work")], windows=[Window("site", shifts)])
    days = Pace(plan, ("work",)).working_days(np.array([[3 * day_min]]), steps=np.array([0]))

    assert days.item() == pytest.approx(3)
