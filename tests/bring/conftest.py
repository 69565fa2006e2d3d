"""The command line in the process, and its report."""

from dataclasses import dataclass
from pathlib import Path

import pytest
from typer.testing import CliRunner

from support.command_line import commands_of
from towerpace.cli.app import app
from towerpace.faults import InputError

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@dataclass(frozen=True)
class Run:
    """What a command said; `faults` is the report of wrong input, empty where all went well."""

    text: str
    faults: str


@pytest.fixture
def bring(tmp_path, monkeypatch):
    """`towerpace bring` in an empty folder; where it refuses, nothing may have been written."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("towerpace.cli.bring.WIDTH", 1000)  # lines are looked for whole
    monkeypatch.setattr("typer.testing._get_command", commands_of)

    def run(*words):
        before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
        done = CliRunner().invoke(app, ["bring", *map(str, words)])
        if isinstance(done.exception, InputError):
            assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before
            return Run(done.output, str(done.exception))
        assert done.exit_code == 0, done.output + str(done.exception)
        return Run(done.output, "")

    return run
