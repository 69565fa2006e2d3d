"""What it takes to meet a date, as data and as a person reads it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from towerpace.cli.terminal import console, table

if TYPE_CHECKING:
    from towerpace.answers.choice.target import Reached, Tried


def target_data(found: Reached) -> dict[str, Any]:
    """Every number of a search for a date."""
    from towerpace import __version__
    from towerpace.answers.days import Days

    days, cost = Days(found.scenario.settings), found.scenario.settings.cost

    def one(tried: Tried) -> dict[str, Any]:
        return {
            "added": tried.added,
            "price": None if tried.price == float("inf") else round(tried.price, 3),
            "p80": None if tried.p80 is None else days.date_of(tried.p80).isoformat(),
            "chance": tried.met.value,
            "low": round(tried.met.low, 6),
            "high": round(tried.met.high, 6),
            "trials": tried.trials,
        }

    return {
        "scenario": found.scenario.settings.tower.name,
        "hash": found.scenario.hash,
        "version": __version__,
        "target": found.date.isoformat(),
        "confidence": found.confidence,
        "unit": "units added" if cost is None else cost.unit,
        "resources": list(found.resources),
        "cheapest": None if found.cheapest is None else one(found.cheapest),
        "frontier": [one(t) for t in found.frontier],
        "grid": [one(t) for t in found.grid],
        "trials_used": found.trials_used,
    }


def show_target(data: dict[str, Any]) -> None:
    """Print what meets the date."""
    from towerpace.render.cautions import LIMITS_CAUTION

    out = console()
    tried = ", ".join(data["resources"])
    out.print(
        f"[bold]{data['scenario']}[/bold]: finish by {data['target']} with {100 * data['confidence']:g} %\n"
    )
    if data["cheapest"] is None:
        best = max(data["grid"], key=lambda one: one["chance"])
        out.print(
            f"Not reachable by adding up to two each of {tried}: the best of {len(data['grid'])} set-ups "
            f"({_words(best)}) meets it in {100 * best['chance']:.0f} % of the trials."
        )
    else:
        best = data["cheapest"]
        out.print(
            f"Cheapest of {len(data['grid'])} set-ups of {tried}: {_words(best)}, which meets it in "
            f"{100 * best['chance']:.0f} % of the trials "
            f"({100 * best['low']:.0f} to {100 * best['high']:.0f} %)."
        )
    out.print()
    made = table(
        "added", "price", "P80", "chance", title=f"Frontier, price in {data['unit']}", text=("added", "P80")
    )
    for one in data["frontier"]:
        price = "beyond" if one["price"] is None else f"{one['price']:,.0f}"
        made.add_row(_words(one), price, one["p80"] or "beyond", f"{100 * one['chance']:.0f} %")
    out.print(made)
    out.print(f"\n{data['trials_used']:,} trials used, on common draws", style="dim")
    out.print(f"! {LIMITS_CAUTION}", style="dim")


def _words(one: dict[str, Any]) -> str:
    return ", ".join(f"{name} +{k}" for name, k in one["added"].items()) or "nothing added"
