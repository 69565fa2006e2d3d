"""towerpace explain: what held the finish, who waits for what, and how one trial went."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Trials, Workers, cores, print_json, progress
from towerpace.face.defaults import EXPLAIN_TRIALS, SEED

if TYPE_CHECKING:
    from towerpace.answers.why.explain import Explanation
    from towerpace.answers.why.telling import Story


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
    trials: Trials = EXPLAIN_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for tables, figures and the whole diary.")
    ] = None,
) -> None:
    """Say what held the finish over many trials, and with --trial how one of them went."""
    from towerpace.face.explain import explain
    from towerpace.render.folder import check_folder

    span = _span(days, trial)
    if out is not None:
        check_folder(out)
    loaded = read_scenario(scenario, strict=strict)
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        why = explain(
            loaded, trials=trials, seed=seed, workers=workers or min(cores(), trials), on_done=on_done
        )
    data = why.data
    story = None if trial is None else _tell(why, trial, data)
    if as_json:
        print_json(data)
    else:
        _show(data, story, span=span)
    if out is not None:
        from towerpace.render.explained import save_explained

        command_line = " ".join(["towerpace", *sys.argv[1:]])
        folder = save_explained(data, why, out, story=story, command=command_line)
        typer.echo(f"\nTables and figures: {folder}", err=as_json)


def _tell(why: Explanation, trial: int, data: dict[str, Any]) -> Story:
    """Play one trial again and put it into the data."""
    from towerpace.answers.why.telling import story_of
    from towerpace.render.explained_object import trial_data

    story = story_of(why.ready, seed=why.seed, trial=trial)
    data |= trial_data(story)
    return story


def _show(data: dict[str, Any], story: Story | None, *, span: tuple[date, date] | None) -> None:
    from towerpace.cli.explain_text import show, show_trial

    show(data)
    if story is None:
        return
    from towerpace.answers.why.telling import LONG_CHAIN, chain_lines, leg_lines

    start = story.start
    lines = [day.text(start) for day in story.diary if span is None or span[0] <= day.on(start) <= span[1]]
    long = len(story.told.stretches) > LONG_CHAIN
    chain = list((leg_lines if long else chain_lines)(story.told, start=start))
    if long:
        chain.append(f"({len(story.told.stretches)} stretches one by one: --json, or --out FOLDER)")
    show_trial(data, chain=chain, diary=lines, whole=span is not None)


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
