"""Wind limit of a load with a large sail, from the limit of the load chart: a warning, never a permission.

A load chart assumes a load with little face to the wind. A facade panel is all face. The convention below
says how far the chart's wind must come down for the same side force; it knows nothing of how the panel
swings, turns or is guided. Where a stated limit is above it, the stated limit looks too brave.
"""

from __future__ import annotations

from math import sqrt

CHART_AREA_M2_PER_KG = 1.2e-3
DRAG_OF_A_FLAT_PANEL = 1.2


def derated_limit_m_s(
    chart_m_s: float, *, mass_kg: float, area_m2: float, drag: float = DRAG_OF_A_FLAT_PANEL
) -> float:
    """Wind up to which the load pulls no harder sideways than the chart assumes. [m/s]

    Parameters
    ----------
    chart_m_s
        Wind limit of the load chart. [m/s]
    mass_kg
        Mass of the load with its tackle. [kg]
    area_m2
        Largest face of the load. [m2]
    drag
        Drag coefficient; 1.2 for a flat panel (common practice, no source). [-]

    Raises
    ------
    ValueError
        If a number is not above 0.

    Notes
    -----
    v = v_chart sqrt(1.2 m / (c A)) with m in tonnes, never above v_chart: charts count with an effective
    area c A of 1.2 m2 for each tonne (EN 13000 and FEM 5.016, from memory). It is a planning warning and
    never a substitute for the maker's word: the manual, the lift plan and the person on site govern.

    Examples
    --------
    >>> round(derated_limit_m_s(9.8, mass_kg=450, area_m2=6), 3)
    2.684
    """
    for name, value in (
        ("chart_m_s", chart_m_s),
        ("mass_kg", mass_kg),
        ("area_m2", area_m2),
        ("drag", drag),
    ):
        if not value > 0:
            raise ValueError(f"{name}: must be > 0, got {value}")
    return chart_m_s * min(1.0, sqrt(CHART_AREA_M2_PER_KG * mass_kg / (drag * area_m2)))
