"""Figures of an update: its trend over the data dates, the flow as built and to come, and what was learned."""

from __future__ import annotations

from towerpace.render.figures.flow import flow_figure
from towerpace.render.figures.learned import learned_figure
from towerpace.render.figures.trend import trend_figure

FIGURES = {"trend": trend_figure, "flow": flow_figure, "learned": learned_figure}
