"""A changed number gives the plan that writing anew gives, byte for byte, and writes no step."""

import random
from datetime import date

import pytest

from support import wharf_in_small as small
from support.same import first_unlike
from towerpace.draws import Chooser
from towerpace.faults import InputError
from towerpace.plan.parts import PlanError
from towerpace.plan.site.tower import numbered
from towerpace.plan.site.writing import write
from towerpace.scenario import load
from towerpace.scenario.schema import Settings

BASES = {"as the demo": {}, "in other ways": small.OTHER_WAYS}
NUMBERS = {
    "hoist.share": 0.3,
    "hoist.speed_m_s": 1.4,
    "hoist.load_min": {"low": 2, "likely": 3, "high": 9, "shape": "pert"},
    "trade.brackets.pace": {"low": 0.9, "likely": 1.1, "high": 1.4, "shape": "triangular"},
    "trade.brackets.learning": {"rate": 0.9, "plateau_fronts": 3},
    "trade.boards_1.after[0].lag_h": 30,
    "family.flat.set_min": 44,
    "family.flat.reject_chance": 0.2,
    "family.flat.spares": 3,
    "resource.bracket_gang.count": 3,
    "resource.panel_gang.cost_per_day": 9,
    "resource.hoist.breakdown.repair_h": 7,
    "storage.slots_per_level": 33,
    "yard.slots": 50,
    "factory.panels_per_week": 30,
    "factory.start": date(2027, 3, 9),
    "limit.flat_lift.wind_above_m_s": 8.0,
    "limit.rain_on_joints.rain_above_mm_h": 1.0,
    "weather.site_exposure": "III",
    "calendar.setting.week.sat": ["08:00-12:30", "13:00-16:15"],
    "calendar.site.closed": [date(2027, 4, 1)],
    "structure.slip_days": 1,
    "mock_up.pass_chance": 0.4,
    "mock_up.start": date(2027, 3, 20),
    "risk[0].delay_days": 3,
    "risk[2].chance": 0.9,
    "crane.level_move_min": 100,
    "crane.reposition_min": 9,
    "activity.crown_lifts.concrete.curing_temperature_degC": 12,
    "delivery.late_chance": 0.6,
    "leave_outs.set_factor": 2,
    "contract.completion.date": date(2028, 10, 10),
    "cost.site_overhead_per_day": 5,
    "correlation[0].rho": 0.2,
    "policy.rank": "most urgent",
    "tower.start": date(2027, 2, 15),
}


def outcome(call):
    """What a call gives, or its faults in words."""
    try:
        return call()
    except PlanError as error:
        return error.faults
    except ValueError as error:
        return str(error)


def drawn(tower):
    return [Chooser(tower.plan, tower.laws, None).draw(1, trial) for trial in range(2)]


def check_changed_is_anew(written, scenario):
    changed, anew = (outcome(lambda w=w: numbered(w, scenario)) for w in (written, write(scenario)))
    assert first_unlike(changed, anew) is None
    if hasattr(changed, "plan"):
        assert first_unlike(drawn(changed), drawn(anew)) is None


@pytest.fixture(scope="module", params=list(BASES))
def base(request, tmp_path_factory):
    path = small.write(tmp_path_factory.mktemp("small"))
    changes = BASES[request.param]
    return path, changes, write(load(path, changes))


def changes_of(path, base_changes, *, rng, first):
    """Random changes of one to three keys: each of `first`, and with it any others."""
    keys = dict(small.keys_of(small.tree_of(path, base_changes)))
    words = [value for value in keys.values() if isinstance(value, str)]
    for key in first:
        some = [key, *rng.choices(list(keys), k=rng.choice([0, 0, 0, 1, 2]))]
        yield {key: small.other_value(keys[key], words=words, rng=rng) for key in some}


def play(base, *, rng, first):
    """Check random changes; how many were numbers alone, and how many needed other steps."""
    path, base_changes, written = base
    alone = other = 0
    for changes in changes_of(path, base_changes, rng=rng, first=first):
        try:
            scenario = load(path, {**base_changes, **changes})
        except InputError:
            continue
        if written.fits(scenario):
            alone += 1
            check_changed_is_anew(written, scenario)
        else:
            other += 1
    return alone, other


def said(path, base_changes):
    """Keys that a base says, in the order of the file."""
    return [key for key, _ in small.keys_of(small.tree_of(path, base_changes))]


def test_a_random_change_of_numbers_is_the_plan_written_anew(base):
    rng = random.Random(1)
    alone, other = play(base, rng=rng, first=rng.sample(said(*base[:2]), 20))
    assert alone
    assert other


def keys_to_change(path, base_changes):
    """Every key that a base says; of those that the demo says as well, which have their turn there, some."""
    keys = said(path, base_changes)
    if not base_changes:
        return keys
    known = set(said(path, {}))
    some = random.Random(3).sample(sorted(known & set(keys)), 40)
    return [key for key in keys if key not in known] + some


@pytest.mark.slow
@pytest.mark.parametrize("part", range(3))
def test_every_key_of_a_scenario_may_change(base, part):
    keys = keys_to_change(*base[:2])[part::3]
    alone, other = play(base, rng=random.Random(part), first=keys)
    assert alone > len(keys) / 8
    assert other > len(keys) / 20


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    path = small.write(tmp_path_factory.mktemp("demo"))
    return path, write(load(path))


@pytest.mark.parametrize("key", NUMBERS)
def test_a_number_writes_no_step(key, demo):
    path, written = demo
    scenario = load(path, {key: NUMBERS[key]})
    assert written.fits(scenario)
    check_changed_is_anew(written, scenario)


@pytest.mark.parametrize(
    "changes",
    [
        {"resource.floor_crane.count": 3},
        {"hoist.empties": False},
        {"family.flat.crate_panels": 3},
        {"trade.joints.coats": 2},
        {"mock_up.most_tries": 2},
        {"family.corner.later_break_chance": 0},
        {"trade.boards_1.after[0].lag_h": 0},
        {"activity.crane_out.level": 2},
        {"activity.snag.in_turn": True},
        {"activity.hoist_out.levels": [4, 2]},
        {"activity.lining_strips.after[0].levels_up": -1},
        {"trade.panels.hole": "hold"},
    ],
)
def test_what_makes_other_steps_is_written_anew(changes, demo):
    path, written = demo
    assert not written.fits(load(path, changes))


def test_the_two_bases_say_nearly_every_key_of_the_schema(tmp_path):
    path = small.write(tmp_path)
    said = set()
    for changes in BASES.values():
        said |= {part for key, _ in small.keys_of(small.tree_of(path, changes)) for part in words_of(key)}
    unsaid = {field for field in fields_of(Settings) if field not in said}
    assert unsaid <= {
        "setup", "candidate", "note", "s", "published", "maker_limit_m_s", "replay_year", "gust_exponent",
        "mean_exponent", "mean", "remark", "visibility_below_km", "column", "samples", "difficulty", "zones",
        "thu", "sun", "source", "from_", "curing_c", "limit", "unit", "brings",
        "decision", "key_", "keys", "labels", "when", "not_with", "values", "to", "step",
    }  # fmt: skip


def words_of(key):
    return [word.split("[")[0] for word in key.split(".")]


def fields_of(table, seen=None):
    """Names of all keys of a table and of the tables in it."""
    from typing import get_args

    from towerpace.scenario.fields import Table

    seen = set() if seen is None else seen
    for name, field in table.model_fields.items():
        yield name
        waiting = [field.annotation]
        while waiting:
            part = waiting.pop()
            waiting += get_args(part)
            if isinstance(part, type) and issubclass(part, Table) and part not in seen:
                seen.add(part)
                yield from fields_of(part, seen)


@pytest.mark.slow
def test_the_demo_with_other_numbers_is_the_demo_written_anew():
    path = small.DEMO / "scenario.toml"
    written = write(load(path))
    for key in ("tower.start", "family.flat.reject_chance"):
        check_changed_is_anew(written, load(path, {key: NUMBERS[key]}))
