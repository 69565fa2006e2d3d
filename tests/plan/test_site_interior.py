"""The interior worked by hand: pieces by curvature, coats that dry, water tests, platforms, long shifts."""

from datetime import date

import numpy as np
import pytest

from support.small_site import BASE, LEVELS, TWO_ZONES, at, made, played
from towerpace.plan.site.gang_fronts import slow_clock


def lining(
    *keys: str, after: str = '{ on = "handover" }', needs: str = "gang = 1", calendar: str = "site"
) -> str:
    head = [
        "[trade.lining]",
        'kind = "gang"',
        f'calendar = "{calendar}"',
        f"needs = {{ {needs} }}",
        f"after = [{after}]",
    ]
    return "\n".join([*head, *keys, ""])


def interior(*tables: str) -> str:
    """The small site with lining in the place of brackets."""
    return "\n".join([BASE[: BASE.index("[trade.brackets]")], *tables])


CLASSES = """
[trade.lining.classes]
flat = { column = "flat", unit_min = 5 }
curved = { column = "curved", unit_min = 30 }
"""


def test_pieces_of_every_class_take_the_minutes_of_their_class(tmp_path):
    """12 x 5 + 3 x 30 = 150 min; level 3 has no piece and passes at once."""
    site = played(made(tmp_path, base=interior(lining(CLASSES))))

    assert [site.work(f"lining L{level} north") for level in (1, 2, 3)] == [150, 150, 0]
    assert site.span("lining L1 north") == (at(0, "8:00"), at(0, "10:30"))


def test_classes_share_difficulty_pace_and_learning_but_are_drawn_apart(tmp_path):
    """Difficulty 2 on level 1; the second front at 90 %; pace 1.1."""
    levels = LEVELS.replace("1,north,4.0,1.0", "1,north,4.0,2.0")
    learn = "pace = 1.1\nlearning = { rate = 0.9, plateau_fronts = 9 }\n"
    site = played(made(tmp_path, base=interior(lining(learn + CLASSES)), levels=levels))

    assert site.work("lining L1 north") == round(2 * 1.1 * 150)
    assert site.work("lining L2 north") == round(0.9 * 1.1 * 150)


def test_class_minutes_have_the_mean_of_their_own_spreads(tmp_path):
    """12 x 6 + 3 x 30 = 162 min with PERT 2, 5, 14 (mean 6) and 10, 25, 70 (mean 30); 4 standard errors."""
    spread = '{{ low = {}, likely = {}, high = {}, shape = "pert" }}'.format
    text = CLASSES.replace("unit_min = 5", f"unit_min = {spread(2, 5, 14)}")
    text = text.replace("unit_min = 30", f"unit_min = {spread(10, 25, 70)}")
    ready, n = made(tmp_path, base=interior(lining(text))), 2000
    step = ready.tower.plan.index["lining L1 north"]
    minutes = np.array([ready.chooser.draw(2, trial).work[step] for trial in range(n)])

    # Variance of a beta law with a = 2, b = 4 on a range of 12 and of 60.
    sd = np.sqrt((12 * 12) ** 2 + (3 * 60) ** 2) * np.sqrt(8 / 252)
    assert abs(minutes.mean() - 162) < 4 * sd / np.sqrt(n)
    assert abs(minutes.std() - sd) < 0.1 * sd


COATS = 'column = "flat"\nunit_min = 10\ncoats = 3\ndrying_h = 20'


def test_coats_dry_round_the_clock_between_one_and_the_next(tmp_path):
    """Two hours a coat: Monday 8-10, dry Tuesday 6:00; Tuesday 8-10, dry Wednesday 6:00; Wednesday 8-10."""
    site = played(made(tmp_path, base=interior(lining(COATS))))

    coats = [
        site.span(name) for name in ("lining L1 north: coat 1", "lining L1 north: coat 2", "lining L1 north")
    ]
    assert coats == [(at(day, "8:00"), at(day, "10:00")) for day in (0, 1, 2)]
    assert site.span("lining L1 north: dry after coat 1") == (at(0, "10:00"), at(1, "6:00"))
    # While one level dries the gang does the next.
    assert site.span("lining L2 north: coat 1") == (at(0, "10:00"), at(0, "12:00"))


def test_the_ledger_books_drying_as_a_wait_not_as_work(tmp_path):
    site = played(made(tmp_path, base=interior(lining(COATS))))

    assert site.book()["lining"]["work"] == 2 * 3 * 120
    assert site.book()["lining"]["after curing"] == 2 * 2 * 20 * 60
    assert site.adds_up()


def test_a_trade_begins_where_its_first_coat_does(tmp_path):
    ready = made(tmp_path, base=interior(lining(COATS)))
    plan = ready.tower.plan

    assert plan.names[ready.tower.first[0, 0]] == "lining L1 north: coat 1"
    assert plan.names[ready.tower.last[0, 0]] == "lining L1 north"


def test_drying_takes_longer_in_the_cold_months(tmp_path):
    """March is cold here: 20 h become 40 h. The gang does coat 1 on Monday 8-10; Wednesday 2:00 it is dry."""
    cold = COATS + '\ndrying_cold_h = 40\ncold_months = ["mar"]'
    site = played(made(tmp_path, base=interior(lining(cold))))

    started, dry = site.span("lining L1 north: dry after coat 1")
    assert started == at(0, "10:00")
    # Each cold hour counts for its first 30 minutes: the 40th is over at its half.
    assert dry == at(2, "2:00") - 30


def test_drying_that_runs_into_a_warm_month_goes_on_at_full_speed(tmp_path):
    """31 March, 10:00: 14 h of March count 7, the other 13 pass in April: dry on 1 April at 13:00."""
    base = interior(lining(COATS + '\ndrying_cold_h = 40\ncold_months = ["mar"]')).replace(
        "2027-03-01", "2027-03-31"
    )
    site = played(made(tmp_path, base=base, levels=LEVELS.replace("2027-03-01", "2027-03-31")))

    assert site.span("lining L1 north: dry after coat 1") == (at(0, "10:00"), at(1, "13:00"))


def test_the_slow_clock_keeps_to_its_share_within_a_minute():
    share, hours = 19 / 48, 24 * 30
    spans = slow_clock(date(2027, 11, 1), days=30, months=frozenset({11}), share=share)

    counted = np.cumsum(spans[:, 1] - spans[:, 0])
    assert len(spans) == hours
    assert np.all(np.abs(counted - np.arange(1, hours + 1) * 60 * share) <= 1)
    assert np.all(spans[1:, 0] >= spans[:-1, 1])


def test_drying_stands_still_in_forbidden_weather(tmp_path, pytestconfig):
    """In the record of January 2013 every hour below 60 degC is forbidden: nothing ever dries."""
    record = pytestconfig.rootpath / "scenarios" / "weather" / "laguardia_2013_hourly.csv"
    (tmp_path / "record.csv").write_bytes(record.read_bytes())
    weather = """
[weather]
record = "record.csv"
record_height_m = 10
utc_offset_h = -5
height_law = "power"
gust_exponent = 0
missing_gust_factor = 1.33
generator = "replay"
replay_year = 2013

[limit.cold_room]
temperature_below_degC = {degc}
source = "invented"
"""
    coats = COATS + '\ndrying_limits = ["cold_room"]'
    warm = played(made(tmp_path, weather.format(degc=-40), base=interior(lining(coats))))
    cool = played(made(tmp_path, weather.format(degc=5), base=interior(lining(coats))))

    dry = "lining L1 north: dry after coat 1"
    assert warm.span(dry) == (at(0, "10:00"), at(1, "6:00"))
    hours = cool.draw.hours.temperature_c
    cold = np.repeat(hours < 5, 60)
    begun, ended = cool.span(dry)
    assert np.count_nonzero(~cold[begun:ended]) == 20 * 60
    assert ended > at(1, "6:00")


WATER = """
[water_test]
levels = 2
hours = 3
needs = { gang = 1 }
calendar = "site"
after = [{ on = "brackets" }]
"""


def test_lining_waits_for_the_water_test_on_the_tested_levels_only(tmp_path):
    """Brackets and tests by one gang, lowest front first: brackets 1 (8-9), test 1 (9-12), brackets 2, 3."""
    tables = [
        WATER,
        "[resource.liners]\ncount = 3",
        lining(
            'column = "brackets"\nunit_min = 6',
            after='{ on = "brackets" }, { on = "water_test" }',
            needs="liners = 1",
        ),
    ]
    site = played(made(tmp_path, *tables))

    assert site.span("water test L1 north") == (at(0, "9:00"), at(0, "12:00"))
    assert site.span("brackets L2 north") == (at(0, "12:00"), at(0, "13:00"))
    assert site.span("water test L2 north") == (at(0, "13:00"), at(0, "16:00"))
    assert "water test L3 north" not in site.ready.tower.plan.index
    assert site.diary.started_at("lining L1 north") == at(0, "12:00")
    assert site.diary.started_at("lining L2 north") == at(1, "8:00")
    assert site.diary.started_at("lining L3 north") == site.diary.finished_at("brackets L3 north")
    assert site.book()["lining"]["after water_test"] == 6 * 60
    assert site.book()["water_test"]["work"] == 6 * 60
    assert site.adds_up()


def test_an_activity_may_wait_for_the_water_test_of_all_tested_levels(tmp_path):
    crown = '[activity.report]\ndays = 1\nafter = [{ on = "water_test", level = "all" }]'

    assert played(made(tmp_path, WATER, crown)).diary.started_at("report") == at(0, "16:00")


@pytest.mark.parametrize(("tests", "ends"), [("true", ["12:00", "16:00"]), ("false", ["9:00", "13:00"])])
def test_closing_in_waits_for_the_test_where_it_says_so(tmp_path, tests, ends):
    closing = f'[closing_in]\ntrades = ["brackets"]\ntests = {tests}'
    site = played(made(tmp_path, WATER, closing))

    assert [site.diary.finished_at(f"closing-in of L{level}") for level in (1, 2)] == [
        at(0, end) for end in ends
    ]
    assert site.diary.finished_at("closing-in of L3") == site.diary.finished_at("brackets L3 north")


def test_a_gang_takes_its_platform_with_it_or_waits(tmp_path):
    """Two gangs, one platform: one front at a time."""
    pools = "[resource.platform]\ncount = 1\n[resource.pair]\ncount = 2\n"
    trade = lining('column = "flat"\nunit_min = 10', needs="pair = 1, platform = 1")
    site = played(made(tmp_path, base=interior(pools, trade)))

    assert site.span("lining L1 north") == (at(0, "8:00"), at(0, "10:00"))
    assert site.span("lining L2 north") == (at(0, "10:00"), at(0, "12:00"))
    assert site.book()["lining"]["waiting for platform"] == 120


@pytest.mark.parametrize(("levels_up", "begins"), [(0, "9:00"), (1, "10:00"), (2, "11:00")])
def test_a_buffer_in_levels_keeps_a_trade_so_many_levels_behind(tmp_path, levels_up, begins):
    """Brackets of levels 1, 2, 3 end at 9, 10, 11; above the top level nothing is waited for."""
    buffer = f'{{ on = "brackets", levels_up = {levels_up} }}, {{ on = "brackets" }}'
    site = played(
        made(
            tmp_path,
            "[resource.liners]\ncount = 3",
            lining('column = "flat"\nunit_min = 1', after=buffer, needs="liners = 1"),
        )
    )

    assert site.diary.started_at("lining L1 north") == at(0, begins)
    assert site.diary.started_at("lining L3 north") == at(0, "11:00")


def test_learning_begins_anew_where_the_difficulty_changes(tmp_path):
    """90 % a doubling: fronts 1, 2 | 1, 2 | 1 of a difficulty, in planned order."""
    levels = TWO_ZONES.replace("2,north,8.0,1.0", "2,north,8.0,2.0").replace(
        "2,south,8.0,1.0", "2,south,8.0,2.0"
    )
    learn = (
        'column = "flat"\nunit_min = 10\nlearning = { rate = 0.9, plateau_fronts = 9, reset = "difficulty" }'
    )
    site = played(made(tmp_path, base=interior(lining(learn)), levels=levels))

    fronts = [site.work(f"lining L{level} {zone}") for level in (1, 2) for zone in ("north", "south")]
    assert fronts == [120, 108, 240, 216]


def test_without_reset_learning_runs_through(tmp_path):
    """Front 3 at 0.9 ** log2(3) = 0.8462, front 4 at 0.81, both of difficulty 2."""
    levels = TWO_ZONES.replace("2,north,8.0,1.0", "2,north,8.0,2.0").replace(
        "2,south,8.0,1.0", "2,south,8.0,2.0"
    )
    learn = 'column = "flat"\nunit_min = 10\nlearning = { rate = 0.9, plateau_fronts = 9 }'
    site = played(made(tmp_path, base=interior(lining(learn)), levels=levels))

    fronts = [site.work(f"lining L{level} {zone}") for level in (1, 2) for zone in ("north", "south")]
    assert fronts == [120, 108, 203, 194]


LONG = '[calendar.long]\nweek = { mon = ["07:00-18:00"], tue = ["07:00-18:00"], sat = ["07:00-13:00"] }\n'


@pytest.mark.parametrize(
    ("after_h", "loss", "factor"),
    [
        # 28 h a week, 2 x 2 of them beyond 9: 1 / (1 - 4 / 28 x 0.4)
        (9, 0.4, 28 / (28 - 4 * 0.4)),
        (11, 0.4, 1.0),
        (9, 0.0, 1.0),
    ],
)
def test_long_shifts_stretch_the_work_by_what_their_late_hours_lose(tmp_path, after_h, loss, factor):
    keys = f'column = "flat"\nunit_min = 100\nlong_shift = {{ after_h = {after_h}, loss = {loss} }}'
    site = played(made(tmp_path, base=interior(LONG, lining(keys, calendar="long"))))

    assert site.work("lining L1 north") == round(1200 * factor)
    assert site.ready.tower.plan.work[site.ready.tower.plan.index["lining L1 north"]] == round(1200 * factor)


def test_the_loss_of_long_shifts_is_drawn_once_a_trial(tmp_path):
    loss = '{ low = 0, likely = 0.3, high = 0.6, shape = "pert" }'
    keys = f'column = "flat"\nunit_min = 100\nlong_shift = {{ after_h = 8, loss = {loss} }}'
    ready = made(tmp_path, base=interior(LONG, lining(keys, calendar="long")))
    trials = [played(ready, trial=k) for k in range(5)]

    assert all(site.work("lining L1 north") == site.work("lining L2 north") for site in trials)
    assert len({site.work("lining L1 north") for site in trials}) > 2
