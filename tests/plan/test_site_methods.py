"""Panels lifted otherwise than by floor crane: minutes worked by hand on a site with certain durations.

A truck is unloaded 0-30; level 1 is 59 m up, level 2 119 m (see support.panel_site).
"""

from pathlib import Path
from tempfile import TemporaryDirectory

from support import wharf_in_small as small
from support.dice import on_random
from support.panel_site import DAY, played, row, site, spans
from support.same import first_unlike
from towerpace.answers.prepare import prepare
from towerpace.draws import Chooser
from towerpace.engine.diary import NEVER
from towerpace.plan.site.tower import build
from towerpace.scenario import load
from towerpace.scenario.raised_limits import raised_limits

P, E = "panels L1 north: panel", "panels L1 east: panel"
HOOK = {"needs": {"tower_crane": 1}, "kept": "panel", "straight": True, "speed_m_s": 1.0, "cycle_min": 8}
BEAM = {"needs": {"beam": 1}, "kept": "strip", "set_up_min": 100}
TOWER = {"resource__tower_crane": {"count": 1}, "method__hook": HOOK, "trade__panels__method": "hook"}


def by(name, method, **resources):
    """Changes that let a method lift all panels."""
    counts = {f"resource__{resource}": {"count": n} for resource, n in resources.items()}
    return {f"method__{name}": method, "trade__panels__method": name, **counts}


def lifts(diary, panels, start=P):
    return spans(diary, *(f"{start} {k}" for k in range(1, panels + 1)))


def test_a_hook_takes_the_panel_up_from_the_truck_and_comes_back_for_the_next(tmp_path):
    """50 min to set, 8 of cycle, and twice 59 m, or 119 m, at 1 m/s: 59.97 and 61.97 min."""
    _, diary = played(site(tmp_path, [row(1, flat=3), row(2, flat=2)], **TOWER))

    assert lifts(diary, 3) == [(30, 90), (90, 150), (150, 210)]
    assert lifts(diary, 2, "panels L2 north: panel") == [(210, 272), (272, 334)]


def test_between_two_panels_the_hook_serves_what_comes_first_in_rank(tmp_path):
    crown = {"work_h": 1, "needs": {"tower_crane": 1}, "calendar": "always"}
    after = [{"on": "handover", "level": 1, "lag_h": 1.0}]
    _, diary = played(site(tmp_path, [row(1, flat=2)], **TOWER, activity__crown=crown | {"after": after}))

    assert spans(diary, "crown") == [(90, 150)]
    assert lifts(diary, 2) == [(30, 90), (150, 210)]


def test_a_hook_kept_for_a_front_is_not_free_between_two_panels(tmp_path):
    rows = [row(1, flat=2), row(1, "east", flat=2)]
    crews = {"resource__gang__count": 2}
    _, in_turn = played(site(tmp_path / "panel", rows, **TOWER, **crews))
    kept = {"method__hook": HOOK | {"kept": "front"}}
    _, whole = played(site(tmp_path / "front", rows, **TOWER | kept, **crews))

    # The second truck is unloaded behind the first, 30-60.
    assert spans(in_turn, "panels L1 east: move in") == [(60, 60)]
    assert spans(whole, "panels L1 east: move in") == [(150, 150)]
    assert lifts(in_turn, 2, E) == lifts(whole, 2, E) == [(150, 210), (210, 270)]


def test_a_beam_is_set_up_once_for_a_strip_and_goes_on_to_the_next_when_all_its_fronts_are_done(tmp_path):
    """Crates come by hoist; the only gang hangs the beam and sets 2 panels a level without a move between."""
    rows = [row(level, zone, flat=2) for level in (1, 2) for zone in ("north", "east")]
    _, diary = played(site(tmp_path, rows, **by("beam", BEAM, beam=1)))

    assert spans(diary, "panels north: beam set up", "panels east: beam set up") == [(0, 100), (300, 400)]
    assert lifts(diary, 2) == [(100, 150), (150, 200)]
    assert lifts(diary, 2, "panels L2 north: panel") == [(200, 250), (250, 300)]
    assert lifts(diary, 2, E) == [(400, 450), (450, 500)]
    assert diary.finish == 600


def test_small_pieces_are_set_by_hand_while_the_crane_goes_elsewhere(tmp_path):
    """One flat panel by crane, then two pieces by hand in half the time; the crane is free at 148."""
    by_hand = {"method__hands": {"inside": True, "set_factor": 0.5}, "family__sound__method": "hands"}
    rows = [row(1, flat=1, sound=2), row(1, "east", flat=1)]
    _, diary = played(site(tmp_path, rows, resource__gang__count=2, **by_hand))

    assert spans(diary, f"{P} 1", f"{P} 2", f"{P} 3") == [(98, 148), (148, 173), (173, 198)]
    # The way to the other zone and setting up: 30 + 60 min.
    assert spans(diary, "panels L1 east: move in") == [(148, 238)]
    # Nothing else waits for the front than its last piece.
    assert spans(diary, "panels L1 north by hands: move in") == [(148, 148)]


def test_what_is_shifted_along_the_front_stops_for_it(tmp_path):
    davit = {"needs": {"davit": 1}, "set_up_min": 20, "panels_per_position": 2, "reposition_min": 15}
    _, diary = played(site(tmp_path, [row(1, flat=3)], **by("davit", davit, davit=1)))

    # The crate is up at 38.
    assert spans(diary, "panels L1 north: move in") == [(38, 58)]
    assert lifts(diary, 3) == [(58, 108), (108, 158), (173, 223)]


def test_a_lost_panel_comes_back_below_the_hook_or_by_hoist_and_floor_crane(tmp_path):
    lost = {"family__flat__handling_break_chance": 1, "family__flat__remake_days": 1}
    _, hook = played(site(tmp_path / "hook", [row(1, flat=1)], **TOWER, **lost))
    not_again = {"method__hook": HOOK | {"sets_again": False}}
    _, crane = played(site(tmp_path / "crane", [row(1, flat=1)], **TOWER | not_again, **lost))

    assert spans(hook, f"{P} 1 below again", f"{P} 1 again") == [(90 + DAY, 90 + DAY), (1530, 1590)]
    # Up by hoist in 8 min, 60 to set up; the floor crane takes its 50 min alone.
    assert spans(crane, f"{P} 1 up again", f"{P} 1 again") == [(1530, 1538), (1598, 1648)]


def test_trucks_for_the_hook_wait_until_there_is_room_below_it(tmp_path):
    """Room for one crate: the second front's is let in when the last panel of the first is up."""
    rows = [row(1, flat=2), row(1, "east", flat=2)]
    narrow = {"method__hook": HOOK | {"ground_crates": 1}, "resource__gang__count": 2}
    _, diary = played(site(tmp_path, rows, **TOWER | narrow))

    assert lifts(diary, 2) == [(30, 90), (90, 150)]
    assert spans(diary, "panels L1 east: truck 1 unloaded") == [(150, 180)]
    assert lifts(diary, 2, E) == [(180, 240), (240, 300)]


def test_own_conditions_stand_in_place_of_those_of_the_trade(tmp_path):
    """Level 2 does not wait for level 1, so with two gangs and cranes both are set at once."""
    rows = [row(1, flat=2), row(2, flat=2)]
    own = {"method__hook": HOOK | {"after": [{"on": "handover", "lag_h": 5.0}]}}
    more = {"resource__gang__count": 2, "resource__tower_crane": {"count": 2}}
    _, diary = played(site(tmp_path, rows, **TOWER | own | more))

    # Both fronts lie in one strip, in which one gang works at a time.
    assert lifts(diary, 2) == [(300, 360), (360, 420)]
    assert lifts(diary, 2, "panels L2 north: panel") == [(420, 482), (482, 544)]


def test_hours_and_limits_of_a_method_replace_those_of_trade_and_family(tmp_path):
    path = small.write(tmp_path)
    plan = build(load(path, {'level."from 1".zone.north.method': "hook"})).plan

    def window(name):
        return plan.windows[plan.window[plan.index[name]]].name

    assert window("panels L2 north: panel 1").startswith("hook, panel_on_hook")
    assert window("panels L2 east: panel 1").startswith("setting, flat_lift")
    assert window("panels L2 north: move in") == "setting"


def test_a_method_that_nothing_names_changes_no_step_and_no_draw(tmp_path):
    path = small.write(tmp_path)
    without, there = (build(load(path, changes)) for changes in ({"method": None}, {}))

    assert first_unlike(without, there) is None
    draws = [Chooser(tower.plan, tower.laws, None).draw(1, 2) for tower in (without, there)]
    assert first_unlike(*draws) is None


def test_panels_keep_their_minutes_when_another_face_is_lifted_otherwise(tmp_path):
    """What a set-up compares is its own: the same panels are slow, the same crates slow to load."""
    path = small.write(tmp_path)
    towers = [
        build(load(path, {f'level."from 1".zone.{zone}.method': "hook"} if zone else {}))
        for zone in ("", "north")
    ]
    minutes = [Chooser(t.plan, t.laws, None).draw(1, 2).work for t in towers]
    names = [
        name
        for name in towers[0].plan.names
        if name.startswith("panels") and " east: " in name and name in towers[1].plan.index
    ]

    assert len(names) > 100
    for name in names:
        a, b = (m[t.plan.index[name]] for m, t in zip(minutes, towers, strict=True))
        assert a == b, name


def test_a_way_of_lifting_that_lets_more_wind_pass_is_a_raised_limit(tmp_path):
    """The hook of the demo stops at 8 m/s, before the floor crane's 9.8; under the crown's limit it is 12."""
    path = small.write(tmp_path)
    hook = {'level."from 1".zone.north.method': "hook"}
    base, stricter = load(path), load(path, hook)
    raised = load(path, hook | {"method.hook.limits": ["crown_lift"]})
    calm = load(path, hook | {"method.hook.limits": []})

    assert raised_limits(base, stricter) == []
    assert [limit.text() for limit in raised_limits(base, raised)] == [
        "method.hook.limits: 8 m/s gust of panel_on_hook in the base, raised to 12 m/s gust of crown_lift",
        "method.hook: 9.8 m/s gust of flat_lift in the base, raised to 12 m/s gust of crown_lift",
    ]
    assert raised_limits(base, calm)[-1].changed == "no wind limit"


WAYS = {
    "method.hook.ground_crates": 8,
    "method.hook.calendar": "crane",
    "method.hands": {"inside": True, "set_factor": 1.1},
    "method.beam": {"needs": {"beam": 1}, "kept": "strip", "set_up_min": 240, "sets_again": False},
    "method.davit": {"needs": {"davit": 1}, "straight": True, "ground_crates": 8, "sets_again": True},
    "resource.beam": {"count": 1},
    "resource.davit": {"count": 1},
    "yard.slots": 8,
    "storage.slots_per_level": 12,
}


def mixture(dice):
    """A way for every front, sometimes one for a family, and the trial to play."""
    ways = ["hook", "hands", "beam", "davit", "crane"]
    named = {
        f'level."{level}".zone.{zone}.method': dice.of(ways)
        for level in range(1, small.LEVELS + 1)
        for zone in small.ZONES
    }
    of_family = {"family.corner.method": dice.of(ways)} if dice.coin() else {}
    return WAYS | named | of_family, dice.whole(1, 99)


@on_random(mixture, cases=6)
def test_any_mixture_of_ways_comes_to_its_end(case):
    """Scarce room on the floors, in the yard and on the ground, one unit of each way: nothing locks."""
    changes, seed = case
    with TemporaryDirectory() as folder:
        ready = prepare(load(small.write(Path(folder)), changes))
        _, diary = played(ready, seed=seed)

    assert diary.unfinished == []
    assert (diary.started[ready.tower.panels] != NEVER).all()
