"""Figures of a study, drawn from its folder: how every response depends on the factors."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Sequence
from pathlib import Path

from matplotlib.figure import Figure

from towerpace.answers.sweep.metamodel import metamodel_or_why
from towerpace.render.figures.study_effects import effects_figure
from towerpace.render.figures.study_pairs import pairs_figure
from towerpace.render.figures.study_surface import surface_figure
from towerpace.render.figures.style import DPI, look
from towerpace.render.saved.study import SavedStudy, load_saved_study

KINDS: dict[str, Callable[[SavedStudy, str], Figure]] = {
    "effects": effects_figure,
    "pairs": pairs_figure,
    "surface": surface_figure,
}


def draw_study(
    folder: str | os.PathLike[str],
    response: str,
    *,
    kind: str = "effects",
    factors: Sequence[str] | None = None,
) -> Figure:
    """One figure of a study: its "effects", its "pairs" or its "surface".

    factors : the two of a surface; by default those that move the response most.

    Raises `KeyError` for another kind or response, `InputError` for a folder that is none of a study,
    `ValueError` for a surface that may not be shown, and for factors of another kind.
    """
    saved = load_saved_study(folder)
    if response not in saved.responses:
        raise KeyError(response)
    if factors is not None and kind != "surface":
        raise ValueError(f'factors are chosen for kind "surface", not "{kind}"')
    with look():
        if factors is not None:
            return surface_figure(saved, response, factors=factors)
        return KINDS[kind](saved, response)


def write_study_figures(folder: str | os.PathLike[str]) -> list[Path]:
    """Every response as PNG and SVG: main effects, pairs of factors, the surface where it may be shown."""
    saved, written = load_saved_study(folder), []
    for response in saved.responses:
        for kind in _kinds(saved, response):
            stem = Path(folder) / f"{kind}_{re.sub(r'[^A-Za-z0-9]+', '_', response).strip('_')}"
            with look():
                written += _write(KINDS[kind](saved, response), stem, saved=saved)
    return written


def _kinds(saved: SavedStudy, response: str) -> list[str]:
    """Figures that a response has."""
    model = metamodel_or_why(saved.frame, response)
    has = {"pairs": len(saved.factors) > 1, "surface": not isinstance(model, str) and model.fits}
    return [kind for kind in KINDS if has.get(kind, True)]


def _write(figure: Figure, stem: Path, *, saved: SavedStudy) -> list[Path]:
    """PNG and SVG with the run in their metadata; nothing in them depends on the day or the machine."""
    said, about = figure.get_suptitle().replace("\n", " "), saved.run_text()
    software = f"towerpace {saved.version}"
    png, svg = stem.with_suffix(".png"), stem.with_suffix(".svg")
    figure.savefig(png, dpi=DPI, metadata={"Title": said, "Description": about, "Software": software})
    figure.savefig(svg, metadata={"Title": said, "Description": about, "Creator": software, "Date": None})
    return [png, svg]
