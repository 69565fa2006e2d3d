"""Public holidays of a country or a part of it, as the library `holidays` has them."""

import datetime as dt
from collections.abc import Mapping, Sequence

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
    regions = _regions(holidays.list_supported_countries(), country=country, region=region)
    years = range(first.year, last.year + 1)
    of_years = dict(sorted(holidays.country_holidays(country, subdiv=region, years=years).items()))
    inside = {day: name for day, name in of_years.items() if first <= day <= last}
    place = f"{country}, {region}" if region else country
    if not inside:
        between = f"holidays between {day_text(first)} and {day_text(last)}"
        raise InputError([_fault("--country", f"no public holiday of {place}", between)])
    estimated = sum("estimated" in name for name in inside.values())
    outside = {"outside the project": len(of_years) - len(inside)}
    made_by = f"holidays {holidays.__version__}"
    return DaysOff(
        days=tuple(DayOff(day, day, name) for day, name in inside.items()),
        called=f"public holidays of {place} by the library {made_by}",
        tallies=(Tally("public holidays", len(of_years), len(inside), outside),),
        left_out=tuple(f"{day_text(day)}  {name}" for day, name in of_years.items() if day not in inside),
        warnings=_warnings(estimated, whole_country=region is None and bool(regions), place=place),
        made_by=made_by,
    )


def _regions(known: Mapping[str, Sequence[str]], *, country: str, region: str | None) -> Sequence[str]:
    """Regions of the country that have holidays of their own; refuses what the library does not know."""
    if country not in known:
        allowed = "two letters of ISO 3166-1 that the library has, as GB"
        raise InputError([_fault("--country", country, allowed, nearest_word(country, known))])
    regions = known[country]
    if region is not None and region not in regions:
        allowed = ", ".join(regions) or f"none, as {country} is not divided"
        raise InputError([_fault("--region", region, allowed, nearest_word(region, regions))])
    return regions


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
