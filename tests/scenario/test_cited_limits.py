"""Limits that cite a published one: filled in, never guessed, the scenario's own word governs."""

import pytest

from scenario.minimal_scenario import EVERY_TABLE, edited, write_every_table
from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.published_limits import published_limits


@pytest.fixture
def limits(here):
    """The limits of a scenario whose first limit, of which no maker has spoken, is replaced."""
    path = write_every_table(here, toml=edited(EVERY_TABLE, "maker_limit_m_s = 9.8\n", ""))
    name = next(iter(load(path).settings.limit))

    def made(limit):
        return load(path, {f"limit.{name}": limit}).settings.limit[name]

    return made


def a_key(kind, *, numbered=True):
    records = published_limits().items()
    return next(k for k, r in records if r.kind == kind and (r.wind_m_s is not None) == numbered)


def test_number_kind_and_source_come_from_the_record(limits):
    key = a_key("gust or mean")
    record = published_limits()[key]
    limit = limits({"published": key})
    assert limit.wind_above_m_s == pytest.approx(record.wind_m_s, abs=5e-4)
    assert limit.kind == "gust"
    assert record.authority in limit.source
    assert 'not "the" limit' in limit.source


def test_what_the_scenario_says_itself_governs(limits):
    own = {"wind_above_m_s": 5.0, "kind": "mean", "source": "site rule"}
    limit = limits({"published": a_key("gust or mean")} | own)
    assert (float(limit.wind_above_m_s), limit.kind) == (5.0, "mean")
    assert limit.source.startswith("site rule; ")


def test_an_unstated_kind_is_not_guessed(limits):
    with pytest.raises(InputError, match=r"kind: missing; allowed: \"gust\" or \"mean\""):
        limits({"published": a_key("unstated")})
    assert limits({"published": a_key("unstated"), "kind": "mean"}).kind == "mean"


def test_a_rule_without_a_number_cannot_be_a_limit(limits):
    with pytest.raises(InputError, match="a record with a number for the weather: "):
        limits({"published": a_key("unstated", numbered=False)})


def test_an_unknown_key_names_the_nearest(limits):
    with pytest.raises(InputError, match="nearest: us_hoisting_personnel"):
        limits({"published": "us_hoisting_persons"})
