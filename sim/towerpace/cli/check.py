"""towerpace check: validate a scenario and say what it is, before any trial."""

from __future__ import annotations

from typing import Any

import typer

from towerpace.cli.terminal import AsJson, ScenarioPath, console, print_json, table


def command(scenario: ScenarioPath, as_json: AsJson = False) -> None:
    """Check a scenario and print its size, its dates if all goes as planned, and what lacks a source."""
    from towerpace.answers.outline import outline
    from towerpace.answers.prepare import prepare
    from towerpace.scenario import load

    ready = prepare(load(scenario))
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
        "warnings": list(found.warnings),
    }
    if as_json:
        print_json(data)
    else:
        _show(data)


def _show(data: dict[str, Any]) -> None:
    from towerpace.report.cautions import LIMITS_CAUTION

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
        typer.echo(f"! {warning}")
    typer.echo(f"! {LIMITS_CAUTION}")
