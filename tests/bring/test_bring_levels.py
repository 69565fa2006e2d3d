"""Level tables from workbooks and text tables: what is read, what is refused, and that sums close."""

import csv
import datetime as dt
import sys
import tomllib
import zipfile
from pathlib import Path

import openpyxl
import pytest

from towerpace.scenario.levels import levels_from
from towerpace.scenario.tables import read_table

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "levels.csv"
HEADINGS = ["Level", "Side", "Height", "Factor", "Handed over", "Panels"]
MAP = [
    *("--column", "level=Level", "--column", "zone=Side", "--column", "height_m=Height"),
    *("--column", "difficulty=Factor", "--column", "handover=Handed over", "--column", "flat=Panels"),
]
ROWS = [
    [1, "north", 6.0, 1.1, dt.datetime(2027, 3, 15), 16],
    [1, "south", 6.0, 1.1, dt.datetime(2027, 3, 15), 14],
    [2, "north", 9.8, 1, dt.datetime(2027, 3, 23), 16],
    [2, "south", 9.8, 1, dt.datetime(2027, 3, 23), 14],
]


def workbook(path="planner.xlsx", *, rows=ROWS, change=lambda _: None, sheets=("Plan",)):
    book = openpyxl.Workbook()
    book.active.title = sheets[0]
    for name in sheets[1:]:
        book.create_sheet(name)
    for row in [HEADINGS, *rows]:
        book[sheets[0]].append(row)
    change(book[sheets[0]])
    book.save(path)
    return path


def changed(cell, value):
    return lambda sheet: sheet.__setitem__(cell, value)


def test_a_planners_workbook_of_34_levels_comes_in_with_one_command(bring):
    """Every cell of the demo's table through a workbook and back, by the scenario's own reader."""
    with DEMO.open() as lines:
        header, *rows = csv.reader(lines)
    book = openpyxl.Workbook()
    book.active.append(header)
    for row in rows:
        dates = [dt.date.fromisoformat(cell) if cell else None for cell in row[4:6]]
        book.active.append([int(row[0]), row[1], float(row[2]), float(row[3]), *dates, *map(int, row[6:])])
    book.save("planner.xlsx")
    counts = [word for name in header[6:] for word in ("--column", name)]

    run = bring("levels", "planner.xlsx", *counts)

    assert "136 rows: 136 brought in, none left out" in run.text
    tables = [levels_from(read_table(path, shown_as="levels.csv")) for path in (DEMO, Path("levels.csv"))]
    (expected, _), (got, faults) = tables
    assert faults == []
    assert got.rows() == expected.rows()


def test_what_is_not_named_is_listed_as_left_out_and_the_sums_close(bring):
    def remarks(sheet):
        sheet["G1"], sheet["G3"] = "Remarks", "crane here"
        sheet["A7"], sheet["F7"] = "Total", 60

    workbook(change=remarks)
    run = bring("levels", "planner.xlsx", *MAP, "--last-row", 5)

    assert "6 rows: 4 brought in, 2 left out (2 below the last row)" in run.text
    assert "7 columns: 6 brought in, 1 left out (1 not named)" in run.text
    assert "flat: 60 in all, in the source 60" in run.text
    came_from = tomllib.loads(Path("levels.provenance.toml").read_text())
    assert came_from["sums"]["left_out"] == ['column "Remarks"', 'row 7: "Total", 60']
    assert came_from["said"]["last-row"] == 5
    assert "flat=Panels" in came_from["said"]["column"]
    assert came_from["source"][0]["file"] == "planner.xlsx"


BAD_CELLS = {
    "merged cells": (lambda s: s.merge_cells("B2:B3"), "Plan!B2:B3: found merged cells"),
    "a formula never calculated": (changed("F4", "=F2+F3"), "Plan!F4 (Panels): found a formula without a"),
    "an error": (changed("F3", "#N/A"), "Plan!F3 (Panels): found the error #N/A"),
    "a text date": (
        changed("E2", "24/03/2027"),
        'Plan!E2 (Handed over): found "24/03/2027"; allowed: a date',
    ),
    "half a panel": (changed("F5", 13.5), "Plan!F5 (Panels): found 13.5; allowed: a whole number at least 0"),
    "a negative count": (changed("F5", -1), "Plan!F5 (Panels): found -1"),
    "a truth": (changed("F5", True), "Plan!F5 (Panels): found true"),
    "no count": (changed("F5", None), "Plan!F5 (Panels): found an empty cell"),
    "a level in words": (
        changed("A2", "L1"),
        'Plan!A2 (Level): found "L1"; allowed: a whole number (--level-',
    ),
    "a time of day": (
        changed("E2", dt.datetime(2027, 3, 15, 7, 30)),
        "Plan!E2 (Handed over): found 2027-03-15 07",
    ),
    "a front twice": (changed("B3", "north"), 'row 3, level, zone: found level 1, zone "north" again'),
    "a sinking level": (changed("C2", 12.0), "Plan!C3 (Height): found 6"),
}


@pytest.mark.parametrize("name", BAD_CELLS)
def test_a_cell_that_says_nothing_plain_is_refused_at_its_address(name, bring):
    change, said = BAD_CELLS[name]
    workbook(change=change)
    assert said in bring("levels", "planner.xlsx", *MAP).faults


def test_all_bad_cells_are_told_at_once(bring):
    def spoil(sheet):
        sheet["A2"], sheet["F3"], sheet["E4"] = "one", 0.5, "soon"

    workbook(change=spoil)
    assert "planner.xlsx: 3 faults" in bring("levels", "planner.xlsx", *MAP).faults


def test_two_sheets_are_not_chosen_between(bring):
    workbook(sheets=("Plan", "Old plan"))
    assert (
        "--sheet: missing, of 2 sheets; allowed: Plan, Old plan"
        in bring("levels", "planner.xlsx", *MAP).faults
    )
    assert (
        'found "Pln"; allowed: Plan, Old plan; nearest: Plan'
        in bring("levels", "planner.xlsx", *MAP, "--sheet", "Pln").faults
    )
    assert "4 brought in" in bring("levels", "planner.xlsx", *MAP, "--sheet", "Plan").text


def test_hidden_rows_are_read_and_told(bring):
    workbook(change=lambda sheet: sheet.row_dimensions.__getitem__(3).__setattr__("hidden", True))
    assert (
        "! 1 hidden rows are read like the others, the first of them row 3"
        in bring("levels", "planner.xlsx", *MAP).text
    )


def test_a_stored_value_of_a_formula_is_read(bring):
    """The library stores no values for formulas, so that one is put into the sheet's XML by hand."""
    workbook(change=changed("F4", "=F2"))
    with zipfile.ZipFile("planner.xlsx") as old, zipfile.ZipFile("saved.xlsx", "w") as new:
        for name in old.namelist():
            content = old.read(name)
            new.writestr(
                name,
                content.replace(b"<f>F2</f><v></v>", b"<f>F2</f><v>16</v>").replace(
                    b"<f>F2</f><v />", b"<f>F2</f><v>16</v>"
                ),
            )
    assert "flat: 60 in all, in the source 60" in bring("levels", "saved.xlsx", *MAP).text


TEXT = "Level;Side;Height;Factor;Handed over;Panels\n"
GOOD = TEXT + "L1;north;6,0;1,1;15/03/2027;16\nL1;south;6,0;1,1;15/03/2027;14\n;;;;;\n"
SAID = ["--decimal-comma", "--dates", "dmy", "--level-prefix", "L", *MAP]


def test_semicolons_decimal_commas_and_days_first_are_read_when_said(bring):
    Path("plan.csv").write_text("\ufeff" + GOOD.replace("\n", "\r\n"), encoding="utf-8")
    run = bring("levels", "plan.csv", *SAID)
    assert "3 rows: 2 brought in, 1 left out (1 empty)" in run.text
    assert Path("levels.csv").read_text().splitlines()[1] == "1,north,6.0,1.1,2027-03-15,16"


def test_semicolons_not_said_are_one_fault_without_echoes(bring):
    Path("plan.csv").write_text(GOOD)
    faults = bring("levels", "plan.csv", *MAP).faults
    assert faults == 'plan.csv: 1 fault\n  line 1  headings: found semicolons; allowed: --separator ";"'


TEXT_FAULTS = {
    "a point beside decimal commas": (
        "6,0;1,1;15",
        "6.0;1,1;15",
        'line 2  Height: found "6.0"; allowed: a number as',
    ),
    "thousands": ("15/03/2027;16", "15/03/2027;1.234", 'line 2  Panels: found "1.234"'),
    "a day of no month": ("15/03/2027;16", "31/02/2027;16", 'line 2  Handed over: found "31/02/2027"'),
    "a year of two digits": ("15/03/2027;16", "15/03/27;16", 'line 2  Handed over: found "15/03/27"'),
    "a cell too many": ("2027;16", "2027;16;9", "line 2  row: found 7 cells; allowed: 6 cells"),
}


@pytest.mark.parametrize("name", TEXT_FAULTS)
def test_text_that_can_be_read_two_ways_is_refused_at_its_line(name, bring):
    old, new, said = TEXT_FAULTS[name]
    Path("plan.csv").write_text(GOOD.replace(old, new, 1))
    assert said in bring("levels", "plan.csv", *SAID).faults


def test_a_comma_in_a_number_is_not_sniffed(bring):
    Path("plan.csv").write_text(GOOD)
    words = ["--separator", ";", "--dates", "dmy", "--level-prefix", "L", *MAP]
    assert (
        'line 2  Height: found "6,0"; allowed: a number as 3.8, without commas (--decimal-comma'
        in bring("levels", "plan.csv", *words).faults
    )


def test_letters_of_another_encoding_are_refused_until_said(bring):
    Path("plan.csv").write_bytes(GOOD.replace("north", "süd").encode("cp1252"))
    assert (
        "line 2  letters: found bytes that are none; allowed: utf-8"
        in bring("levels", "plan.csv", *SAID).faults
    )
    assert "zones süd, south" in bring("levels", "plan.csv", *SAID, "--encoding", "cp1252").text


def test_missing_columns_are_said_for_all_rows_or_faults(bring):
    Path("plan.csv").write_text("level,Panels\n1,20\n2,20\n")
    faults = bring("levels", "plan.csv", "--column", "flat=Panel").faults
    assert "plan.csv: 5 faults" in faults
    assert '--column flat: found "Panel"; allowed: level, Panels; nearest: Panels' in faults
    assert (
        "zone: missing column; allowed: --column OURS=HEADING, of level, Panels, or --set zone=..." in faults
    )
    constants = [
        "--set",
        "zone=all",
        "--set",
        "height_m=4",
        "--set",
        "difficulty=1",
        "--set",
        "handover=2027-03-01",
    ]
    faults = bring("levels", "plan.csv", "--column", "flat=Panels", *constants).faults
    assert "found 4; allowed: above 4, the height of level 1" in faults


def test_what_is_wrong_for_all_rows_is_told_once(bring):
    Path("plan.csv").write_text("level,height_m,flat\n1,4,20\n2,8,20\n")
    constants = ["--set", "zone=all", "--set", "difficulty=hard", "--set", "handover=2027-03-01"]
    faults = bring("levels", "plan.csv", "--column", "flat", *constants).faults
    assert faults.count("--set difficulty") == 1


def test_files_that_are_no_table(bring):
    Path("old.xlsx").write_bytes(b"\xd0\xcf\x11\xe0" + bytes(600))
    Path("cut.xlsx").write_bytes(b"PK\x03\x04 and no more")
    assert "a workbook of an old kind, or one under a password" in bring("levels", "old.xlsx").faults
    assert "found no workbook; allowed: an .xlsx file" in bring("levels", "cut.xlsx").faults
    assert (
        "missing file; allowed: a file to bring in; nearest: cut.xlsx" in bring("levels", "cat.xlsx").faults
    )


def test_a_file_that_exists_is_kept_unless_said(bring):
    workbook()
    bring("levels", "planner.xlsx", *MAP)
    Path("levels.csv").write_text("edited by hand")
    assert (
        "--out: found a file that exists; allowed: another name, or --replace"
        in bring("levels", "planner.xlsx", *MAP).faults
    )
    bring("levels", "planner.xlsx", *MAP, "--replace")
    assert Path("levels.csv").read_text().startswith("level,zone,")
    assert "the source itself" in bring("levels", "levels.csv", "--replace").faults


def test_the_same_source_gives_the_same_bytes(bring):
    workbook()
    bring("levels", "planner.xlsx", *MAP)
    first = [Path(name).read_bytes() for name in ("levels.csv", "levels.provenance.toml")]
    bring("levels", "planner.xlsx", *MAP, "--replace")
    assert [Path(name).read_bytes() for name in ("levels.csv", "levels.provenance.toml")] == first


def test_a_missing_library_names_its_extra(bring, monkeypatch):
    workbook()
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    assert (
        "spreadsheet: missing library openpyxl; allowed: pip install 'towerpace[spreadsheet]'"
        in bring("levels", "planner.xlsx", *MAP).faults
    )
