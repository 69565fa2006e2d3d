"""Failures as their key says: from one repair to the next failure, put right when a job ends."""

import numpy as np
import pytest

from support.small_site import BASE, at, made, played
from towerpace.answers.why.stretches import tell
from towerpace.engine.kernel.run import run as run_compiled

# One front of ten brackets of four hours: the 40 h from Monday to Friday, 8:00 to 16:00.
ONE_JOB = """\
level,zone,height_m,difficulty,handover,brackets
1,north,4.0,1.0,2027-03-01,10
"""
MANY_JOBS = "level,zone,height_m,difficulty,handover,brackets\n" + "".join(
    f"{level},{zone},{4.0 * level},1.0,2027-03-01,10\n"
    for level in range(1, 9)
    for zone in ("north", "south")
)
LONG = BASE.replace("unit_min = 6", "unit_min = 240")
LEAST_H = 20


def broken(*, every, repair="1"):
    return f"[resource.gang.breakdown]\nevery_h = {every}\nrepair_h = {repair}\n"


def two(base):
    return base.replace("[resource.gang]\ncount = 1", "[resource.gang]\ncount = 2")


def test_a_gang_that_fails_in_a_long_job_is_repaired_once_after_it(tmp_path):
    """Fails on Monday at 20:00, is put right on Friday from 16:00 to 17:00, and fails again 20 h later."""
    site = played(made(tmp_path, broken(every="20"), base=LONG, levels=ONE_JOB))
    assert site.diary.finish == at(4, "16:00")
    assert site.span("gang 1: breakdown 1") == (at(4, "16:00"), at(4, "17:00"))
    assert site.span("gang 1: breakdown 2") == (at(5, "13:00"), at(5, "14:00"))
    assert site.span("gang 1: breakdown 3") == (at(6, "10:00"), at(6, "11:00"))


@pytest.mark.parametrize("gangs", [1, 2])
def test_no_failure_comes_sooner_after_a_repair_than_the_least_time(tmp_path, gangs):
    """With jobs of 104 clock hours many failures wait; both engines say the same of them."""
    every = f'{{ low = {LEAST_H}, likely = 25, high = 60, shape = "pert" }}'
    base = LONG if gangs == 1 else two(LONG)
    ready = made(tmp_path, broken(every=every, repair="3"), base=base, levels=MANY_JOBS)
    plan = ready.tower.plan
    waited = 0
    for trial in range(3):
        site = played(ready, trial=trial)
        compiled = run_compiled(plan, site.draw)
        for stamp in ("ready", "started", "finished", "enabler"):
            assert np.array_equal(getattr(site.diary, stamp), getattr(compiled, stamp))
        for unit in range(1, gangs + 1):
            names = [name for name in plan.names if name.startswith(f"gang {unit}: breakdown")]
            steps = np.array([plan.index[name] for name in names])
            steps = steps[site.diary.finished[steps] >= 0]
            begun, over = (stamps[steps] for stamps in (site.diary.started, site.diary.finished))
            assert len(steps) > 50
            assert (begun[1:] - over[:-1]).min() >= 60 * LEAST_H
            assert begun[0] >= 60 * LEAST_H
            waited += int((begun > site.diary.ready[steps]).sum())
    assert waited > 10


def test_a_repair_takes_the_gang_that_is_free_first(tmp_path):
    """Both fail on Monday at 20:00: one is at work until Friday, so the idle one is put right twice."""
    site = played(made(tmp_path, broken(every="20"), base=two(LONG), levels=ONE_JOB))
    assert site.span("gang 1: breakdown 1") == (at(0, "20:00"), at(0, "21:00"))
    assert site.span("gang 2: breakdown 1") == (at(0, "21:00"), at(0, "22:00"))
    assert site.diary.finish == at(4, "16:00")


def test_what_has_left_the_site_fails_no_more(tmp_path):
    """On the site for 72 h: fails after 20, 41 and 62 h, and not after 83 h."""
    leaves = BASE.replace("[resource.gang]\ncount = 1", "[resource.gang]\ncount = 1\nleaves = 2027-03-04")
    site = played(made(tmp_path, broken(every="20"), base=leaves))
    begun = [site.diary.started_at(f"gang 1: breakdown {k}") for k in (1, 2, 3)]
    assert begun == [at(0, "20:00"), at(1, "17:00"), at(2, "14:00")]
    assert site.diary.finished[site.ready.tower.plan.index["gang 1: until breakdown 4"]] < 0


@pytest.mark.parametrize("more", ["", "away = [{ from = 2027-06-01, to = 2027-06-02 }]\n"])
def test_the_time_to_a_failure_is_nobody_s_work_on_the_controlling_chain(tmp_path, more):
    """Fails on Tuesday at 7:00, an hour before the front is begun, which waits for the repair until 12:00."""
    base = BASE.replace("[resource.gang]\ncount = 1\n", "[resource.gang]\ncount = 1\n" + more)
    levels = ONE_JOB.replace("2027-03-01", "2027-03-02")
    site = played(made(tmp_path, broken(every="31", repair="5"), base=base, levels=levels))
    told = tell(site)
    assert [link.step for link in told.links][:2] == [
        site.ready.tower.plan.index[f"gang 1: {name} 1"] for name in ("until breakdown", "breakdown")
    ]
    spent = dict(zip(told.causes, told.minutes[:, 0].tolist(), strict=True))
    assert {cause: minutes for cause, minutes in spent.items() if minutes} == {
        "after time to failure": 31 * 60
    }
