"""The page to work at in a real browser, served by the command: what people do with it, and how it looks."""

from __future__ import annotations

import json
import shutil
import subprocess
from urllib.parse import quote

import pytest

from support import browser, wharf_in_small
from support.axe import RULES, axe_source
from support.workbench_client import opened

pytestmark = [
    pytest.mark.browser,
    # The page is for browsers: without one there is nothing to ask.
    pytest.mark.skipif(browser.binary() is None, reason="no Chromium on this machine"),
]
HEADLINE = "document.getElementById('headline').textContent"
READY = "document.querySelector('#headline.known') && !document.body.classList.contains('asking')"
GANG = "resource.panel_gang.count"


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    path = wharf_in_small.write(tmp_path_factory.mktemp("wharf"))
    with opened(path, "--seed", "3") as client:
        yield client


@pytest.fixture(scope="module")
def tab(tmp_path_factory, site):
    with browser.opened(tmp_path_factory.mktemp("profile")) as tab:
        tab.show(site.address, width=1280)  # the key becomes a cookie
        yield tab


def with_changes(site, **changes):
    """Address of the page with changes, as a link restores them."""
    dotted = {key.replace("__", "."): value for key, value in changes.items()}
    return f"{site.origin}/?{len(dotted)}#changes={quote(json.dumps(dotted))}"


def shown(tab, address, **how):
    """Load the page and wait for its final answer."""
    tab.show(address, **{"width": 1280, **how})
    tab.until(READY)
    return tab


def input_of(label):
    """The control that bears a name."""
    return f"[...document.querySelectorAll('label')].find(one => one.textContent.endsWith({label!r})).control"


def unfolded(tab):
    tab.value("document.querySelectorAll('details').forEach(one => { one.open = true })")


def test_the_keyboard_alone_changes_a_count_and_reads_the_answer(tab, site):
    shown(tab, f"{site.origin}/")
    before = tab.value(HEADLINE)
    tab.value("document.activeElement.blur()")
    for _ in range(40):
        tab.press("Tab")
        if tab.value("document.activeElement.getAttribute('aria-label') === 'fewer: panel gang'"):
            break
    tab.press(" ")
    tab.until(f"{HEADLINE} !== {before!r}")
    tab.until(READY)
    assert tab.value(f"{input_of('panel gang')}.value") == "1"
    assert "the file says 2" in tab.value("document.querySelector('.change.changed').textContent")
    assert "days on average" in tab.value("document.getElementById('against').textContent")
    assert tab.value("document.getElementById('headline').getAttribute('role')") == "status"

    tab.press("Tab", "Tab", "Tab")  # past the number and +, to what leads back
    tab.press("Enter")
    tab.until(f"{HEADLINE} === {before!r}")
    assert tab.value("document.querySelectorAll('.change.changed').length") == 0


def test_a_link_restores_what_was_changed(tab, site):
    shown(tab, with_changes(site, resource__panel_gang__count=1) + "&level=3&cells=cause")
    assert tab.value(f"{input_of('panel gang')}.value") == "1"
    assert tab.value("document.getElementById('level').value") == "3"
    assert tab.value("document.querySelectorAll('.cell.cause').length") == 8
    assert "days on average" in tab.value("document.getElementById('against').textContent")


def test_what_is_wrong_is_said_and_the_answer_before_stays(tab, site):
    shown(tab, f"{site.origin}/")
    before = tab.value(HEADLINE)
    tab.value(f"location.hash = 'changes=' + {quote(json.dumps({'resource.nobody.count': 3}))!r}")
    tab.until("document.getElementById('faults').textContent.includes('resource.nobody.count')")
    assert tab.value(HEADLINE) == before


def test_few_letters_find_a_key_among_hundreds(tab, site):
    shown(tab, f"{site.origin}/")
    count = "[...document.querySelectorAll('.change')].filter(one => one.checkVisibility()).length"
    tab.value("document.getElementById('find').focus()")
    tab.press(*"setting satur")
    assert 1 <= tab.value(count) <= 3
    saturday = "document.querySelector('.change:not([hidden]) input').value"
    assert tab.value(saturday) == "08:00-12:30"  # as the demo's file says


def test_rows_of_all_pictures_are_the_levels(tab, site):
    """A cell of the elevation, the closing-in beside it and the days moved stand at one height."""
    shown(tab, with_changes(site, resource__panel_gang__count=1))
    middles = (
        "(which) => [...new Set([...document.querySelectorAll(which)].map(one => {"
        " const box = one.getBoundingClientRect();"
        " return Math.round((box.top + box.bottom) / 2 / 4); }))].length"
    )
    for marks in (".cell", "circle.moved", ".now.dot"):
        assert tab.value(f"({middles})('#tower {marks}')") == wharf_in_small.LEVELS


@pytest.mark.parametrize("how", [{}, {"dark": True}, {"still": True}, {"forced": True}])
def test_the_console_is_silent_and_no_request_leaves(tab, site, how):
    shown(tab, with_changes(site, resource__panel_gang__count=1), **how)
    unfolded(tab)
    assert tab.complaints() == []
    assert all(address.startswith((site.origin, "data:")) for address in tab.requests())


@pytest.mark.parametrize("width", [390, 768, 1280, 1600])
def test_no_screen_has_to_be_moved_sideways(tab, site, width):
    shown(tab, with_changes(site, resource__panel_gang__count=1), width=width)
    assert tab.value("document.documentElement.scrollWidth") <= width
    unfolded(tab)
    assert tab.value("document.documentElement.scrollWidth") <= width


def test_letters_twice_as_large_still_fit(tab, site):
    shown(tab, f"{site.origin}/", width=1280)
    tab.ask("Emulation.setDeviceMetricsOverride", width=640, height=450, deviceScaleFactor=2, mobile=False)
    assert tab.value("document.documentElement.scrollWidth") <= 640


@pytest.mark.parametrize("width", [390, 1280])
def test_axe_finds_nothing(tab, site, tmp_path, width):
    axe = axe_source(tmp_path)
    for dark in (False, True):
        shown(tab, with_changes(site, resource__panel_gang__count=1), width=width, dark=dark)
        unfolded(tab)
        tab.value(f"{axe}; 0")
        found = tab.value(
            f"axe.run(document, {RULES}).then(r => r.violations.map(v => v.id + ': ' + v.nodes[0].html))"
        )
        assert found == []


def test_it_prints_on_one_page(tab, site, tmp_path):
    if shutil.which("pdfinfo") is None:
        pytest.skip("no pdfinfo on this machine to count pages with")
    shown(tab, with_changes(site, resource__panel_gang__count=1))
    path = tmp_path / "page.pdf"
    path.write_bytes(tab.printed())
    told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    assert "Pages:           1\n" in told
