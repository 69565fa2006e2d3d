"""What an event struck, written as a key of the scenario: a level, a delivery, a resource, a trade."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from towerpace.faults import Fault, nearest_word
from towerpace.record.words import Place, Words
from towerpace.scenario.changes import parse_key
from towerpace.scenario.complaints import Path, RefusalError, dotted, listed
from towerpace.scenario.level_changes import selected
from towerpace.scenario.load import Scenario
from towerpace.scenario.tables import Row, cell_shown

LEVEL, RESOURCE, TRADE, ACTIVITY = "level", "resource", "trade", "activity"
GROUPS = (LEVEL, RESOURCE, TRADE, ACTIVITY)
FORMS = (
    'level."8".handover, level."from 8".handover, level."8".delivery, resource.NAME for one unit, '
    "resource.NAME.away for all units, trade.NAME or activity.NAME"
)


class Struck(Enum):
    """What an event does: levels or trucks come late, one unit or all are out, work is held."""

    HANDOVER = "handover"
    DELIVERY = "delivery"
    UNIT = "a unit"
    UNITS = "all units"
    WORK = "work"


@dataclass(frozen=True, slots=True)
class Effect:
    """What an event struck.

    key : as it was written. name : of the resource, trade or activity; "" of levels.
    levels : that it struck, from the lowest up; empty for all. zone : "" for all.
    """

    struck: Struck
    key: str
    name: str = ""
    levels: tuple[int, ...] = ()
    zone: str = ""

    @property
    def comes_late(self) -> bool:
        """Whether something came on a later day, rather than being out or held for some days."""
        return self.struck in (Struck.HANDOVER, Struck.DELIVERY)

    @property
    def said(self) -> str:
        """As people say it, where the row does not.

        >>> Effect(Struck.UNIT, "resource.hoist", "hoist").said
        'hoist out'
        """
        levels = "" if not self.levels else f" L{self.levels[0]}"
        levels += f" to L{self.levels[-1]}" if len(self.levels) > 1 else ""
        where = f"{levels} {self.zone}".rstrip()
        if self.comes_late:
            return f"{self.struck.value}{where} late"
        return (
            f"{self.name} out" if self.struck in (Struck.UNIT, Struck.UNITS) else f"{self.name}{where} held"
        )


@dataclass(frozen=True)
class Effects:
    """What may be struck.

    resources : units by name. words : of the sheet, with levels and zones. work : names of what may be held,
    by group. trucks : whether any come on days of their own.
    """

    resources: Mapping[str, int]
    words: Words
    work: Mapping[str, list[str]]
    trucks: bool

    @classmethod
    def of(cls, scenario: Scenario, words: Words) -> Effects:
        """Those of a scenario."""
        settings = scenario.settings
        resources = {name: resource.count for name, resource in settings.resource.items()}
        groups = {TRADE: list(settings.trade), ACTIVITY: list(settings.activity)}
        work = {group: [name for name in names if name in words.words] for group, names in groups.items()}
        delivery = settings.delivery
        return cls(resources, words, work, delivery is not None and delivery.order == "planned")


@dataclass(frozen=True)
class EffectReader:
    """Reads the cells effect, level and zone of every row of one table; what it cannot read is a fault."""

    effects: Effects
    file: str
    faults: list[Fault]

    def refuse(self, row: Row, column: str, found: str, allowed: str, *, nearest: str | None = None) -> None:
        """Add a fault of a cell."""
        self.faults.append(Fault(self.file, row.line, column, found, allowed, nearest))

    def read(self, row: Row) -> Effect | None:
        """What the event of a row struck, or None with a fault."""
        cell = row.cells["effect"]
        try:
            path = parse_key(cell)
        except RefusalError:
            self.refuse(row, "effect", cell_shown(cell), FORMS)
            return None
        if path[0] not in GROUPS:
            self.refuse(row, "effect", cell, FORMS, nearest=nearest_word(str(path[0]), GROUPS))
            return None
        readers = {LEVEL: self._level, RESOURCE: self._resource}
        return readers.get(str(path[0]), self._work)(row, cell, path)

    def _level(self, row: Row, cell: str, path: Path) -> Effect | None:
        columns = [Struck.HANDOVER.value, *([Struck.DELIVERY.value] if self.effects.trucks else [])]
        order = [str(level) for level in self.effects.words.levels]
        names = selected(str(path[1]), order) if len(path) > 1 else []
        if not names:
            allowed = f'a level as level."{order[0]}".handover or levels as level."from {order[0]}".handover'
            self.refuse(row, "effect", cell, allowed)
            return None
        if len(path) != 3 or path[2] not in columns:
            last = str(path[2]) if len(path) > 2 else ""
            allowed = " or ".join(f'level."{path[1]}".{column}' for column in columns)
            self.refuse(row, "effect", cell, allowed, nearest=nearest_word(last, columns))
            return None
        struck, levels = Struck(path[2]), tuple(int(name) for name in names)
        if row.cells["level"] not in ("", *names):
            self.refuse(row, "level", row.cells["level"], f"an empty cell, or {listed(names)} as effect says")
            return None
        zone = self._zone(row) if struck is Struck.DELIVERY else self._empty(row, "zone")
        return None if zone is None else Effect(struck, cell, "", levels, zone)

    def _resource(self, row: Row, cell: str, path: Path) -> Effect | None:
        known, name = self.effects.resources, str(path[1]) if len(path) > 1 else ""
        if name not in known:
            self.refuse(
                row, "effect", cell, f"resource.NAME: {listed(known)}", nearest=nearest_word(name, known)
            )
            return None
        if path[2:] not in ((), ("away",)):
            unit = dotted(path[:2])
            self.refuse(row, "effect", cell, f"{unit} for one unit, {unit}.away for all units")
            return None
        if self._empty(row, "level") is None or self._empty(row, "zone") is None:
            return None
        return Effect(Struck.UNITS if path[2:] else Struck.UNIT, cell, name)

    def _work(self, row: Row, cell: str, path: Path) -> Effect | None:
        group, name = str(path[0]), str(path[1]) if len(path) > 1 else ""
        known = self.effects.work[group]
        if name not in known or len(path) != 2:
            allowed = f"{group}.NAME: {listed(known)}" if known else f"no {group}: the scenario has none"
            self.refuse(row, "effect", cell, allowed, nearest=nearest_word(name, known))
            return None
        levels, zone = self._levels(row), self._zone(row)
        if levels is None or zone is None:
            return None
        effect = Effect(Struck.WORK, cell, name, levels, zone)
        if not places_struck(effect, self.effects.words):
            self.refuse(row, "level, zone", effect.said, f"a place that has any of {name}")
            return None
        return effect

    def _levels(self, row: Row) -> tuple[int, ...] | None:
        cell, levels = row.cells["level"], self.effects.words.levels
        if cell and cell not in map(str, levels):
            allowed = f"a level from {levels[0]} to {levels[-1]}, or an empty cell for all"
            self.refuse(row, "level", cell, allowed)
            return None
        return (int(cell),) if cell else ()

    def _zone(self, row: Row) -> str | None:
        cell, zones = row.cells["zone"], self.effects.words.zones
        if cell and cell not in zones:
            allowed = f"{', '.join(zones)}, or an empty cell for all"
            self.refuse(row, "zone", cell, allowed, nearest=nearest_word(cell, zones))
            return None
        return cell

    def _empty(self, row: Row, column: str) -> str | None:
        if row.cells[column]:
            self.refuse(row, column, row.cells[column], "an empty cell, as effect says what was struck")
            return None
        return ""


def places_struck(effect: Effect, words: Words) -> list[Place]:
    """Places of work that an event held."""
    return [
        place
        for place in words.places_of(effect.name)
        if (not effect.levels or place.level in effect.levels) and effect.zone in ("", place.zone)
    ]
