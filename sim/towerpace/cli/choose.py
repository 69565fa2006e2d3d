"""towerpace choose: the least cost for a date, the earliest within a budget, or the trade-off of both."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.on_cluster import code_when_stopped, players
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, Engine, ScenarioPath, Seed, Workers, cores, progress
from towerpace.face import defaults

if TYPE_CHECKING:
    from towerpace.face.choose import Choice
    from towerpace.scenario.load import Scenario

LONGEST = 60  # letters before the bar


def command(
    scenario: ScenarioPath,
    by: Annotated[
        datetime | None,
        typer.Option("--by", formats=["%Y-%m-%d"], help="Find the least cost that finishes by this date."),
    ] = None,
    confidence: Annotated[
        float,
        typer.Option(
            "--confidence",
            min=defaults.LEAST_CONFIDENCE,
            max=defaults.MOST_CONFIDENCE,
            help="With which the date is to be met.",
        ),
    ] = defaults.CHOOSE_CONFIDENCE,
    earliest: Annotated[bool, typer.Option("--earliest", help="Find the earliest P80 instead.")] = False,
    within: Annotated[
        float | None,
        typer.Option("--within", min=0, help="Mean cost that the earliest may have, in the file's unit."),
    ] = None,
    matters: Annotated[
        float,
        typer.Option("--matters", min=defaults.LEAST_MATTERS_DAYS, help="Days of the finish that matter."),
    ] = defaults.MATTERS_DAYS,
    matters_cost: Annotated[
        float | None,
        typer.Option("--matters-cost", min=0, help="Cost that matters; 1 % of the file's if left out."),
    ] = None,
    sure: Annotated[
        float,
        typer.Option(
            "--sure",
            min=defaults.LEAST_CONFIDENCE,
            max=defaults.MOST_CONFIDENCE,
            help="Chance that nothing beside the choice is better by what matters.",
        ),
    ] = defaults.CHOOSE_SURE,
    trials: Annotated[
        int,
        typer.Option("--trials", min=defaults.CHOOSE_LEAST_TRIALS, help="Trials of the search at the most."),
    ] = defaults.CHOOSE_TRIALS,
    fresh: Annotated[
        int,
        typer.Option(
            "--fresh",
            min=defaults.CHOOSE_LEAST_FRESH,
            help="Trials of the choice and of what stands beside it under fresh draws; more where they leave "
            "something open.",
        ),
    ] = defaults.CHOOSE_FRESH,
    keep: Annotated[
        str | None,
        typer.Option(
            "--keep",
            help="Write the choice into the file as [setup.NAME]; of a trade-off all, as NAME_1 and so on.",
        ),
    ] = None,
    played: Annotated[
        Path | None,
        typer.Option("--played", help="File that keeps the trials, to go on from; else one in results/."),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option("--cluster", help="Address of a Dask scheduler, as tcp://10.0.0.1:8786, or local."),
    ] = None,
    seed: Seed = defaults.SEED,
    workers: Workers = None,
    engine: Engine = "fastest",
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for tables and figures.")] = None,
) -> None:
    """Decide what the file's decisions and candidates leave open; stopped, the same command goes on.

    Without --by and --earliest it gives the whole trade-off of cost against P80.
    """
    from towerpace.answers.choose.keeping import usual_file
    from towerpace.answers.choose.names import possible_names
    from towerpace.face.choose import choose
    from towerpace.workbench.keep import check_name, digest_of

    tried(out)
    base = read_scenario(scenario, strict=strict)
    was = digest_of(base.path)
    is_trade_off = by is None and within is None and not earliest
    for name in [] if keep is None else possible_names(keep, of_trade_off=is_trade_off):
        check_name(base.path, name)
    used = workers or cores()
    with players(cluster, workers=used) as (executor, slots), progress("choose", trials) as bar:
        result = choose(
            base,
            by=None if by is None else by.date(),
            confidence=confidence,
            earliest=earliest,
            within=within,
            matters=matters,
            matters_cost=matters_cost,
            sure=sure,
            trials=trials,
            fresh=fresh,
            kept=played or usual_file(base, seed),
            seed=seed,
            workers=slots,
            executor=executor,
            engine=engine,
            say=lambda what: bar.says(what if len(what) <= LONGEST else f"{what[: LONGEST - 3]}..."),
            on_done=bar,
        )
    if keep is not None:
        _keep(result, base, name=keep, was=was)
    hand_over(result, as_json=as_json, out=out, code_when_stopped=code_when_stopped(executor))


def _keep(result: Choice, base: Scenario, *, name: str, was: str) -> None:
    """Write the choice into the file, or the set-ups of a trade-off with their numbers after the name."""
    from towerpace.workbench.keep import ChangedMeanwhileError, digest_of, keep_set_up

    found = {} if result.interrupted else result.set_ups(name)
    if not found:
        why = "the search was cut short" if result.interrupted else "nothing was found but the file as it is"
        typer.echo(f"Nothing kept: {why}.", err=True)
    try:
        for own, changes in found.items():
            keep_set_up(base.path, name=own, note=result.note(own), changes=changes, was=was)
            was = digest_of(base.path)
            typer.echo(f"Kept as [setup.{own}] in {base.path}", err=True)
    except ChangedMeanwhileError:
        typer.echo(f"Not kept: {base.path} was changed while the search ran.", err=True)
