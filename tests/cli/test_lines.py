"""How printed lines are broken: not within a day, nor within what is set to what."""

import pytest
from rich.console import Console

from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.tables import Column, Table
from towerpace.cli.show import _say, print_table

PARTS = ("hoists = 1", "framing_pairs = 1", "before Sat 26 Aug 2028", "board_pairs = 2", "Fri 01 Sep 2028")
WHOLE = ("hoists = 1", "framing_pairs = 1", "Sat 26 Aug 2028", "board_pairs = 2", "Fri 01 Sep 2028")


@pytest.mark.parametrize("shift", range(12))
def test_sentences_are_broken_between_what_belongs_together(shift, capsys):
    """The parts at every place of a line: whole on one of them, and no line too long."""
    _say(Console(), "x" * shift + " " + ", ".join(PARTS * 3))
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    assert {part: sum(part in line and line.count(part) for line in lines) for part in WHOLE} == (
        dict.fromkeys(WHOLE, 3)
    )


def test_columns_of_sentences_are_broken_alike(capsys):
    columns = (Column("setup", Kind.TEXT), Column("other", Kind.TEXT), Column("third", Kind.TEXT))
    long_name = "a_decision_with_a_long_name = another"  # wider than the column: broken where it must be
    table = Table("t", "", columns).filled([(", ".join(PARTS), ", ".join(PARTS[::-1]), long_name)] * 2)
    print_table(Console(width=80), table)
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    for part in WHOLE:
        assert sum(line.count(part) for line in lines) == 4
    assert all(line.isascii() for line in lines)
