"""Trades of a gang that works through its fronts: one step a front, or one a coat with drying between."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.plan.laws import Term
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.crane_moves import whole_strip
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.drying import add_drying
from towerpace.plan.site.fronts import Front, strip_pool
from towerpace.plan.site.learning import learned_factor
from towerpace.plan.site.sequence import Sequence
from towerpace.scenario.schema import GangTrade
from towerpace.scenario.spreads import Spread


def add_gang_front(
    draft: Draft, *, name: str, trade: GangTrade, front: Front, sequence: Sequence, rank: int
) -> None:
    """One front of a gang trade; with no units it only passes on."""
    after = sequence.waits(trade, front, draft=draft, name=name)
    if not any(units for units, _, _ in _pieces(name, trade, front, sequence=sequence)):
        tags = Tags(trade=name, level=front.level, zone=front.zone)
        draft.add(Step(f"{name} {front.where}", after=after, tags=tags))
        return
    for coat in range(1, trade.coats):
        done = _add_coat(
            draft, after, name=name, trade=trade, front=front, coat=coat, sequence=sequence, rank=rank
        )
        dry = add_drying(draft, done, name=name, trade=trade, front=front, coat=coat, sequence=sequence)
        after = [dry]
    _add_coat(
        draft, after, name=name, trade=trade, front=front, coat=trade.coats, sequence=sequence, rank=rank
    )


def _pieces(
    name: str, trade: GangTrade, front: Front, *, sequence: Sequence
) -> Iterator[tuple[int, Spread, str]]:
    """Units of a front, minutes for each and what they are drawn under: in one lot, or class by class."""
    counts = sequence.levels.counts
    if trade.column is not None and trade.unit_min is not None:
        yield int(counts[trade.column][front.spot]), trade.unit_min, f"work of {name}"
    for key, piece in trade.classes.items():
        yield int(counts[piece.column][front.spot]), piece.unit_min, f"work of {name}, {key}"


def _chance(name: str, trade: GangTrade, front: Front, *, coat: int, sequence: Sequence) -> Chance:
    """How the minutes of a front are drawn; each coat under a purpose of its own."""
    levels, again = sequence.levels, "" if coat == 1 else f", coat {coat}"
    pieces = list(_pieces(name, trade, front, sequence=sequence))
    terms = tuple(Term(unit_min, purpose + again) for _, unit_min, purpose in pieces)
    weights = tuple(float(units) for units, _, _ in pieces) if trade.classes else ()
    factor = (1.0 if weights else pieces[0][0]) * learned_factor(trade.learning, front, levels)
    if trade.difficulty:
        factor *= float(levels.difficulty[front.spot])
    return Chance(front.number, factor, 0.0, terms, name, weights)


def _add_coat(
    draft: Draft,
    after: list[str],
    *,
    name: str,
    trade: GangTrade,
    front: Front,
    coat: int,
    sequence: Sequence,
    rank: int,
) -> str:
    """One going over of a front; the last one bears the name of the front."""
    chance = _chance(name, trade, front, coat=coat, sequence=sequence)
    strip = {strip_pool(front.zone): whole_strip(sequence.settings)} if trade.outside else {}
    needs = dict(trade.needs) | strip
    height_m = float(sequence.levels.height_m[front.floor])
    return draft.add(
        Step(
            f"{name} {front.where}" + (f": coat {coat}" if coat < trade.coats else ""),
            work=draft.expected(chance),
            after=after,
            needs=needs,
            window=draft.closures.window(trade.calendar, limits=trade.limits, height_m=height_m),
            mode="work",
            rank=rank,
            place=front.where,
            tags=Tags(trade=name, level=front.level, zone=front.zone),
        ),
        chance=chance,
    )
