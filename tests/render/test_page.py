"""The page of a report: it stands alone, is well made, and says what the saved tables say, to the digit."""

from __future__ import annotations

import json
import re
import shutil

import pandas as pd
import pytest

from render.page_reader import PageReader
from towerpace.faults import InputError
from towerpace.render.figures import forecast as figures
from towerpace.render.folder import save
from towerpace.render.page.cautions import STANDING
from towerpace.render.page.page import html_of, page_of, write_page
from towerpace.render.page.results import read_results
from towerpace.render.saved.forecast import load_saved


def html(*folders):
    return html_of(page_of(read_results(folders)))


@pytest.fixture(scope="module")
def text(folder):
    return html(folder)


@pytest.fixture(scope="module")
def page(text):
    return PageReader(text)


@pytest.fixture(scope="module")
def tables(folder):
    return load_saved(folder).tables


@pytest.fixture
def copied(folder, tmp_path):
    return shutil.copytree(folder, tmp_path / "copied")


def exact(value):
    """A value of a table as the page keeps it for programs; "" where blank."""
    if pd.isna(value):
        return ""
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    number = float(value)
    return repr(int(number)) if number.is_integer() else repr(number)


def columns(table, *names):
    return [[exact(value) for value in row] for row in zip(*(table[n].tolist() for n in names), strict=True)]


def test_nothing_comes_from_outside(text, page):
    outside = [a for a in page.attributes if a[1] in ("src", "href", "srcset", "action", "data", "poster")]
    assert all(value.startswith("#") or value == "data:," for _, _, value in outside)
    assert "script" not in page.tags
    assert all(place.startswith("#") for place in re.findall(r"url\(['\"]?([^)'\"]*)", text))
    assert "@import" not in text
    addresses = set(re.findall(r"https?://[^\s\"'<]+", text))
    assert addresses <= {"http://www.w3.org/2000/svg"}  # the name of a language, never asked for


def test_tags_are_closed_in_order_and_ids_are_unique(page):
    assert page.open == []
    assert len(page.ids) == len(set(page.ids))


def test_every_link_and_every_label_finds_its_target(page):
    assert set(page.links) <= set(page.ids)
    assert set(page.pointers) <= set(page.ids)


def test_one_main_heading_and_no_level_skipped(page):
    assert page.headings[0] == 1
    assert page.headings.count(1) == 1
    assert all(later <= before + 1 for before, later in zip(page.headings, page.headings[1:], strict=False))
    assert [page.tags.count(tag) for tag in ("main", "header", "nav", "footer", "h1")] == [1] * 5


def test_every_table_has_a_caption_and_scopes(page):
    assert page.tags.count("table") == page.tags.count("caption") == len(page.tables)
    assert set(page.scopes) == {"col", "row", "rowgroup"}


def test_every_figure_is_described(page):
    figures_shown = {name for name in figures.FIGURES if name != "finish"}  # the page draws its own curve
    described = [value for tag, name, value in page.attributes if (tag, name) == ("svg", "aria-describedby")]
    assert {f"forecast-{name.replace('_', '-')}-about" for name in figures_shown} | {"curve-about"} == set(
        described
    )
    assert all(value for tag, name, value in page.attributes if (tag, name) == ("svg", "aria-label"))


def test_the_answer_is_the_p80_and_the_chance_of_the_contract_date(page, tables):
    contracts = tables["contracts"].set_index("name")
    percentiles = tables["percentiles"].set_index("p")
    p80, due = (
        day.strftime("%d %b %Y").lstrip("0")
        for day in (percentiles.loc[0.8, "finish_date"], contracts.loc["end", "contract_date"])
    )
    chance = contracts.loc["end", "chance"]

    assert f"Four of five trials finish by {p80}" in page.said
    assert f"The contract date of {due} is met in {100 * chance:.0f} %" in page.said


def test_promises_are_the_saved_percentiles(page, tables):
    table = tables["percentiles"]
    shown = [row[1:] for row in page.rows("What can be promised")]
    assert shown == columns(table, "finish_date", "low_date", "high_date", "working_days")


def test_chances_are_the_saved_contracts(page, tables):
    shown = [row[1:] for row in page.rows("How likely the contract dates are")]
    assert shown == columns(tables["contracts"], "contract_date", "chance", "low_chance", "high_chance")
    assert [row[0] for row in page.rows("How likely the contract dates are")][-1] == "all dates together"


def test_the_curve_in_numbers_counts_every_trial(page, tables):
    rows = page.rows("The curve in numbers")
    finish = tables["finish"]["finish_date"].dt.date.astype(str).tolist()
    assert {day: int(count) for day, count, *_ in rows} == {day: finish.count(day) for day in finish}
    assert [int(row[2]) for row in rows][-1] == len(finish)


def test_every_level_stands_with_its_dates(page, tables):
    table = tables["closing_in"].iloc[::-1]
    names = ("height_m", "p50_date", "p80_date", "p80_low_date", "p80_high_date", "contract_date")
    rows = page.rows("Closing-in of every level")
    assert [int(row[0]) for row in rows] == table["level"].tolist()
    assert [row[1:] for row in rows] == columns(table, *names)


def test_flow_panels_and_ledgers_are_whole(page, tables):
    stamps = [f"{what}_{p}_date" for what in ("begun", "done") for p in ("p10", "p50", "p90")]
    flow = page.rows("When each trade begins and ends on each level")
    assert [row[2:] for row in flow] == columns(tables["flow"], *stamps)
    weeks = page.rows("Panels set, week by week")
    names = ("week_end_date", "panels_p10", "panels_p50", "panels_p90", "panels_total")
    assert weeks == columns(tables["s_curve"], *names)
    ledger = page.rows("The whole ledger")
    assert [row[:2] for row in ledger] == [
        [cause, exact(hours)]
        for cause, hours in zip(tables["ledger"]["cause"], tables["ledger"]["mean_h"], strict=True)
    ]
    by_level = page.rows("Where the time goes, level by level")
    assert sorted(row[2] for row in by_level) == sorted(map(exact, tables["ledger_by_level"]["mean_h"]))


def test_every_assumption_has_its_source_and_those_without_are_flagged(page, tables):
    table = tables["assumptions"]
    rows = page.rows("Assumptions, in the order of the scenario file")
    assert [row[1] for row in rows] == table["text"].tolist()
    missing = [row for row in rows if row[2] == "no source"]
    assert len(missing) == int(table["source_missing"].sum()) > 0
    assert all(row[3] == "" for row in rows)  # no result names an owner yet
    assert f"{len(missing)} have no source at all" in page.said


def test_all_twelve_standing_cautions_and_those_of_the_run_are_said(page, folder):
    assert len(STANDING) == 12
    assert all(said in page.said for said in (*STANDING, *load_saved(folder).manifest.cautions))


def test_what_is_needed_to_make_it_again_is_said(page, folder):
    run = load_saved(folder).manifest
    facts = (run.hash, run.command, run.version, run.created_utc, f"numpy {run.packages['numpy']}")
    assert all(said in page.said for said in facts)


def test_a_scenario_without_weather_says_so(page):
    assert "The scenario has no weather" in page.said


def test_the_same_folder_gives_the_same_bytes(folder, copied, text):
    assert html(copied) == text == html(folder)


def test_words_of_the_user_cannot_become_markup(copied):
    path = copied / "manifest.json"
    manifest = json.loads(path.read_text())
    path.write_text(json.dumps({**manifest, "scenario": 'A <script>alert("x")</script> & Sons'}))

    made = PageReader(html(copied))
    assert "script" not in made.tags
    assert 'A <script>alert("x")</script> & Sons' in made.said


def test_trials_beyond_the_horizon_are_said_and_never_dropped(late, tmp_path, monkeypatch):
    monkeypatch.setattr(figures, "write_figures", lambda *_: None)
    made = PageReader(html(save(late, tmp_path / "late", command="x")))

    days = made.rows("The curve in numbers")
    assert int(days[-1][2]) == late.trials - late.beyond
    assert float(days[-1][3]) == pytest.approx(1 - late.beyond / late.trials)
    assert f"{late.beyond} trials finish after the last day played" in made.said


def test_one_trial_is_not_called_four_of_five(playing, tmp_path, monkeypatch):
    monkeypatch.setattr(figures, "write_figures", lambda *_: None)
    made = PageReader(html(save(playing(trials=1), tmp_path / "one", command="x")))

    assert "The only trial finishes on" in made.said
    assert "Four of five" not in made.said


def test_writing_leaves_an_older_page_when_a_folder_is_in_the_way(folder, tmp_path):
    (tmp_path / "report.html").mkdir()
    with pytest.raises(InputError, match="found a folder"):
        write_page(page_of(read_results([folder])), tmp_path / "report.html")


def test_a_page_is_written_whole_and_readable(folder, text, tmp_path):
    made = write_page(page_of(read_results([folder])), tmp_path / "new" / "report.html")
    assert made.read_text(encoding="utf-8") == text
    assert [path.name for path in made.parent.iterdir()] == ["report.html"]
