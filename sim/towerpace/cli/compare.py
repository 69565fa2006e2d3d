"""towerpace compare: set-ups against the base on the same draws."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

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

if TYPE_CHECKING:
    from towerpace.answers.choice.compare import Compared
    from towerpace.answers.choice.paired import Difference
    from towerpace.scenario.load import Scenario
    from towerpace.scenario.setups import SetUp


def command(
    scenario: ScenarioPath,
    setups: Annotated[
        list[str] | None,
        typer.Option(
            "--setup", help="Name of a [setup.NAME], or a scenario file; several allowed, all by default."
        ),
    ] = None,
    trials: Trials = 400,
    seed: Seed = 1,
    workers: Workers = None,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the table and the figure.")] = None,
) -> None:
    """Forecast every set-up on the same draws and print what each gains against the base."""
    from towerpace.answers.choice.compare import compare
    from towerpace.scenario import load

    if out is not None:
        from towerpace.report.folder import check_folder

        check_folder(out)
    base = load(scenario)
    chosen = _chosen(base, setups)
    with progress("set-ups: trials", trials * len(chosen)) as on_done:
        found = compare(
            chosen, trials=trials, seed=seed, workers=workers or min(cores(), trials), on_done=on_done
        )
    data = as_data(found, seed=seed)
    if as_json:
        print_json(data)
    else:
        _show(data, found)
    if out is not None:
        from towerpace.report.compared import save_compared

        folder = save_compared(data, found, out, command=command_line())
        typer.echo(f"\nTable and figure: {folder}", err=as_json)


def _chosen(base: Scenario, names: list[str] | None) -> list[SetUp]:
    from towerpace.scenario import load
    from towerpace.scenario.setups import SetUp, base_of, named_setup

    made = [base_of(base)]
    for name in names or list(base.settings.setup):
        if name.endswith(".toml"):
            made.append(SetUp(Path(name).parent.name or name, {}, load(name)))
        elif name != "base":
            made.append(named_setup(base, name))
    if len(made) == 1:
        from towerpace.faults import Fault, InputError

        raise InputError([Fault(base.path, None, "setup", "none", "at least one [setup.NAME] to compare")])
    return made


def as_data(found: list[Compared], *, seed: int) -> dict[str, Any]:
    """Every number of a comparison."""
    from towerpace import __version__

    base = found[0].forecast
    return {
        "scenario": base.tower.name,
        "hash": base.scenario.hash,
        "seed": seed,
        "trials": base.trials,
        "version": __version__,
        "unit": None if base.costs is None else base.costs.unit,
        "setups": [_setup(one) for one in found],
    }


def _setup(one: Compared) -> dict[str, Any]:
    from towerpace.answers.forecast import iso

    forecast, against = one.forecast, one.against
    half, most = forecast.finish_at(0.5), forecast.finish_at(0.8)
    made: dict[str, Any] = {
        "name": one.setup.name,
        "hash": forecast.scenario.hash,
        "changes": {key: str(value) for key, value in one.setup.changes.items()},
        "p50": iso(forecast.days, half.value),
        "p80": iso(forecast.days, most.value),
        "p80_low": iso(forecast.days, most.low) if most.bounded else None,
        "p80_high": iso(forecast.days, most.high) if most.bounded else None,
        "contract": [{"name": c.name, "chance": c.chance.value} for c in forecast.contracts],
        "beyond_horizon": forecast.beyond,
        "cost": _mean_cost(one),
    }
    if against is not None:
        made |= {
            **_difference("diff", against.days, "_days"),
            **_difference("diff_p80", against.p80_days, "_days"),
            **_difference("diff_cost", against.money, ""),
            "beats_base": against.beats.value,
            "ledger_changes": [
                {"trade": s.row, "cause": s.cause, "hours": round(s.hours, 2)} for s in against.shifts
            ],
        }
    return made


def _difference(name: str, found: Difference | None, unit: str) -> dict[str, float | None]:
    values = (None, None, None) if found is None else (found.mean, found.low, found.high)
    rounded = [None if v is None else round(v, 4) for v in values]
    return dict(zip((f"{name}{unit}", f"{name}_low", f"{name}_high"), rounded, strict=True))


def _mean_cost(one: Compared) -> float | None:
    from towerpace.answers.cost import PARTS

    cost = one.forecast.cost
    return None if cost is None or one.forecast.beyond else round(float(cost.mean()) / PARTS, 3)


def _show(data: dict[str, Any], found: list[Compared]) -> None:
    out = console()
    name, trials = data["scenario"], data["trials"]
    out.print(f"[bold]{name}[/bold]: {len(found)} set-ups on the same {trials} draws, seed {data['seed']}\n")
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
    from towerpace.report.cautions import LIMITS_CAUTION

    out.print(f"! {LIMITS_CAUTION}", style="dim")


def _signed(one: dict[str, Any], key: str, stem: str, style: str) -> tuple[str, str]:
    if one[key] is None:
        return "", ""
    return format(one[key], style), f"{one[f'{stem}_low']:{style}} to {one[f'{stem}_high']:{style}}"
