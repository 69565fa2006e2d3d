"""Laws, spreads and rules of one's own: they act, they stand in the hash, and bad ones are refused."""

import numpy as np
import pytest

from support.panel_site import HEADER, TOML, row
from towerpace import InputError, OwnLaw, OwnRule, OwnSpread, build, compare, forecast, load, run
from towerpace.plan.chance import Law, by_item


class Slower(Law):
    """Every lift takes so many minutes more in a trial of bad luck, which is every second one."""

    def __init__(self, tower, more_min):
        self._steps, self._more_min = tower.panels, more_min

    def apply(self, into, streams, known):  # noqa: ARG002  one interface
        if streams("bad luck").random() < 0.5:
            into.work[self._steps] += self._more_min


def slower(tower):
    return Slower(tower, 10)


def highest_first(tower):
    """Steps that are written later come before."""
    return -np.arange(tower.plan.n) + tower.plan.n


@pytest.fixture
def path(tmp_path):
    (tmp_path / "scenario.toml").write_text(TOML, encoding="utf-8")
    rows = row(1, flat=2) + row(1, "east", flat=2)
    (tmp_path / "levels.csv").write_text(HEADER + rows, encoding="utf-8")
    return tmp_path / "scenario.toml"


def test_a_law_acts_after_those_of_the_scenario_on_either_engine(path):
    site = build(load(path, own=[OwnLaw("bad luck", "1", slower)]))
    plain = build(load(path))
    draws = [site.draw(trial) for trial in range(20)]
    lift = plain.tower.panels[0]

    assert {int(draw.work[lift]) for draw in draws} == {50, 60}
    for draw in draws[:3]:
        assert run(site.plan, draw).finish == run(site.plan, draw, engine="reference").finish


def test_a_spread_is_drawn_through_its_quantile_function(path):
    """Of u < 1/2 40 min, else 60: numbers of both kinds and none between."""
    steps = OwnSpread("two values", version="1", quantile=lambda u: np.where(u < 0.5, 40.0, 60.0))
    site = build(load(path, {"family.flat.set_min": steps}))
    minutes = np.concatenate([site.draw(trial).work[site.tower.panels] for trial in range(50)])

    assert set(minutes.tolist()) == {40, 60}
    assert 60 < np.count_nonzero(minutes == 40) < 140
    assert steps.mean() == 50
    assert steps.shifted(5).mean() == 55


def test_a_rule_decides_who_is_served_first(path):
    """One gang for two fronts: the first of them by the scenario, the other by the rule."""
    plain, turned = build(load(path)), build(load(path, own=[OwnRule("highest first", "1", highest_first)]))
    gang = {"north": "panels L1 north: move in", "east": "panels L1 east: move in"}
    busy = {}
    for name, site in (("plain", plain), ("turned", turned)):
        diary = run(site.plan)
        busy[name] = sorted(gang, key=lambda zone: diary.started_at(gang[zone]))

    assert busy == {"plain": ["north", "east"], "turned": ["east", "north"]}


def test_name_and_version_stand_in_the_hash_and_in_every_set_up(path):
    law, later = OwnLaw("bad luck", "1", slower), OwnLaw("bad luck", "2", slower)
    hashes = {load(path, own=own).hash for own in ((), [law], [later], [OwnRule("bad luck", "1", slower)])}
    spreads = [OwnSpread("flat", version=v, quantile=lambda u: 40 + u) for v in ("1", "2")]
    hashes |= {load(path, {"family.flat.set_min": spread}).hash for spread in spreads}

    assert len(hashes) == 6
    against = compare(load(path, own=[law]), {"two gangs": {"resource.gang.count": 2}}, trials=10)
    alone = forecast(load(path, {"resource.gang.count": 2}, own=[law]), trials=10)
    p50 = against.frame("setups").set_index("setup")["p50"]
    assert p50["two gangs"] == alone.frame("percentiles").query("percentile == 'P50'")["finish"].iloc[0]


def test_what_is_no_law_or_no_rank_is_refused_in_a_sentence(path):
    def whose_turn(step, minute):
        return step + minute

    bad = {
        "a Law of towerpace.plan.chance": [OwnLaw("none", "1", lambda _: 3)],
        "the compiled engine cannot ask Python whose turn it is": [
            OwnRule("by the minute", "1", lambda _: whose_turn)
        ],
        "one rule, which is 'a'": [OwnRule("a", "1", highest_first), OwnRule("b", "1", highest_first)],
        "both, as they stand in the hash": [OwnLaw("bad luck", "", slower)],
    }
    for allowed, own in bad.items():
        with pytest.raises(InputError) as refused:
            build(load(path, own=own))
        assert allowed in str(refused.value)
    with pytest.raises(ValueError, match="never fall"):
        OwnSpread("falling", version="1", quantile=lambda u: 1 - u)
    below = OwnSpread("below", version="1", quantile=lambda u: u - 1)
    with pytest.raises(InputError, match="set_min"):
        load(path, {"family.flat.set_min": below})


def test_items_keep_their_numbers_whoever_else_draws(path):
    """A law of one's own has streams of its own: nothing else moves."""
    site, plain = build(load(path, own=[OwnLaw("bad luck", "1", slower)])), build(load(path))
    others = np.setdiff1d(np.arange(plain.plan.n), plain.tower.panels)

    for trial in range(5):
        assert np.array_equal(site.draw(trial).work[others], plain.draw(trial).work[others])
    assert by_item(np.random.default_rng(1), np.array([2])).shape == (1,)
