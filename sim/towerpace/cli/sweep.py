"""towerpace sweep: many scenarios from one study file, kept point by point."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from math import isnan
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towerpace.cli.sweep_metamodel import metamodel_lines, metamodels_data
from towerpace.cli.terminal import AsJson, Workers, console, cores, print_json, progress
from towerpace.cli.terminal import table as new_table

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from towerpace.answers.sweep.plan import Workload
    from towerpace.answers.sweep.sweep import Swept

INTERRUPTED = 130
MOST_SHOWN = 3  # responses beside each other


def command(
    study: Annotated[Path, typer.Argument(metavar="STUDY", help="The study file (TOML).")],
    workers: Workers = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", help="Folder for the results; by default results/ and the name of the study."),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option("--cluster", help="Address of a Dask scheduler, as tcp://10.0.0.1:8786, or local."),
    ] = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="Start over in a new folder.")] = False,
    figures: Annotated[
        bool, typer.Option("--figures/--no-figures", help="Draw main effects, pairs and surfaces.")
    ] = True,
    as_json: AsJson = False,
) -> None:
    """Play every point of a study; started again, it goes on where it was stopped.

    All points are checked before the first trial.
    """
    from towerpace.answers.sweep.design import Design
    from towerpace.answers.sweep.sweep import SweepInterrupted, sweep
    from towerpace.scenario.study import read_study

    file = read_study(study)
    used = workers or cores()
    try:
        watching = _Watch(file.settings.study.name, points=len(Design(file)))
        with _executor(cluster, used) as (executor, slots), watching as watch:
            swept = sweep(
                file,
                folder=out,
                workers=slots,
                executor=executor,
                fresh=fresh,
                on_checked=watch.checked,
                on_plan=watch.plan,
                on_done=watch.done,
            )
    except SweepInterrupted as stop:
        typer.echo(f"Interrupted: {stop}. To go on:\n{_again(study, stop.folder, cluster)}", err=True)
        raise typer.Exit(INTERRUPTED) from None
    if figures:
        from towerpace.render.figures.study import write_study_figures

        write_study_figures(swept.folder)
    if as_json:
        print_json(as_data(swept))
    else:
        _show(swept)


def _again(study: Path, folder: Path, cluster: str | None) -> str:
    words = ["towerpace", "sweep", str(study), "--out", str(folder)]
    return shlex.join([*words, *(["--cluster", cluster] if cluster else [])])


@contextmanager
def _executor(cluster: str | None, workers: int) -> Iterator[tuple[Executor | None, int]]:
    """Somebody else's executor with the number of its workers, or none with our own."""
    if cluster is None:
        yield None, workers
        return
    from towerpace.answers.sweep.cluster import cluster as connected

    with connected(cluster, workers=workers) as (executor, slots):
        yield executor, slots


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


def as_data(swept: Swept) -> dict[str, Any]:
    """Every number of a study."""
    manifest, frame = swept.manifest, swept.frame()
    points = []
    for number, rows in frame.groupby("point", sort=True):
        first = rows.iloc[0]
        points.append(
            {
                "point": int(str(number)),
                "factors": {name: _plain(first[name]) for name in manifest.factors},
                "hash": str(first["scenario_hash"]),
                "seed": int(first["seed"]),
                "responses": {
                    row["response"]: {key: _plain(row[key]) for key in ("value", "low", "high", "trials")}
                    for row in rows.to_dict("records")
                },
            }
        )
    return {
        "study": manifest.name,
        "study_hash": manifest.hash,
        "scenario": manifest.scenario,
        "hash": manifest.scenario_hash,
        "seed": manifest.seed,
        "version": manifest.version,
        "draws": manifest.draws,
        "folder": swept.folder.as_posix(),
        "points": points,
        "metamodels": metamodels_data(frame, manifest.responses),
    }


def _plain(value: Any) -> object:
    """A number or text as JSON has it; null where there is none."""
    value = value.item() if hasattr(value, "item") else value
    return None if isinstance(value, float) and isnan(value) else value


def _show(swept: Swept) -> None:
    from towerpace.answers.sweep.effects import effects
    from towerpace.render.cautions import LIMITS_CAUTION

    manifest, frame, out = swept.manifest, swept.frame(), console()
    shown = list(manifest.responses)[:MOST_SHOWN]
    resumed = f", {swept.resumed} of them done before" if swept.resumed else ""
    out.print(f"[bold]{manifest.name}[/bold] on {manifest.scenario}: {manifest.points} points{resumed}\n")
    made = new_table("factor", "value", "points", *shown, title="Main effects", text=("factor", "value"))
    for factor in manifest.factors:
        tables = [effects(frame, response, factors=[factor]) for response in shown]
        for k, value in enumerate(tables[0][factor].tolist()):
            cells = [_interval(table.iloc[k]) for table in tables]
            text = f"{value:g}" if isinstance(value, float) else str(value)
            made.add_row("" if k else factor, text, str(tables[0]["points"].iloc[k]), *cells)
    out.print(made)
    more = len(manifest.responses) - len(shown)
    also = f"; {more} more responses in the tables" if more > 0 else ""
    out.print(f"\nMeans over all other factors, 95 % interval in brackets{also}.", style="dim")
    for line in metamodel_lines(frame, shown, folder=swept.folder):
        out.print(line, style="dim", soft_wrap=True)
    out.print(f"! {LIMITS_CAUTION}", style="dim")
    typer.echo(f"\nTables and figures: {swept.folder}")


def _interval(row: Any) -> str:
    value, low, high = (float(row[name]) for name in ("value", "low", "high"))
    if isnan(value):
        return "beyond"
    return f"{value:.1f}" if isnan(low) else f"{value:.1f} [{low:.1f}, {high:.1f}]"
