"""towerpace weather: workable hours by month and level band, the record beside the generator."""

from __future__ import annotations

from dataclasses import asdict
from itertools import groupby
from typing import TYPE_CHECKING, Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, console, print_json, progress, table

if TYPE_CHECKING:
    from towerpace.answers.workable import Workable


def command(
    scenario: ScenarioPath,
    trials: Annotated[int, typer.Option("--trials", min=1, help="Generated years.")] = 200,
    seed: Seed = 1,
    bands: Annotated[int, typer.Option("--bands", min=1, help="Bands of levels.")] = 3,
    strict: Strict = False,
    as_json: AsJson = False,
) -> None:
    """Print the workable hours of every operation under weather limits, month by month."""
    from towerpace.answers.prepare import prepare
    from towerpace.answers.workable import workable
    from towerpace.faults import Fault, InputError
    from towerpace.render.cautions import LIMITS_CAUTION

    ready = prepare(read_scenario(scenario, strict=strict))
    if ready.chooser.weather is None:
        raise InputError([Fault(str(scenario), None, "weather", "missing", "a scenario with [weather]")])
    with progress("generated years", trials) as on_done:
        rows = workable(ready, years=trials, seed=seed, bands=bands, on_done=on_done)
    if as_json:
        head = {"scenario": ready.tower.name, "hash": ready.scenario.hash, "seed": seed, "years": trials}
        print_json({**head, "workable": [asdict(row) for row in rows]})
        return
    out = console()
    record = ready.chooser.weather.record
    out.print(
        f"[bold]{ready.tower.name}[/bold]: workable hours of the first twelve months, mean over the levels\n"
        f"record of {record.years[0]}"
        + (f" to {record.years[-1]}" if len(record.years) > 1 else "")
        + f" | mean of {trials} generated years (their P10-P90), hours a month\n"
    )
    for operation, found in groupby(rows, key=lambda row: (row.operation, row.limits)):
        out.print(_table(operation, list(found)))
        out.print()
    typer.echo(f"! {LIMITS_CAUTION}")


def _table(operation: tuple[str, tuple[str, ...]], rows: list[Workable]) -> object:
    """One operation; bands that weather treats alike, as where no limit depends on height, are one column."""
    bands = [
        list(of_band)
        for _, of_band in groupby(rows, key=lambda row: (row.lowest, row.highest, row.operation))
    ]
    kept = [band for k, band in enumerate(bands) if k == 0 or _hours(band) != _hours(bands[k - 1])]
    heads = [f"L{band[0].lowest}-{band[0].highest}" for band in kept] if len(kept) > 1 else ["all levels"]
    name, limits = operation
    made = table("month", "shift", *heads, title=f"{name}  ({', '.join(limits)})", text=("month",))
    for of_month in zip(*kept, strict=True):
        made.add_row(of_month[0].month, f"{of_month[0].shift_h:.0f}", *map(_cell, of_month))
    sums = [
        f"{sum(r.record_h for r in band):.0f} | {sum(r.generated_h for r in band):.0f}{' ' * 10}"
        for band in kept
    ]
    made.add_row("all", f"{sum(row.shift_h for row in kept[0]):.0f}", *sums)
    return made


def _hours(band: list[Workable]) -> list[float]:
    return [row.record_h for row in band]


def _cell(row: Workable) -> str:
    spread = f"({row.generated_p10_h:.0f}-{row.generated_p90_h:.0f})"
    return f"{row.record_h:.0f} | {row.generated_h:3.0f} {spread:>9}"
