"""Figures of a delay: what each event cost, and how the forecast moved from period to period."""

from __future__ import annotations

from towerpace.render.figures.delayed_cost import cost_figure
from towerpace.render.figures.delayed_moves import moves_figure

FIGURES = {"cost": cost_figure, "moves": moves_figure}
