"""towerpace sweep: many scenarios from one study file, kept point by point."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.on_cluster import players
from towerpace.cli.output import hand_over
from towerpace.cli.terminal import INTERRUPTED, AsJson, Cluster, Engine, Workers, cores, progress

if TYPE_CHECKING:
    from towerpace.answers.sweep.plan import Workload


def command(
    study: Annotated[Path, typer.Argument(metavar="STUDY", help="The study file (TOML).")],
    workers: Workers = None,
    engine: Engine = "fastest",
    out: Annotated[
        Path | None,
        typer.Option("--out", help="Folder for the results; by default results/ and the name of the study."),
    ] = None,
    cluster: Cluster = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="Start over in a new folder.")] = False,
    figures: Annotated[
        bool, typer.Option("--figures/--no-figures", help="Draw main effects, pairs and surfaces.")
    ] = True,
    strict: Strict = False,
    as_json: AsJson = False,
) -> None:
    """Play every point of a study; started again, it goes on where it was stopped.

    All points are checked before the first trial.
    """
    from towerpace.answers.sweep.design import Design
    from towerpace.answers.sweep.sweep import SweepInterrupted
    from towerpace.face.sweep import sweep
    from towerpace.scenario.study import read_study

    file = read_study(study)
    read_scenario(file.scenario, strict=strict)
    used = workers or cores()
    try:
        watching = _Watch(file.settings.study.name, points=len(Design(file)))
        with players(cluster, workers=used) as (executor, slots), watching as watch:
            swept = sweep(
                file,
                folder=out,
                workers=slots,
                executor=executor,
                fresh=fresh,
                strict=strict,
                engine=engine,
                on_checked=watch.checked,
                on_plan=watch.plan,
                on_done=watch.done,
            )
    except SweepInterrupted as stop:
        typer.echo(f"Interrupted: {stop}. To go on:\n{_again(study, stop.folder, cluster)}", err=True)
        raise typer.Exit(INTERRUPTED) from None
    hand_over(swept, as_json=as_json, out=None)
    if figures:
        from towerpace.render.figures.study import write_study_figures

        write_study_figures(swept.folder)
    typer.echo(f"\nTables and figures: {swept.folder}", err=as_json)


def _again(study: Path, folder: Path, cluster: str | None) -> str:
    words = ["towerpace", "sweep", str(study), "--out", str(folder)]
    return shlex.join([*words, *(["--cluster", cluster] if cluster else [])])


class _Watch:
    """Says on standard error what is going to be done, and shows how far it is."""

    def __init__(self, name: str, *, points: int) -> None:
        self._name, self._points = name, points
        self._bars = ExitStack()
        self._checked: Callable[[int], None] | None = None
        self._advance: Callable[[int], None] = lambda _: None

    def __enter__(self) -> _Watch:
        return self

    def __exit__(self, *_: object) -> None:
        self._bars.close()

    def checked(self, points: int) -> None:
        """Points whose scenario was found to be right."""
        if self._checked is None:
            self._checked = self._bars.enter_context(progress(f"{self._name}: checking", self._points))
        self._checked(points)

    def plan(self, plan: Workload) -> None:
        """What is left and how long it takes; the bar begins."""
        self._bars.close()
        typer.echo(plan_text(plan), err=True)
        self._advance = self._bars.enter_context(progress(f"{self._name}: points", plan.points))

    def done(self, points: int) -> None:
        """Points that were finished."""
        self._advance(points)


def plan_text(plan: Workload) -> str:
    """How much is left and how long it takes, in words."""
    most = "at most " if plan.rule.within_days is not None else ""
    left = f"{plan.left} of {plan.points}" if plan.left < plan.points else str(plan.points)
    trials = f"{most}{plan.rule.most:,} trials each"
    each = f"{1000 * plan.trial_s:.3g} ms a trial, {plan.point_s:.2g} s to make a point ready"
    workers = f"{plan.workers} {'worker' if plan.workers == 1 else 'workers'}"
    return f"{plan.name}: {left} points, {trials}: {most}about {_time(plan.seconds)} on {workers} ({each})"


def _time(seconds: float) -> str:
    for unit, length in (("d", 86_400), ("h", 3600), ("min", 60)):
        if seconds >= 1.5 * length:
            return f"{seconds / length:.1f} {unit}"
    return f"{max(1, round(seconds))} s"
