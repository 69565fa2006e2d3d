"""Which crew to add on a line of fifty floors: only the governing trade helps.

Source: checks of the line-of-balance literature (Lumsden 1968; Harris & Ioannou 1998); values by the
multi-crew first-come flow-shop recursion, recomputed here beside the command's answer.
"""

import datetime as dt
from pathlib import Path

import pytest

from towerpace.answers.choice.add import Rules, add
from towerpace.answers.choice.lab import Lab
from towerpace.face.choose import choose
from towerpace.scenario import load

DAYS = (4, 6, 5, 3, 2)
FLOORS = 50
DAY = "00:00-24:00"


def recursion(crews):
    """Finish of the last floor, trades in order, each with its crews, first come first served. [d]"""
    ready = [0.0] * FLOORS
    for days, count in zip(DAYS, crews, strict=True):
        free = [0.0] * count
        for floor in range(FLOORS):
            crew = min(range(count), key=lambda k: free[k])
            ready[floor] = free[crew] = max(ready[floor], free[crew]) + days
    return ready[-1] if max(ready) == ready[-1] else max(ready)


@pytest.fixture
def line(tmp_path: Path) -> Path:
    week = ", ".join(f'{d} = ["{DAY}"]' for d in ("mon", "tue", "wed", "thu", "fri", "sat", "sun"))
    text = [
        '[tower]\nname = "Line"\nstart = 2027-01-01\nhorizon_days = 400\nlevels = "levels.csv"',
        f"[calendar.always]\nweek = {{ {week} }}",
        "[structure]\nslip_days = 0",
    ]
    text += [f"[resource.crew_{k}]\ncount = 1" for k in range(1, 6)]
    for k, days in enumerate(DAYS, 1):
        before = "handover" if k == 1 else f"trade_{k - 1}"
        text.append(
            f'[trade.trade_{k}]\nkind = "gang"\ncolumn = "floors"\nunit_min = {days * 1440}\n'
            f'needs = {{ crew_{k} = 1 }}\ncalendar = "always"\nafter = [{{ on = "{before}" }}]'
        )
    (tmp_path / "scenario.toml").write_text("\n\n".join(text) + "\n")
    rows = [f"{n},all,{3 * n},1,2027-01-01,1" for n in range(1, FLOORS + 1)]
    header = "level,zone,height_m,difficulty,handover,floors"
    (tmp_path / "levels.csv").write_text("\n".join([header, *rows]) + "\n")
    return tmp_path / "scenario.toml"


def test_the_recursion_gives_the_published_lengths():
    assert recursion((1, 1, 1, 1, 1)) == 314
    assert recursion((1, 2, 1, 1, 1)) == 265
    assert recursion((1, 2, 2, 1, 1)) == 216
    assert {recursion(c) for c in ((2, 1, 1, 1, 1), (1, 1, 2, 1, 1), (1, 1, 1, 2, 1), (1, 1, 1, 1, 2))} == {
        314
    }


@pytest.mark.slow
def test_the_governing_crew_is_named_first_and_then_the_next(line, stand):
    advice = add(load(line), lab=Lab(1), seed=1, rules=Rules(zone_days=2, steps=3))
    first, *others = [r for r in advice.ranking if r.option.change == "+1"]
    source = "Lumsden 1968; recursion"
    got = (first.option.resource, round(first.days.mean, 9))
    stand("command add, first named and its gain [d]", source, expected=("crew_2", -49), got=got)
    assert first.verdict == "95 % sure it is the best"
    assert all(r.days.mean == pytest.approx(0) for r in others)
    assert advice.path[0].ranked.option.resource == "crew_2"
    second = advice.path[1].ranked
    got = (second.option.resource, round(second.days.mean, 9))
    stand("command add, second of the path and its gain [d]", source, expected=("crew_3", -49), got=got)
    assert recursion((2, 2, 2, 1, 1)) == pytest.approx(216 + advice.path[2].ranked.days.mean)


@pytest.mark.slow
def test_the_least_cost_for_a_date_decides_for_what_governs(line, stand):
    """A crew costs 10 and a day of the site 1, so the date alone asks for the crew of trade 2."""
    text = line.read_text(encoding="utf-8")
    for k in range(1, 6):
        text = text.replace(f"[resource.crew_{k}]\n", f"[resource.crew_{k}]\ncost_mobilise = 100\n")
        text += f'[decision.crews_{k}]\nkey = "resource.crew_{k}.count"\nfrom = 1\nto = 2\nstep = 1\n'
    line.write_text(f'{text}\n[cost]\nunit = "crowns"\nsite_overhead_per_day = 1\n', encoding="utf-8")
    start = dt.date(2027, 1, 1)
    found = choose(load(line), by=start + dt.timedelta(days=264), fresh=50)
    assert found.changes == {"resource.crew_2.count": 2}
    check = "command choose, P80 of the least cost for a date [d]"
    p80 = found.detail.decision.proof.sample.quantile_min(0.8) / 1440
    stand(check, "Lumsden 1968; recursion", expected=265, got=p80)
    never = choose(load(line), by=start + dt.timedelta(days=100), fresh=50)
    assert never.answer.fact("choice") is None
