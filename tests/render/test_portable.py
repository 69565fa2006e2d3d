"""Paths of a machine are cut to what others can read; everything else is left alone."""

from __future__ import annotations

import pytest

from towerpace.answers.portable import portable, portable_command


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("scenarios/a/scenario.toml", "scenarios/a/scenario.toml"),
        ("../a/scenario.toml", "../a/scenario.toml"),
        ("/srv/someone/a/scenario.toml", "a/scenario.toml"),
        ("C:\\Users\\someone\\a\\scenario.toml", "a/scenario.toml"),
        ("mon 07:00-12:00", "mon 07:00-12:00"),
        ("low 1, likely 2, high 3", "low 1, likely 2, high 3"),
    ],
)
def test_a_path_from_the_root_keeps_its_last_two_parts(text, shown):
    assert portable(text) == shown


def test_a_path_below_the_working_folder_is_told_from_there(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    assert portable(str(tmp_path / "one" / "two" / "three.toml")) == "one/two/three.toml"


@pytest.mark.parametrize(
    ("command", "shown"),
    [
        ("towerpace forecast a.toml --seed 7", "towerpace forecast a.toml --seed 7"),
        ("towerpace forecast /x/y/a.toml --out=/x/y/z/run", "towerpace forecast y/a.toml --out=z/run"),
        ("towerpace forecast '/x/my tower/a.toml'", "towerpace forecast 'my tower/a.toml'"),
        ("towerpace forecast it's.toml", "towerpace forecast it's.toml"),
    ],
)
def test_commands_are_cut_word_by_word(command, shown):
    assert portable_command(command) == shown
