"""The look of all figures: a title that says the answer, plain axes, words at the lines, the run below.

Colours are those of Okabe and Ito (2008), Color Universal Design (from memory); line styles, hatches and
words carry the same meaning, so that figures can be read in grey.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from datetime import date, timedelta
from io import BytesIO, StringIO
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib import dates as mdates
from matplotlib import patheffects, style
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.ticker import Formatter, Locator

from towerpace.units import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.backend_bases import RendererBase
    from pandas import Series

    from towerpace.answers.said.answer import Run
    from towerpace.render.frames import Framed
    from towerpace.render.saved.study import SavedStudy

BLUE, SKY, GREEN, ORANGE, RED, PINK, BLACK = (
    "#0072B2",
    "#56B4E9",
    "#009E73",
    "#E69F00",
    "#D55E00",
    "#CC79A7",
    "#000000",
)
GREY, PALE = "#555555", "#DDDDDD"
LINE_COLOURS = (RED, BLUE, GREEN, ORANGE, PINK, BLACK, SKY)  # of the trades, in their order
LINE_DASHES = ("-", "--", "-.", (0, (1, 1)), (0, (5, 1, 1, 1, 1, 1)))
WIDTH_IN = 9.0  # shown 900 px wide, a 10 pt letter is 14 px high
DPI = 150
SVG_DPI = 72  # of the format
PNG_LEVEL = 3  # of compression: 0.7 of the time of 6, for files larger by a twentieth
LETTERS = 86  # of a title line
EPOCH = date(1970, 1, 1)  # matplotlib counts days from here
_MATPLOTLIB_DATES: Any = mdates  # its locators carry no types
HALO = [patheffects.withStroke(linewidth=3, foreground="white")]
_HALOED = re.compile(r'<g id="(halo_\d+)">')
_HALO_BELOW = (
    r'<use xlink:href="#\1" style="fill: #ffffff; stroke: #ffffff; stroke-width: 3; stroke-linejoin: round"/>'
    "\n   "
    r'<g id="\1">'
)
_LOOK: dict[str, Any] = {
    "font.family": ["DejaVu Sans"],
    "font.size": 10.5,
    "axes.labelsize": 10.5,
    "xtick.labelsize": 10.5,
    "ytick.labelsize": 10.5,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": GREY,
    "axes.labelcolor": GREY,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "axes.axisbelow": True,
    "grid.color": PALE,
    "grid.linewidth": 0.7,
    "hatch.linewidth": 0.6,
    "legend.frameon": False,
    "legend.fontsize": 9.5,
    "text.parse_math": False,  # names are the user's words, dollars and all
    "svg.fonttype": "none",
    "svg.hashsalt": "towerpace",  # names inside the file depend on its content only
}


def look() -> AbstractContextManager[None]:
    """The look, over matplotlib's own defaults and whatever the user's settings are."""
    context: AbstractContextManager[None] = style.context(["default", _LOOK])
    return context


class Sheet(Figure):
    """A figure that keeps the look wherever it is drawn, and that a notebook shows without a screen."""

    def draw(self, renderer: RendererBase) -> None:
        """Draw in the look: matplotlib makes marks of an axis late, in the settings of that moment."""
        with look():
            super().draw(renderer)

    def _repr_png_(self) -> bytes:
        """The picture for a notebook."""
        file = BytesIO()
        self.savefig(file, format="png")
        return file.getvalue()


def new_sheet(*, title: str, run: str, height_in: float) -> Sheet:
    """An empty figure with its title and, below, what it was made from."""
    figure = Sheet(figsize=(WIDTH_IN, height_in), layout="constrained")
    FigureCanvasAgg(figure)
    figure.suptitle(wrapped(title), x=0.012, ha="left", fontsize=12, fontweight="bold")
    figure.supxlabel(run, x=0.988, ha="right", fontsize=8, color=GREY)
    return figure


def new_figure(framed: Framed, *, title: str, height_in: float = 5.4) -> Figure:
    """An empty figure with its title and the run it shows."""
    return new_sheet(title=title, run=run_text(framed), height_in=height_in)


def wrapped(title: str) -> str:
    """A title in as few lines as it needs, of about one length, with no date torn apart."""
    lines = -(-len(title) // LETTERS)
    whole = re.sub(r"(\d) ([A-Z][a-z]{2}) (\d{4})", "\\1\xa0\\2\xa0\\3", title)
    return fill(whole, min(LETTERS, len(title) // lines + 8)).replace("\xa0", " ")


def run_text(framed: Framed) -> str:
    """What the figure was made from."""
    return of_run(framed.run)


def of_run(run: Run) -> str:
    """What an answer was made from, on one line."""
    of = "" if run.trials == run.asked else f" of {run.asked}"
    trials = f"{run.trials:,}{of} {'trial' if run.trials == 1 else 'trials'} · " if run.trials else ""
    return f"{run.scenario} · scenario {run.hash[:12]} · seed {run.seed} · {trials}towerpace {run.version}"


def write_figure(figure: Figure, stem: Path, *, run: Run) -> None:
    """PNG and SVG with the run in their metadata; nothing in them depends on the day or the machine."""
    said, about = figure.get_suptitle().replace("\n", " "), of_run(run)
    png = {"Title": said, "Description": about, "Software": f"towerpace {run.version}"}
    svg = {"Title": said, "Description": about, "Creator": png["Software"], "Date": None}
    # `savefig` draws everything twice, once to lay it out: the canvases of the formats do both at once.
    # Where things stand does not depend on the format, and finding out takes longer than drawing them.
    screen_dpi, layout = figure.dpi, figure.get_layout_engine()
    figure.dpi = DPI
    canvas: Any = FigureCanvasAgg(figure)
    canvas.print_png(stem.with_suffix(".png"), metadata=png, pil_kwargs={"compress_level": PNG_LEVEL})
    figure.set_layout_engine("none")
    stem.with_suffix(".svg").write_text(svg_text(figure, svg), encoding="utf-8", newline="\n")
    figure.dpi = screen_dpi
    figure.set_layout_engine(layout)


def svg_text(figure: Figure, metadata: Mapping[str, str | None]) -> str:
    """The figure as SVG.

    matplotlib would draw a text with a halo as the outlines of its letters, twice. Here it stays text, which
    is found and read aloud, and is a tenth as long; below it lies the same text, thick and white.
    """
    haloed = [text for text in figure.findobj(Text) if text.get_path_effects()]
    kept = [(text, text.get_path_effects(), text.get_gid()) for text in haloed]
    file, dpi = StringIO(), figure.dpi
    figure.dpi = SVG_DPI
    try:
        for number, text in enumerate(haloed, start=1):
            text.set_path_effects([])
            text.set_gid(f"halo_{number}")
        canvas: Any = FigureCanvasSVG(figure)
        canvas.print_svg(file, metadata=metadata)
    finally:
        figure.dpi = dpi
        for text, effects, name in kept:
            text.set_path_effects(effects)
            text.set_gid(name)
    return _HALOED.sub(_HALO_BELOW, file.getvalue())


def day_numbers(column: Series[Any]) -> Floats:
    """Dates on matplotlib's scale, nan where blank. [d]"""
    days = column.to_numpy().astype("datetime64[D]")
    return np.where(np.isnat(days), np.nan, days.astype(np.float64))


def day_number(day: date) -> float:
    """A date on matplotlib's scale. [d]"""
    return float((day - EPOCH).days)


def day_text(number: float) -> str:
    """A date as it is read: 8 Apr 2028."""
    day = EPOCH + timedelta(days=number)
    return f"{day.day} {day:%b %Y}"


def date_axis(axes: Axes, *, low: float, high: float) -> None:
    """Dates along the bottom: Mondays or months; at least two weeks."""
    if high - low < 14:
        low, high = (low + high) / 2 - 7, (low + high) / 2 + 7
    axes.set_xlim(low, high)
    if high - low < 75:
        axes.xaxis.set_major_locator(_FoundOnce(_MATPLOTLIB_DATES.WeekdayLocator(mdates.MO)))
    else:
        axes.xaxis.set_major_locator(_FoundOnce(_MATPLOTLIB_DATES.AutoDateLocator(minticks=4, maxticks=9)))
    axes.xaxis.set_major_formatter(_Days())
    axes.grid(axis="x")


class _FoundOnce(Locator):
    """Marks of another locator, looked for once: a figure asks a dozen times, and dates take long."""

    def __init__(self, finder: Locator) -> None:
        self._finder = finder
        self._found: dict[tuple[float, float], Sequence[float]] = {}

    def set_axis(self, axis: Any) -> None:
        """Of the axis on which the marks stand."""
        super().set_axis(axis)
        self._finder.set_axis(axis)

    def __call__(self) -> Sequence[float]:
        axis: Any = self.axis
        low, high = axis.get_view_interval()
        if (low, high) not in self._found:
            self._found = {(low, high): self._finder()}
        return self._found[low, high]


class _Days(Formatter):
    """Months, or days with their month, and the year below the first mark and wherever it changes."""

    def __call__(self, x: float, pos: int | None = None) -> str:  # noqa: ARG002  matplotlib calls it so
        return day_text(x)

    def format_ticks(self, values: Any) -> list[str]:
        """Texts of all marks together."""
        days = [EPOCH + timedelta(days=float(value)) for value in values]
        months = all(day.day == 1 for day in days)
        texts = []
        for k, day in enumerate(days):
            year = f"\n{day.year}" if k == 0 or day.year != days[k - 1].year else ""
            texts.append(f"{day:%b}{year}" if months else f"{day.day} {day:%b}{year}")
        return texts


def level_axis(axes: Axes, levels: list[int]) -> list[int]:
    """Levels up the side; returns those with a number: all of a low tower, every fifth of a tall one."""
    step = 1 if len(levels) <= 12 else 5
    ends = (levels[0], levels[-1])
    # A number beside one of the ends would run into it.
    inner = [v for v in levels if v % step == 0 and min(v - ends[0], ends[1] - v) >= step / 2]
    marked = sorted({*ends, *inner})
    axes.set_yticks(marked)
    axes.set_ylabel("level")
    axes.grid(axis="y")
    return marked


def note(axes: Axes, text: str) -> None:
    """How to read the marks, above the axes."""
    axes.set_title(text, loc="right", fontsize=9, color=GREY)


def apart(places: Iterable[float], *, gap: float) -> list[float]:
    """The places moved as little upward as needed so that each is `gap` above the one before.

    places : ascending.

    >>> apart([0, 1, 10], gap=3)
    [0, 3, 10]
    """
    moved: list[float] = []
    for place in places:
        moved.append(max(place, moved[-1] + gap) if moved else place)
    return moved


def study_figure(framed: SavedStudy, *, title: str, height_in: float) -> Figure:
    """An empty figure with its title and the study it shows."""
    return new_sheet(title=title, run=framed.run_text(), height_in=height_in)
