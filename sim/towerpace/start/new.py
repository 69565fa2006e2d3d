"""A new scenario folder, from answers or as a copy of the demo."""

import shutil
from collections.abc import Collection
from pathlib import Path

from towerpace.scenario.json_schema import NAME as SCHEMA
from towerpace.scenario.json_schema import shipped_text
from towerpace.scenario.load import load
from towerpace.start.folder import written_whole
from towerpace.start.questions import Answers
from towerpace.start.scenario_text import levels_text, scenario_text
from towerpace.start.shipped import copy_demo, copy_record


def begin(folder: Path, answers: Answers, *, given: Collection[str]) -> Path:
    """Write a scenario with its levels, schema and record; the path of its file.

    Raises `InputError` if the folder holds something already. Nothing half-written is left.
    """
    with written_whole(folder) as draft:
        text = scenario_text(answers, given=given, record=_record(draft, answers))
        (draft / "scenario.toml").write_text(text, encoding="utf-8", newline="\n")
        (draft / "levels.csv").write_text(levels_text(answers), encoding="utf-8", newline="\n")
        (draft / SCHEMA).write_text(shipped_text(), encoding="utf-8", newline="\n")
        load(draft / "scenario.toml")
    return folder / "scenario.toml"


def example(folder: Path) -> Path:
    """Copy the demo into a new folder; the path of its scenario."""
    with written_whole(folder) as draft:
        copy_demo(draft, schema=SCHEMA)
        (draft / SCHEMA).write_text(shipped_text(), encoding="utf-8", newline="\n")
    return folder / "scenario.toml"


def _record(folder: Path, answers: Answers) -> str:
    own = answers["record"]
    if own is None:
        return copy_record(folder)
    (folder / "weather").mkdir()
    shutil.copyfile(own.path, folder / "weather" / own.path.name)
    return f"weather/{own.path.name}"
