"""Faults of lost panels, crane moves and leave-outs: the exact line that a user will read."""

from pathlib import Path

import pytest
from minimal_scenario import EVERY_TABLE, EVERY_TABLE_LEVELS, edited, write_every_table

from towerpace.faults import InputError
from towerpace.scenario import load

LEAVE_OUTS = """
[leave_outs]
column = "seal"
after = [ { on = "closing_in" } ]
set_factor = 2
crane = true
order = "down"
"""
BARE = edited(LEAVE_OUTS, 'column = "seal"', 'column = "left"')
LEVELS = "\n".join(
    f"{line},{'left' if k == 0 else 0}" for k, line in enumerate(EVERY_TABLE_LEVELS.strip().split("\n"))
)


def faults_of(path: Path, changes: dict[str, object] | None = None) -> list[str]:
    """What is told, without the place."""
    with pytest.raises(InputError) as caught:
        load(path, changes or {})
    return [line.strip() for line in str(caught.value).split("\n")[1:]]


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        (
            {"family.flat.reject_chance": 0.02},
            "family.flat.remake_days: missing; allowed: a number or a spread at least 0, "
            "because reject_chance is above 0",
        ),
        (
            {"family.flat.later_break_chance": 0.02, "family.flat.remake_days": 70},
            "family.flat.later_found_days: missing; allowed: a number or a spread at least 0, "
            "because later_break_chance is above 0",
        ),
        (
            {"family.flat.misfit_chance": 0.02},
            "family.flat.misfit_min: missing; allowed: a number or a spread at least 0, "
            "because misfit_chance is above 0",
        ),
        (
            {"family.flat.spares": 2},
            "family.flat.spare_days: missing; allowed: a number at least 0, because spares is above 0",
        ),
        (
            {"family.flat.reject_chance": 1.2, "family.flat.remake_days": 70},
            "set family.flat.reject_chance: found 1.2; allowed: a number at least 0 and at most 1",
        ),
        (
            {"crane.obstacles": [["north", "south"]]},
            "crane.obstacle_min: missing; allowed: a number at least 0, because obstacles are given",
        ),
        (
            {"crane.obstacle_min": 20},
            "set crane.obstacle_min: found 20; allowed: obstacle_min only with obstacles",
        ),
        (
            {"crane.obstacle_min": 20, "crane.obstacles": [["north", "sout"]]},
            'set crane.obstacles[0][1]: found "sout"; allowed: a zone: north, south; nearest: south',
        ),
        (
            {"crane.obstacle_min": 20, "crane.obstacles": [["north", "north"]]},
            'set crane.obstacles[0]: found "north" twice; allowed: two zones',
        ),
        (
            {"crane.obstacle_min": 20, "crane.obstacles": [["north"]]},
            "set crane.obstacles[0]: found a list; allowed: a list of two zones",
        ),
        (
            {"crane.level_move_needs": {"hoists": 1}},
            'set crane.level_move_needs.hoists: found "hoists"; '
            "allowed: gang, floor_crane, hoist, bay; nearest: hoist",
        ),
        (
            {"crane.level_move_needs": {"hoist": 3}},
            'set crane.level_move_needs.hoist: found 3 of "hoist"; '
            "allowed: at most resource.hoist.count, which is 2",
        ),
        (
            {"crane.level_move_needs": {"floor_crane": 1}},
            'set crane.level_move_needs.floor_crane: found the floor crane "floor_crane"; '
            "allowed: what a move needs beside the crane itself",
        ),
        (
            {"crane.drop_zone": -1},
            "set crane.drop_zone: found -1; allowed: a whole number, at least 0 and at most 100000",
        ),
        (
            {"trade.panels.hole": "hole"},
            'set trade.panels.hole: found "hole"; allowed: "return" or "hold" or "infill"; nearest: hold',
        ),
        (
            {"trade.boards.after": [{"on": "leave_outs"}]},
            'set trade.boards.after[0].on: found "leave_outs"; '
            "allowed: leave_outs only with a table [leave_outs]",
        ),
    ],
)
def test_one_wrong_value_gives_one_line(here: Path, changes: dict[str, object], text: str):
    (line,) = faults_of(write_every_table(here), changes)

    assert line.split("  ")[-1] == text


@pytest.mark.parametrize(
    ("old", "new", "text"),
    [
        (
            'column = "left"',
            'column = "lef"',
            'leave_outs.column: found "lef"; allowed: a count column of tower/levels.csv: '
            "flat, brackets, seal, left; nearest: left",
        ),
        (
            'on = "closing_in"',
            'on = "closed_in"',
            'leave_outs.after[0].on: found "closed_in"; '
            "allowed: handover, closing_in, leave_outs, brackets, panels, seal, boards; nearest: closing_in",
        ),
        (
            'order = "down"',
            'order = "dawn"',
            'leave_outs.order: found "dawn"; allowed: "down" or "up"; nearest: down',
        ),
        (
            "set_factor = 2",
            "set_factor = 0",
            "leave_outs.set_factor: found 0; allowed: a number or a spread above 0",
        ),
        (
            'on = "closing_in"',
            'on = "leave_outs"',
            "leave_outs.after[0].on: found leave_outs after leave_outs; "
            "allowed: a sequence without a circle on one level (levels_up = 0)",
        ),
    ],
)
def test_one_wrong_word_of_the_leave_outs_gives_one_line(here: Path, old: str, new: str, text: str):
    toml = EVERY_TABLE + edited(BARE, old, new)
    (line,) = faults_of(write_every_table(here, toml=toml, levels=LEVELS))

    assert line.split("  ")[-1] == text


def test_a_row_cannot_leave_out_more_panels_than_it_has(here: Path):
    lines = faults_of(write_every_table(here, toml=EVERY_TABLE + LEAVE_OUTS))

    assert [line.split("  ")[-1] for line in lines][-2:] == [
        "seal: found 20; allowed: at most 8, the panels of the row",
        "seal: found 20; allowed: at most 0, the panels of the row",
    ]
    assert len(lines) == 6


def test_leave_outs_need_one_trade_of_panels(here: Path):
    second = {
        "trade.more": {"kind": "panels", "families": ["flat"], "needs": {"gang": 1}, "calendar": "site"}
    }
    second["trade.more"]["after"] = [{"on": "handover"}]
    (line,) = faults_of(write_every_table(here, toml=EVERY_TABLE + BARE, levels=LEVELS), second)

    assert line.split("  ")[-1] == (
        "leave_outs: found 2 trades of kind panels; allowed: leave_outs with exactly one trade of kind panels"
    )


def test_two_trades_do_not_draw_on_one_stock_of_spares(here: Path):
    second = {"kind": "panels", "families": ["flat"], "needs": {"gang": 1}, "calendar": "site"}
    changes = {"trade.more": {**second, "after": [{"on": "handover"}]}, "family.flat.remake_days": 70}
    tower = write_every_table(here)
    load(tower, changes)  # one family in two trades is fine without spares
    (line,) = faults_of(tower, {**changes, "family.flat.spares": 2, "family.flat.spare_days": 1})

    assert line.endswith(
        'families[0]: found "flat"; allowed: a family whose spares no other trade takes; "panels" takes these'
    )


def test_all_faults_are_told_at_once(here: Path):
    changes = {
        "family.flat.reject_chance": 0.1,
        "family.flat.spares": 1,
        "crane.obstacle_min": 4,
        "crane.level_move_needs": {"hoist": 9},
    }

    assert len(faults_of(write_every_table(here), changes)) == 4
