"""What befalls the panels of a trade while nothing is known of them, drawn and written in one compiled call.

The same rule as `LossLaw`, which says it for arrays and for what the site has shown.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import numpy as np

from towerpace.compiling.addresses import at_addresses
from towerpace.compiling.jit import (
    COUNTERS,
    FLAGS_2,
    FLOATS_2,
    INTS_2,
    PACKAGE,
    inline_part,
    part,
    stamp_of,
    trial_entry,
)
from towerpace.lots.philox import WORDS, draw_block
from towerpace.lots.rows import SOURCES, RowArrays, draw_run, read_off
from towerpace.lots.streams import Counters
from towerpace.plan.arrays import NONE
from towerpace.units import DAY_MIN, Flags, Floats, Ints

# Runs of the row: a number of every panel for each chance, then the spreads of the families for some panels.
CHANCES = (
    "reject_chance",
    "transit_break_chance",
    "handling_break_chance",
    "later_break_chance",
    "misfit_chance",
)
SPREADS = ("remake_days", "later_found_days", "misfit_min")
REJECTED, IN_TRANSIT, IN_HANDLING, FOUND_LATER, MISFIT = range(5)
REMAKE, FIND, FIT = range(3)
UNFIT, BROKEN, LATER, WHOLE = range(4)


class LossArrays(NamedTuple):
    """What compiled code reads of the k panels of a trade in families.

    row : a run for each of `CHANCES`, (k,) or none where no family has it; then one for each of `SPREADS` and
        family, of no lots.
    chance : (5, n_families). [-]  spares : (n_families,). spare_days : (n_families,). [d]
    family, item, normal, passes : (k,). set_again : (2, k) steps that set an unfit panel, and a broken one.
    chain : (3, k, m) steps after each loss, padded with -1. remedy : steps that are done only after a loss.
    """

    row: RowArrays
    chance: Annotated[Floats, 2]
    spares: Ints
    spare_days: Floats
    family: Ints
    item: Ints
    normal: Ints
    passes: Flags
    set_again: Annotated[Ints, 2]
    chain: Annotated[Ints, 3]
    remedy: Ints


@inline_part
def befalls(losses: LossArrays, chance: int, panel: int, lots: Floats) -> bool:
    """Whether a panel meets one of the chances."""
    share = losses.chance[chance, losses.family[panel]]
    return bool(share > 0 and lots[chance, panel] < share)


@inline_part
def fate_of(losses: LossArrays, panel: int, lots: Floats) -> int:
    """Rejected or broken on the way, else broken in handling, else later if anybody works there then."""
    if befalls(losses, REJECTED, panel, lots) or befalls(losses, IN_TRANSIT, panel, lots):
        return UNFIT
    if befalls(losses, IN_HANDLING, panel, lots):
        return BROKEN
    if losses.chain[LATER, panel, 0] != NONE and befalls(losses, FOUND_LATER, panel, lots):
        return LATER
    return WHOLE


@part
def pick(losses: LossArrays, spread: int, panel: int, counters: Counters, room: Floats) -> float:
    """One of `SPREADS` for one panel, off that of its family."""
    run = len(CHANCES) + spread * len(losses.spares) + losses.family[panel]
    draw_block(counters[losses.row.stream[run]], losses.item[panel] // WORDS, room, 0)
    room[0] = room[losses.item[panel] % WORDS]
    read_off(losses.row, run, 1, room)
    return float(room[0])


@inline_part
def lead_min(losses: LossArrays, fate: int, panel: int, counters: Counters, room: Floats) -> int:
    """Minutes from a loss, or from closing-in, until the new panel is at the gate; the first come from stock.

    room : (2, ...) to work in, and how many of each family have been lost so far.
    """
    family = losses.family[panel]
    room[1, family] += 1
    if room[1, family] <= losses.spares[family]:
        days = losses.spare_days[family]
    else:
        days = pick(losses, REMAKE, panel, counters, room[0])
    if fate == LATER:
        days += pick(losses, FIND, panel, counters, room[0])
    return int(np.rint(days * DAY_MIN))


@inline_part
def need_chain(losses: LossArrays, fate: int, panel: int, skip: Flags) -> int:
    """Have the steps done that follow from a loss; the first, which takes the lead time, or NONE."""
    first = int(losses.chain[fate, panel, 0])
    if first != NONE:
        for k in range(losses.chain.shape[2]):
            step = losses.chain[fate, panel, k]
            if step != NONE:
                skip[step] = False
    return first


@inline_part
def lose_in_one(losses: LossArrays, counters: Counters, room: Floats, skip: Flags, work: Ints) -> None:
    """What befalls the panels of one trial; counters : (n_streams, 3)."""
    for chance in range(len(CHANCES)):
        counter = counters[losses.row.stream[chance]]
        draw_run(losses.row, chance, counter, room[len(CHANCES)], room[chance])
    own = room[len(CHANCES) :]
    for family in range(len(losses.spares)):
        own[1, family] = 0.0
    for k in range(len(losses.remedy)):
        skip[losses.remedy[k]] = True
    for panel in range(len(losses.item)):
        fate, sets = fate_of(losses, panel, room), losses.normal[panel]
        if fate != WHOLE:
            lead = lead_min(losses, fate, panel, counters, own)
            first = need_chain(losses, fate, panel, skip)
            if first != NONE:
                work[first] = lead
            if fate == UNFIT and losses.passes[panel]:
                skip[sets] = True
            if fate != LATER:
                sets = losses.set_again[fate, panel]
        if befalls(losses, MISFIT, panel, room):
            work[sets] += int(np.rint(pick(losses, FIT, panel, counters, own[0])))


losses_at = at_addresses(LossArrays)


def _stamped(stamp: int) -> Callable[[Any, Counters, Floats, Flags, Ints], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def lose(table: Any, counters: Counters, room: Floats, skip: Flags, work: Ints) -> bool:
        """Draw what befalls every panel in some trials, and write what follows into the steps of the plan.

        counters : (n_trials, n_streams, 3). skip, work : (n_trials, n).
        room : (5 + 2, panels, families or numbers of the blocks of a run), to work in.
        """
        losses = losses_at(table)
        for trial in range(len(skip)):
            lose_in_one(losses, counters[trial], room, skip[trial], work[trial])
        return stamp >= 0

    return trial_entry(lose, COUNTERS, FLOATS_2, FLAGS_2, INTS_2)


lose = _stamped(stamp_of(Path(__file__), PACKAGE / "units.py", PACKAGE / "plan" / "arrays.py", *SOURCES))
