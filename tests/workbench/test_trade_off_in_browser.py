"""The trade-off of cost against P80 in a real browser: looked for, gone through by keyboard, and kept."""

import pytest

from support import browser
from support.axe import RULES, axe_source
from support.open_tower import FEWER, write_open_tower
from support.workbench_client import opened

pytestmark = [
    pytest.mark.browser,
    # The page is for browsers: without one there is nothing to ask.
    pytest.mark.skipif(browser.binary() is None, reason="no Chromium on this machine"),
]
READY = "document.querySelector('#headline.known') && !document.body.classList.contains('asking')"
FOUND = "!document.getElementById('choice-found').hidden && document.getElementById('choose-stop').hidden"
DETAIL = "document.getElementById('choice-detail').textContent"


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return write_open_tower(tmp_path_factory.mktemp("open"), replace=FEWER)


@pytest.fixture(scope="module")
def tab(path, tmp_path_factory):
    """A page on which the trade-off has been found."""
    with (
        opened(path, "--seed", "3", folder=path.parent) as site,
        browser.opened(tmp_path_factory.mktemp("profile")) as tab,
    ):
        tab.show(site.address, width=1280)
        tab.until(READY, patience_s=300)
        tab.value("document.getElementById('choose').click()")
        tab.until(FOUND, patience_s=300)
        yield tab


def test_arrow_keys_go_through_the_set_ups_and_a_click_on_a_dot_does_the_same(tab):
    radios = "[...document.querySelectorAll('#choice-points input')]"
    assert tab.value(f"{radios}.length") == tab.value("document.querySelectorAll('.a-set-up').length") >= 2
    tab.value(f"{radios}[0].focus()")
    tab.value(f"{radios}[0].click()")
    first = tab.value(DETAIL)
    tab.press("ArrowDown")
    assert tab.value(f"{radios}.findIndex(one => one.checked)") == 1
    assert tab.value(DETAIL) != first
    dots = "[...document.querySelectorAll('.a-set-up')]"
    first_dot = f"{dots}.find(dot => dot.querySelector('text').textContent === '1')"
    tab.value(f"{first_dot}.dispatchEvent(new MouseEvent('click', {{bubbles: true}}))")
    assert tab.value(DETAIL) == first
    assert "P80" in first
    assert "on average" in first


def test_axe_finds_nothing_and_nothing_has_to_be_moved_sideways(tab, tmp_path):
    tab.value(f"{axe_source(tmp_path)}; 0")
    section = "document.getElementById('choice')"
    found = tab.value(
        f"axe.run({section}, {RULES}).then(r => r.violations.map(v => v.id + ': ' + v.nodes[0].html))"
    )
    assert found == []
    assert tab.value("document.documentElement.scrollWidth") <= 1280
    assert tab.complaints() == []


def test_a_set_up_of_the_trade_off_is_started_from_and_kept(tab, path):
    before = path.read_text(encoding="utf-8")
    listed = "[...document.querySelectorAll('#choice-points label')]"
    tab.value(f"{listed}.find(one => !one.textContent.includes('the file')).control.click()")
    tab.value("document.querySelector('#choice-detail button').click()")
    name = tab.value("document.getElementById('set-up').value")
    assert name.startswith("trade-off ")
    tab.until(READY)
    assert "days on average" in tab.value("document.getElementById('against').textContent")
    tab.value("document.getElementById('keep').click()")
    assert name in tab.value("document.getElementById('keep-list').textContent")
    numbered = tab.value("document.getElementById('set-up-name').value")
    assert numbered == name.replace("-", "_").replace(" ", "_")
    tab.value("document.getElementById('set-up-name').value = 'as_found'")
    tab.value("document.getElementById('keep-do').click()")
    tab.until("document.getElementById('keep-said').textContent.startsWith('Written')")
    after = path.read_text(encoding="utf-8")
    assert after.startswith(before)
    assert "[setup.as_found]" in after[len(before) :]
