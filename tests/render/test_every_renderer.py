"""Every renderer shows an answer that it has never heard of: by kinds, with names as people give them."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
from dataclasses import replace
from datetime import date, datetime
from itertools import pairwise

import pytest

from render.made_answer import HOSTILE, KINDS, MADE, NAMES
from render.page_reader import PageReader
from towerpace.answers.said.people import shown_columns
from towerpace.cli.show import show
from towerpace.face.result import Result
from towerpace.faults import InputError
from towerpace.render.folder import save
from towerpace.render.json_object import as_json
from towerpace.render.page import print as printing
from towerpace.render.page import spreadsheet
from towerpace.render.page.page import html_of, page_of, read_parts
from towerpace.render.page.print import pdf_of, write_pdf
from towerpace.render.page.spreadsheet import workbook_of, write_workbook
from towerpace.render.saved.answer_file import load_saved
from towerpace.scenario.guarded import unguarded

openpyxl = pytest.importorskip("openpyxl", reason="openpyxl reads what the extra writes")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return save(MADE, tmp_path_factory.mktemp("made") / "run", command="by hand")


@pytest.fixture(scope="module")
def parts(folder):
    return read_parts([folder])


def test_people_read_dates_signs_and_shares_in_one_form():
    seen = {column.name: texts for column, texts in shown_columns(KINDS.columns, KINDS.rows)}

    assert seen["day"] == ["Thu 25 Mar 2027", "Thu 25 Mar 2027", "never"]
    assert seen["day_low"] == ["Wed 24 Mar 2027 to Sat 27 Mar 2027", "the same day", "no interval"]
    assert seen["late_days"] == ["-1.4", "0.0", ""]
    assert seen["late_days_low"] == ["-1.7 to -1.2", "0.0", ""]
    assert seen["mean_h"] == ["1,795", "0", ""]
    assert seen["share"] == ["over 99 %", "under 1 %", ""]
    assert seen["share_low"] == ["90 to 100 %", "0 to 1 %", ""]
    assert seen["met"] == ["yes", "no", ""]
    assert "day_high" not in seen


def test_a_terminal_shows_every_name_whole_and_tears_no_date(capsys):
    show(MADE)
    printed = capsys.readouterr().out

    for name in HOSTILE:
        assert name.strip() in printed
    assert "Thu 25 Mar 2027" in printed
    assert "Wed 24 Mar 2027 to Sat 27 Mar 2027" in printed
    assert "\x1b" not in printed
    assert "hidden" not in printed
    sentences = [line for line in printed.splitlines() if line.startswith(("!", "All", "seed"))]
    assert all(len(line) <= 80 for line in sentences)


def test_json_has_iso_dates_nulls_and_full_precision():
    data = json.loads(json.dumps(as_json(MADE), allow_nan=False))
    first, _, last = data["tables"]["kinds"]

    assert (data["question"], data["hash"], data["seed"], data["version"]) == ("made", "ab" * 32, 7, "9.9")
    values = [first[name] for name in ("day", "late_days", "hidden", "met")]
    assert values == ["2027-03-25", -1.43, 0.1, True]
    assert set(last.values()) == {"two", None}
    assert data["facts"] == {"mean_days": 24.5, "day": "2027-03-25", "none": None}
    assert [row["name"] for row in data["tables"]["names"]] == list(HOSTILE)


def test_the_folder_gives_the_answer_back(folder):
    back = load_saved(folder).answer

    assert [[tuple(row) for row in table.rows] for table in back.tables] == [
        [tuple(row) for row in table.rows] for table in MADE.tables
    ]
    assert back.said == MADE.said
    assert back.run == MADE.run
    assert list(back.facts) == list(MADE.facts)


def test_a_csv_carries_the_run_on_every_row(folder):
    with (folder / "names.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)

    assert head[-3:] == ["scenario_hash", "seed", "version"]
    assert {tuple(row[-3:]) for row in rows} == {("ab" * 6, "7", "9.9")}
    assert [unguarded(row[0]) for row in rows] == list(HOSTILE)
    worked_out = [row[0] for row in rows if row[0][0] in "=+-@\t" and row[0] not in ("+1", "-1")]
    assert worked_out == []


def test_frames_have_the_kinds_of_their_columns():
    frame = Result(MADE, None).frame("kinds")

    assert frame["day"].dtype.kind == "M"
    assert str(frame["working_day"].dtype) == "Int64"
    assert str(frame["met"].dtype) == "boolean"
    assert frame["late_days"].tolist()[:2] == [-1.43, -0.01]
    assert frame.attrs == {"scenario_hash": "ab" * 32, "seed": 7, "version": "9.9"}


def test_a_notebook_shows_the_answer_and_escapes_names():
    html = Result(MADE, None)._repr_html_()

    assert MADE.said in html
    assert "<script>" not in html


def test_the_page_holds_every_value_and_no_markup_of_the_user(parts):
    page = PageReader(html_of(page_of(parts)))

    assert page.open == []
    assert "script" not in page.tags
    assert [row[0] for row in page.rows(NAMES.title)] == [name.strip() for name in HOSTILE]
    assert page.rows(KINDS.title)[0][0] == "2027-03-25"
    assert "A book." in page.said


def test_every_combination_of_answers_becomes_one_report(folder, tmp_path):
    """A second answer of the same scenario joins; chapters and sheets of the same name stay apart."""
    other = save(MADE, tmp_path / "other", command="again")
    parts = read_parts([folder, other])
    page = page_of(parts)

    keys = [chapter.key for chapter in page.chapters]
    assert len(keys) == len(set(keys))
    assert {"names", "names_2"} <= set(keys)
    assert len(page.headline.split(". ")) == 1  # said once
    book = openpyxl.load_workbook(io.BytesIO(workbook_of(parts)))
    assert book.sheetnames == ["run", "kinds", "names", "made kinds", "made names"]


def test_answers_of_another_scenario_are_refused(folder, tmp_path):
    other = save(replace(MADE, run=replace(MADE.run, hash="f" * 64)), tmp_path / "other", command="x")
    with pytest.raises(InputError, match="results of scenario ffffffffffff"):
        read_parts([folder, other])


def test_faults_of_all_folders_are_listed_at_once(folder, tmp_path):
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "manifest.json").write_text("{")
    with pytest.raises(InputError) as refused:
        read_parts([folder, tmp_path / "broken", tmp_path / "nothing"])
    said = str(refused.value)
    assert "no JSON" in said
    assert "missing folder" in said


def test_a_workbook_keeps_numbers_dates_and_text_that_is_no_formula(parts):
    book = openpyxl.load_workbook(io.BytesIO(workbook_of(parts)))
    kinds, names = book["kinds"], book["names"]

    head = {cell.value: cell.column for cell in kinds[1]}
    assert list(head) == [column.name for column in KINDS.columns]
    assert kinds.cell(2, head["day"]).value == datetime(2027, 3, 25)
    assert kinds.cell(2, head["day"]).number_format == "d mmm yyyy"
    assert kinds.cell(2, head["share"]).number_format == "0.0 %"
    assert kinds.cell(2, head["late_days"]).value == -1.43
    assert kinds.cell(4, head["day"]).value is None
    cells = [names.cell(row, 1) for row in range(2, len(HOSTILE) + 2)]
    assert [cell.value for cell in cells] == list(HOSTILE)
    assert {(cell.data_type, cell.hyperlink) for cell in cells} == {("s", None)}
    assert {sheet.freeze_panes for sheet in book} == {"A2"}
    assert workbook_of(parts) == workbook_of(parts)


def test_without_the_writer_the_way_to_get_it_is_told(parts, tmp_path, monkeypatch):
    monkeypatch.setattr(spreadsheet, "find_spec", lambda _: None)
    with pytest.raises(
        InputError, match=r"without xlsxwriter; allowed: pip install 'towerpace\[spreadsheet\]'"
    ):
        write_workbook(parts, tmp_path / "report.xlsx")


needs_typst = pytest.mark.skipif(bool(printing.can_print()), reason="typst is not installed")


@needs_typst
def test_the_pdf_is_tagged_for_screen_readers_and_always_the_same(parts):
    page = page_of(parts)
    pdf = pdf_of(page)

    assert pdf.startswith(b"%PDF-")
    assert b"/MarkInfo" in pdf
    assert b"pdfuaid:part" in pdf  # ISO 14289-1, section 5: the claim stands in plain metadata
    assert page.title.encode() in pdf
    assert pdf_of(page) == pdf


@needs_typst
@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext on this machine")
def test_the_pdf_says_what_the_page_says(parts, tmp_path):
    page = page_of(parts)
    path = write_pdf(page, tmp_path / "report.pdf")
    read = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True)
    text = " ".join(read.stdout.replace("\u00a0", " ").split())

    assert page.headline.replace("\u00a0", " ") in text
    assert all(chapter.title in text for chapter in page.chapters)
    assert "Wharf [phase 2]" in text
    assert "#set text(red)" in text


def test_without_typst_the_way_to_get_it_is_told(parts, tmp_path, monkeypatch):
    monkeypatch.setattr(printing, "find_spec", lambda _: None)
    with pytest.raises(InputError, match=r"without typst; allowed: pip install 'towerpace\[report\]'"):
        write_pdf(page_of(parts), tmp_path / "report.pdf")
    assert list(tmp_path.iterdir()) == []


def test_a_banner_stands_above_everything_on_every_output(parts, capsys):
    (banner,) = MADE.banners
    show(MADE)
    page = html_of(page_of(parts))
    run = openpyxl.load_workbook(io.BytesIO(workbook_of(parts)))["run"]

    printed = capsys.readouterr().out
    assert printed.index(banner) < printed.index("All kinds of values.")
    assert page.index(banner) < page.index('class="headline"')
    assert as_json(MADE)["banners"] == [banner]
    assert banner in Result(MADE, None)._repr_html_()
    assert banner in parts[0].manifest.cautions
    assert ("banner", banner) in [(row[0].value, row[1].value) for row in run]


def test_a_long_table_is_thinned_on_a_terminal_but_keeps_its_ends(capsys):
    rows = [(f"n{k:03}", None, k) for k in range(100)]
    long = replace(NAMES, rows=rows, most=12)
    show(replace(MADE, tables=[long]))
    printed = capsys.readouterr().out

    shown = [int(found) for found in re.findall(r"^n(\d+)", printed, flags=re.MULTILINE)]
    assert shown[0] == 0
    assert shown[-1] == 99
    assert len(shown) <= 13
    assert all(a < b for a, b in pairwise(shown))
    assert f"{len(shown)} of 100 rows" in printed


def test_a_row_of_another_length_is_refused():
    with pytest.raises(ValueError, match="2 values for 3 columns"):
        NAMES.filled([("a", "b")])


def test_names_of_tables_facts_and_columns_that_are_not_there_raise():
    assert MADE.fact("mean_days") == 24.5
    for ask in (lambda: MADE.table("x"), lambda: MADE.fact("x"), lambda: NAMES.column("x")):
        with pytest.raises(KeyError):
            ask()
    assert KINDS.column("day")[0] == date(2027, 3, 25)
