"""Signs that nobody sees: refused by their number wherever people give names or write remarks."""

from __future__ import annotations

import json
import unicodedata

import pytest

from support.site_record import LEVELS, MORE, TOML
from towerpace import load
from towerpace.faults import InputError
from towerpace.scenario.study import read_study
from towerpace.scenario.tables import read_table
from towerpace.scenario.unseen import unseen_in

SIGNS = ("\x00", "\x07", "\x1b", "\x7f", "\x9b", "\u2028", "\u202e", "\u2066", "\ufffe")
REFUSED = "which nobody sees; allowed: words of signs that are seen"


@pytest.fixture
def site(tmp_path):
    (tmp_path / "levels.csv").write_text(LEVELS, encoding="utf-8")
    return tmp_path / "scenario.toml"


@pytest.mark.parametrize("sign", [*SIGNS, "\t", "\n", "\r"])
def test_a_name_or_a_key_with_a_sign_that_nobody_sees_is_refused_with_its_line(site, sign):
    name = json.dumps(f"a{sign}b").replace("\x7f", "\\u007f")
    text = (TOML + MORE).replace('"Reporting site"', name).replace("[activity.crown]", f"[activity.{name}]")
    site.write_text(text.replace('on = "crown"', f"on = {name}"), encoding="utf-8", newline="")
    with pytest.raises(InputError) as refused:
        load(site)

    faults = {fault.key: fault for fault in refused.value.faults}
    assert {"tower.name", "risk[0].on"} <= faults.keys()
    assert {fault.found for fault in faults.values()} == {f"the sign U+{ord(sign):04X}, which nobody sees"}
    assert all(fault.line for fault in faults.values())
    assert str(refused.value).replace("\n", "").isprintable()


@pytest.mark.parametrize("sign", SIGNS)
def test_a_remark_may_have_lines_and_no_other_sign_that_nobody_sees(site, sign):
    remark = '[structure]\nnote = """of two\n\tlines"""\n'
    site.write_text((TOML + MORE).replace("[structure]\n", remark), encoding="utf-8")
    assert load(site).settings.structure.note == "of two\n\tlines"
    escaped = f"\\u{ord(sign):04x}"
    site.write_text((TOML + MORE).replace("[structure]\n", remark.replace("two", escaped)), encoding="utf-8")
    with pytest.raises(InputError, match=rf"structure\.note: found the sign U\+{ord(sign):04X}, {REFUSED}"):
        load(site)


def test_a_study_is_held_to_the_same(site, tmp_path):
    site.write_text(TOML + MORE, encoding="utf-8")
    study = tmp_path / "study.toml"
    study.write_text('[study]\nname = "a\\u001bb"\n', encoding="utf-8")
    with pytest.raises(InputError, match=rf"study\.name: found the sign U\+001B, {REFUSED}"):
        read_study(study)


@pytest.mark.parametrize("sign", SIGNS)
def test_a_cell_of_a_table_is_refused_once_for_all_rows(tmp_path, sign):
    path = tmp_path / "levels.csv"
    path.write_text(LEVELS.replace("north", f"nor{sign}th"), encoding="utf-8", newline="")
    (fault,) = read_table(path, shown_as="levels.csv").faults
    assert (fault.line, fault.key) == (2, "cell 2")
    assert REFUSED.split(";", maxsplit=1)[0] in fault.found


def test_lines_and_tabs_within_a_cell_become_blanks(tmp_path):
    """A spreadsheet keeps the lines of a cell in quotes (RFC 4180, section 2)."""
    path = tmp_path / "promises.csv"
    path.write_text('id,made,what\n1,2027-03-08,"no brackets\ntoday\t."\n', encoding="utf-8")
    (row,) = read_table(path, shown_as="promises.csv").rows
    assert row.cells["what"] == "no brackets today ."
    assert row.line == 3


def test_every_control_that_is_known_to_unicode_is_refused_and_no_letter():
    """General categories of the Unicode character database: Cc are controls."""
    every = [chr(number) for number in range(0x3000)]
    assert all(unseen_in(sign) for sign in every if unicodedata.category(sign) == "Cc")
    assert not [sign for sign in every if unicodedata.category(sign)[0] in "LMNPS" and unseen_in(sign)]
