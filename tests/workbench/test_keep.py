"""What is kept changes nothing else of the file, and means what was tried."""

import datetime as dt
import difflib
import hashlib
import random
import tomllib
from pathlib import Path

import pytest

from support import wharf_in_small
from towerpace import InputError, load
from towerpace.scenario.positions import value_spans
from towerpace.scenario.setups import named_setup
from towerpace.workbench.given import changes_given
from towerpace.workbench.keep import BOM, ChangedMeanwhileError, keep_set_up, keep_values
from towerpace.workbench.offered import offers_of

SPREAD = {"low": 10, "likely": 20, "high": 50, "shape": "pert"}
CHANGES = {
    "resource.hoist.count": 3,
    "limit.flat_lift.wind_above_m_s": 9.3,
    "calendar.setting.week.sat": ["08:00-12:30", "13:00-15:00"],
    "family.flat.set_min": SPREAD,
    "calendar.site.closed": [dt.date(2027, 5, 3)],
    "risk[0].chance": 0.5,
    "calendar.site.closed_spans[0].to": dt.date(2028, 1, 5),
}


@pytest.fixture(params=["plain", "marked", "returns", "mixed", "no end"])
def path(request, tmp_path):
    """The same scenario with other ends of lines, with a mark at its beginning, without a last line end."""
    place = wharf_in_small.write(tmp_path)
    content = place.read_bytes()
    if request.param == "marked":
        content = BOM + content
    elif request.param == "returns":
        content = content.replace(b"\n", b"\r\n")
    elif request.param == "mixed":
        half = content.index(b"\n[", len(content) // 2)
        content = content[:half].replace(b"\n", b"\r\n") + content[half:]
    elif request.param == "no end":
        content = content.rstrip(b"\n")
    place.write_bytes(content)
    return str(place)


def bytes_of(path):
    return Path(path).read_bytes()


def digest(path):
    return hashlib.sha256(bytes_of(path)).hexdigest()


def test_a_set_up_is_appended_and_means_what_was_tried(path):
    before = bytes_of(path)
    keep_set_up(path, name="tried", note='as "agreed" on site', changes=CHANGES, was=digest(path))
    after = bytes_of(path)
    assert after.startswith(before)
    added = after[len(before) :]
    assert added.count(b"\r\n") == (added.count(b"\n") if b"\r\n" in before else 0)
    kept = named_setup(load(path), "tried")
    assert kept.scenario.hash == load(path, CHANGES).hash
    assert tomllib.loads(after.decode("utf-8-sig"))["setup"]["tried"]["note"] == 'as "agreed" on site'


def test_values_are_changed_where_they_stand_and_nothing_else(path):
    before = bytes_of(path)
    changes = {key: value for key, value in CHANGES.items() if key != "risk[0].chance"}
    keep_values(path, changes=changes, was=digest(path))
    after = bytes_of(path)
    assert after.startswith(BOM) == before.startswith(BOM)
    old, new = before.splitlines(keepends=True), after.splitlines(keepends=True)
    moved = [k for k, (a, b) in enumerate(zip(old, new, strict=True)) if a != b]
    assert len(moved) == len(changes)
    tree = tomllib.loads(after.decode("utf-8-sig"))
    assert tree["family"]["flat"]["set_min"] == SPREAD
    assert tree["limit"]["flat_lift"]["wind_above_m_s"] == 9.3
    assert load(path).settings.resource["hoist"].count == 3


def test_a_file_that_has_changed_is_left_alone(tmp_path):
    path = str(wharf_in_small.write(tmp_path))
    before = bytes_of(path)
    for keep in (keep_values, lambda *a, **k: keep_set_up(*a, name="x", note="", **k)):
        with pytest.raises(ChangedMeanwhileError):
            keep(path, changes={"resource.hoist.count": 3}, was="0" * 64)
    assert bytes_of(path) == before


@pytest.mark.parametrize(
    ("name", "note", "changes", "key"),
    [
        ("Third hoist", "", {"resource.hoist.count": 3}, "name"),
        ("base", "", {"resource.hoist.count": 3}, "name"),
        ("third_hoist", "", {"resource.hoist.count": 3}, "name"),
        ("a]\nb", "", {"resource.hoist.count": 3}, "name"),
        ("fine", "two\nlines", {"resource.hoist.count": 3}, "note"),
        ("fine", "", {"resource.hoist.leaves": None}, "resource.hoist.leaves"),
        ("fine", "", {}, "changes"),
        ("fine", "", {"resource.panel_gang.count": 0}, "needs.panel_gang"),
    ],
)
def test_what_cannot_be_kept_leaves_the_file_and_its_folder_alone(tmp_path, name, note, changes, key):
    path = str(wharf_in_small.write(tmp_path))
    before, there = bytes_of(path), sorted(tmp_path.iterdir())
    with pytest.raises(InputError) as refused:
        keep_set_up(path, name=name, note=note, changes=changes, was=digest(path))
    assert key in refused.value.faults[0].key
    assert str(tmp_path / ".") not in refused.value.faults[0].text()
    assert bytes_of(path) == before
    assert sorted(tmp_path.iterdir()) == there


def test_every_value_that_stands_in_the_file_has_its_span(tmp_path):
    """Values cut out by their spans are those that tomllib reads."""
    text = wharf_in_small.write(tmp_path).read_text(encoding="utf-8")
    tree = tomllib.loads(text)
    spans = value_spans(text)
    assert len(spans) > 500
    for path, (begin, end) in spans.items():
        node = tree
        for part in path:
            node = node[part]
        assert tomllib.loads(f"v = {text[begin:end]}")["v"] == node, path


def test_random_offers_written_in_place_change_one_line_each(tmp_path):
    place = wharf_in_small.write(tmp_path)
    scenario = load(place)
    offers = offers_of(scenario)
    stated = value_spans(place.read_text(encoding="utf-8"))
    keys = [k for k, o in offers.items() if o.path in stated and o.form.kind == "number" and o.value]
    for key in random.Random(2).sample(keys, 8):
        before = place.read_text(encoding="utf-8")
        changes = changes_given(scenario, offers, {key: round(offers[key].value * 0.97, 4)})
        keep_values(str(place), changes=changes, was=digest(place))
        changed = difflib.unified_diff(
            before.splitlines(), place.read_text(encoding="utf-8").splitlines(), n=0, lineterm=""
        )
        assert len([line for line in changed if line[:1] == "+" and line[:3] != "+++"]) == 1
