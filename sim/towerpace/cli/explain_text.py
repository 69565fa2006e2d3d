"""Why the finish is late, as a person reads it in a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from towerpace.answers.why.stretches import said_cause
from towerpace.cli.terminal import console, table
from towerpace.render.cautions import LIMITS_CAUTION

CAUSES_SHOWN = 6
BANDS = 8
POOLS_SHOWN = 8
TRIALS_SHOWN = 3
BEGINS_SHOWN = 4
ENDS_SHOWN = 5  # days of the diary at either end
LEAST_D = 0.05


def show(data: dict[str, Any]) -> None:
    """Print what held the finish over many trials."""
    out = console()
    out.print(f"[bold]{data['scenario']}[/bold]: what held the finish")
    out.print(
        f"{data['trials']} trials, seed {data['seed']}, scenario {data['hash'][:12]}, "
        f"towerpace {data['version']}\n"
    )
    if data["finished"]:
        _block(f"Days of the finish, mean of the {data['finished']} trials that finished", _held(data))
        begins = ", ".join(f"{b['name']} ({100 * b['share']:.0f} %)" for b in data["begins"][:BEGINS_SHOWN])
        out.print(f"The chains begin with {begins}; what came before did not hold the finish.\n")
        _block("On which levels", _bands(data["levels"]))
        _block(
            "Through which resource: days that the finish ran through units others waited for", _pools(data)
        )
    _block("Who waits for what, all fronts together, mean of a trial", _waiting(data))
    _say_unfinished(data)
    typical = [f"trial {one['trial']} is at {p.upper()}" for p, one in data["typical"].items() if one]
    if typical:
        out.print(f"To look at one: {', '.join(typical)} (--trial N).", style="dim")
    out.print(f"! {LIMITS_CAUTION}", style="dim")


def _block(title: str, made: object) -> None:
    out = console()
    out.print(title, style="bold")
    out.print(made)
    out.print()


def _held(data: dict[str, Any]) -> object:
    made = table("", "days", "in trials", "of which", text=("", "of which"))
    for one in data["trades"]:
        causes = [h for h in data["held"] if h["trade"] == one["trade"] and h["days"] >= LEAST_D]
        shown = ", ".join(f"{said_cause(h['cause'])} {h['days']:.1f}" for h in causes[:CAUSES_SHOWN])
        made.add_row(one["trade"], f"{one['days']:.1f}", f"{100 * one['share']:.0f} %", shown)
    made.add_row("together", f"{data['mean_finish_days']:.1f}", "", "from the start to the finish")
    return made


def _bands(levels: Sequence[dict[str, Any]]) -> object:
    """Levels in bands, for a tall tower."""
    made = table("", "days", "busiest level", text=("", "busiest level"))
    size = max(1, -(-len(levels) // BANDS))
    for first in range(0, len(levels), size):
        band = levels[first : first + size]
        most = max(band, key=lambda one: float(one["days"]))
        ends = f"L{band[0]['level']}" + ("" if len(band) == 1 else f" to L{band[-1]['level']}")
        busiest = f"in {100 * most['share']:.0f} % of the trials"
        if len(band) > 1:
            busiest = f"L{most['level']}, {most['days']:.1f} d, {busiest}"
        made.add_row(ends, f"{sum(one['days'] for one in band):.1f}", busiest if most["days"] else "")
    return made


def _pools(data: dict[str, Any]) -> object:
    made = table("", "days", "in trials", text=("",))
    for one in data["pools"][:POOLS_SHOWN]:
        made.add_row(one["pool"], f"{one['days']:.1f}", f"{100 * one['share']:.0f} %")
    if not data["pools"]:
        made.add_row("none: the chain waits for work and dates only", "", "")
    return made


def _waiting(data: dict[str, Any]) -> object:
    columns = ("who", "for a resource, hours inside the shift", "for what comes before, calendar hours")
    made = table(*columns, text=columns)
    for who in dict.fromkeys(one["who"] for one in data["waiting"]):
        by_clock = [
            ", ".join(
                f"{awaited(one)} {one['hours']:,.0f}"
                for one in data["waiting"]
                if one["who"] == who and one["clock"] == clock and one["hours"] >= 0.5
            )
            for clock in ("shift", "calendar")
        ]
        if any(by_clock):
            made.add_row(who, *by_clock)
    return made


def awaited(one: Mapping[str, Any]) -> str:
    """What is waited for; the own trade is elsewhere: on the level below, or beside."""
    return f"{one['for']} elsewhere" if one["for"] == one["who"] else str(one["for"])


def _say_unfinished(data: dict[str, Any]) -> None:
    out, missing = console(), data["unfinished"]
    if not missing:
        return
    locked = sum(one["locked"] for one in missing)
    text = f"! {len(missing)} of {data['trials']} trials do not finish; they count as later than all others."
    if locked:
        text += f" In {locked} of them nothing could have gone on, however long the clock ran."
    out.print(text)
    for one in missing[:TRIALS_SHOWN]:
        out.print(f"  trial {one['trial']}: {one['steps_left']} steps left")
        for wait in one["waits_for"]:
            out.print(f"    {wait}", soft_wrap=True)
    if len(missing) > TRIALS_SHOWN:
        out.print(f"  and {len(missing) - TRIALS_SHOWN} more trials (--json)")


def show_trial(data: dict[str, Any], *, chain: Sequence[str], diary: Sequence[str], whole: bool) -> None:
    """Print chain and diary of one trial; all of the diary that is given, or only its ends."""
    out = console()
    out.print()
    if data["trial_finish"] is None:
        out.print(f"[bold]Trial {data['trial']}[/bold] does not finish: it has no critical chain")
        if data["trial_locked"]:
            out.print("nothing could have gone on, however long the clock ran:")
        for wait in data["trial_waits_for"]:
            out.print(f"  {wait}", soft_wrap=True)
    else:
        out.print(f"[bold]Trial {data['trial']}[/bold], finished {data['trial_finish'][:10]}: critical chain")
        for line in chain:
            out.print(line, soft_wrap=True)
    out.print()
    out.print(f"Site diary of trial {data['trial']}", style="bold")
    shown = list(diary)
    if not whole and len(shown) > 2 * ENDS_SHOWN + 1:
        left = len(shown) - 2 * ENDS_SHOWN
        between = f"... {left} days more: --days FROM..TO, or the whole diary with --out FOLDER"
        shown = [*shown[:ENDS_SHOWN], between, *shown[-ENDS_SHOWN:]]
    for line in shown or ["nothing happened on these days"]:
        out.print(line, soft_wrap=True)
