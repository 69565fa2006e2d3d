"""What must hold of a plan's arrays: compiled code reads past an end without a word."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from towerpace.plan.model import NONE, Plan, Ragged

STEPS_MAX = 2**29  # minute (31 bits), kind (3) and step must fit into one signed number of 64 bits


def check_plan(plan: Plan) -> None:
    """Refuse arrays of a wrong length and numbers that point nowhere: `ValueError` with every fault."""
    faults = [*_lengths(plan), *_pointers(plan), *_pools(plan)]
    if faults:
        raise ValueError("plan: " + "; ".join(faults))


def _lengths(plan: Plan) -> Iterator[str]:
    if plan.n > STEPS_MAX:
        yield f"the kernel counts up to {STEPS_MAX} steps, not {plan.n}"
    for word in ("work", "expected", "date", "rank", "window", "mode", "place"):
        shape = getattr(plan, word).shape
        if shape != (plan.n,):
            yield f"{word} must have shape ({plan.n},), not {shape}"
    for word in ("before", "after", "needs", "quantities", "give_pool", "give_quantity", "give_taker"):
        lists: Ragged = getattr(plan, word)
        start = lists.start
        if start.shape != (plan.n + 1,) or start[0] != 0 or start[-1] != len(lists.values):
            yield f"{word} must be {plan.n} lists"
        elif np.any(np.diff(start) < 0):
            yield f"{word}: a list cannot end before it begins"
    for word, others in (("needs", ("quantities",)), ("give_pool", ("give_quantity", "give_taker"))):
        for other in others:
            if not np.array_equal(getattr(plan, word).start, getattr(plan, other).start):
                yield f"{word} and {other} must be lists of the same lengths"


def _pointers(plan: Plan) -> Iterator[str]:
    n_pools = len(plan.pools.names)
    within = (
        ("needs", plan.needs.values, 0, n_pools),
        ("give_pool", plan.give_pool.values, 0, n_pools),
        ("give_taker", plan.give_taker.values, NONE, plan.n),
        ("before", plan.before.values, 0, plan.n),
        ("after", plan.after.values, 0, plan.n),
        ("window", plan.window, NONE, len(plan.windows)),
        ("place", plan.place, NONE, len(plan.places)),
        ("line", plan.pools.line, NONE, len(plan.pools.lines)),
    )
    for word, numbers, low, end in within:
        if numbers.size and not low <= int(numbers.min()) <= int(numbers.max()) < end:
            yield f"{word} must lie in {low}..{end - 1}, not {int(numbers.min())}..{int(numbers.max())}"
    if np.any((plan.mode != 0) & (plan.window == NONE)):
        yield "a mode other than 'always' needs a window"
    if not _same_links(plan):
        yield "before and after must be the same links"


def _same_links(plan: Plan) -> bool:
    """Whether every step is counted by its predecessors as often as it counts them."""
    inside = plan.after.values[(plan.after.values >= 0) & (plan.after.values < plan.n)]
    return np.array_equal(np.bincount(inside, minlength=plan.n), np.diff(plan.before.start))


def _pools(plan: Plan) -> Iterator[str]:
    pools, n_places = plan.pools, len(plan.places)
    columns = (pools.units, pools.first_come, pools.line, pools.at, pools.moves)
    if any(len(column) != len(pools.names) for column in columns):
        yield f"the arrays of the pools must have {len(pools.names)} entries"
        return
    for name, units, at, moves in zip(pools.names, pools.units, pools.at, pools.moves, strict=True):
        if moves is not None and moves.shape != (n_places, n_places):
            yield f"pool '{name}': moves must have shape ({n_places}, {n_places}), not {moves.shape}"
        if moves is not None and len(at) != units:
            yield f"pool '{name}': {units} units need as many places, not {len(at)}"
        if any(not 0 <= place < n_places for place in at):
            yield f"pool '{name}': its places must lie in 0..{n_places - 1}"
