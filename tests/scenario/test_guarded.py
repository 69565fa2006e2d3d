"""Words that a spreadsheet would work out get an apostrophe, and come back from every table that we read."""

from __future__ import annotations

import csv

import pytest

from render.made_answer import HOSTILE, RUN
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.tables import Column, Table
from towerpace.answers.sweep.design import NUMBER, TEXT, WHOLE
from towerpace.answers.sweep.read import _read_csv
from towerpace.answers.sweep.tables import Columns, read_rows, write_whole
from towerpace.render.frames import read_rows as read_rows_of_results
from towerpace.render.frames import write_table
from towerpace.scenario.guarded import guarded, unguarded
from towerpace.scenario.tables import read_table

FORMULAS = ("=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "-2+3 days", "=", "'=1", "''@x", "'", "''")


@pytest.mark.parametrize("word", [*HOSTILE, *FORMULAS])
def test_every_word_comes_back_and_none_is_worked_out(word):
    cell = guarded(word)
    assert unguarded(cell) == word
    assert len(cell) == 1 or cell[0] not in "=+-@\t\r" or float(cell)  # a number is what it says


@pytest.mark.parametrize("number", ["-1", "+1", "-1.5", ".5", "-1e-3", "0", "-", "north", "'tis", "a=b", ""])
def test_numbers_signs_and_plain_words_stay_as_they_are(number):
    assert guarded(number) == unguarded(number) == number


def test_a_table_that_people_send_back_gives_their_words(tmp_path):
    path = tmp_path / "sheet.csv"
    path.write_text(f"level,zone\n1,{guarded('=north')}\n", encoding="utf-8")
    assert [row.cells["zone"] for row in read_table(path, shown_as="sheet.csv").rows] == ["=north"]


def test_a_study_keeps_its_words_whoever_reads_them(tmp_path):
    columns, path = Columns(("point", "=who", "value"), (WHOLE, TEXT, NUMBER)), tmp_path / "study.csv"
    rows = [(k, word, -1.5) for k, word in enumerate([*HOSTILE, *FORMULAS])]
    write_whole(path, rows=rows, columns=columns)

    assert read_rows(path, columns=columns) == rows
    assert list(_read_csv(path, columns).itertuples(index=False, name=None)) == rows
    with path.open(encoding="utf-8", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    assert [c for c in cells if c[:1] in "=@\t\r" and len(c) > 1] == []


def test_tables_of_results_keep_their_words(tmp_path):
    rows = [(word, -1.5) for word in (*HOSTILE, *FORMULAS)]
    table = Table("words", "Words", (Column("word", Kind.NAME), Column("number", Kind.NUMBER)), rows)
    write_table(table, tmp_path / "words", run=RUN)
    assert read_rows_of_results(tmp_path / "words.csv", table) == rows
