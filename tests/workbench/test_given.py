"""What the page may change, and what becomes of it."""

import datetime as dt
import random
import re

import pytest

from support import wharf_in_small
from towerpace import InputError, load
from towerpace.workbench.fields import SPREAD
from towerpace.workbench.given import changes_given
from towerpace.workbench.offered import offers_of

SPREAD_GIVEN = {"low": 10, "likely": 20, "high": 50, "shape": "pert"}


@pytest.fixture(scope="module")
def wharf(tmp_path_factory):
    return load(wharf_in_small.write(tmp_path_factory.mktemp("wharf")))


@pytest.fixture(scope="module")
def offers(wharf):
    return offers_of(wharf)


def test_what_the_file_says_given_back_changes_nothing(wharf, offers):
    """Every value that is offered is one that the page may send, and means what the file means."""
    same = {key: offer.value for key, offer in offers.items() if offer.value is not None}
    few = random.Random(1).sample(sorted(same), 60)
    changes = changes_given(wharf, offers, {key: same[key] for key in few})
    changed = load(wharf.path, changes)
    assert changed.levels.rows() == wharf.levels.rows()
    for name in ("calendar", "limit", "resource", "family", "trade", "activity", "storage", "yard", "hoist"):
        assert _numbers(getattr(changed.settings, name)) == _numbers(getattr(wharf.settings, name)), name


def _numbers(tables):
    """Tables in words, without where their numbers come from: that is not the page's."""
    return re.sub(r"source=('[^']*'|\"[^\"]*\")", "", repr(tables))


@pytest.mark.parametrize(
    ("key", "given", "in_file"),
    [
        ("resource.hoist.count", 3, 3),
        ("limit.flat_lift.wind_above_m_s", 9.3, 9.3),
        ("calendar.setting.week.sat", ["08:00-12:30"], ["08:00-12:30"]),
        ("calendar.site.closed", ["2027-05-03"], [dt.date(2027, 5, 3)]),
        ("resource.hoist.leaves", "2028-05-03", dt.date(2028, 5, 3)),
        ("resource.hoist.leaves", None, None),
        ("level.2.delivery", 7, 7),
        ("level.2.delivery", "2027-06-01", dt.date(2027, 6, 1)),
        ("level.2.zone.east.difficulty", 1.4, 1.4),
        ("family.flat.set_min", SPREAD_GIVEN, SPREAD_GIVEN),
        ("family.flat.set_min", 30, 30),
        ("family.flat.spares", 0, 0),
    ],
)
def test_values_become_those_of_a_file(wharf, offers, key, given, in_file):
    assert changes_given(wharf, offers, {key: given}) == {key: in_file}


@pytest.mark.parametrize(
    ("key", "given"),
    [
        ("resource.hoist.count", "3"),
        ("resource.hoist.count", 2.5),
        ("resource.hoist.count", True),
        ("resource.hoist.count", None),
        ("limit.flat_lift.wind_above_m_s", float("inf")),
        ("calendar.setting.week.sat", "08:00-12:30"),
        ("calendar.setting.week.sat", [8]),
        ("resource.hoist.leaves", "soon"),
        ("resource.hoist.leaves", 20280503),
        ("family.flat.set_min", {"samples": "/etc/passwd", "column": "x"}),
        ("family.flat.set_min", {"low": "1"}),
    ],
)
def test_what_no_file_could_hold_is_refused_with_what_is_allowed(wharf, offers, key, given):
    with pytest.raises(InputError) as refused:
        changes_given(wharf, offers, {key: given})
    (fault,) = refused.value.faults
    assert fault.key == key
    assert fault.allowed == offers[key].form.allowed


def test_a_single_unit_that_the_file_does_not_know_is_added_to_its_list(wharf, offers):
    given = {"resource.panel_gang.unit[0].arrives": "2027-04-12", "resource.hoist.unit[0].arrives": None}
    changes = changes_given(wharf, offers, given)
    assert changes == {"resource.panel_gang.unit": [{"units": 1, "arrives": dt.date(2027, 4, 12)}]}
    changed = load(wharf.path, changes)
    assert changed.settings.resource["panel_gang"].unit[0].arrives == dt.date(2027, 4, 12)


def test_units_of_the_file_stay_where_another_is_added(wharf):
    """The second unit that is away keeps its days when a third one comes."""
    away = [{"from": dt.date(2027, 8, 2), "to": dt.date(2027, 8, 13)}]
    base = load(wharf.path, {"resource.panel_gang.unit": [{"arrives": dt.date(2027, 3, 8), "away": away}]})
    changes = changes_given(base, offers_of(base), {"resource.panel_gang.unit[1].arrives": "2027-04-12"})
    first, second = load(wharf.path, changes).settings.resource["panel_gang"].unit
    assert (first.arrives, first.away[0].to) == (dt.date(2027, 3, 8), dt.date(2027, 8, 13))
    assert second.arrives == dt.date(2027, 4, 12)


def test_a_makers_limit_is_told_and_is_not_offered(wharf):
    plated = load(
        wharf.path, {"limit.new": {"wind_above_m_s": 9, "kind": "gust", "maker_limit_m_s": 11, "source": "x"}}
    )
    offers = offers_of(plated)
    assert offers["limit.new.wind_above_m_s"].maker == 11
    assert not [key for key in offers if "maker" in key]


def test_nothing_that_is_offered_takes_text(offers):
    """Files, gangs and calendars are named in text; a kind that takes it would let the page name a file."""
    assert {offer.form.kind for offer in offers.values()} <= {
        "count",
        "number",
        "spread",
        "hours",
        "flag",
        "date",
        "dates",
        "date or days",
    }
    samples = [k for k, o in offers.items() if o.form.kind == SPREAD and "samples" in str(o.value)]
    assert samples == []
