"""towerpace add: which resource to add, what it buys, and what to add after it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer
from rich.console import Console

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Workers, console, cores, print_json
from towerpace.cli.terminal import table as new_table
from towerpace.face import defaults

if TYPE_CHECKING:
    from towerpace.answers.choice.add import Ranked
    from towerpace.answers.choice.paired import Difference
    from towerpace.answers.choice.target import Reached
    from towerpace.face.add import Advice
    from towerpace.scenario.load import Scenario


def command(
    scenario: ScenarioPath,
    matters: Annotated[
        float,
        typer.Option("--matters", min=defaults.LEAST_MATTERS_DAYS, help="Days of the finish that matter."),
    ] = defaults.MATTERS_DAYS,
    confidence: Annotated[
        float,
        typer.Option(
            "--confidence",
            min=defaults.LEAST_CONFIDENCE,
            max=defaults.MOST_CONFIDENCE,
            help="In the first named, or in the target date.",
        ),
    ] = defaults.ADD_CONFIDENCE,
    most: Annotated[
        int,
        typer.Option("--trials", min=defaults.ADD_LEAST_TRIALS, help="Trials of one set-up at the most."),
    ] = defaults.ADD_TRIALS,
    steps: Annotated[
        int, typer.Option("--steps", min=1, help="Additions of the path at the most.")
    ] = defaults.ADD_STEPS,
    target: Annotated[
        datetime | None,
        typer.Option("--target", formats=["%Y-%m-%d"], help="Date to be met; finds the cheapest set-up."),
    ] = None,
    seed: Seed = defaults.SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
) -> None:
    """Rank one more and one less of every resource, then pairs, and give the path of additions."""
    base, used = read_scenario(scenario, strict=strict), workers or cores()
    with Console(stderr=True).status("", spinner="dots") as status:
        if target is None:
            from towerpace.face.add import add

            advice = add(
                base,
                matters=matters,
                confidence=confidence,
                trials=most,
                steps=steps,
                seed=seed,
                workers=used,
                say=status.update,
            )
            data, show = as_data(advice), _show
        else:
            from towerpace.cli.target_text import show_target, target_data

            wanted = Wanted(target.date(), confidence, most, seed)
            data, show = target_data(_reached(base, wanted, workers=used, say=status.update)), show_target
    if as_json:
        print_json(data)
    else:
        show(data)


class Wanted(NamedTuple):
    """A date to be met, how surely, and how many trials each set-up gets."""

    date: date
    confidence: float
    trials: int
    seed: int


def _reached(base: Scenario, wanted: Wanted, *, workers: int, say: Callable[[str], None]) -> Reached:
    from towerpace.answers.choice.lab import Lab, processes
    from towerpace.answers.choice.target import reach

    with processes(workers) as pool:
        lab = Lab(wanted.seed, executor=pool)
        return reach(
            base,
            lab=lab,
            seed=wanted.seed,
            date=wanted.date,
            confidence=wanted.confidence,
            trials=wanted.trials,
            say=lambda what: say(f"{what} ({lab.spent} trials so far)"),
        )


def as_data(advice: Advice) -> dict[str, Any]:
    """Every number of the advice; negative days are earlier, negative money is cheaper."""
    from towerpace import __version__
    from towerpace.answers.days import Days

    days = Days(advice.base.scenario.settings)
    cost = advice.base.scenario.settings.cost
    return {
        "scenario": advice.base.scenario.settings.tower.name,
        "hash": advice.base.scenario.hash,
        "seed": advice.seed,
        "version": __version__,
        "unit": None if cost is None else cost.unit,
        "matters_days": advice.zone_days,
        "confidence": advice.confidence,
        "procedure": "Kim & Nelson (2001), fully sequential, on common draws",
        "ranking": [_ranked(one) for one in advice.ranking],
        "path": [
            {
                **_ranked(s.ranked),
                "p80": None if s.finish_p80 is None else days.date_of(s.finish_p80).isoformat(),
            }
            for s in advice.path
        ],
        "stopped": advice.stopped,
        "trials_used": advice.trials_used,
        "trials_equal_allocation": advice.trials_equal,
    }


def _ranked(one: Ranked) -> dict[str, Any]:
    return {
        "resource": one.option.resource,
        "change": one.option.change,
        "note": one.option.note,
        **_three("days", "low", "high", one.days),
        **_three("p80_days", "p80_low", "p80_high", one.p80_days),
        **_three("money", "money_low", "money_high", one.money),
        "verdict": one.verdict,
        "trials": one.trials,
    }


def _three(mean: str, low: str, high: str, found: Difference | None) -> dict[str, float | None]:
    if found is None:
        return {mean: None, low: None, high: None}
    return {mean: round(found.mean, 4), low: round(found.low, 4), high: round(found.high, 4)}


def _is_candidate(one: dict[str, Any]) -> bool:
    """Whether it changes what the scenario says under [candidate.NAME], and not a number of units."""
    from towerpace.render.added import name_of

    return name_of(one["resource"], one["change"]) == str(one["resource"])


def _show(data: dict[str, Any]) -> None:
    from towerpace.render.added import name_of
    from towerpace.render.cautions import LIMITS_CAUTION

    out = console()
    out.print(f"[bold]{data['scenario']}[/bold]: what to add, on common draws of seed {data['seed']}\n")
    made = new_table(
        "add",
        "",
        "days",
        "95 % interval",
        "P80 days",
        "cost",
        "trials",
        "verdict",
        title="One change at a time",
        text=("add", "", "verdict"),
    )
    for one in data["ranking"]:
        change = "" if _is_candidate(one) else one["change"]
        made.add_row(one["resource"], change, *_days(one), _money(one), str(one["trials"]), one["verdict"])
    out.print(made)
    for one in filter(_is_candidate, data["ranking"]):
        out.print(f"{one['resource']}: {one['change']}" + (f". {one['note']}" if one["note"] else ""))
    out.print()
    out.print("One after the other", style="bold")
    for k, one in enumerate(data["path"], 1):
        days, interval, _ = _days(one)
        pays = _pays(one)
        name = name_of(one["resource"], one["change"])
        out.print(f"{k}. {name}: {days} days ({interval}){pays}; then P80 {one['p80']}")
    out.print(f"{'after that ' if data['path'] else ''}{data['stopped']}")
    used, equal = data["trials_used"], data["trials_equal_allocation"]
    out.print(
        f"\n{used:,} trials used; equal allocation would have used {equal:,}. {data['procedure']}; "
        f"{data['matters_days']:g} days matter, {100 * data['confidence']:g} % confidence in the first named "
        "of each round.",
        style="dim",
    )
    out.print(f"! {LIMITS_CAUTION}", style="dim")


def _days(one: dict[str, Any]) -> tuple[str, str, str]:
    if one["days"] is None:
        return "", "", ""
    p80 = "" if one["p80_days"] is None else f"{one['p80_days']:+.1f}"
    return f"{one['days']:+.1f}", f"{one['low']:+.1f} to {one['high']:+.1f}", p80


def _money(one: dict[str, Any]) -> str:
    return "" if one["money"] is None else f"{one['money']:+,.0f}"


def _pays(one: dict[str, Any]) -> str:
    if one["money"] is None:
        return ""
    return f", cost {_money(one)}" + (", pays back" if one["money_high"] < 0 else "")
