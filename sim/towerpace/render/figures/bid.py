"""All figures of a bid by name."""

from __future__ import annotations

from towerpace.render.figures.duration import duration_figure
from towerpace.render.figures.finish import finish_figure

FIGURES = {"finish": finish_figure, "duration": duration_figure}
