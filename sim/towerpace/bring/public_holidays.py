"""Public holidays of a country or a part of it, as the library `holidays` has them."""

import datetime as dt

from towerpace.bring.brought import Tally
from towerpace.bring.days_off import DayOff, DaysOff, day_text
from towerpace.bring.extras import library
from towerpace.faults import Fault, InputError, nearest_word


def public_holidays(country: str, *, region: str | None, first: dt.date, last: dt.date) -> DaysOff:
    """Public holidays between two dates.

    Parameters
    ----------
    country
        Two letters of ISO 3166-1, as GB.
    region
        Its part as ISO 3166-2 has it without the country, as ENG; None for what holds everywhere.
    first, last
        The project's first and last day, both included.

    Raises
    ------
    InputError
        If the library does not know the country or its part, or has no holiday between the dates.
    """
    holidays = library("holidays", asked_by="--country")
    known = holidays.list_supported_countries()
    if country not in known:
        allowed = "two letters of ISO 3166-1 that the library has, as GB"
        raise InputError([_fault("--country", country, allowed, nearest_word(country, known))])
    parts = [part for part in known[country] if region is not None]
    if region is not None and region not in parts:
        allowed = ", ".join(parts) or f"none, as {country} is not divided"
        raise InputError([_fault("--region", region, allowed, nearest_word(region, parts))])
    years = range(first.year, last.year + 1)
    of_years = holidays.country_holidays(country, subdiv=region, years=years)
    inside = {day: name for day, name in sorted(of_years.items()) if first <= day <= last}
    place = f"{country}, {region}" if region else country
    if not inside:
        between = f"holidays between {day_text(first)} and {day_text(last)}"
        raise InputError([_fault("--country", f"no public holiday of {place}", between)])
    estimated = [name for name in inside.values() if "estimated" in name]
    version = getattr(holidays, "__version__", "")
    return DaysOff(
        days=tuple(DayOff(day, day, name) for day, name in inside.items()),
        called=f"public holidays of {place} by the library holidays {version}",
        tallies=(
            Tally(
                "public holidays",
                len(of_years),
                len(inside),
                {"outside the project": len(of_years) - len(inside)},
            ),
        ),
        left_out=tuple(f"{day_text(d)}  {name}" for d, name in sorted(of_years.items()) if d not in inside),
        warnings=_warnings(
            len(estimated), whole_country=region is None and bool(known[country]), place=place
        ),
        made_by=f"holidays {version}",
    )


def _warnings(estimated: int, *, whole_country: bool, place: str) -> tuple[str, ...]:
    warnings = [
        "Days that a government moves or adds later are not in the library: compare with its own list"
    ]
    if estimated:
        warnings.append(f"{estimated} dates are estimated, as those that the moon decides")
    if whole_country:
        warnings.append(f"{place} has regions of its own holidays; --region names one")
    return tuple(warnings)


def _fault(option: str, found: str, allowed: str, nearest: str | None = None) -> Fault:
    return Fault("towerpace bring calendar", None, option, f'"{found}"', allowed, nearest)
