"""The page in a real browser: silent, alone, as wide as the screen, and clean for axe-core."""

from __future__ import annotations

from dataclasses import replace

import pytest

from render.made_answer import MADE
from render.test_page import html
from support import browser
from support.axe import RULES, axe_source
from towerpace.render.folder import save
from towerpace.render.saved.answer_file import load_saved

WIDTHS = (390, 768, 1280, 1600)
pytestmark = [
    pytest.mark.browser,
    # The page is HTML for browsers: without one there is nothing to ask.
    pytest.mark.skipif(browser.binary() is None, reason="no Chromium on this machine"),
]


@pytest.fixture(scope="module")
def written(folder, tmp_path_factory):
    """A page with every kind of block: a forecast, and an answer made by hand with hostile names."""
    place = tmp_path_factory.mktemp("full")
    run = replace(MADE.run, hash=load_saved(folder).answer.run.hash)
    other = save(replace(MADE, run=run), place / "made", command="by hand")
    path = place / "report.html"
    path.write_text(html(folder, other), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def tab(tmp_path_factory):
    with browser.opened(tmp_path_factory.mktemp("profile")) as tab:
        yield tab


@pytest.fixture(scope="module")
def axe(tmp_path_factory):
    return axe_source(tmp_path_factory.mktemp("axe"))


@pytest.mark.parametrize("dark", [False, True])
def test_the_console_is_silent_and_nothing_else_is_asked_for(tab, written, dark):
    tab.show(written, width=1280, dark=dark)
    assert tab.requests() == [written.as_uri()]
    assert tab.complaints() == []


def test_the_browser_would_tell_of_a_request_and_an_error(tab, tmp_path):
    """What the test above looks at does see what is wrong."""
    bad = tmp_path / "bad.html"
    bad.write_text('<img src="missing.png"><script>undefined_name()</script>')
    tab.show(bad, width=1280)
    assert len(tab.requests()) == 2
    assert len(tab.complaints()) >= 2


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("unfolded", [False, True])
def test_no_screen_has_to_be_moved_sideways(tab, written, width, unfolded):
    tab.show(written, width=width)
    if unfolded:
        tab.value("document.querySelectorAll('details').forEach(one => { one.open = true })")
    assert tab.value("document.documentElement.scrollWidth") <= width
    assert tab.value("getComputedStyle(document.querySelector('h1')).fontSize") != "0px"


def test_the_curve_is_drawn_for_the_screen(tab, written):
    shown = "[...document.querySelectorAll('.curve svg')].filter(one => one.checkVisibility()).length"
    letter = (
        "[...document.querySelectorAll('.curve svg')].filter(one => one.checkVisibility())"
        ".map(one => one.querySelector('text.strong').getBoundingClientRect().height)[0]"
    )
    for width in WIDTHS:
        tab.show(written, width=width)
        assert tab.value(shown) == 1
        assert tab.value(letter) >= 11  # pixels


def test_every_link_and_table_is_reached_by_keyboard_and_shows_it(tab, written):
    tab.show(written, width=390)
    first = "document.querySelector('.skip')"
    assert tab.value(f"{first}.focus(), document.activeElement === {first}")
    assert tab.value(f"{first}.getBoundingClientRect().left >= 0")
    hidden = (
        "[...document.querySelectorAll('.scroll')].filter(one => one.checkVisibility()"
        " && one.scrollWidth > one.clientWidth && one.tabIndex < 0).length"
    )
    assert tab.value(hidden) == 0


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [390, 1280])
def test_axe_finds_nothing(tab, written, axe, width, dark):
    tab.show(written, width=width, dark=dark)
    tab.value("document.querySelectorAll('details').forEach(one => { one.open = true })")
    tab.value(f"{axe}; 0")
    found = tab.value(
        f"axe.run(document, {RULES}).then(r => r.violations.map(v => v.id + ': ' + v.nodes[0].html))"
    )
    assert found == []


def test_axe_would_find_a_picture_without_words(tab, axe, tmp_path):
    bad = tmp_path / "bad.html"
    bad.write_text('<!DOCTYPE html><html lang="en"><title>t</title><img src="data:,"></html>')
    tab.show(bad, width=390)
    tab.value(f"{axe}; 0")
    assert "image-alt" in tab.value(f"axe.run(document, {RULES}).then(r => r.violations.map(v => v.id))")
