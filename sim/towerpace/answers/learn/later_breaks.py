"""Panels that others broke after they were set: counted where a log names single panels.

A sheet tells how many holes there are, not who made them; there the chance stays as stated.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.learn.chances import Chance
from towerpace.answers.learn.losses import LossSeen
from towerpace.plan.arrays import NONE
from towerpace.plan.learned_chances import KEYS, LATER, LossKind
from towerpace.plan.model import Plan
from towerpace.plan.seen import held_since
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.tower import Tower
from towerpace.record.links import without_links
from towerpace.record.log import BROKEN, REJECTED, SET, Log
from towerpace.record.places_steps import steps_of
from towerpace.record.resolve import Past
from towerpace.record.step_index import index_of
from towerpace.units import Flags, Floats, Ints

NOT_TOLD, GUESSED = "not told", "guessed"
FEWEST = 1.0  # panels exposed, from which on something is learned


@dataclass(frozen=True)
class _Told:
    """What a log says of single panels: those set, and lost before or after that. unsure : whose front the
    sheet tells more losses of than the log names: some of them others may have broken.
    """

    tower: Tower
    fine: Flags
    after: Flags
    unsure: Flags

    @classmethod
    def of(cls, past: Past, tower: Tower, log: Log) -> _Told:
        n, losses = tower.plan.n, past.outcomes.losses
        fine, after = (np.zeros(n, dtype=np.bool_) for _ in range(2))
        fine[_named(log, tower, outcomes=(SET,))] = True
        fine[[loss.lift for loss in losses]] = False
        after[[loss.lift for loss in losses if loss.after_set]] = True
        return cls(tower, fine, after, _fronts_of(tower, _unnamed(past, tower, log)))


def later_breaks(tower: Tower, past: Past, log: Log) -> list[LossSeen]:
    """Later breakage of each family of which the site has set panels; nothing where it is too early.

    Notes
    -----
    A whole panel counts by the share F of breaks that would have been found by now, for the chance that none
    is found of it is 1 - p F, near (1 - p)^F. A broken one counts in full.
    """
    told, laws = _Told.of(past, tower, log), (law for law in tower.laws if isinstance(law, LossLaw))
    return [
        loss for law in laws for loss in _of_law(law, told, past, law.found_below(_waited(law, told, past)))
    ]


def _waited(law: LossLaw, told: _Told, past: Past) -> Ints:
    """Minutes in which a break of each panel might have been found, (k,); -1 for none. [min]

    From closing-in on, as the scenario says. A level that is open only for panels that others broke counts
    from its last panel: without them it would be closed, and the whole ones beside them count as well.
    """
    plan = without_links(told.tower.plan, past.let_go)
    since = held_since(plan, began=past.begun, ended=_with_milestones(plan, past.ended))[law.later[:, 0]]
    since[law.later[:, 0] == NONE] = NONE
    ended = past.ended[law.normal]
    level_of = np.array([plan.tags(step).level for step in law.normal.tolist()])
    for level in set(level_of[told.after[law.normal]].tolist()):
        on_it = level_of == level
        if (since[on_it] == NONE).all() and (ended[on_it] != NONE).all():
            since[on_it] = ended[on_it].max()
    return np.where(since == NONE, NONE, past.until - since)


def _with_milestones(plan: Plan, ended: Ints) -> Ints:
    """Ends with those of milestones that nobody reports: of what takes no time once all before it is over."""
    ended, before = ended.copy(), plan.lists.before
    instant = (plan.work == 0) & (np.diff(plan.needs.start) == 0) & (plan.window == NONE)
    for step in plan.order[(instant & (ended == NONE))[plan.order]].tolist():
        ends = [int(ended[previous]) for previous in before[step] if plan.planned[previous]]
        if ends and min(ends) != NONE:
            ended[step] = max(ends)
    return ended


def _of_law(law: LossLaw, told: _Told, past: Past, found_below: Floats) -> Iterator[LossSeen]:
    lifts, (key,) = law.normal, KEYS[LATER]
    after, fine = told.after[lifts], told.fine[lifts] & ~told.unsure[lifts]
    were_set = past.reported[lifts] & (past.ended[lifts] != NONE)
    for at, family in enumerate(law.families):
        own = law.family == at
        stated = float(law.stated[key][at]) if key in law.stated else 0.0
        kind, lost = LossKind(law.trade, family.column, LATER), int((own & after).sum())
        exposed = lost + float(found_below[own & fine].sum())
        if (stated or lost) and exposed >= FEWEST:
            chance = Chance.stated(stated).seen(events=lost, exposed=exposed)
            yield LossSeen(kind, lost, exposed, stated, chance)
        elif stated and (own & were_set).any() and not (own & fine).any():
            yield LossSeen(kind, 0, 0.0, stated, Chance.stated(stated), NOT_TOLD)


def how_guessed(losses: Iterable[LossSeen], past: Past, tower: Tower, log: Log) -> list[LossSeen]:
    """Losses with a remark where a sheet tells of some that no row of the log names.

    Whether such a panel was unfit or broke in handling nobody tells: it counts as what is likelier.
    """
    trades = {tower.plan.tags(lift).trade for lift in _unnamed(past, tower, log)}
    return [
        replace(loss, remark=GUESSED) if loss.lost and loss.kind.trade in trades else loss for loss in losses
    ]


def _unnamed(past: Past, tower: Tower, log: Log) -> list[int]:
    """Lifts of panels lost before they were set, of which the log does not say how."""
    named = set(_named(log, tower, outcomes=(BROKEN, REJECTED)))
    return [x.lift for x in past.outcomes.losses if not (x.after_set or x.lift in named)]


def _named(log: Log, tower: Tower, *, outcomes: Collection[str]) -> list[int]:
    """Lifts of the panels that some rows name, of work that is over."""
    index, lifts = index_of(tower.plan), list[int]()
    for entry in log.entries:
        if entry.place.what in tower.trades and entry.outcome in outcomes and entry.finish is not None:
            steps = steps_of(entry.place, tower, index) if entry.panels else []
            lifts += [steps[panel - 1] for panel in entry.panels if panel <= len(steps)]
    return lifts


def _fronts_of(tower: Tower, lifts: Collection[int]) -> Flags:
    """Steps on the fronts of some lifts, (n,)."""
    fronts = {(t.trade, t.level, t.zone) for t in map(tower.plan.tags, lifts)}
    on_them: Flags = tower.plan.by_tags(lambda t: (t.trade, t.level, t.zone) in fronts) == 1
    return on_them
