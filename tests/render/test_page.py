"""The page of a report: it stands alone, is well made, and says what the saved tables say, to the digit."""

from __future__ import annotations

import datetime as dt
import json
import re
import shutil

import pytest

from render.page_reader import PageReader
from towerpace.answers.forecast_said import said
from towerpace.answers.said.kinds import On
from towerpace.faults import InputError
from towerpace.render.folder import save
from towerpace.render.page.cautions import STANDING
from towerpace.render.page.page import html_of, page_of, read_parts, write_page
from towerpace.render.saved.answer_file import load_saved


def html(*places):
    return html_of(page_of(read_parts(places)))


@pytest.fixture(scope="module")
def text(folder):
    return html(folder)


@pytest.fixture(scope="module")
def page(text):
    return PageReader(text)


@pytest.fixture(scope="module")
def answer(folder):
    return load_saved(folder).answer


@pytest.fixture
def copied(folder, tmp_path):
    return shutil.copytree(folder, tmp_path / "copied")


def exact(value):
    """A value of a table as the page keeps it for programs; "" where blank."""
    return "" if value is None else value.isoformat() if isinstance(value, dt.date) else repr(value)


def test_nothing_comes_from_outside(text, page):
    outside = [a for a in page.attributes if a[1] in ("src", "href", "srcset", "action", "data", "poster")]
    assert all(value.startswith("#") or value == "data:," for _, _, value in outside)
    assert "script" not in page.tags
    assert all(place.startswith("#") for place in re.findall(r"url\(['\"]?([^)'\"]*)", text))
    assert "@import" not in text
    addresses = set(re.findall(r"https?://[^\s\"'<]+", text))
    # names of languages, never asked for
    assert addresses <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}


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


def test_every_figure_is_described(page, answer):
    described = [value for tag, name, value in page.attributes if (tag, name) == ("svg", "aria-describedby")]
    assert {f"forecast-{name.replace('_', '-')}-about" for name in answer.figures} == set(described)
    assert all(value for tag, name, value in page.attributes if (tag, name) == ("svg", "aria-label"))


def test_every_table_for_pages_stands_there_with_its_values(page, answer):
    """All tables that people read on pages, by kinds: exact values for programs behind every number."""
    checked = 0
    for table in answer.tables_on(On.PAGE):
        if not table.rows:
            assert table.title not in page.tables
            continue
        rows = page.rows(table.title)
        seen = [column for column in table.columns if On.PAGE & column.on]
        single = [c for c in seen if not c.to and c.name not in {other.to for other in seen}]
        kept = single[1:] if table.groups else single
        numbers = [c for c in kept if c.kind.value not in ("name", "text", "truth")]
        wanted = sorted(exact(value) for c in numbers for value in table.column(c.name))
        there = sorted(cell for row in rows for cell in row if cell in set(wanted) or cell == "")
        assert [value for value in wanted if value] == [value for value in there if value]
        checked += 1
    assert checked >= 8


def test_the_answer_is_the_p80_and_the_chance_of_the_contract_date(page, answer):
    assert answer.said.startswith("Four trials in five finish by ")
    assert answer.said in page.said


def test_all_twelve_standing_cautions_and_those_of_the_run_are_said(page, answer):
    assert len(STANDING) == 12
    assert all(caution in page.said for caution in (*STANDING, *answer.cautions))


def test_what_is_needed_to_make_it_again_is_said(page, folder):
    run = load_saved(folder).manifest
    facts = (run.hash, run.command, run.version, run.created_utc, f"numpy {run.packages['numpy']}")
    assert all(fact in page.said for fact in facts)


def test_a_scenario_without_weather_says_so(page):
    assert "The scenario has no weather" in page.said


def test_the_same_folder_gives_the_same_bytes(folder, copied, text):
    assert html(copied) == text == html(folder)


def test_words_of_the_user_cannot_become_markup(copied):
    path = copied / "answer.json"
    saved = json.loads(path.read_text())
    saved["described"]["run"]["scenario"] = 'A <script>alert("x")</script> & Sons'
    path.write_text(json.dumps(saved))

    page = PageReader(html(copied))
    assert "script" not in page.tags
    assert 'A <script>alert("x")</script> & Sons' in page.said


def test_a_picture_put_into_the_folder_by_others_never_reaches_the_page(copied, text):
    (copied / "flow.svg").write_text('<svg onload="alert(1)"></svg>')

    assert html(copied) == text


@pytest.mark.usefixtures("no_figures")
def test_trials_beyond_the_horizon_are_said_and_never_dropped(late, tmp_path):
    page = PageReader(html(save(said(late), tmp_path / "late", command="x")))

    days = page.rows("The curve in numbers")
    assert int(days[-1][2]) == late.trials - late.beyond
    assert float(days[-1][3]) == pytest.approx(1 - late.beyond / late.trials)
    assert f"{late.beyond} trials finish after the last day played" in page.said


@pytest.mark.usefixtures("no_figures")
def test_one_trial_is_not_called_four_in_five(playing, tmp_path):
    page = PageReader(html(save(said(playing(trials=1)), tmp_path / "one", command="x")))

    assert "The only trial finishes on" in page.said
    assert "Four trials in five" not in page.said


def test_writing_leaves_an_older_page_when_a_folder_is_in_the_way(folder, tmp_path):
    (tmp_path / "report.html").mkdir()
    with pytest.raises(InputError, match="found a folder"):
        write_page(page_of(read_parts([folder])), tmp_path / "report.html")


def test_a_page_is_written_whole_and_readable(folder, text, tmp_path):
    path = write_page(page_of(read_parts([folder])), tmp_path / "new" / "report.html")
    assert path.read_text(encoding="utf-8") == text
    assert [entry.name for entry in path.parent.iterdir()] == ["report.html"]
