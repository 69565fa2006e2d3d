"""The workbook read back by another library: every table, numbers as numbers, dates as dates."""

from __future__ import annotations

import io
import json
import shutil
from datetime import datetime

import pandas as pd
import pytest

from render.test_page_joined import BID, beside, comparison
from towerpace.faults import InputError
from towerpace.render.page import sheets
from towerpace.render.page.results import read_results
from towerpace.render.page.sheets import sheets_of, write_sheets
from towerpace.render.saved.forecast import load_saved
from towerpace.render.tables.columns import STAMP, TABLES

# Both belong to extras: one writes the workbook, the other reads it.
openpyxl = pytest.importorskip("openpyxl", reason="openpyxl is not installed")
pytest.importorskip("xlsxwriter", reason="xlsxwriter is not installed")


def read(made):
    return openpyxl.load_workbook(io.BytesIO(made))


@pytest.fixture(scope="module")
def book(folder):
    return read(sheets_of(read_results([folder])))


def test_every_table_has_a_sheet_with_the_columns_of_its_file(book):
    assert book.sheetnames == ["run", *TABLES]
    for name, columns in TABLES.items():
        assert [cell.value for cell in book[name][1]] == list(columns)


def test_values_come_back_as_they_were_saved(book, folder):
    for name, table in load_saved(folder).tables.items():
        rows = list(book[name].iter_rows(min_row=2, values_only=True))
        kept = table[[column for column in table.columns if column not in STAMP]]
        assert len(rows) == len(kept)
        for row, saved in zip(rows, kept.itertuples(index=False), strict=True):
            for value, was in zip(row, saved, strict=True):
                assert_same(value, was)


def assert_same(value, was):
    if pd.isna(was) or was == "":
        assert value is None or value == ""
    elif isinstance(was, pd.Timestamp):
        assert isinstance(value, datetime)
        assert value == was
    elif isinstance(was, float):
        assert isinstance(value, int | float)
        assert value == pytest.approx(was, rel=1e-14)  # a workbook keeps 15 to 17 digits
    else:
        assert type(value) is type(was) or int(value) == int(was)
        assert value == was


def test_dates_look_like_dates_and_chances_like_chances(book):
    percentiles, contracts = book["percentiles"], book["contracts"]
    assert percentiles["B2"].number_format == "d mmm yyyy"
    assert contracts["E2"].number_format == "0.0 %"


def test_headings_stay_in_view(book):
    assert {sheet.freeze_panes for sheet in book} == {"A2"}
    assert book["finish"].auto_filter.ref.startswith("A1:")


def test_the_run_is_named_once(book, folder):
    run = load_saved(folder).manifest
    told = dict(list(book["run"].iter_rows(min_row=2, max_col=2, values_only=True))[:9])
    assert (told["scenario hash"], told["seed"], told["trials"]) == (run.hash, run.seed, run.trials)


def test_tables_of_a_comparison_and_of_a_bid_are_there_too(folder, tmp_path):
    copied = shutil.copytree(folder, tmp_path / "copied")
    made = read(sheets_of(read_results([beside(copied, "bid.json", **BID), comparison(copied)])))

    assert {"compare setups", "bid needed", "bid contingency sources", "bid drivers inputs"} <= set(
        made.sheetnames
    )
    needed = made["bid needed"]
    heads = {cell.value: cell.column for cell in needed[1]}
    assert needed.cell(2, heads["date"]).value == datetime(2027, 4, 8)
    assert needed.cell(2, heads["contingency_days"]).value == 6.25
    assert needed.cell(2, heads["low"]).value is None


def test_a_text_never_becomes_a_formula_or_a_link(folder, tmp_path):
    copied = shutil.copytree(folder, tmp_path / "copied")
    texts = ["=1+1", "https://example.invalid", "12"]
    beside(copied, "add.json", ranking=[{"verdict": text} for text in texts])
    sheet = read(sheets_of(read_results([copied])))["add ranking"]

    cells = [sheet.cell(row, 1) for row in (2, 3, 4)]
    assert [cell.value for cell in cells] == texts
    assert [(cell.data_type, cell.hyperlink) for cell in cells] == [("s", None)] * 3


def test_the_same_results_give_the_same_bytes(folder):
    assert sheets_of(read_results([folder])) == sheets_of(read_results([folder]))


def test_long_names_of_sheets_stay_apart(folder, tmp_path):
    copied = shutil.copytree(folder, tmp_path / "copied")
    beside(copied, "bid.json", a_long_name_for_a_table_indeed={"one": [{"x": 1}], "two": [{"x": 2}]})
    made = read(sheets_of(read_results([copied])))
    assert made.sheetnames[-2:] == ["bid a long name for a table ind", "bid a long name for a table  2"]


def test_without_the_writer_the_way_to_get_it_is_told(folder, tmp_path, monkeypatch):
    monkeypatch.setattr(sheets, "find_spec", lambda _: None)
    with pytest.raises(
        InputError, match=r"asked for without xlsxwriter; allowed: pip install 'towerpace\[spreadsheet\]'"
    ):
        write_sheets(read_results([folder]), tmp_path / "report.xlsx")


def test_the_manifest_is_read_not_trusted(folder, tmp_path):
    copied = shutil.copytree(folder, tmp_path / "copied")
    manifest = json.loads((copied / "manifest.json").read_text())
    (copied / "manifest.json").write_text(json.dumps({**manifest, "scenario": "=2+2"}))
    run = read(sheets_of(read_results([copied])))["run"]
    assert (run["B3"].value, run["B3"].data_type) == ("=2+2", "s")
