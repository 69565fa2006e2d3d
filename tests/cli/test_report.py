"""towerpace report as a user runs it: files, what it prints, exit codes."""

from __future__ import annotations

import json

import pytest

from cli.test_commands import SCENARIOS, forecast
from support.command_line import towerpace
from towerpace.render.saved.answer_file import load_saved


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("work") / "run"
    run = forecast(SCENARIOS / "one_trade" / "scenario.toml", "--trials", 30, "--workers", 1, "--out", made)
    assert run.returncode == 0, run.stderr
    return made


def test_the_page_stands_beside_the_folder_unless_named(folder):
    run = towerpace("report", "run", cwd=folder.parent)

    assert run.returncode == 0, run.stderr
    assert run.stdout.startswith("Four trials in five finish by ")
    assert run.stdout.endswith("Report: run.html\n")
    assert (folder.parent / "run.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert not list(folder.glob("*.html"))  # so that the folder may be written anew


def test_page_pdf_and_workbook_in_one_go(folder, tmp_path):
    # typst and xlsxwriter belong to extras
    pytest.importorskip("typst", reason="typst is not installed")
    pytest.importorskip("xlsxwriter", reason="xlsxwriter is not installed")
    run = towerpace(
        "report", folder, "--out", "a.html", "--pdf", "sub/a.pdf", "--xlsx", "a.xlsx", cwd=tmp_path
    )

    assert run.returncode == 0, run.stderr
    assert "Report: a.html, sub/a.pdf, a.xlsx" in run.stdout
    assert (tmp_path / "sub" / "a.pdf").read_bytes().startswith(b"%PDF-")
    assert (tmp_path / "a.xlsx").read_bytes().startswith(b"PK")


def records(table):
    names = [column.name for column in table.columns]
    return [dict(zip(names, row, strict=True)) for row in table.rows]


def test_the_calendar_holds_the_dates_of_the_tables(folder, tmp_path):
    icalendar = pytest.importorskip("icalendar", reason="icalendar is not installed")
    run = towerpace("report", folder, "--out", "a.html", "--ics", "a.ics", cwd=tmp_path)
    assert run.returncode == 0, run.stderr
    assert run.stdout.endswith("Report: a.html, a.ics\n")

    content = (tmp_path / "a.ics").read_bytes()
    of = {str(e["SUMMARY"]): e["DTSTART"].dt for e in icalendar.Calendar.from_ical(content).walk("VEVENT")}
    answer = load_saved(folder).answer
    floors = records(answer.table("closing_in"))
    expected = {
        f"{answer.run.scenario}: closing-in of L{row['level']}, {name.upper()}": row[name]
        for row in floors
        for name in ("p50", "p80")
    }
    finish = records(answer.table("percentiles"))
    expected |= {f"{answer.run.scenario}: finish, {row['percentile']}": row["finish"] for row in finish}
    [due] = records(answer.table("contracts"))
    expected[f"{answer.run.scenario}: contract date {due['contract']}: finish"] = due["date"]
    assert {name: day for name, day in expected.items() if day} == of


def test_dates_of_a_forecast_are_no_days_off(folder, tmp_path):
    """They leave the day free, which `bring` passes over: nobody closes the site by mistake."""
    pytest.importorskip("icalendar", reason="icalendar is not installed")
    towerpace("report", folder, "--out", "a.html", "--ics", "a.ics", cwd=tmp_path)
    run = towerpace("bring", "calendar", "a.ics", "--from", "2027-01-01", "--to", "2028-12-31", cwd=tmp_path)
    assert run.returncode == 2
    assert "no day off among" in run.stderr


@pytest.mark.usefixtures("no_figures")
def test_a_calendar_of_results_without_dates_is_refused_before_anything_is_written(tmp_path):
    scenario = SCENARIOS / "one_trade" / "scenario.toml"
    made = towerpace("explain", scenario, "--trials", 3, "--out", "why", cwd=tmp_path)
    assert made.returncode == 0, made.stderr
    run = towerpace("report", "why", "--out", "a.html", "--ics", "a.ics", cwd=tmp_path)
    assert run.returncode == 2
    assert (
        "--ics: 1 fault\n  ics: found no dates in the results of explain; allowed: results of" in run.stderr
    )
    assert [path.name for path in tmp_path.iterdir()] == ["why"]


def test_no_file_names_the_machine(folder, tmp_path):
    run = towerpace("report", folder, "--out", "a.html", cwd=tmp_path)
    assert run.returncode == 0, run.stderr
    assert str(folder.parent) not in (tmp_path / "a.html").read_text(encoding="utf-8")


def test_results_that_are_not_there_are_the_users_fault(tmp_path):
    run = towerpace("report", "nothing", cwd=tmp_path)
    assert run.returncode == 2
    assert "nothing: 1 fault\n  results folder: missing folder" in run.stderr
    assert "Traceback" not in run.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_the_way_is_told_before_anything_is_written(folder, tmp_path):
    (tmp_path / "a.pdf").mkdir()
    run = towerpace("report", folder, "--out", "a.html", "--pdf", "a.pdf", cwd=tmp_path)
    assert run.returncode == 2
    assert "a.pdf: 1 fault\n  file: found a folder; allowed: the name of a file to write" in run.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["a.pdf"]


def test_what_succeeds_is_kept_when_another_file_fails(folder, tmp_path, monkeypatch):
    def broken(*_):
        raise RuntimeError("no fonts")

    monkeypatch.setattr("towerpace.face.report.write_pdf", broken)
    run = towerpace("report", folder, "--out", "a.html", "--pdf", "a.pdf", "--xlsx", "a.xlsx", cwd=tmp_path)
    assert run.returncode == 1
    assert "Not written: no fonts" in run.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.html", "a.xlsx"]


def test_other_results_of_the_same_scenario_join(folder, tmp_path):
    hash_ = json.loads((folder / "manifest.json").read_text())["hash"]
    other = towerpace(
        "forecast",
        SCENARIOS / "one_trade" / "scenario.toml",
        "--trials",
        20,
        "--seed",
        5,
        "--workers",
        1,
        "--out",
        tmp_path / "second",
    )
    assert other.returncode == 0, other.stderr
    run = towerpace("report", folder, tmp_path / "second", "--out", tmp_path / "a.html")
    assert run.returncode == 0, run.stderr
    assert (tmp_path / "a.html").read_text(encoding="utf-8").count(hash_) == 2  # both runs can be made again
