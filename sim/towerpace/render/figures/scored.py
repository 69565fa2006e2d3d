"""Figures of marks: what came beside what was forecast, its trend, promises kept, chances."""

from __future__ import annotations

from towerpace.render.figures.came import came_figure
from towerpace.render.figures.came_trend import trend_figure
from towerpace.render.figures.kept import kept_figure, reliability_figure

FIGURES = {
    "came": came_figure,
    "trend": trend_figure,
    "kept": kept_figure,
    "reliability": reliability_figure,
}
