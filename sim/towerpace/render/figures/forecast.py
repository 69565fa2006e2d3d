"""All figures of a forecast by name."""

from __future__ import annotations

from towerpace.render.figures.closing_in import closing_in_figure
from towerpace.render.figures.finish import finish_figure
from towerpace.render.figures.flow import flow_figure
from towerpace.render.figures.once import once_figure
from towerpace.render.figures.panels import panels_figure
from towerpace.render.figures.time import time_figure

FIGURES = {
    "finish": finish_figure,
    "closing_in": closing_in_figure,
    "flow": flow_figure,
    "panels": panels_figure,
    "activities": once_figure,
    "time": time_figure,
}
