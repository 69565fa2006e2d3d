"""How every command reads a scenario: its faults end the command, its warnings are counted or refused."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from towerpace.scenario import Scenario
    from towerpace.scenario.doubts import Doubt

Strict = Annotated[
    bool, typer.Option("--strict", help="Refuse what is only unusual, too; check tells what that is.")
]


def read_scenario(path: Path | str, *, strict: bool, say: bool = True) -> Scenario:
    """The scenario of a file; the number of its warnings goes to standard error.

    strict : refuse it if there is any warning. say : False where the command itself tells the warnings.

    Raises `InputError` with every fault, and where `strict`, with every warning as a fault.
    """
    from towerpace.scenario import load
    from towerpace.scenario.doubts import count_of
    from towerpace.scenario.plausible import warnings_of

    scenario = load(path)
    doubts = warnings_of(scenario)
    if strict:
        refuse(doubts)
    if doubts and say:
        tell = "tells it" if len(doubts) == 1 else "tells them"
        typer.echo(f"{count_of(doubts)}: towerpace check {path} {tell}", err=True)
    return scenario


def refuse(doubts: Sequence[Doubt]) -> None:
    """Raise `InputError` with every warning as a fault, if there is any."""
    from towerpace.faults import InputError

    if doubts:
        raise InputError(doubt.fault() for doubt in doubts)
