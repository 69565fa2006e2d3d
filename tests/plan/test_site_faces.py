"""Limits that look at faces: which wind counts, on which windows, and how it is told."""

import csv
from math import cos, isclose, isnan, radians

import numpy as np
import pytest

from support import wharf_in_small as small
from towerpace.answers.cautions import LEE_CAUTION, LIMITS_CAUTION, limits_cautions
from towerpace.answers.open_years import operations_of
from towerpace.answers.prepare import prepare
from towerpace.climate.limits import stopped
from towerpace.engine.kernel.run import run as run_compiled
from towerpace.engine.reference import run
from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.raised_limits import raised_limits

FACES = {
    "limit.flat_lift.face_sector_deg": 100,
    "limit.flat_lift.lee_factor": 0.5,
    "zone.north.facing_deg": 20,
    "weather.generator": "replay",
    "weather.year_factor_sd": None,
    "weather.block_days": None,
    "weather.season_days": None,
    "weather.knots": False,
    "tower.time_zone": None,
}


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return small.write(tmp_path_factory.mktemp("faces"))


@pytest.fixture(scope="module")
def ready(path):
    return prepare(load(path, FACES))


def lift_limits(ready):
    """The limits of the flat lifts, by the zone of the lift and its level."""
    plan, limits = ready.tower.plan, {}
    for step in ready.tower.panels.tolist():
        window = plan.windows[plan.window[step]]
        for limit in window.limits:
            if limit.key == "flat_lift":
                limits[plan.tags(step).zone, plan.tags(step).level] = limit
    return limits


def test_wind_from_behind_counts_by_its_factor_and_every_other_in_full(ready):
    """Against the record, row by row: within the angle if the cosine is at least that of the angle."""
    limits, hours = lift_limits(ready), ready.chooser.weather.replayed(0)
    north, east = limits["north", 2], limits["east", 2]
    bad_north, bad_east = (stopped(hours, limit) for limit in (north, east))
    with open(small.RECORD, encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    first = 24 * 59  # the project begins on 1 March
    differ = 0
    for hour, row in enumerate(rows[first : first + 24 * 200]):
        speed, gust = (float(row[f"wind_{w}_10m_m_s"] or "nan") for w in ("speed", "gust"))
        felt = 1.33 * speed if isnan(gust) else gust
        assert bad_east[hour] == (east.ratio * felt > 9.8)
        if row["wind_dir_deg"]:
            angle = cos(radians(float(row["wind_dir_deg"]) - 20))
            inside = angle > cos(radians(100)) or isclose(angle, cos(radians(100)))
            felt *= 1 if inside else 0.5
        assert bad_north[hour] == (north.ratio * felt > 9.8)
        differ += bad_north[hour] != bad_east[hour]
    assert differ == 20


def test_both_engines_meet_the_same_wind(ready):
    draw = ready.chooser.draw(3, 0)
    ours, theirs = run(ready.tower.plan, draw), run_compiled(ready.tower.plan, draw)
    for stamp in ("ready", "started", "finished", "enabler"):
        assert np.array_equal(getattr(ours, stamp), getattr(theirs, stamp))


def test_the_same_holds_of_generated_years(path):
    generated = dict.fromkeys(
        ("weather.generator", "weather.year_factor_sd", "weather.block_days", "weather.season_days")
    )
    changes = {key: value for key, value in FACES.items() if key not in generated}
    own = prepare(load(path, changes))
    draw = own.chooser.draw(3, 1)
    assert np.array_equal(run(own.tower.plan, draw).finished, run_compiled(own.tower.plan, draw).finished)


def test_weather_tells_the_hours_of_each_face(path, ready):
    names = [operation.name for operation in operations_of(ready.scenario)]
    flat = [name for name in names if name.startswith("panels flat")]
    assert flat == ["panels flat, panels corner", "panels flat, panels corner, north face"]
    assert all("face" not in operation.name for operation in operations_of(load(path)))


def test_every_answer_says_that_a_lee_face_is_no_permission(path, ready):
    assert limits_cautions(ready.scenario.settings) == [LIMITS_CAUTION, LEE_CAUTION]
    assert limits_cautions(load(path).settings) == [LIMITS_CAUTION]


def test_less_wind_from_behind_is_a_raised_limit(path):
    base, changed = load(path), load(path, FACES)
    (raised,) = raised_limits(base, changed)
    assert raised.text() == (
        "limit.flat_lift.lee_factor: wind from all sides in full in the base, raised to wind in full from "
        "within 100° of the face, 0.5 times from elsewhere"
    )
    assert raised_limits(changed, base) == []


def test_a_face_that_is_turned_is_told_like_a_raised_limit(path):
    """Wind that stopped work on the face comes from behind then: as good as a higher limit."""
    base = load(path, FACES)
    turned = load(path, {**FACES, "zone.north.facing_deg": 200})
    assert [one.text() for one in raised_limits(base, turned)] == [
        "zone.north.facing_deg: facing 20° in the base, turned to 200°"
    ]
    assert raised_limits(base, load(path, {**FACES, "zone.north.facing_deg": 20.0})) == []
    unused = {"zone.north.facing_deg": 20}, {"zone.north.facing_deg": 200}
    assert raised_limits(*(load(path, changes) for changes in unused)) == []


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        (
            {"limit.flat_lift.lee_factor": None},
            "limit.flat_lift.lee_factor: missing; allowed: lee_factor beside",
        ),
        (
            {"zone": None},
            "zone: missing; allowed: tables [zone.NAME] with facing_deg, because limit.flat_lift",
        ),
        (
            {"zone.nort.facing_deg": 3},
            'zone.nort: found "nort"; allowed: a zone of the level table: north, east',
        ),
        (
            {"limit.cold_joints.face_sector_deg": 9, "limit.cold_joints.lee_factor": 1},
            "limit.cold_joints.face_sector_deg: found 9; allowed: face_sector_deg only with wind_above_m_s",
        ),
        (
            {"zone.north.facing_deg": 400},
            "zone.north.facing_deg: found 400; allowed: a number at least 0 and at",
        ),
    ],
)
def test_what_does_not_go_with_faces_is_told(path, changes, fault):
    with pytest.raises(InputError) as caught:
        load(path, FACES | changes)
    assert any(fault in one.text() for one in caught.value.faults), caught.value.faults
