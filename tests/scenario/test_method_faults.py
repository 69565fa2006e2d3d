"""What is wrong with ways of lifting panels is told at its key or row, with what is allowed."""

import pytest

from support.panel_site import HEADER, TOML, row
from towerpace.faults import InputError
from towerpace.scenario import load

HOOK = {"needs": {"hoist": 1}, "straight": True}
CASES = {
    "an unknown name": (
        {"method.hook": HOOK, "trade.panels.method": "hok"},
        'set trade.panels.method: found "hok"; allowed: hook, crane; nearest: hook',
    ),
    "the word for the floor crane": (
        {"method.crane": HOOK},
        'set method.crane: found a method of this name; allowed: any name but "crane", which stands for the '
        "floor cranes of [crane]",
    ),
    "no way of lifting at all": (
        {"family.flat.method": "hook"},
        'set family.flat.method: found "hook"; allowed: crane',
    ),
    "kept without what is kept": (
        {"method.hands": {"kept": "panel"}},
        'set method.hands.kept: found "panel"; allowed: kept only with needs: what is kept',
    ),
    "a shift without its minutes": (
        {"method.hook": HOOK | {"panels_per_position": 2}},
        "set method.hook.reposition_min: missing; allowed: reposition_min beside panels_per_position",
    ),
    "ground that nobody lifts from": (
        {"method.hook": {"needs": {"hoist": 1}, "ground_crates": 3}},
        "set method.hook.ground_crates: found 3; allowed: ground_crates only with straight = true",
    ),
    "the floor crane as a hook": (
        {"method.hook": {"needs": {"crane": 1}}},
        'set method.hook.needs.crane: found the floor crane "crane"; allowed: no floor crane: it stands on '
        "fronts",
    ),
    "more units than there are": (
        {"method.hook": {"needs": {"hoist": 2}}},
        'set method.hook.needs.hoist: found 2 of "hoist"; allowed: at most resource.hoist.count, which is 1',
    ),
    "gathered visits by hook": (
        {"method.hook": HOOK, "trade.panels.returns": {"most": 2, "days": 5}},
        "set method.hook.sets_again: found true; allowed: sets_again = false, because trade.panels.returns "
        "gathers visits of a floor crane",
    ),
    "a level with an unknown name": (
        {"method.hook": HOOK, 'level."1".method': "hooks"},
        'set level.1.method: found "hooks"; allowed: a table of [method.NAME]: hook, crane; nearest: hook',
    ),
    "no hoist for what is lifted from the floor": (
        {"method.beam": {"needs": {"bay": 1}}, "trade.panels.method": "beam", "hoist": None, "crane": None},
        "set hoist: missing; allowed: a table [hoist], because method.beam lifts from the floor and not "
        "straight from the truck",
    ),
    "no crane to set panels again": (
        {"method.hook": HOOK | {"sets_again": False}, "trade.panels.method": "hook", "crane": None},
        "set crane: missing; allowed: a table [crane], because method.hook.sets_again is false",
    ),
}


ONE_FRONT = HEADER + row(1, flat=2)


def written(folder, *, levels=ONE_FRONT):
    (folder / "scenario.toml").write_text(TOML, encoding="utf-8")
    (folder / "levels.csv").write_text(levels, encoding="utf-8")
    return folder / "scenario.toml"


@pytest.mark.parametrize(("changes", "text"), CASES.values(), ids=CASES)
def test_one_fault_tells_what_is_wrong(tmp_path, changes, text):
    with pytest.raises(InputError) as refused:
        load(written(tmp_path), changes)

    assert [fault.text().strip() for fault in refused.value.faults] == [text]


def test_a_row_of_the_level_table_names_its_method(tmp_path):
    levels = HEADER.strip() + ",method\n" + row(1, flat=2).strip() + ",beam\n"
    path = written(tmp_path, levels=levels)
    with pytest.raises(InputError) as refused:
        load(path, {"method.hook": HOOK})
    named = load(path, {"method.beam": HOOK})

    (fault,) = refused.value.faults
    assert (fault.line, fault.key, fault.found) == (2, "method", '"beam"')
    assert named.levels.method == (("beam",),)


def test_a_site_without_floor_crane_and_hoist_is_allowed_where_all_panels_hang_on_the_hook(tmp_path):
    hook = {"method.hook": {"needs": {"bay": 1}, "straight": True}, "trade.panels.method": "hook"}

    assert load(written(tmp_path), hook | {"hoist": None, "crane": None}).settings.crane is None
