"""towerpace check: validate a scenario and say what it is, before any trial."""

from __future__ import annotations

from dataclasses import asdict
from textwrap import fill
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towerpace.cli.loading import Strict, read_scenario, refuse
from towerpace.cli.terminal import WIDTH, AsJson, ScenarioPath, Seed, console, print_json, progress, table

if TYPE_CHECKING:
    from towerpace.answers.prepare import Prepared


def command(
    scenario: ScenarioPath,
    engines: Annotated[
        int | None,
        typer.Option("--engines", min=1, help="Play so many trials on both engines and compare them."),
    ] = None,
    seed: Seed = 1,
    strict: Strict = False,
    as_json: AsJson = False,
) -> None:
    """Check a scenario and print its size, its dates if all goes as planned, what is unusual or unsourced."""
    from towerpace.answers.choice.stated import all_doubts, planned, stated_setups
    from towerpace.answers.outline import outline
    from towerpace.answers.prepare import prepare

    base = read_scenario(scenario, strict=strict, say=False)
    ready, setups = prepare(base), stated_setups(base)
    if engines is not None:
        _compare_engines(ready, trials=engines, seed=seed)
        return
    planned(base, setups)
    doubts = list(all_doubts(base, setups))
    if strict:
        refuse(doubts)
    found = outline(ready)

    def date_of(minute: int | None) -> str | None:
        return None if minute is None else ready.days.date_of(minute).isoformat()

    data: dict[str, Any] = {
        "scenario": ready.tower.name,
        "hash": ready.scenario.hash,
        "levels": found.levels,
        "zones": found.zones,
        "panels": found.panels,
        "steps": found.steps,
        "windows": found.windows,
        "resources": found.resources,
        "planned": {
            "no_weather_no_resource_limits": date_of(found.unhindered),
            "no_weather": date_of(found.calm),
            "weather_as_recorded": date_of(found.record),
        },
        "assumptions": found.assumptions,
        "without_source": list(found.without_source),
        "warnings": [*found.warnings, *(doubt.text() for doubt in doubts)],
        "unusual": [asdict(doubt) for doubt in doubts],
    }
    if as_json:
        print_json(data)
    else:
        _show(data)


def _compare_engines(ready: Prepared, *, trials: int, seed: int) -> None:
    """Say that both engines give the same diaries, or exit 1 with the first difference."""
    from towerpace.answers.engines import first_difference
    from towerpace.engine.fastest import WITHOUT
    from towerpace.engine.kernel import available

    if not available():
        typer.echo(WITHOUT, err=True)
    with progress("both engines: trials", trials) as on_done:
        found = first_difference(ready, trials=trials, seed=seed, on_done=on_done)
    if found is not None:
        typer.echo(f"The engines differ. {found}", err=True)
        raise typer.Exit(1)
    name, steps = ready.tower.name, ready.tower.plan.n
    typer.echo(f"{name}: both engines wrote the same diary of {steps:,} steps in {trials} trials")


def _show(data: dict[str, Any]) -> None:
    from towerpace.render.cautions import LIMITS_CAUTION

    out = console()
    out.print(f"[bold]{data['scenario']}[/bold]: no faults  (scenario {data['hash'][:12]})\n")
    size = table("", "", text=("",))
    for word in ("levels", "zones", "panels", "steps", "windows"):
        size.add_row(word, f"{data[word]:,}")
    for name, count in data["resources"].items():
        size.add_row(name, str(count))
    out.print(size)
    out.print()
    dates = table("", "finish", title="With every duration as planned", text=("", "finish"))
    words = {
        "no_weather_no_resource_limits": "no weather, no resource limits",
        "no_weather": "no weather",
        "weather_as_recorded": "weather as recorded",
    }
    for key, word in words.items():
        dates.add_row(word, data["planned"][key] or "-")
    out.print(dates)
    out.print()
    missing = data["without_source"]
    typer.echo(f"{data['assumptions']} assumptions, {len(missing)} without a source")
    for key in missing:
        typer.echo(f"  {key}")
    for warning in data["warnings"]:
        typer.echo(fill(f"! {warning}", width=WIDTH, subsequent_indent="  ", break_on_hyphens=False))
    typer.echo(f"! {LIMITS_CAUTION}")
