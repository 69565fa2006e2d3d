"""Hoist trips: crates up, empty crates down, and the stops in which the masts are extended."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from towerpace.plan.laws import Term
from towerpace.plan.parts import Give, Step, Tags
from towerpace.plan.site.crates import FIRST, HOISTING, Crate
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import Front, handover_name
from towerpace.plan.site.sequence import Sequence
from towerpace.plan.site.travel import travel_s
from towerpace.scenario.schema import Hoist

HOUR_MIN = 60


@dataclass
class Hoisting:
    """Writes the hoist trips of one panel trade; counts crates as it goes."""

    draft: Draft
    name: str
    sequence: Sequence
    crates: int = 0
    items: dict[tuple[int, int], int] = field(default_factory=dict)

    @property
    def terms(self) -> Hoist:
        """The table of the scenario."""
        assert self.sequence.settings.hoist is not None, "the scenario is checked when it is loaded"
        return self.sequence.settings.hoist

    def up(self, front: Front, crate: Crate, *, after: list[str], gives: list[Give], rank: int) -> str:
        """Up and down again with one crate."""
        item = self.items[front.number, crate.number] = self.crates
        self.crates += 1
        terms = (Term(self.terms.load_min, "hoist loading"), Term(self.terms.unload_min, "hoist unloading"))
        name = f"{self.name} {front.where}: crate {crate.number} up"
        tags = Tags(trade=HOISTING, level=front.level, zone=front.zone, kind="hoist trip")
        step = Step(name, after=after, gives=gives, rank=rank + crate.number, tags=tags)
        return self.trip(front, step, item, terms)

    def down(self, front: Front, crate: Crate, *, after: list[str], gives: list[Give], rank: int) -> str:
        """Up with nothing, down with an empty crate: drawn apart from the way up."""
        item = self.items[front.number, crate.number]
        terms = (Term(self.terms.load_min, "empty loading"), Term(self.terms.unload_min, "empty unloading"))
        name = f"{self.name} {front.where}: crate {crate.number} down"
        tags = Tags(trade=HOISTING, level=front.level, zone=front.zone, kind="empty crate down")
        step = Step(name, after=after, gives=gives, rank=rank + crate.number, tags=tags)
        return self.trip(front, step, item, terms)

    def trip(self, front: Front, step: Step, item: int, terms: tuple[Term, ...]) -> str:
        """The whole way there and back, as a share of the hoist's time."""
        hoist = self.terms
        height_m = float(self.sequence.levels.height_m[front.floor])
        one_way_s = travel_s(
            height_m,
            speed_m_s=float(hoist.speed_m_s),
            acceleration_m_s2=float(hoist.acceleration_m_s2),
            jerk_m_s3=None if hoist.jerk_m_s3 is None else float(hoist.jerk_m_s3),
        )
        chance = Chance(item, factor=1 / float(hoist.share), fixed=2 * one_way_s / 60, terms=terms)
        window = self.draft.closures.window(
            hoist.calendar, limits=hoist.limits, height_m=height_m, also=hoist.night
        )
        work, needs = self.draft.expected(chance), {hoist.resource: 1}
        made = replace(step, work=work, needs=needs, window=window, mode="start")
        return self.draft.add(made, chance=chance)


def add_extensions(draft: Draft, sequence: Sequence) -> None:
    """Every car stops once for each extension, when its trip ends.

    Each car has a step of its own: one step for all cars would wait until they stand still at one time.
    """
    hoist, levels = sequence.settings.hoist, sequence.levels
    if hoist is None or hoist.extension_levels is None or hoist.extension_h is None:
        return
    terms = (Term(hoist.extension_h, "mast extension"),)
    for unit in range(1, sequence.settings.resource[hoist.resource].count + 1):
        before: list[str] = []
        every = hoist.extension_levels
        for k, floor in enumerate(range(every - 1, len(levels.levels), every)):
            chance = Chance(k, factor=HOUR_MIN, terms=terms)
            window = draft.closures.window(
                hoist.calendar, limits=hoist.limits, height_m=float(levels.height_m[floor])
            )
            stop = Step(
                f"{hoist.resource} {unit}: mast extension {k + 1}",
                work=draft.expected(chance),
                after=[handover_name(levels.levels[floor]), *before],
                needs={hoist.resource: 1},
                window=window,
                mode="work",
                rank=FIRST,
                optional=True,
                tags=Tags(level=levels.levels[floor], kind="mast extension"),
            )
            before = [draft.add(stop, chance=chance)]
