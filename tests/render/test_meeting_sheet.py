"""The sheet for the weekly meeting: one side of paper, also where there is much to say."""

from dataclasses import replace

import pytest

from answers.test_ahead import CERTAIN, look
from support import browser
from towerpace import ahead, load, report
from towerpace.answers.ahead.meeting import meeting
from towerpace.answers.said.kinds import On
from towerpace.faults import InputError
from towerpace.render.folder import save
from towerpace.render.page.page import rendered
from towerpace.render.page.sheet import sheet_of
from towerpace.render.saved.answer_file import load_saved

SITE = "scenarios/gannet_wharf"
PROMISED = "a,2027-03-01,brackets,1,north,all,2027-03-02,\nb,2027-03-01,panels,1,north,all,2027-03-19,\n"


@pytest.fixture(scope="module")
def small():
    slow = CERTAIN.replace("set_min = 50", "set_min = 180")
    return look(PROMISED, weeks=4, text=slow)


def test_two_weeks_stand_by_the_day_and_then_weeks(small):
    table, weeks = small.answer.table("meeting_days"), small.frame("weeks")
    spans = [str(span) for span in table.column("span")]
    assert spans[0] == "Tue 02 Mar"
    later = [span for span in spans if span.startswith("week to")]
    assert later[0] == "week to Mon 22 Mar"
    assert not any(span.startswith(("Sat", "Sun")) for span in spans)  # closed, so nothing to tell
    days = small.frame("days").iloc[:14]
    open_days = days.loc[days["day"].dt.day_of_week < 5, "panels_p50"].tolist()
    weekly = weeks["panels_p50"].tolist()[2:]
    assert table.column("panels") == [*open_days, *weekly[: len(later)]]


def test_the_sheet_is_saved_and_shown_nowhere_else(small, tmp_path):
    folder = small.save(tmp_path / "ahead")
    assert not [path for path in folder.iterdir() if path.name.startswith("meeting")]
    assert not any(name.startswith("meeting") for name in (*small.tables, *small.to_json()["tables"]))
    page, sheet = tmp_path / "page.html", tmp_path / "sheet.html"
    report(folder, out=page, sheet=sheet)
    assert "Likely to begin" not in page.read_text(encoding="utf-8")
    text = sheet.read_text(encoding="utf-8")
    for words in ("Likely to begin", "Needed by", "Promises", "never permission to lift", "Data date"):
        assert words in text
    assert "<script" not in text


def test_other_results_have_no_sheet(folder, tmp_path):
    with pytest.raises(InputError, match="sheet: found results of forecast; allowed: results of a question"):
        report(folder, out=tmp_path / "page.html", sheet=tmp_path / "sheet.html")


@pytest.mark.slow
@pytest.mark.browser
# Only a browser breaks pages.
@pytest.mark.skipif(browser.binary() is None, reason="no Chromium on this machine")
def test_the_demo_at_six_weeks_fits_on_one_side_and_so_does_the_most_there_can_be(tmp_path):
    names = ("progress", "log", "wind", "promises")
    files = {name: f"{SITE}/record/{name}.csv" for name in names}
    result = ahead(load(f"{SITE}/scenario.toml"), **files, trials=8)
    many = [replace(t, rows=[row for row in t.rows for _ in range(12)]) for t in result.answer.tables]
    many = [table for table in many if not table.on & On.SHEET]
    sheets, chapters = meeting(result.detail, many, seen="Data date.")
    others = [chapter for chapter in result.answer.chapters if not chapter.on & On.SHEET]
    full = replace(result.answer, tables=[*many, *sheets], chapters=[*others, *chapters])
    assert sum(len(table.rows) for table in sheets) > 55
    with browser.opened(tmp_path / "profile") as tab:
        for name, answer in (("demo", result.answer), ("full", full)):
            saved = load_saved(save(answer, tmp_path / name, command="by hand"))
            path = tmp_path / f"{name}.html"
            path.write_text(rendered(sheet_of(saved), template="sheet"), encoding="utf-8")
            tab.show(path, width=1280)
            assert tab.printed().count(b"/Type /Page\n") == 1
            assert tab.complaints() == []
