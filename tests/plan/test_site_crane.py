"""Moves of floor cranes and the air they keep clear, by hand (see support.panel_site) and as properties."""

from itertools import combinations

import numpy as np
import pytest

from support.panel_site import DAY, played, row, site, spans
from towerpace.plan.site.logistics import CraneMoves, kept_clear, landing
from towerpace.scenario import load

TWO = {"resource__gang__count": 2, "resource__crane__count": 2}
FOUR = ("north", "east", "south", "west")
SIX = ("n", "ne", "se", "s", "sw", "nw")


def lifting_spans(ready, diary):
    """From taking the strips to giving them back: level, zone, start, end of every front's visit."""
    tower = ready.tower
    panels = {front.where: f"panels {front.where}: panel" for front in tower.fronts}
    for front in tower.fronts:
        lifts = [name for name in tower.plan.names if name.startswith(f"{panels[front.where]} ")]
        start = diary.started_at(f"panels {front.where}: move in")
        yield front.zone, start, max(diary.finished_at(name) for name in lifts)


def test_the_ring_of_zones_is_closed(tmp_path):
    ready = site(tmp_path, [row(1, flat=1)], crane__drop_zone=1, **TWO)
    settings = ready.scenario.settings

    # Whole where the lift is, one of two units beside it.
    assert kept_clear("north", settings, zones=FOUR) == {"strip north": 2, "strip east": 1, "strip west": 1}
    assert kept_clear("west", settings, zones=FOUR) == {"strip west": 2, "strip north": 1, "strip south": 1}
    assert kept_clear("north", settings, zones=("north", "south")) == {"strip north": 2, "strip south": 1}


def test_without_a_drop_zone_neighbours_are_set_side_by_side(tmp_path):
    rows = [row(1, zone, flat=1) for zone in FOUR]
    _, diary = played(site(tmp_path, rows, **TWO))

    # Crates come up 8 min apart, the cranes stand on north and east already.
    names = [f"panels L1 {zone}: move in" for zone in ("north", "east")]
    assert [diary.started_at(name) for name in names] == [38, 68]


def test_with_a_drop_zone_of_one_only_opposite_faces_are_set_at_once(tmp_path):
    rows = [row(1, zone, flat=1) for zone in FOUR]
    ready = site(tmp_path, rows, crane__drop_zone=1, **TWO)
    _, diary = played(ready)

    # East waits though its crate is up at 68; south begins at 98, when its crate is up: 30 + 60 + 50.
    # East and west begin when north and south are both done.
    assert [span[1:] for span in lifting_spans(ready, diary)] == [
        (38, 148),
        (238, 378),
        (98, 238),
        (238, 378),
    ]


@pytest.mark.parametrize("drop_zone", [0, 1, 2])
def test_two_cranes_are_never_nearer_than_the_drop_zone_asks(tmp_path, drop_zone):
    """The lifted zone of one must lie outside what the other keeps clear."""
    three = {"resource__gang__count": 3, "resource__crane__count": 3}
    rows = [row(level, zone, flat=2) for level in (1, 2, 3) for zone in SIX]
    ready = site(tmp_path, rows, crane__drop_zone=drop_zone, **three)
    _, diary = played(ready)

    visits = list(lifting_spans(ready, diary))
    together = [
        abs(SIX.index(a) - SIX.index(b))
        for (a, start_a, end_a), (b, start_b, end_b) in combinations(visits, 2)
        if max(start_a, start_b) < min(end_a, end_b)
    ]
    apart = [min(distance, len(SIX) - distance) for distance in together]
    assert min(apart) == drop_zone + 1


def test_outside_trades_take_only_the_strip_they_work_on(tmp_path):
    """A lift on north with its neighbours: south may be sealed, east may not."""
    rows = [row(1, "north", flat=2), row(1, "east", joints=1), row(1, "south", joints=1), row(1, "west")]
    seal = {"trade__seal__outside": True, "trade__seal__after": [{"on": "handover", "lag_h": 1}]}
    ready = site(tmp_path, rows, crane__drop_zone=1, resource__sealer__count=2, **seal)
    _, diary = played(ready)

    assert spans(diary, "seal L1 south", "seal L1 east") == [(60, 70), (198, 208)]


def test_the_way_past_an_obstacle_is_longer(tmp_path):
    rows = [row(1, zone, flat=1) for zone in FOUR]
    obstacles = {"crane__obstacles": [["east", "north"]], "crane__obstacle_min": 25}
    _, diary = played(site(tmp_path, rows, **obstacles))

    # North to east 30 + 25 + 60, the others 30 + 60.
    names = [f"panels L1 {zone}: move in" for zone in FOUR]
    assert [b - a for a, b in spans(diary, *names)] == [60, 115, 90, 90]


def test_a_move_between_levels_keeps_the_hoist(tmp_path):
    """The crane leaves level 1 at 1448; a crate that comes to the hoist at 1470 waits until it is up."""
    rows = [row(1, flat=1), row(2, sound=1), row(3, sound=1, day=2)]
    needs = {"crane__level_move_needs": {"hoist": 1}}
    ready = site(tmp_path, rows, family__flat__set_min=1350, **needs)
    _, diary = played(ready)

    # 120 min between levels, of which 30 along the level after the hoist: in all as long as without it.
    assert spans(diary, "panels L2 north: move in", "panels L2 north: set-up") == [(1448, 1538), (1538, 1628)]
    assert spans(diary, "panels L3 north: truck 1 unloaded") == [(DAY, DAY + 30)]
    assert spans(diary, "panels L3 north: crate 1 up") == [(1538, 1550)]
    _, plain = played(site(tmp_path / "plain", rows, family__flat__set_min=1350))
    assert spans(plain, "panels L2 north: move in") == [(1448, 1628)]


def test_a_move_between_levels_waits_for_the_hoist(tmp_path):
    rows = [row(1, flat=1), row(2, sound=1), row(3, sound=1, day=2)]
    needs = {"crane__level_move_needs": {"hoist": 1}}
    _, diary = played(site(tmp_path, rows, family__flat__set_min=1380, **needs))

    # Level 1 is done at 1478, the crate goes up 1470-1482.
    assert spans(diary, "panels L3 north: crate 1 up") == [(1470, 1482)]
    assert diary.started_at("panels L2 north: move in") == 1482


def test_a_crane_that_is_on_the_level_takes_no_time_of_the_hoist(tmp_path):
    rows = [row(level, zone, flat=1) for level in (1, 2) for zone in ("north", "south")]
    _, diary = played(site(tmp_path, rows, crane__level_move_needs={"hoist": 1}))

    names = [f"panels L2 {zone}: {step}" for zone in ("north", "south") for step in ("move in", "set-up")]
    assert [b - a for a, b in spans(diary, *names)] == [90, 90, 0, 90]


def test_a_resource_may_be_needed_for_the_move_and_for_the_work(tmp_path):
    """A second gang helps to move and is free again at once."""
    rows = [row(1, flat=1), row(2, flat=1)]
    helped = {"crane__level_move_needs": {"gang": 1}, "resource__gang__count": 2}
    ready = site(tmp_path, rows, **helped)
    _, diary = played(ready)

    plan, pool = ready.tower.plan, ready.tower.plan.pools.names.index("gang")
    step = plan.index["panels L2 north: move in"]
    assert plan.quantities[step][plan.needs[step].tolist().index(pool)] == 2
    assert diary.unfinished == []


def test_cranes_and_hoists_cannot_lock_each_other(tmp_path):
    """Every crane at once on the way up by the only hoist, and remade panels on the same hoist."""
    rows = [row(level, zone, flat=2) for level in (1, 2, 3) for zone in FOUR]
    three = {"resource__gang__count": 3, "resource__crane__count": 3, "crane__level_move_needs": {"hoist": 1}}
    loss = {"family__flat__reject_chance": 0.5, "family__flat__remake_days": 1}
    ready = site(tmp_path, rows, **three, **loss)

    for trial in range(5):
        assert played(ready, trial=trial)[1].unfinished == []
    assert ready.tower.plan.warnings == ()


def test_a_move_never_takes_less_time_than_it_is_said_to(tmp_path):
    """The two steps by hoist last together what the one step lasts, for every pair of fronts."""
    rows = [row(level, zone, flat=1) for level in (1, 2, 3) for zone in FOUR]
    ready = site(tmp_path, rows, crane__level_move_needs={"hoist": 1})
    settings = load(tmp_path / "scenario.toml").settings
    assert settings.crane is not None
    moves = CraneMoves(settings.crane, ready.tower.fronts)

    fronts = ready.tower.fronts
    places = [*(front.where for front in fronts), *(landing(front) for front in fronts)]
    at_once, to_level = np.hsplit(moves.table(places)[: len(fronts)], 2)

    assert (to_level + moves.along_level_min == np.where(at_once, at_once, moves.along_level_min)).all()
    assert at_once.max() > moves.along_level_min
