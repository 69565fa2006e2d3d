"""towerpace compare: set-ups against the base on the same draws."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.terminal import (
    AsJson,
    ScenarioPath,
    Seed,
    Trials,
    Workers,
    command_line,
    console,
    cores,
    print_json,
    progress,
)
from towerpace.cli.terminal import table as new_table
from towerpace.face.defaults import COMPARE_TRIALS, SEED


def command(
    scenario: ScenarioPath,
    setups: Annotated[
        list[str] | None,
        typer.Option(
            "--setup", help="Name of a [setup.NAME], or a scenario file; several allowed, all by default."
        ),
    ] = None,
    trials: Trials = COMPARE_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the table and the figure.")] = None,
) -> None:
    """Forecast every set-up on the same draws and print what each gains against the base."""
    from towerpace.answers.choice.chosen import chosen
    from towerpace.face.compare import compare

    if out is not None:
        from towerpace.render.folder import check_folder

        check_folder(out)
    base = read_scenario(scenario, strict=strict)
    _, *others = chosen(base, setups or None)
    with progress("set-ups: trials", trials * (1 + len(others))) as on_done:
        found = compare(
            base, others, trials=trials, seed=seed, workers=workers or min(cores(), trials), on_done=on_done
        )
    if as_json:
        print_json(found.data)
    else:
        _show(found.data)
    if out is not None:
        folder = found.save(out, command=command_line())
        typer.echo(f"\nTable and figure: {folder}", err=as_json)


def _show(data: dict[str, Any]) -> None:
    out = console()
    name, trials, many = data["scenario"], data["trials"], len(data["setups"])
    out.print(f"[bold]{name}[/bold]: {many} set-ups on the same {trials} draws, seed {data['seed']}\n")
    text = ("set-up", "P50", "P80")
    made = new_table(
        "set-up",
        "P50",
        "P80",
        *[c["name"] for c in data["setups"][0]["contract"]],
        "cost",
        title="Finish",
        text=text,
    )
    for one in data["setups"]:
        chances = [f"{100 * c['chance']:.0f} %" for c in one["contract"]]
        cost = "" if one["cost"] is None else f"{one['cost']:,.0f}"
        made.add_row(one["name"], one["p50"] or "beyond", one["p80"] or "beyond", *chances, cost)
    out.print(made)
    out.print()
    made = new_table(
        "set-up",
        "days",
        "95 % interval",
        "P80 days",
        "95 % interval",
        "beats base",
        "cost",
        "95 % interval",
        title="Against the base, paired",
        text=("set-up",),
    )
    for one in data["setups"][1:]:
        made.add_row(
            one["name"],
            *_signed(one, "diff_days", "diff", "+.1f"),
            *_signed(one, "diff_p80_days", "diff_p80", "+.1f"),
            f"{100 * one['beats_base']:.0f} %",
            *_signed(one, "diff_cost", "diff_cost", "+,.0f"),
        )
    out.print(made)
    out.print()
    for one in data["setups"][1:]:
        changes = ", ".join(f"{c['trade']} {c['cause']} {c['hours']:+,.0f} h" for c in one["ledger_changes"])
        out.print(f"{one['name']}: {changes or 'nothing changes in the ledger'}", soft_wrap=False)
    if data["unit"]:
        out.print(f"\ncost in {data['unit']}, mean of a trial", style="dim")
    from towerpace.render.cautions import LIMITS_CAUTION

    out.print(f"! {LIMITS_CAUTION}", style="dim")


def _signed(one: dict[str, Any], key: str, stem: str, style: str) -> tuple[str, str]:
    if one[key] is None:
        return "", ""
    return format(one[key], style), f"{one[f'{stem}_low']:{style}} to {one[f'{stem}_high']:{style}}"
