"""Every kind of broken input gives the exact one line that a user will read."""

from pathlib import Path

import pytest
from minimal_scenario import EVERY_TABLE, EVERY_TABLE_LEVELS, edited, write_every_table

from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.complaints import listed
from towerpace.scenario.schema import Resource, Settings
from towerpace.scenario.words import keys_of

TABLES = listed(keys_of(Settings))


def faults_of(path: Path, **changes: object) -> list[str]:
    """The report of a load that must fail, line by line."""
    with pytest.raises(InputError) as caught:
        load(path, changes)
    return str(caught.value).split("\n")


def broken(here: Path, old: str, new: str) -> list[str]:
    """Report of the scenario with every table, one passage replaced, whose line becomes "line HERE"."""
    toml = edited(EVERY_TABLE, old, new)
    report = faults_of(write_every_table(here, toml=toml))
    line = toml[: toml.index(new)].count("\n") + 1 if new else 0
    return [text.replace(f"line {line} ", "line HERE ") for text in report]


def broken_table(here: Path, old: str, new: str) -> list[str]:
    """Report of the scenario with every table, one passage of its level table replaced."""
    return faults_of(write_every_table(here, levels=edited(EVERY_TABLE_LEVELS, old, new)))


INTERVALS = 'a list of times as "07:00-12:00", ascending, not overlapping, within "00:00-24:00"'
LIMIT_KEYS = (
    "wind_above_m_s, rain_above_mm_h, temperature_below_degC, temperature_above_degC, visibility_below_km, "
    "kind, restart_min, height_m, face_sector_deg, lee_factor, maker_limit_m_s, published, source, note "
    "(the unit is part of the key: m/s, mm/h, degC, km; convert other units)"
)

ONE_FAULT_EACH = {
    "wrong type": (
        "speed_m_s = 1.0",
        'speed_m_s = "fast"',
        'hoist.speed_m_s: found "fast"; allowed: a number above 0',
    ),
    "truth for a number": (
        "share = 0.4",
        "share = true",
        "hoist.share: found true; allowed: a number above 0 and at most 1",
    ),
    "unknown key": (
        "slots_per_level = 12",
        "slots_per_level = 12\nnotes = 3",
        "storage.notes: found an unknown key; allowed: slots_per_level, source, note; nearest: note",
    ),
    "misspelt key": (
        "[resource.hoist]\ncount = 2",
        "[resource.hoist]\ncuont = 2",
        f"resource.hoist.cuont: found an unknown key; allowed: {listed(keys_of(Resource))}; nearest: count",
    ),
    "negative count": (
        "[resource.hoist]\ncount = 2",
        "[resource.hoist]\ncount = -2",
        "resource.hoist.count: found -2; allowed: a whole number, at least 0 and at most 100000",
    ),
    "broken count": (
        "crates_per_truck = 8",
        "crates_per_truck = 8.5",
        "delivery.crates_per_truck: found 8.5; allowed: a whole number, at least 1 and at most 100000",
    ),
    "wrong unit": (
        "wind_above_m_s = 9.0",
        "wind_above_mph = 20",
        "limit.panel_lift.wind_above_mph: found an unknown key; "
        f"allowed: {LIMIT_KEYS}; nearest: wind_above_m_s",
    ),
    "limit without kind": (
        '[limit.panel_lift]\nwind_above_m_s = 9.0\nkind = "gust"',
        "[limit.panel_lift]\nwind_above_m_s = 9.0",
        'limit.panel_lift.kind: missing; allowed: "gust" or "mean" '
        "(a wind limit says which, there is no default)",
    ),
    "kind of a limit misspelt": (
        'kind = "gust"',
        'kind = "gusts"',
        'limit.panel_lift.kind: found "gusts"; allowed: "gust" or "mean"; nearest: gust',
    ),
    "kind without wind": (
        "temperature_below_degC = 5",
        'temperature_below_degC = 5\nkind = "mean"',
        'limit.frost.kind: found "mean"; allowed: kind only with wind_above_m_s',
    ),
    "limit of two variables": (
        "temperature_below_degC = 5",
        "temperature_below_degC = 5\nrain_above_mm_h = 1",
        "limit.frost.rain_above_mm_h: found a second variable; "
        "allowed: only temperature_below_degC: one variable a limit",
    ),
    "limit of no variable": (
        "[limit.frost]\ntemperature_below_degC = 5",
        "[limit.frost]",
        "limit.frost: missing its variable; allowed: exactly one of wind_above_m_s, rain_above_mm_h, "
        "temperature_below_degC, temperature_above_degC, visibility_below_km",
    ),
    "limit without source": (
        '[limit.frost]\ntemperature_below_degC = 5\nsource = "the maker of the seal"',
        "[limit.frost]\ntemperature_below_degC = 5",
        "limit.frost.source: missing; allowed: text",
    ),
    "limit above the maker's": (
        "wind_above_m_s = 9.0",
        "wind_above_m_s = 12",
        "limit.panel_lift.wind_above_m_s: found 12; allowed: at most maker_limit_m_s, which is 9.8",
    ),
    "unknown limit": (
        'limits = ["frost"]',
        'limits = ["forst"]',
        'trade.seal.limits[0]: found "forst"; allowed: panel_lift, frost; nearest: frost',
    ),
    "unknown trade": (
        'on = "panels" } ]',
        'on = "pannels" } ]',
        'trade.seal.after[0].on: found "pannels"; '
        "allowed: handover, closing_in, brackets, panels, seal, boards; nearest: panels",
    ),
    "unknown trade in closing-in": (
        'trades = ["panels", "seal"]',
        'trades = ["panels", "seals"]',
        'closing_in.trades[1]: found "seals"; allowed: brackets, panels, seal, boards; nearest: seal',
    ),
    "unknown resource": (
        'resource = "bay"',
        'resource = "bya"',
        'delivery.resource: found "bya"; allowed: gang, floor_crane, hoist, bay; nearest: bay',
    ),
    "unknown family": (
        'families = ["flat"]',
        'families = ["flats"]',
        'trade.panels.families[0]: found "flats"; allowed: flat; nearest: flat',
    ),
    "unknown column": (
        'column = "brackets"',
        'column = "braket"',
        'trade.brackets.column: found "braket"; '
        "allowed: a count column of tower/levels.csv: flat, brackets, seal; nearest: brackets",
    ),
    "unknown kind of trade": (
        'kind = "panels"',
        'kind = "panel"',
        'trade.panels.kind: found "panel"; allowed: "gang" or "panels"; nearest: panels',
    ),
    "key of the other kind of trade": (
        'families = ["flat"]',
        'families = ["flat"]\ncolumn = "flat"',
        "trade.panels.column: found an unknown key; allowed: pace, needs, calendar, after, learning, "
        "long_shift, kind, families, method, hole, return_set_factor, returns, source, note",
    ),
    "trade with the name of a milestone": (
        "[trade.boards]",
        "[trade.handover]",
        "trade.handover: found a trade of this name; allowed: any name but handover, closing_in",
    ),
    "trade cycle": (
        'after = [\n    { on = "brackets" },',
        'after = [\n    { on = "seal" },',
        "trade.panels.after[0].on: found panels after seal after panels; "
        "allowed: a sequence without a circle on one level (levels_up = 0)",
    ),
    "cycle through closing-in": (
        '{ on = "handover", levels_up = 1 }',
        '{ on = "closing_in" }',
        "trade.panels.after[1].on: found panels after closing_in after panels; "
        "allowed: a sequence without a circle on one level (levels_up = 0)",
    ),
    "zones of a milestone": (
        '{ on = "handover", levels_up = 1 }',
        '{ on = "handover", levels_up = 1, zones = "all" }',
        'trade.panels.after[1].zones: found "all"; allowed: no zones, handover is a whole level',
    ),
    "more units needed than there are": (
        "learning = { rate = 0.95, plateau_fronts = 16 }\nneeds = { gang = 1 }",
        "learning = { rate = 0.95, plateau_fronts = 16 }\nneeds = { gang = 3 }",
        'trade.brackets.needs.gang: found 3 of "gang"; allowed: at most resource.gang.count, which is 2',
    ),
    "spread without shape": (
        "unit_min = 9",
        "unit_min = { low = 6, likely = 9, high = 18 }",
        'trade.brackets.unit_min.shape: missing; allowed: "pert" or "triangular" '
        "(which of the two, there is no default)",
    ),
    "spread in disorder": (
        "unit_min = 9",
        'unit_min = { low = 6, likely = 20, high = 18, shape = "pert" }',
        "trade.brackets.unit_min: found low = 6, likely = 20, high = 18; "
        "allowed: low <= likely <= high and low < high (a single number stands alone)",
    ),
    "spread below zero": (
        "unit_min = 9",
        'unit_min = { low = -6, likely = 9, high = 18, shape = "pert" }',
        "trade.brackets.unit_min: found -6 to 18, likely 9 (beta-PERT); "
        "allowed: a number or a spread at least 0",
    ),
    "quantiles that reach below zero": (
        "unit_min = 9",
        "unit_min = { p10 = 1, p50 = 9, p90 = 17 }",
        "trade.brackets.unit_min: found P10 1, P50 9, P90 17 (normal), of which more than 1e-6 lies below 0; "
        "allowed: a spread at least 0",
    ),
    "spread of no form": (
        "unit_min = 9",
        "unit_min = { mean = 9, sd = 2 }",
        "trade.brackets.unit_min: found a table with the keys mean, sd; "
        "allowed: one of: value; low, likely, high, shape; p10, p50, p90; samples, column",
    ),
    "missing samples": (
        'samples = "load.csv"',
        'samples = "laod.csv"',
        "hoist.load_min.samples: missing file tower/laod.csv; "
        "allowed: a file, its path relative to the scenario file; nearest: load.csv",
    ),
    "missing column of samples": (
        'column = "minutes", source',
        'column = "minute", source',
        'hoist.load_min.column: found "minute"; allowed: crate, minutes; nearest: minutes',
    ),
    "missing level table": (
        'levels = "levels.csv"',
        'levels = "level.csv"',
        "tower.levels: missing file tower/level.csv; "
        "allowed: a file, its path relative to the scenario file; nearest: levels.csv",
    ),
    "missing weather record": (
        'record = "weather.csv"',
        'record = "../weather.csv"',
        "weather.record: missing file weather.csv; allowed: a file, its path relative to the scenario file",
    ),
    "exposure of the other law": (
        'site_exposure = "IV"',
        'site_exposure = "B"',
        'weather.site_exposure: found "B"; allowed: "0" or "I" or "II" or "III" or "IV" (classes of en1991)',
    ),
    "year factor missing": (
        '[weather]\nrecord = "weather.csv"\nrecord_height_m = 10\nutc_offset_h = -5\nheight_law = "en1991"\n'
        'site_exposure = "IV"\nmissing_gust_factor = { value = 1.33, source = "a published ratio" }\n'
        'generator = "blocks"\nyear_factor_sd = 0.04',
        '[weather]\nrecord = "weather.csv"\nrecord_height_m = 10\nutc_offset_h = -5\nheight_law = "en1991"\n'
        'site_exposure = "IV"\nmissing_gust_factor = { value = 1.33, source = "a published ratio" }\n'
        'generator = "blocks"',
        "weather.year_factor_sd: missing; "
        'allowed: a number for generator = "blocks"; 0 turns the year factor off',
    ),
    "time that is none": (
        'sat = ["07:00-13:00"]',
        'sat = ["7-13"]',
        f'calendar.site.week.sat[0]: found "7-13"; allowed: {INTERVALS}',
    ),
    "times that overlap": (
        'sat = ["07:00-13:00"]',
        'sat = ["07:00-13:00", "12:00-15:00"]',
        f'calendar.site.week.sat[1]: found "12:00-15:00"; allowed: {INTERVALS}',
    ),
    "week without work": (
        'week = { mon = ["07:00-12:00", "12:30-17:00"], sat = ["07:00-13:00"] }',
        "week = { sun = [] }",
        "calendar.site.week: found a week without working time; "
        "allowed: at least one interval of working time",
    ),
    "span that ends before it begins": (
        "to = 2028-01-03",
        "to = 2027-01-03",
        "calendar.site.closed_spans[0].to: found 2027-01-03; "
        "allowed: a date on or after from, which is 2027-12-24",
    ),
    "text for a date": (
        "date = 2027-09-01",
        'date = "2027-09-01"',
        'contract.release.date: found "2027-09-01"; allowed: a date as 2027-03-01',
    ),
    "time of day in a date": (
        "date = 2027-09-01",
        "date = 2027-09-01T07:00:00",
        "contract.release.date: found 2027-09-01T07:00:00; allowed: a date as 2027-03-01",
    ),
    "contract before the start": (
        "date = 2027-09-01",
        "date = 2026-09-01",
        "contract.release.date: found 2026-09-01; "
        "allowed: a date on or after tower.start, which is 2027-03-01",
    ),
    "horizon too short": (
        "horizon_days = 400",
        "horizon_days = 184",
        "tower.horizon_days: found 184; allowed: at least 185, because contract.release.date is 2027-09-01",
    ),
    "contract for a level that is not there": (
        "level = 2",
        "level = 4",
        "contract.release.level: found 4; allowed: a level from 1 to 3",
    ),
    "correlations that cannot hold": (
        "rho = 0.5",
        "rho = -0.6",
        "correlation: found correlations that cannot hold together (smallest eigenvalue -0.2); "
        "allowed: a positive definite matrix over all trades named",
    ),
    "correlation of one": (
        "rho = 0.5",
        "rho = 1",
        "correlation[0].rho: found 1; allowed: a number above -1 and below 1",
    ),
    "missing table": (
        "[structure]\nslip_days",
        "[structur]\nslip_days",
        f"structur: found an unknown key; allowed: {TABLES}; nearest: structure",
    ),
}


@pytest.mark.parametrize(("old", "new", "text"), ONE_FAULT_EACH.values(), ids=ONE_FAULT_EACH)
def test_one_broken_passage_gives_one_line(here: Path, old: str, new: str, text: str):
    header, *lines = broken(here, old, new)

    assert header == "tower/scenario.toml: 1 fault"
    assert [line.split("  ", maxsplit=2)[-1] for line in lines] == [text]


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("speed_m_s = 1.0", 'speed_m_s = "fast"', "hoist.speed_m_s"),
        ('resource = "bay"', 'resource = "bya"', "delivery.resource"),
        ('limits = ["frost"]', 'limits = ["forst"]', "trade.seal.limits[0]"),
        ('{ on = "handover", levels_up = 1 }', '{ on = "hand" }', "trade.panels.after[1].on"),
        ("rho = 0.5", "rho = 2", "correlation[0].rho"),
        (
            '[limit.frost]\ntemperature_below_degC = 5\nsource = "the maker of the seal"',
            "[limit.frost]\nrain_above_mm_h = 5",
            "limit.frost.source",
        ),
    ],
)
def test_a_fault_names_the_line_on_which_it_stands(here: Path, old: str, new: str, fault: str):
    """What is missing is looked for at the head of its table."""
    _, line = broken(here, old, new)

    assert line.startswith(f"  line HERE  {fault}: ")


ONE_TABLE_FAULT_EACH = {
    "hole": (
        "2,south,8.0,1.2,2027-03-08,2027-03-11,6,10,20\n",
        "",
        'line 4  zone: missing level 2, zone "south"; allowed: every zone on every level',
    ),
    "level left out": (
        "2,north,8.0,1.0,2027-03-08,2027-03-10,8,10,20\n2,south,8.0,1.2,2027-03-08,2027-03-11,6,10,20\n",
        "",
        "level: missing level 2; allowed: every level from 1 to 3",
    ),
    "row twice": (
        "2,south,8.0",
        "2,north,8.0",
        'line 5  level, zone: found level 2, zone "north" again; '
        "allowed: each level and zone once (first on line 4)",
    ),
    "negative count": (
        "2027-03-04,6,10,20",
        "2027-03-04,-6,10,20",
        'line 3  flat: found "-6"; allowed: a whole number, at least 0 and at most 999999999',
    ),
    "broken count": (
        "2027-03-04,6,10,20",
        "2027-03-04,6,10,2.5",
        'line 3  seal: found "2.5"; allowed: a whole number, at least 0 and at most 999999999',
    ),
    "empty cell": (
        "1,south,4.0,1.2,",
        "1,south,4.0,,",
        "line 3  difficulty: found an empty cell; allowed: a number above 0",
    ),
    "height that is no number": (
        "1,south,4.0",
        "1,south,inf",
        'line 3  height_m: found "inf"; allowed: a number, in metres',
    ),
    "height that differs within a level": (
        "1,south,4.0",
        "1,south,4.5",
        "line 3  height_m: found 4.5; allowed: 4, as on line 2 for the same level",
    ),
    "date in another form": (
        "1,south,4.0,1.2,2027-03-01",
        "1,south,4.0,1.2,01.03.2027",
        'line 3  handover: found "01.03.2027"; allowed: a date as 2027-03-01',
    ),
    "date that is none": (
        "1,south,4.0,1.2,2027-03-01,2027-03-04",
        "1,south,4.0,1.2,2027-03-01,2027-02-30",
        'line 3  delivery: found "2027-02-30"; allowed: a date as 2027-03-01, or nothing where no panels are',
    ),
    "handover that differs within a level": (
        "1,south,4.0,1.2,2027-03-01",
        "1,south,4.0,1.2,2027-03-02",
        "line 3  handover: found 2027-03-02; allowed: 2027-03-01, as on line 2 for the same level",
    ),
    "delivery before the start": (
        "2027-03-04,6",
        "2026-03-04,6",
        "line 3  delivery: found 2026-03-04; allowed: a date on or after tower.start, which is 2027-03-01",
    ),
    "panels without delivery": (
        "2027-03-04,6",
        ",6",
        "line 3  delivery: found an empty cell; allowed: a date, because the row has panels",
    ),
    "short row": (
        "2027-03-04,6,10,20",
        "2027-03-04,6,10",
        "line 3  row: found 8 cells; allowed: 9 cells, as in the first line",
    ),
    "column missing": (
        "height_m,difficulty",
        "height,difficulty",
        "line 1  height_m: missing column; "
        "allowed: level, zone, height_m, difficulty, handover; nearest: height",
    ),
    "column twice": (
        "brackets,seal",
        "brackets,brackets",
        "line 1  brackets: found the column twice; allowed: each column once",
    ),
    "column in capitals": (
        "delivery,flat,brackets",
        "delivery,flat,Brackets 1",
        'line 1  header: found "Brackets 1"; allowed: lower-case names of letters, digits and _',
    ),
}


@pytest.mark.parametrize(("old", "new", "text"), ONE_TABLE_FAULT_EACH.values(), ids=ONE_TABLE_FAULT_EACH)
def test_one_broken_cell_gives_one_line(here: Path, old: str, new: str, text: str):
    report = broken_table(here, old, new)

    of_table = report[report.index("tower/levels.csv: 1 fault") :]
    assert of_table == ["tower/levels.csv: 1 fault", f"  {text}"]


def test_levels_that_do_not_rise_are_named_at_each_level(here: Path):
    levels = EVERY_TABLE_LEVELS.replace("12.5", "7")

    assert faults_of(write_every_table(here, levels=levels)) == [
        "tower/levels.csv: 1 fault",
        "  line 6  height_m: found 7; allowed: above 8, the height of level 2",
    ]


def test_a_table_with_semicolons_is_told_what_a_csv_file_is(here: Path):
    levels = EVERY_TABLE_LEVELS.replace(",", ";")

    assert faults_of(write_every_table(here, levels=levels)) == [
        "tower/levels.csv: 1 fault",
        "  line 1  header: found semicolons; allowed: commas between cells, points in numbers",
    ]


def test_faults_of_all_files_come_at_once_in_line_order(here: Path):
    toml = edited(EVERY_TABLE, "count = 1\n", "count = -1\n")
    toml = edited(toml, 'name = "Every Table"', "name = 3")
    toml = edited(toml, 'on = "panels" } ]', 'on = "pannels" } ]')
    toml = edited(toml, "late_chance = 0.25", "late_chance = 25")
    path = write_every_table(here, toml=toml, levels=edited(EVERY_TABLE_LEVELS, "1,south", "one,south"))
    (here / "load.csv").write_text("crate,minutes\n1,3.5\n2,six\n3,5\n4,\n")

    assert faults_of(path) == [
        "tower/scenario.toml: 4 faults",
        "  line 2  tower.name: found 3; allowed: text",
        "  line 46  resource.bay.count: found -1; allowed: a whole number, at least 0 and at most 100000",
        "  line 74  delivery.late_chance: found 25; allowed: a number at least 0 and at most 1",
        '  line 113  trade.seal.after[0].on: found "pannels"; '
        "allowed: handover, closing_in, brackets, panels, seal, boards; nearest: panels",
        "tower/load.csv: 2 faults",
        '  line 3  minutes: found "six"; allowed: a number',
        "  line 5  minutes: found an empty cell; allowed: a number",
        "tower/levels.csv: 1 fault",
        '  line 3  level: found "one"; allowed: a whole number from -999 to 999',
    ]


def test_limits_without_weather_are_told_once(here: Path):
    start, end = EVERY_TABLE.index("[weather]"), EVERY_TABLE.index("[limit.panel_lift]")
    toml = EVERY_TABLE[:start] + EVERY_TABLE[end:]

    assert [line.split("  ")[-1] for line in faults_of(write_every_table(here, toml=toml))[1:]] == [
        'weather: missing; allowed: a table [weather], because hoist.limits[0] names "panel_lift"',
    ]


def test_panels_without_their_tables_are_told_which_are_missing(here: Path):
    report = faults_of(write_every_table(here), crane=None, hoist=None, delivery=None)

    assert report[1:] == [
        f"  set {name}: missing; allowed: a table [{name}], because a trade of kind panels needs it"
        for name in ("crane", "hoist", "delivery")
    ]


def test_the_power_law_asks_for_its_own_keys(here: Path):
    toml = edited(EVERY_TABLE, 'height_law = "en1991"', 'height_law = "power"')
    toml = edited(toml, 'kind = "gust"', 'kind = "mean"')

    assert faults_of(write_every_table(here, toml=toml)) == [
        "tower/scenario.toml: 3 faults",
        '  line 14  weather.gust_exponent: missing; allowed: a number, because height_law is "power"',
        "  line 14  weather.mean_exponent: missing; allowed: a number, "
        'because a limit of kind "mean" is used',
        '  line 19  weather.site_exposure: found "IV"; allowed: no site_exposure with height_law = "power"',
    ]


def test_a_syntax_error_is_a_fault_with_its_line(here: Path):
    toml = edited(EVERY_TABLE, "count = 1\n", "count 1\n")

    assert faults_of(write_every_table(here, toml=toml)) == [
        "tower/scenario.toml: 1 fault",
        "  line 46  syntax: found Expected '=' after a key in a key/value pair; allowed: TOML 1.0",
    ]


def test_a_number_too_long_to_read_is_a_fault(here: Path):
    """Python converts no text of more than 4,300 digits to a whole number."""
    toml = edited(EVERY_TABLE, "horizon_days = 400", f"horizon_days = {'9' * 5000}")

    assert faults_of(write_every_table(here, toml=toml)) == [
        "tower/scenario.toml: 1 fault",
        "  line 4  syntax: found a whole number of thousands of digits; allowed: TOML 1.0",
    ]


def test_long_values_are_cut_short_in_the_report(here: Path):
    toml = edited(EVERY_TABLE, "horizon_days = 400", f"horizon_days = {'9' * 400}")

    assert faults_of(write_every_table(here, toml=toml)) == [
        "tower/scenario.toml: 1 fault",
        f"  line 4  tower.horizon_days: found {'9' * 57}...; "
        "allowed: a whole number of days, at least 1 and at most 36500",
    ]


def test_bytes_that_are_no_text_are_a_fault_with_their_line(here: Path):
    path = write_every_table(here)
    path.write_bytes(path.read_bytes().replace(b"Every Table", b"Every \xff"))

    assert faults_of(path) == [
        "tower/scenario.toml: 1 fault",
        "  line 2  encoding: found bytes that are no UTF-8; allowed: UTF-8",
    ]


def test_a_missing_scenario_names_the_nearest_file(here: Path):
    path = write_every_table(here)

    assert faults_of(path.with_name("scenari.toml")) == [
        "tower/scenari.toml: 1 fault",
        "  scenario: missing file; allowed: a scenario file; nearest: scenario.toml",
    ]
    assert faults_of(here) == [
        "tower: 1 fault",
        "  scenario: found a folder; allowed: a scenario file; nearest: scenario.toml",
    ]
