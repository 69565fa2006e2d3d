"""Weather limits of a scenario as a table: what stops the work, gust or mean, and who says so."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table
from towerpace.scenario.schema import Settings

LIMITS = Table(
    "limits",
    "Limits and the authority of each",
    (
        Column("limit", Kind.NAME, about="name in the scenario"),
        Column("stops", Kind.TEXT, about="what stops the work, gust or mean"),
        Column("restart_min", Kind.MINUTES, "restart after [min]", about="clear minutes before it goes on"),
        Column("makers_m_s", Kind.NUMBER, unit="m/s", about="the maker's own limit", on=On.PROGRAMS),
        Column("source", Kind.TEXT, "authority", about="who set it", blank="no source"),
    ),
    about="weather limits with their authority",
    note="Planning inputs, never permission to lift: the makers' limits, the lift plan, local law and the "
    "person on site govern.",
    on=On.ALL & ~On.TERMINAL,
)
_WORDS = {
    "wind_above_m_s": ("wind above", "m/s"),
    "rain_above_mm_h": ("rain above", "mm/h"),
    "temperature_below_degC": ("temperature below", "°C"),
    "temperature_above_degC": ("temperature above", "°C"),
    "visibility_below_km": ("visibility below", "km"),
}
_KINDS = {"gust": "gusts above", "mean": "mean wind above"}


def limit_rows(settings: Settings) -> Iterator[Row]:
    """A row a limit, in the order of the scenario."""
    for name, limit in settings.limit.items():
        what, unit = _WORDS[limit.variable]
        what = _KINDS.get(limit.kind or "", what)
        makers = None if limit.maker_limit_m_s is None else float(limit.maker_limit_m_s)
        stops = f"{what} {float(limit.threshold):g} {unit}"
        if limit.face_sector_deg is not None and limit.lee_factor is not None:
            sector, lee = float(limit.face_sector_deg), float(limit.lee_factor)
            stops += f" from within {sector:g}° of the face, from elsewhere times {lee:g}"
        yield name, stops, limit.restart_min, makers, limit.source or None
