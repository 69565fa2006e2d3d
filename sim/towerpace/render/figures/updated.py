"""Figures of an update: its trend over the data dates, the flow as built and to come, the paces."""

from __future__ import annotations

from towerpace.render.figures.as_built import as_built_figure
from towerpace.render.figures.learned import learned_figure
from towerpace.render.figures.trend import trend_figure

FIGURES = {"trend": trend_figure, "flow": as_built_figure, "learned": learned_figure}
