"""The forecast as a person reads it in a terminal."""

from __future__ import annotations

from towerpace import __version__
from towerpace.answers.estimates import Chance, Percentile
from towerpace.answers.forecast import PERCENTILES, Forecast, percentile_names
from towerpace.answers.ledger.book import in_calendar_time
from towerpace.answers.ledger.waits import SHIFT
from towerpace.cli.terminal import console, table
from towerpace.render.cautions import cautions_of

SHOWN_CAUSES = 5
LEVELS_SHOWN = 12


def show(forecast: Forecast) -> None:
    """Print a forecast."""
    out = console()
    out.print(f"[bold]{forecast.tower.name}[/bold]  start {forecast.tower.start:%a %d %b %Y}")
    out.print(
        f"{forecast.trials} trials, seed {forecast.seed}, scenario {forecast.scenario.hash[:12]}, "
        f"towerpace {__version__}\n"
    )
    out.print(_finish(forecast))
    out.print()
    if forecast.contracts:
        out.print(_contracts(forecast))
        out.print()
    if forecast.tower.closing_in.size:
        out.print(_closing_in(forecast))
        out.print()
    out.print(_ledger(forecast))
    out.print()
    for caution in cautions_of(forecast):
        out.print(f"! {caution}", style="dim", soft_wrap=False)


def _date(forecast: Forecast, minute: int | None) -> str:
    return "after the horizon" if minute is None else f"{forecast.days.date_of(minute):%a %d %b %Y}"


def _interval(forecast: Forecast, found: Percentile) -> str:
    if not found.bounded:
        return "too few trials"
    return f"{_date(forecast, found.low)} to {_date(forecast, found.high)}"


def _finish(forecast: Forecast) -> object:
    made = table(
        "", "date", "95 % interval", "working day", title="Finish", text=("", "date", "95 % interval")
    )
    for name, p in zip(percentile_names(), PERCENTILES, strict=True):
        found = forecast.finish_at(p)
        day = "" if found.value is None else str(forecast.days.working_day(found.value))
        made.add_row(name, _date(forecast, found.value), _interval(forecast, found), day)
    return made


def _share(found: Chance) -> tuple[str, str]:
    return f"{100 * found.value:.1f} %", f"{100 * found.low:.1f} to {100 * found.high:.1f} %"


def _contracts(forecast: Forecast) -> object:
    made = table(
        "", "what", "date", "chance", "95 % interval", title="Contract dates", text=("", "what", "date")
    )
    for c in forecast.contracts:
        what = "finish" if c.level is None else f"closing-in of L{c.level}"
        made.add_row(c.name, what, f"{c.date:%a %d %b %Y}", *_share(c.chance))
    if forecast.joint is not None and len(forecast.contracts) > 1:
        made.add_row("all together", "", "", *_share(forecast.joint))
    return made


def _closing_in(forecast: Forecast) -> object:
    made = table("level", "P50", "P80", "95 % interval of P80", title="Closing-in", text=("P50", "P80"))
    half, most = forecast.closing_in(0.5), forecast.closing_in(0.8)
    step = -(-len(half) // LEVELS_SHOWN)
    shown = sorted({*range(0, len(half), step), len(half) - 1})
    for k in shown:
        level, p50 = half[k]
        p80 = most[k][1]
        made.add_row(
            f"L{level}", _date(forecast, p50.value), _date(forecast, p80.value), _interval(forecast, p80)
        )
    if len(shown) < len(half):
        made.caption, made.caption_justify = "every level is in the tables", "left"
    return made


def _ledger(forecast: Forecast) -> object:
    """The largest causes of each trade, without the hours outside the shift."""
    columns = ("", "hours inside the shift, all fronts", "calendar days a front waits for")
    made = table(*columns, title="Where the time goes, in the mean of the trials", text=columns)
    n_fronts = len(forecast.tower.fronts)
    for row, hours in zip(forecast.rows, forecast.ledger_h, strict=True):
        found = [(float(h), c) for h, c in zip(hours, forecast.causes, strict=True) if c != SHIFT]
        found.sort(reverse=True)
        if not found[0][0]:
            continue
        within = [f"{c} {h:,.0f}" for h, c in found if not in_calendar_time(c) and h >= 0.5]
        waits = [(h / 24 / n_fronts, c.removeprefix("after ")) for h, c in found if in_calendar_time(c)]
        made.add_row(
            row,
            ", ".join(within[:SHOWN_CAUSES]),
            ", ".join(f"{c} {days:.1f}" for days, c in waits[:SHOWN_CAUSES] if days >= 0.05),
        )
    return made
