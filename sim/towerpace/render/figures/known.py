"""What it is worth to know a number first, and what the choices lose by its value."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from towerpace.answers.said.people import number, words
from towerpace.render.figures.style import (
    BLACK,
    GREY,
    HALO,
    LINE_COLOURS,
    LINE_DASHES,
    PALE,
    SKY,
    apart,
    new_figure,
    note,
)
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

MOST = 12
FEW = 4  # values of a number: each is marked


def worth_figure(framed: Framed) -> Figure:
    """A bar a number, what is worth most first, with its interval; dark where it would change the choice."""
    rows = framed["numbers"]
    rows = rows[rows["worth_high"] > 0].head(MOST)
    figure = new_figure(framed, title=_title(framed), height_in=max(3.0, 2.0 + 0.36 * len(rows)))
    axes = figure.subplots()
    colours = [SKY if shown else PALE for shown in rows["shown"]]
    axes.barh(range(len(rows)), rows["worth"].to_numpy(float), height=0.62, color=colours, edgecolor=GREY)
    low, high = (rows[name].to_numpy(float) for name in ("worth_low", "worth_high"))
    axes.hlines(range(len(rows)), low, high, color=BLACK, linewidth=1.2)
    axes.set_yticks(range(len(rows)), [words(str(name)) for name in rows["number"]])
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_xlim(left=0)
    axes.xaxis.set_major_locator(MaxNLocator(6))
    axes.xaxis.set_major_formatter("{x:,g}")
    axes.set_xlabel(f"worth of knowing it before choosing, at most [{_unit(framed)}]")
    axes.tick_params(axis="y", length=0)
    axes.grid(axis="x")
    note(axes, "dark: would change the choice; pale: not shown to; line: 95 % interval")
    return figure


def by_value_figure(framed: Framed) -> Figure:
    """What every choice loses against the one made without knowing, by the numbers worth most."""
    table = framed["by_value"]
    names = list(dict.fromkeys(table["number"]))
    figure = new_figure(framed, title=_rule(framed), height_in=4.6)
    for axes, name in zip(figure.subplots(1, len(names), squeeze=False)[0], names, strict=True):
        _panel(axes, table[table["number"] == name])
        unit = framed["numbers"].set_index("number")["unit"][name]
        axes.set_xlabel(words(str(name)) + (f" [{unit}]" if unit not in ("-", "befalls") else ""))
    figure.axes[0].set_ylabel(f"mean loss less that of the choice [{_unit(framed)}]")
    note(figure.axes[-1], "the lowest line is the best choice")
    return figure


def _panel(axes: Axes, rows: DataFrame) -> None:
    ends = []
    for order, (name, line) in enumerate(rows.groupby("setup", sort=False)):
        colour, dash = LINE_COLOURS[order % len(LINE_COLOURS)], LINE_DASHES[order % len(LINE_DASHES)]
        marks = "o" if line["value"].nunique() <= FEW else ""
        mean = line.groupby("value")["diff_loss"].mean()
        axes.plot(mean.index, mean, marker=marks, linewidth=1.8, color=colour, linestyle=dash)
        ends.append((float(mean.iloc[-1]), words(str(name)), colour))
    low, high = axes.get_ylim()
    ends.sort()
    places = apart([end for end, _, _ in ends], gap=0.06 * (high - low))
    last = float(rows["value"].max())
    for place, (_, name, colour) in zip(places, ends, strict=True):
        axes.text(last, place, f"  {name}", va="center", fontsize=9.5, color=colour, path_effects=HALO)
    first = float(rows["value"].min())
    axes.set_xlim(first, last + 0.55 * (last - first))
    axes.set_ylim(low, max(high, places[-1] + 0.05 * (high - low)))
    values = sorted(set(rows["value"].tolist()))
    few = len(values) <= FEW
    axes.set_xticks(values if few else [tick for tick in axes.get_xticks() if first <= tick <= last])
    axes.yaxis.set_major_formatter("{x:,g}")
    axes.grid(axis="y")


def _unit(framed: Framed) -> str:
    unit = framed.answer.table("numbers").columns[3].unit
    return "days" if unit == "d" else unit


def _rule(framed: Framed) -> str:
    """The best choice by the value of the number that is worth most."""
    best = framed["numbers"].iloc[0]
    return f"{words(str(best['number'])).capitalize()}: {words(str(best['rule']))}"


def _title(framed: Framed) -> str:
    rows = framed["numbers"]
    proven = rows[rows["shown"].fillna(False).astype(bool)]
    if not len(proven):
        return "No single number is shown to change the choice"
    best = proven.iloc[0]
    worth = float(best["worth"])
    size = number(worth, digits=1 if _unit(framed) == "days" else None)
    return f"Worth most to know first: {words(str(best['number']))}, up to {size} {_unit(framed)}"


FIGURES = {"worth_knowing": worth_figure, "choice_by_value": by_value_figure}
