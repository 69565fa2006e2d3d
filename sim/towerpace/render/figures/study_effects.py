"""Main effects: the mean of a response at every value of each factor, with the points behind it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from towerpace.answers.said.people import words
from towerpace.answers.sweep.effects import effects
from towerpace.render.figures.style import BLUE, SKY, note, study_figure
from towerpace.render.saved.study import SavedStudy

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

ACROSS = 3  # panels in a row
CROWD = 60  # points of a value from which single points would only be a smear


def effects_figure(saved: SavedStudy, response: str) -> Figure:
    """One panel a factor, all on one scale."""
    tables = {name: effects(saved.frame, response, factors=[name]) for name in saved.factors}
    rows = -(-len(tables) // ACROSS)
    title = _title(saved, response, tables)
    figure = study_figure(saved, title=title, height_in=1.2 + 3.6 * rows)
    panels = figure.subplots(rows, min(ACROSS, len(tables)), sharey=True, squeeze=False)
    for axes, (name, table) in zip(panels.flat, tables.items(), strict=False):
        _panel(axes, saved, response, name=name, table=table)
    for axes in panels.flat[len(tables) :]:
        axes.set_axis_off()
    for row in panels:
        row[0].set_ylabel(saved.response_axis(response))
    note(panels.flat[min(ACROSS, len(tables)) - 1], _how_to_read(saved))
    return figure


def _title(saved: SavedStudy, response: str, tables: dict[str, DataFrame]) -> str:
    """The factor that moves the response most, and how far."""
    spans = {name: float(t["value"].max() - t["value"].min()) for name, t in tables.items()}
    known = {name: span for name, span in spans.items() if np.isfinite(span)}
    if not known:
        return f"{response} lies beyond the horizon at every value"
    name = max(known, key=lambda n: known[n])
    if known[name] == 0:
        return f"No factor moves {response}"
    table = tables[name]
    unit = {"d": " days", "h": " h", "-": ""}.get(saved.units[response], f" {saved.units[response]}")
    ends = (table.iloc[int(at)] for at in (np.nanargmin(table["value"]), np.nanargmax(table["value"])))
    least, most = (f"{_rounded(end['value'])}{unit} at {_text(end[name])}" for end in ends)
    return f"{response} changes most with {words(name)}: {least}, {most}"


def _rounded(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"


def _text(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _panel(axes: Axes, saved: SavedStudy, response: str, *, name: str, table: DataFrame) -> None:
    places = places_of(axes, table[name].tolist())
    value, low, high = (table[key].to_numpy(dtype=float) for key in ("value", "low", "high"))
    _points(axes, saved, response, name=name)
    known = np.isfinite(low) & np.isfinite(high)
    bars = np.abs(np.vstack((value - low, high - value)))[:, known]
    axes.plot(places, value, "o-", color=BLUE, markersize=5, linewidth=1.5, zorder=3)
    axes.errorbar(
        np.array(places)[known], value[known], yerr=bars, fmt="none", ecolor=BLUE, capsize=4, zorder=3
    )
    axes.set_xlabel(saved.axis(name))
    axes.grid(axis="y")


def _points(axes: Axes, saved: SavedStudy, response: str, *, name: str) -> None:
    """The single points, where they can still be told apart."""
    rows = saved.frame[saved.frame["response"] == response]
    if len(rows) > CROWD * max(1, rows[name].nunique()):
        return
    values = rows[name].tolist()
    if not is_numeric(values):
        at = {label: k for k, label in enumerate(dict.fromkeys(values))}
        values = [at[v] for v in values]
    axes.plot(values, rows["value"], ".", color=SKY, markersize=4, alpha=0.6, zorder=1)


def places_of(axes: Axes, values: list[object]) -> list[float]:
    """Where the values of a factor stand on the axis: numbers on their scale, labels side by side."""
    if is_numeric(values):
        numbers = [float(str(v)) for v in values]
        if all(v % 1 == 0 for v in numbers):
            axes.xaxis.set_major_locator(MaxNLocator(integer=True))
        return numbers
    axes.set_xticks(range(len(values)), [words(str(v)) for v in values])
    axes.set_xlim(-0.4, len(values) - 0.6)
    return [float(k) for k in range(len(values))]


def is_numeric(values: list[object]) -> bool:
    """Whether a factor has numbers, not labels or truths."""
    return all(isinstance(v, int | float) and not isinstance(v, bool) for v in values)


def _how_to_read(saved: SavedStudy) -> str:
    if saved.frame.attrs["design"] == "grid":
        return "mean over the other factors, 95 % interval; dots: points"
    return "mean with the other factors taken off (bins where many), 95 % interval; dots: points"
