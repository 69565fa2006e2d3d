"""Rules on keys that depend on one another within the weather, its limits and the calendars."""

from collections.abc import Iterator

from towerpace.scenario.complaints import MISSING, Complaint, Path, shown
from towerpace.scenario.raw import Tree, at, named, number_at, table, tables_in, text_at
from towerpace.scenario.references import limit_uses
from towerpace.scenario.schema import LIMIT_VARIABLES

WIND = "wind_above_m_s"
KIND_ALLOWED = '"gust" or "mean" (a wind limit says which, there is no default)'
_EXPOSURES = {"en1991": ("0", "I", "II", "III", "IV"), "asce7": ("B", "C", "D")}


def condition_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about keys that are required or forbidden because of others."""
    for name, limit in named(tree, "limit"):
        yield from _limit_rules(limit, path=("limit", name))
    weather = table(tree, "weather")
    if weather:
        yield from _height_law_rules(tree, weather)
        yield from _generator_rules(weather)
    yield from _cost_rules(tree)
    for name, _ in named(tree, "calendar"):
        yield from _hours_rules(tree, name)


def _hours_rules(tree: Tree, name: str) -> Iterator[Complaint]:
    """Complaints about a calendar that never works, and about dated hours that say no day."""
    path: Path = ("calendar", name, "week")
    dated = [(*place, "week") for place, _ in tables_in(tree, "calendar", name, "dated")]
    works = any(any(table(tree, *week).values()) for week in (path, *dated))
    if isinstance(at(tree, path), dict) and not works:
        yield Complaint(path, "a week without working time", "at least one interval of working time")
    for week in dated:
        if at(tree, week) == {}:
            yield Complaint(week, "an empty table", "the hours of at least one day, as sat")
    for place, entry in tables_in(tree, "calendar", name, "dated"):
        sources = (text_at(entry, "source"), text_at(entry, "fatigue", "source"))
        if "fatigue" in entry and not any(sources):
            yield Complaint((*place, "fatigue"), "a factor without a source", "source, where it comes from")


def _cost_rules(tree: Tree) -> Iterator[Complaint]:
    if table(tree, "cost"):
        return
    for group, keys in (("resource", ("cost_per_day", "cost_mobilise")), ("contract", ("damages_per_day",))):
        for name, entry in named(tree, group):
            for key in keys:
                if key in entry:
                    yield Complaint(
                        (group, name, key), shown(entry[key]), "only with [cost], which names the unit"
                    )
    for name, _ in named(tree, "calendar"):
        for path, dated in tables_in(tree, "calendar", name, "dated"):
            if "premium_per_hour" in dated:
                place, found = (*path, "premium_per_hour"), shown(dated["premium_per_hour"])
                yield Complaint(place, found, "only with [cost], which names the unit")


def _limit_rules(limit: Tree, *, path: Path) -> Iterator[Complaint]:
    variables = [key for key in limit if key in LIMIT_VARIABLES]
    if not variables:
        yield Complaint(path, "missing its variable", f"exactly one of {', '.join(LIMIT_VARIABLES)}")
    for key in variables[1:]:
        yield Complaint((*path, key), "a second variable", f"only {variables[0]}: one variable a limit")
    if WIND in variables:
        if "kind" not in limit:
            yield Complaint((*path, "kind"), MISSING, KIND_ALLOWED)
        threshold, maker = number_at(limit, WIND), number_at(limit, "maker_limit_m_s")
        if threshold is not None and maker is not None and threshold > maker:
            yield Complaint((*path, WIND), f"{threshold:g}", f"at most maker_limit_m_s, which is {maker:g}")
    else:
        for key in ("kind", "maker_limit_m_s"):
            if key in limit:
                yield Complaint((*path, key), shown(limit[key]), f"{key} only with {WIND}")


def _height_law_rules(tree: Tree, weather: Tree) -> Iterator[Complaint]:
    law = text_at(weather, "height_law")
    if law in _EXPOSURES:
        exposures = " or ".join(f'"{name}"' for name in _EXPOSURES[law])
        yield from _required(weather, "site_exposure", allowed=f"{exposures} (classes of {law})")
        exposure = weather.get("site_exposure")
        if exposure is not None and exposure not in _EXPOSURES[law]:
            yield Complaint(("weather", "site_exposure"), shown(exposure), f"{exposures} (classes of {law})")
        for key in ("gust_exponent", "mean_exponent"):
            yield from _forbidden(weather, key, allowed=f'{key} only with height_law = "power"')
    if law == "power":
        yield from _forbidden(weather, "site_exposure", allowed='no site_exposure with height_law = "power"')
        yield from _required(weather, "gust_exponent", allowed='a number, because height_law is "power"')
        if any(text_at(tree, "limit", name, "kind") == "mean" for _, name in limit_uses(tree)):
            yield from _required(
                weather, "mean_exponent", allowed='a number, because a limit of kind "mean" is used'
            )


def _generator_rules(weather: Tree) -> Iterator[Complaint]:
    generator = text_at(weather, "generator")
    if generator == "blocks":
        allowed = 'a number for generator = "blocks"; 0 turns the year factor off'
        yield from _required(weather, "year_factor_sd", allowed=allowed)
        yield from _forbidden(weather, "replay_year", allowed='replay_year only with generator = "replay"')
    if generator == "replay":
        for key in ("year_factor_sd", "block_days", "season_days"):
            yield from _forbidden(weather, key, allowed=f'{key} only with generator = "blocks"')


def _required(weather: Tree, key: str, *, allowed: str) -> Iterator[Complaint]:
    if key not in weather:
        yield Complaint(("weather", key), MISSING, allowed)


def _forbidden(weather: Tree, key: str, *, allowed: str) -> Iterator[Complaint]:
    if key in weather:
        yield Complaint(("weather", key), shown(weather[key]), allowed)
