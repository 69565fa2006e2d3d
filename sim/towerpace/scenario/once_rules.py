"""Rules on what happens once: activities, the mock-up and its tries, the water test, and risks."""

from collections import Counter
from collections.abc import Iterator

from towerpace.scenario.complaints import MISSING, Complaint, Path, dotted, listed, shown, unknown_name
from towerpace.scenario.dates import before_start, day_at, start_of
from towerpace.scenario.levels import Levels
from towerpace.scenario.once import (
    LEAVE_OUTS,
    MOCK_UP,
    WATER_TEST,
    by_level,
    conditions_of_once,
    happens_once,
)
from towerpace.scenario.raw import Tree, at, named, number_at, table, tables_in, text_at, texts_in
from towerpace.scenario.references import MILESTONES, OF_FRONTS
from towerpace.scenario.schema import LEVEL_WORDS

LENGTHS = ("work_h", "lift_min", "days")
REMAINS = ("chance_after", "delay_days_after", "factor_after")
EFFECTS = ("delay_days", "factor")
_OF_BANDS = ("band_levels", "column", "in_turn")
# What a wait is called must not be taken for work of a front, nor for drying.
_TAKEN = ("work", "lift", "curing")


def once_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about what happens once, but for names that other tables define."""
    for name, activity in named(tree, "activity"):
        yield from _name_rules(tree, name)
        yield from _length_rules(activity, path=("activity", name))
        yield from _height_rules(tree, activity, path=("activity", name))
        yield from _crane_rules(tree, activity, path=("activity", name))
        yield from _unit_rules(tree, activity, path=("activity", name))
        yield from _band_rules(activity, path=("activity", name))
        if isinstance(activity.get("concrete"), dict):
            yield from exactly_one(
                activity["concrete"], ("cement", "s"), path=("activity", name, "concrete"), what="the curve"
            )
    yield from _more_than_there_are(tree)
    for name, path, condition in conditions_of_once(tree):
        beside = name in by_level(tree) and path[-2] == "after"
        yield from _condition_rules(tree, condition, path=path, beside=beside)
    if table(tree, "closing_in").get("tests") is True and WATER_TEST not in tree:
        yield Complaint(("closing_in", "tests"), "true", "tests only with a table [water_test]")
    yield from _risk_rules(tree)
    yield from _date_rules(tree)


def exactly_one(entry: Tree, keys: tuple[str, ...], *, path: Path, what: str) -> Iterator[Complaint]:
    """Complaints unless exactly one of the keys is given."""
    given = [key for key in keys if key in entry]
    if not given:
        yield Complaint(path, f"missing {what}", f"exactly one of {', '.join(keys)}")
    for key in given[1:]:
        yield Complaint((*path, key), f"a second of {', '.join(keys)}", f"only {given[0]}")


def _name_rules(tree: Tree, name: str) -> Iterator[Complaint]:
    taken = (*MILESTONES, WATER_TEST, LEAVE_OUTS, MOCK_UP, *_TAKEN, *table(tree, "trade"))
    if name in taken:
        yield Complaint(("activity", name), "an activity of this name", f"any name but {listed(taken)}")


def _length_rules(activity: Tree, *, path: Path) -> Iterator[Complaint]:
    yield from exactly_one(activity, LENGTHS, path=path, what="its length")
    if "lift_min" in activity and "lifts" not in activity:
        yield Complaint((*path, "lifts"), MISSING, "a whole number, at least 1, because lift_min is given")
    if "lifts" in activity and "lift_min" not in activity:
        yield Complaint((*path, "lifts"), shown(activity["lifts"]), "lifts only with lift_min")
    if not any(key in activity for key in LENGTHS):
        return
    if "days" in activity:
        for key in ("calendar", "limits"):
            if key in activity:
                yield Complaint(
                    (*path, key), shown(activity[key]), f"no {key} with days, which run round the clock"
                )
    elif "calendar" not in activity:
        yield Complaint((*path, "calendar"), MISSING, "a calendar, because the work keeps working hours")


def _height_rules(tree: Tree, activity: Tree, *, path: Path) -> Iterator[Complaint]:
    """A wind limit is held at a height."""
    if any(key in activity for key in ("height_m", "level", "levels")):
        return
    for where, name in texts_in(activity, "limits"):
        limit = table(tree, "limit", name)
        if "wind_above_m_s" in limit and "height_m" not in limit:
            found = f"{shown(name)} without a height"
            yield Complaint((*path, *where), found, "height_m or level beside a limit on wind")


def _band_rules(activity: Tree, *, path: Path) -> Iterator[Complaint]:
    """Keys of an activity that goes level by level, and what does not go with it."""
    if "levels" not in activity:
        for key in _OF_BANDS:
            if key in activity:
                yield Complaint((*path, key), shown(activity[key]), f"{key} only with levels")
        return
    if "level" in activity:
        yield Complaint((*path, "level"), shown(activity["level"]), "level or levels, not both")
    levels = activity["levels"]
    if isinstance(levels, list) and len(levels) == 2 and levels[0] == levels[1]:
        yield Complaint((*path, "levels"), shown(levels), "two levels, the first and another as the last")
    if "column" in activity and "work_h" not in activity:
        yield Complaint((*path, "column"), shown(activity["column"]), "column only with work_h")
    if "removes" in activity:
        if activity.get("in_turn") is False:
            yield Complaint((*path, "in_turn"), "false", "true with removes: units leave with the last level")
        if "column" in activity:
            found = shown(activity["column"])
            yield Complaint(
                (*path, "column"), found, "no column with removes: units leave with the last level"
            )


def _crane_rules(tree: Tree, activity: Tree, *, path: Path) -> Iterator[Complaint]:
    crane = text_at(tree, "crane", "resource")
    for key in ("needs", "removes", "brings"):
        if crane in table(activity, key):
            found = f"the floor crane {shown(crane)}"
            yield Complaint((*path, key, crane or ""), found, "no floor crane: it stands on fronts")


def _unit_rules(tree: Tree, activity: Tree, *, path: Path) -> Iterator[Complaint]:
    """Units leave or come once, by an activity or by a date, and a resource is named under one key."""
    for key, others in (("removes", ("needs", "brings")), ("brings", ("needs",))):
        for resource in table(activity, key):
            stated = [other for other in others if resource in table(activity, other)]
            stated += [
                dotted(("resource", resource, word))
                for word in (("leaves",) if key == "removes" else ("arrives", "breakdown"))
                if word in table(tree, "resource", resource)
            ]
            date = "leaves" if key == "removes" else "arrives"
            own = tables_in(tree, "resource", resource, "unit")
            stated += [dotted((*unit, date)) for unit, entry in own if date in entry]
            if stated:
                allowed = f"{key} or {stated[0]}, not both"
                yield Complaint((*path, key, resource), shown(resource), allowed)


def _more_than_there_are(tree: Tree) -> Iterator[Complaint]:
    """No more units leave, or come, with all activities together than there are."""
    for key in ("removes", "brings"):
        moved: Counter[str] = Counter()
        for name, activity in named(tree, "activity"):
            for resource, quantity in table(activity, key).items():
                count = number_at(tree, "resource", resource, "count")
                moved[resource] += quantity if isinstance(quantity, int) else 0
                if count is not None and isinstance(quantity, int) and quantity <= count < moved[resource]:
                    found = f"{moved[resource]} of {shown(resource)} in all activities"
                    allowed = f"at most resource.{resource}.count, which is {count:g}"
                    yield Complaint(("activity", name, key, resource), found, allowed)


def _condition_rules(tree: Tree, condition: Tree, *, path: Path, beside: bool) -> Iterator[Complaint]:
    """Beside : whether the condition is of an activity that goes level by level."""
    on = text_at(condition, "on")
    if on is None:
        return
    moving, trades = by_level(tree), list(table(tree, "trade"))
    once = [name for name in happens_once(tree) if name not in moving]
    known = [*MILESTONES, *(n for n in (WATER_TEST, LEAVE_OUTS) if n in tree), *happens_once(tree), *trades]
    stated = [key for key in ("level", "levels_up") if key in condition]
    if on in OF_FRONTS and on not in tree:
        allowed = f"{on} only with a table [{on}]"
        yield Complaint((*path, "on"), shown(on), allowed, cause=allowed)
    elif on not in known:
        yield unknown_name((*path, "on"), on, names=known)
    elif on in once:
        for key in stated:
            yield Complaint((*path, key), shown(condition[key]), f"no {key}, {on} happens once")
    elif "levels_up" in stated and not beside:
        allowed = "level: only an activity with levels counts from its own"
        yield Complaint((*path, "levels_up"), shown(condition["levels_up"]), allowed)
    elif len(stated) == 2:
        yield Complaint((*path, "levels_up"), shown(condition["levels_up"]), "level or levels_up, not both")
    elif not stated and on not in moving:
        words = LEVEL_WORDS + (", or levels_up" if beside else "")
        yield Complaint((*path, "level"), MISSING, words)


def _response_rules(risk: Tree, *, path: Path) -> Iterator[Complaint]:
    """What remains of a risk is said only after what is done about it, and of the effect that it has."""
    remains = [key for key in REMAINS if key in risk]
    if remains and "response" not in risk:
        yield Complaint((*path, "response"), MISSING, f"what is done about it, as {remains[0]} is given")
    for effect in EFFECTS:
        after = f"{effect}_after"
        if after in risk and effect not in risk:
            yield Complaint((*path, after), f"{after} without {effect}", f"only with {effect}")


def _risk_rules(tree: Tree) -> Iterator[Complaint]:
    risks = list(tables_in(tree, "risk"))
    counts = Counter(name for _, risk in risks if (name := text_at(risk, "name")) is not None)
    trades = list(table(tree, "trade"))
    for path, risk in risks:
        name, on = text_at(risk, "name"), text_at(risk, "on")
        if name is not None and counts[name] > 1:
            yield Complaint((*path, "name"), f"{shown(name)} {counts[name]} times", "each name once")
        yield from exactly_one(risk, EFFECTS, path=path, what="its effect")
        yield from _response_rules(risk, path=path)
        known = trades if "factor" in risk else ["handover", *happens_once(tree), *trades]
        if on is not None and on not in known:
            yield unknown_name((*path, "on"), on, names=known)
        elif on == "handover" and "level" not in risk:
            yield Complaint((*path, "level"), MISSING, "the level whose handover is late")
        if on not in (None, "handover") and "level" in risk:
            yield Complaint((*path, "level"), shown(risk["level"]), 'level only with on = "handover"')


def _date_rules(tree: Tree) -> Iterator[Complaint]:
    start = start_of(tree)
    paths: list[Path] = [("activity", name, "not_before") for name, _ in named(tree, "activity")]
    for path in (*paths, (MOCK_UP, "start")):
        day = day_at(tree, *path)
        if start is not None and day is not None and day < start:
            yield Complaint(path, shown(day), before_start(start))


def once_level_rules(tree: Tree, *, levels: Levels) -> Iterator[Complaint]:
    """Complaints about levels that the tower does not have."""
    paths: list[Path] = [("activity", name, "level") for name, _ in named(tree, "activity")]
    paths += [(*path, "level") for _, path, _ in conditions_of_once(tree)]
    paths += [(*path, "level") for path, _ in tables_in(tree, "risk")]
    paths += [("activity", name, "levels", k) for name, _ in named(tree, "activity") for k in (0, 1)]
    lowest, highest = levels.levels[0], levels.levels[-1]
    for path in paths:
        level = at(tree, path)
        if isinstance(level, int) and not isinstance(level, bool) and not lowest <= level <= highest:
            yield Complaint(path, shown(level), f"a level from {lowest} to {highest}")
    for _, path, condition in conditions_of_once(tree):
        yield from _on_its_way(tree, condition, path=path)
    tested, most = number_at(tree, WATER_TEST, "levels"), len(levels.levels)
    if tested is not None and tested > most:
        yield Complaint((WATER_TEST, "levels"), f"{tested:g}", f"at most {most}, the levels of the tower")


def _on_its_way(tree: Tree, condition: Tree, *, path: Path) -> Iterator[Complaint]:
    """An activity is waited for on a level that it comes to."""
    level, ends = condition.get("level"), at(tree, ("activity", text_at(condition, "on") or "", "levels"))
    numbers = [end for end in ends if isinstance(end, int)] if isinstance(ends, list) else []
    if len(numbers) == 2 and isinstance(level, int) and not min(numbers) <= level <= max(numbers):
        allowed = f"a level from {min(numbers)} to {max(numbers)}, those of {condition['on']}"
        yield Complaint((*path, "level"), shown(level), allowed)
