"""towerpace explain: what held the finish, who waits for what, and how one trial went."""

from __future__ import annotations

from datetime import date
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.announce import announce
from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import (
    Advance,
    AsJson,
    Engine,
    ScenarioPath,
    Seed,
    Trials,
    Workers,
    cores,
    progress,
)
from towerpace.face.defaults import EXPLAIN_TRIALS, SEED


def command(
    scenario: ScenarioPath,
    trial: Annotated[
        int | None,
        typer.Option("--trial", min=0, help="Also tell this trial, as numbered from 0: chain and diary."),
    ] = None,
    days: Annotated[
        str | None,
        typer.Option("--days", metavar="FROM..TO", help="Days of the diary: 2027-10-01..2027-10-14."),
    ] = None,
    removals: Annotated[
        bool, typer.Option("--removals", help="Also remove every source: as many trials for each.")
    ] = False,
    trials: Trials = EXPLAIN_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    engine: Engine = "fastest",
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for tables, figures and the whole diary.")
    ] = None,
) -> None:
    """Say what held the finish over many trials, and with --trial how one of them went."""
    from towerpace.face.explain import explain

    span = _span(days, trial)
    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    announce(loaded, trials=trials, workers=workers or min(cores(), trials))
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        result = explain(
            loaded,
            trials=trials,
            seed=seed,
            trial=trial,
            days=span,
            removals=removals,
            cost=partial(_say_cost, on_done),
            workers=workers or min(cores(), trials),
            engine=engine,
            on_done=on_done,
        )
    hand_over(result, as_json=as_json, out=out)


def _say_cost(bar: Advance, more: int) -> None:
    typer.echo(f"{more:,} trials more to remove every source", err=True)
    bar.expect(more)


def _span(days: str | None, trial: int | None) -> tuple[date, date] | None:
    """First and last day of --days."""
    if days is None:
        return None
    if trial is None:
        raise typer.BadParameter("needs --trial: a diary is of one trial", param_hint="--days")
    first, dots, last = days.partition("..")
    try:
        ends = date.fromisoformat(first), date.fromisoformat(last if dots else first)
    except ValueError:
        raise typer.BadParameter(
            f"found {days}; allowed: FROM..TO, as 2027-10-01..2027-10-14", param_hint="--days"
        ) from None
    if ends[0] > ends[1]:
        raise typer.BadParameter(f"found {days}; FROM must not be after TO", param_hint="--days")
    return ends
