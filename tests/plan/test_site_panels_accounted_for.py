"""Every panel is accounted for: where nearly everything goes wrong, each is set once in every trial."""

from math import sqrt

import numpy as np
import pytest

from support.panel_site import DAY, played, row, site
from support.plain_book import clocks
from towerpace.answers.ledger.book import Ledger

ZONES = ("north", "east", "south")
CHANCES = {"reject": 0.15, "transit_break": 0.1, "handling_break": 0.2, "later_break": 0.15, "misfit": 0.3}
PERT = {"shape": "pert"}
SEED, TRIALS = 5, 8


def rows():
    """Panels left out on every level but the first; on one front all of them, on another none at all."""
    left = {("north", 2): 2, ("east", 2): 1, ("south", 3): 4, ("north", 4): 3}
    return [
        row(
            level,
            zone,
            flat=0 if (level, zone) == (3, "east") else 4,
            sound=2 * (zone == "north"),
            joints=4,
            left=left.get((zone, level), 0),
        )
        for level in (1, 2, 3, 4)
        for zone in ZONES
    ]


def wild_site(folder, **changes):
    """Uncertain minutes, few of everything, and chances as above."""
    wild = {
        "family__flat__set_min": {"low": 20, "likely": 45, "high": 120, **PERT},
        "family__flat__remake_days": {"low": 2, "likely": 4, "high": 9, **PERT},
        "family__flat__later_found_days": {"low": 0, "likely": 2, "high": 9, **PERT},
        "family__flat__misfit_min": {"low": 10, "likely": 30, "high": 90, **PERT},
        "family__flat__spares": 3,
        "family__flat__spare_days": 0.5,
        **{f"family__flat__{cause}_chance": chance for cause, chance in CHANCES.items()},
        "storage": {"slots_per_level": 4},
        "hoist__empties": True,
        "crane__drop_zone": 1,
        "crane__level_move_needs": {"hoist": 1},
        "crane__obstacles": [["north", "east"]],
        "crane__obstacle_min": 20,
        "crane__panels_per_position": 2,
        "resource__gang__count": 2,
        "resource__crane__count": 2,
        "leave_outs": {
            "column": "left",
            "after": [{"on": "closing_in"}],
            "set_factor": {"low": 1.5, "likely": 2, "high": 3, **PERT},
            "crane": True,
            "order": "down",
        },
    }
    return site(folder, rows(), **wild | changes)


@pytest.fixture(scope="module", params=["return", "hold", "infill"])
def trials(request, tmp_path_factory):
    ready = wild_site(tmp_path_factory.mktemp(request.param), trade__panels__hole=request.param)
    return ready, [played(ready, seed=SEED, trial=k) for k in range(TRIALS)]


def panel_names(ready):
    return [ready.tower.plan.names[i] for i in ready.tower.panels]


def done(ready, draw, name):
    """Whether a step exists and is not left out."""
    number = ready.tower.plan.index.get(name)
    return number is not None and not draw.skip[number]


def test_every_trial_ends(trials):
    _, played_trials = trials
    for _, diary in played_trials:
        assert diary.unfinished == []


def test_each_panel_is_set_once_and_every_loss_has_its_remake(trials):
    """A panel is in place after its first lift, or, if that was no use, after its return visit."""
    ready, played_trials = trials
    for draw, diary in played_trials:
        for name in panel_names(ready):
            remade = [done(ready, draw, f"{name} {word}") for word in ("remade", "made again")]
            again = done(ready, draw, f"{name} again")
            first = done(ready, draw, name)
            left_out = was_left_out(ready, name)
            # A leave-out found bad is made anew before its first lift, so that lift sets it.
            needed = remade[1] if left_out else any(remade)
            assert again == needed
            assert first or again
            if again:
                lead = f"{name} made again" if left_out else f"{name} remade"
                assert diary.finished_at(name) <= diary.started_at(lead)
                assert diary.finished_at(lead) <= diary.started_at(f"{name} return: move in")


def test_the_steps_that_set_the_panels_are_as_many_as_the_panels(trials):
    ready, played_trials = trials
    expected = sum(int(ready.scenario.levels.counts[column].sum()) for column in ("flat", "sound"))
    for draw, diary in played_trials:
        steps = ready.tower.setting(draw.skip)
        assert len(set(steps.tolist())) == expected
        assert not draw.skip[steps].any()
        assert np.all(diary.finished[steps] >= 0)


def test_a_level_is_closed_in_when_its_last_hole_is_closed(trials):
    ready, played_trials = trials
    plan = ready.tower.plan
    if ready.scenario.settings.trade["panels"].hole == "infill":
        return
    for draw, diary in played_trials:
        setting = ready.tower.setting(draw.skip)
        for level, closed in zip(ready.tower.levels, ready.tower.closing_in, strict=True):
            mine = [s for s in setting.tolist() if plan.tags(s).level == level]
            kept = [s for s in mine if not was_left_out(ready, plan.names[s].removesuffix(" again"))]
            assert diary.finished[closed] >= max(diary.finished[s] for s in kept)


def was_left_out(ready, name):
    """Whether a panel is left out when its front is set."""
    return ready.tower.plan.tags(ready.tower.plan.index[name]).trade == "leave-outs"


def test_above_a_hole_that_holds_nothing_is_set(trials):
    ready, played_trials = trials
    if ready.scenario.settings.trade["panels"].hole != "hold":
        return
    for _, diary in played_trials:
        for zone in ZONES:
            for level in (1, 2, 3):
                below = f"panels L{level} {zone}: holes closed"
                above = f"panels L{level + 1} {zone}: move in"
                if below in ready.tower.plan.index and above in ready.tower.plan.index:
                    assert diary.finished_at(below) <= diary.started_at(above)


def test_spares_go_to_the_first_losses_and_to_no_other(trials):
    ready, played_trials = trials
    number = ready.tower.plan.index
    for draw, _ in played_trials:
        leads = [
            f"{name} {word}"
            for name in sorted(panel_names(ready), key=planned_place)
            for word in ("remade", "made again", "replacement made")
            if done(ready, draw, f"{name} {word}")
        ]
        assert len(leads) > 3
        for k, lead in enumerate(leads):
            minutes = int(draw.work[number[lead]])
            if "replacement" not in lead:  # which adds the time until it is found
                assert minutes == DAY // 2 if k < 3 else minutes >= 2 * DAY


def planned_place(name):
    """Level, zone and number of "panels L2 north: panel 3"."""
    front, number = name.removeprefix("panels L").split(": panel ")
    level, zone = front.split()
    return int(level), ZONES.index(zone), int(number)


def test_every_minute_of_every_row_has_a_cause(trials):
    ready, played_trials = trials
    ledger = Ledger(ready.tower)
    assert {"return visits", "leave-outs"} <= set(ledger.rows)
    for draw, diary in played_trials:
        book, _ = ledger.of(draw, diary)
        assert np.array_equal(book.sum(axis=2), clocks(ledger, diary))


def lost(ready, draw):
    """Panels that a new one replaces."""
    words = ("remade", "made again", "replacement made")
    return {name for name in panel_names(ready) for word in words if done(ready, draw, f"{name} {word}")}


def test_the_same_panels_are_lost_whatever_else_changes(tmp_path):
    """Holes, cranes, hoists and set-up differ; chance does not."""
    changes = {
        "trade__panels__hole": "hold",
        "resource__crane__count": 3,
        "crane__level_move_needs": {},
        "crane__drop_zone": 0,
    }
    one, other = wild_site(tmp_path / "a"), wild_site(tmp_path / "b", **changes)
    for trial in range(5):
        draws = [ready.chooser.draw(SEED, trial) for ready in (one, other)]
        assert lost(one, draws[0]) == lost(other, draws[1]) != set()


def test_more_chance_only_adds_losses(tmp_path):
    """The draw of a panel stays as it is: one that was bad at a lower chance is bad at a higher one."""
    few = wild_site(tmp_path / "a", family__flat__reject_chance=0.05)
    many = wild_site(tmp_path / "b", family__flat__reject_chance=0.5)
    for trial in range(5):
        assert lost(few, few.chooser.draw(SEED, trial)) <= lost(many, many.chooser.draw(SEED, trial))


def test_losses_come_as_often_as_their_chances_say(tmp_path):
    """1 - (1 - a)(1 - b)(1 - c)(1 - d) by the product rule; within four standard errors over all draws."""
    rows_ = [row(level, zone, flat=10) for level in (1, 2, 3) for zone in ZONES]
    chances = {
        f"family__flat__{cause}_chance": chance for cause, chance in CHANCES.items() if cause != "misfit"
    }
    days = {"family__flat__remake_days": 3, "family__flat__later_found_days": 1}
    ready = site(tmp_path, rows_, **chances, **days)

    trials, panels = 60, 90
    share = np.mean([len(lost(ready, ready.chooser.draw(SEED, k))) / panels for k in range(trials)])

    exact = 1 - np.prod([1 - chance for cause, chance in CHANCES.items() if cause != "misfit"])
    error = sqrt(exact * (1 - exact) / (trials * panels))
    assert error < 0.01
    assert abs(share - exact) < 4 * error
