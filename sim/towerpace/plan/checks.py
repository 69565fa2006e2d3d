"""What must be true of a plan before it may run; every fault at once, in the user's names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from difflib import get_close_matches

import numpy as np

from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.holds import Holds
from towerpace.plan.lists import START
from towerpace.plan.parts import MODES, After, Give, PlanError, Pool, Step, Window
from towerpace.units import Flags, Ints

KINDS = ("FS", "SS", "FF", "SF")
ORDERS = ("rank", "first come")
MINUTES_MAX = 2**31 - 2  # diaries are int32


def check_parts(
    steps: Sequence[Step], *, pools: Sequence[Pool], windows: Sequence[Window], horizon: int
) -> None:
    """Names, quantities and references; raises `PlanError`."""
    faults: list[str] = []
    if not 0 < horizon <= MINUTES_MAX:
        faults.append(f"horizon: must be 1..{MINUTES_MAX} min, got {horizon}")
    for word, names in (("step", steps), ("pool", pools), ("window", windows)):
        if len({x.name for x in names}) < len(names):
            counts = Counter(x.name for x in names)
            faults += [f"{word} '{name}': the name is used {k} times" for name, k in counts.items() if k > 1]
    for pool in pools:
        faults += _pool_faults(pool)
    for window in windows:
        faults += _window_faults(window)
    faults += _remedy_faults(steps)
    known = _Names({s.name: s for s in steps}, {p.name: p for p in pools}, {w.name: w for w in windows})
    for step in steps:
        faults += [f"step '{step.name}': {text}" for text in known.step_faults(step)]
    if faults:
        raise PlanError(faults)


def _remedy_faults(steps: Sequence[Step]) -> Iterator[str]:
    """Steps that no plan counts on, but nothing leaves out; flags of which only a part is planned."""
    planned: dict[str, bool] = {}
    for step in steps:
        if step.skip is None and not step.planned:
            yield f"step '{step.name}': planned = False needs a skip flag"
        elif step.skip is not None and planned.setdefault(step.skip, step.planned) != step.planned:
            yield f"step '{step.name}': steps of the flag '{step.skip}' are planned together or not at all"


def _pool_faults(pool: Pool) -> Iterator[str]:
    if not _whole(pool.units) or pool.units < 0:
        yield f"pool '{pool.name}': units must be a whole number >= 0, got {pool.units!r}"
    if pool.order not in ORDERS:
        yield f"pool '{pool.name}': order must be one of {', '.join(ORDERS)}, got {pool.order!r}"
    if pool.at is not None and len(pool.at) != pool.units:
        yield f"pool '{pool.name}': {pool.units} units need as many places, got {len(pool.at)}"
    if pool.moves is not None and pool.at is None:
        yield f"pool '{pool.name}': moves need the places of its units (at)"


def _window_faults(window: Window) -> Iterator[str]:
    for word, spans in (("shifts", window.shifts), ("stops", window.stops)):
        flat = np.asarray(spans, dtype=np.int64).reshape(-1)
        if np.any(np.diff(flat) < 0) or np.any(flat[1::2] <= flat[0::2]) or np.any(flat < 0):
            yield f"window '{window.name}': {word} must be ascending [from, to) minutes that do not overlap"


def _whole(value: object) -> bool:
    return isinstance(value, int | np.integer) and not isinstance(value, bool)


class _Names:
    """What a step may refer to."""

    def __init__(self, steps: dict[str, Step], pools: dict[str, Pool], windows: dict[str, Window]) -> None:
        self.steps, self.pools, self.windows = steps, pools, windows
        self.spanned = {
            p.step for s in steps.values() for p in s.after if isinstance(p, After) and p.kind[0] == "S"
        }

    def step_faults(self, step: Step) -> Iterator[str]:
        yield from self._number_faults(step)
        yield from self._window_faults(step)
        yield from self._before_faults(step)
        yield from self._need_faults(step)
        for give in step.gives:
            yield from self._give_faults(give, step)

    def _number_faults(self, step: Step) -> Iterator[str]:
        for word in ("work", "date", "expected"):
            value = getattr(step, word)
            if value is None:
                continue
            if not _whole(value) or not 0 <= value <= MINUTES_MAX:
                yield f"{word} must be a whole number of minutes >= 0, got {value!r}"
        if not _whole(step.rank):
            yield f"rank must be a whole number, got {step.rank!r}"

    def _window_faults(self, step: Step) -> Iterator[str]:
        if step.mode not in MODES:
            yield f"mode must be one of {', '.join(MODES)}, got {step.mode!r}"
        if step.window is None:
            if step.mode != "always":
                yield f"mode '{step.mode}' needs a window"
            return
        if step.mode == "always":
            yield "a window needs mode 'start', 'work' or 'unbroken'"
        if step.window not in self.windows:
            yield f"no window '{step.window}'{_nearest(step.window, self.windows)}"
        elif step.mode == "start" and _whole(step.work):
            yield from _fit_faults(step, self.windows[step.window])

    def _before_faults(self, step: Step) -> Iterator[str]:
        for p in step.after:
            after = After(p) if isinstance(p, str) else p
            if after.step not in self.steps:
                yield f"no step '{after.step}' to come after{_nearest(after.step, self.steps)}"
            if after.kind not in KINDS:
                yield f"lag kind must be one of {', '.join(KINDS)}, got {after.kind!r}"
            if not _whole(after.lag) or after.lag < 0:
                yield f"lag after '{after.step}' must be a whole number of minutes >= 0, got {after.lag!r}"

    def _need_faults(self, step: Step) -> Iterator[str]:
        positioned = []
        for name, quantity in step.needs.items():
            pool = self.pools.get(name)
            if pool is None:
                yield f"no pool '{name}'{_nearest(name, self.pools)}"
                continue
            if not _whole(quantity) or quantity < 1:
                yield f"needs of pool '{name}' must be a whole number >= 1, got {quantity!r}"
            elif pool.at is not None:
                positioned.append(name)
                if quantity != 1:
                    yield f"takes one unit of the positioned pool '{name}', got {quantity}"
        if len(positioned) > 1:
            yield f"one positioned pool a step, got {', '.join(positioned)}"
        if positioned and step.mode == "unbroken":
            yield f"unbroken work cannot begin with the move of '{positioned[0]}': make it a step of its own"
        if positioned and step.name in self.spanned:
            yield f"an SS or SF lag starts here, so the move of '{positioned[0]}' must be a step of its own"
        known = [self.pools[name] for name in step.needs if name in self.pools]
        if len({p.order for p in known}) > 1:
            yield "its pools are served in different orders: " + ", ".join(
                f"{p.name} {p.order}" for p in known
            )
        if len({p.line for p in known if p.line}) > 1:
            yield "stands in one line at most, got " + ", ".join(sorted({p.line for p in known if p.line}))
        for name in set(step.keeps) - set(step.needs):
            yield f"keeps '{name}' but does not need it"

    def _give_faults(self, give: Give, step: Step) -> Iterator[str]:
        if give.pool not in self.pools:
            yield f"gives to no pool '{give.pool}'{_nearest(give.pool, self.pools)}"
        if not _whole(give.quantity) or give.quantity < 1:
            yield f"gives to pool '{give.pool}' a whole number >= 1, got {give.quantity!r}"
        if give.taker is None:
            if give.pool in self.pools and self.pools[give.pool].at is not None:
                yield f"a unit of the positioned pool '{give.pool}' needs a taker"
            return
        taker = self.steps.get(give.taker)
        if taker is None:
            yield f"gives what no step '{give.taker}' took{_nearest(give.taker, self.steps)}"
        elif taker.skip != step.skip:
            yield f"gives what '{give.taker}' took, so both must carry the same skip flag"


def _fit_faults(step: Step, window: Window) -> Iterator[str]:
    expected = step.work if step.expected is None else step.expected
    longest = window.longest_shift
    if expected > longest:
        yield _too_long(expected, longest, window.name)


def _too_long(expected: int, longest: int, window: str) -> str:
    return (
        f"expected to last {expected} min, but the longest shift of window '{window}' "
        f"is {longest} min: it could never start"
    )


def _nearest(word: str, known: Iterable[str]) -> str:
    close = get_close_matches(word, list(known), n=1)
    return f"; nearest: '{close[0]}'" if close else ""


def check_compiled(plan: PlanArrays) -> None:
    """Cycles, units given more often than taken, takers that come too late, deadlocks; raises `PlanError`."""
    if plan.order.size < plan.n:
        raise PlanError([_cycle(plan)])
    faults = [*_never_enough(plan), *_give_balance(plan), *Holds(plan).deadlocks()]
    if faults:
        raise PlanError(faults)


def check_pools(plan: PlanArrays) -> None:
    """Whether the pools of every step may be asked for together; raises `PlanError`.

    What `check_parts` says of pools, for steps that are written by number.
    """
    owners, pools = plan.needs.owners, plan.needs.values
    faults = []
    for i in np.flatnonzero(
        _differ(owners, plan.pools.first_come[pools].astype(np.int64), n=plan.n)
    ).tolist():
        said = ", ".join(
            f"{plan.pools.names[p]} {ORDERS[int(plan.pools.first_come[p])]}" for p in plan.needs[i].tolist()
        )
        faults.append(f"step '{plan.names[i]}': its pools are served in different orders: {said}")
    in_line = plan.pools.line[pools] != NONE
    for i in np.flatnonzero(_differ(owners[in_line], plan.pools.line[pools[in_line]], n=plan.n)).tolist():
        known = [p for p in plan.needs[i].tolist() if plan.pools.line[p] != NONE]
        lines = ", ".join(sorted({plan.pools.lines[int(plan.pools.line[p])] for p in known}))
        faults.append(f"step '{plan.names[i]}': stands in one line at most, got {lines}")
    faults += _placed_faults(plan)
    if faults:
        raise PlanError(faults)


def _differ(owners: Ints, values: Ints, *, n: int) -> Flags:
    """Whether the values of an owner are not all the same, (n,); values of one owner stand together."""
    differ = np.zeros(n, dtype=np.bool_)
    differ[owners[1:][(owners[1:] == owners[:-1]) & (values[1:] != values[:-1])]] = True
    return differ


def _placed_faults(plan: PlanArrays) -> Iterator[str]:
    placed = np.array([moves is not None for moves in plan.pools.moves], dtype=np.bool_)
    asked = placed[plan.needs.values]
    units = np.bincount(plan.needs.owners[asked], plan.quantities.values[asked], minlength=plan.n)
    for i in np.flatnonzero(units > 1).tolist():
        needs = zip(plan.needs[i].tolist(), plan.quantities[i].tolist(), strict=True)
        own = [(plan.pools.names[p], quantity) for p, quantity in needs if placed[p]]
        if len(own) > 1:
            yield f"step '{plan.names[i]}': one positioned pool a step, got {', '.join(p for p, _ in own)}"
        else:
            name, quantity = own[0]
            yield f"step '{plan.names[i]}': takes one unit of the positioned pool '{name}', got {quantity}"


def check_numbers(plan: PlanArrays) -> None:
    """Whether a plan whose steps are known to be right can run with these numbers; raises `PlanError`."""
    faults = [fault for window in _of_different_shifts(plan.windows) for fault in _window_faults(window)]
    for word, minutes in (("work", plan.work), ("date", plan.date)):
        for i in np.flatnonzero((minutes < 0) | (minutes > MINUTES_MAX)).tolist():
            allowed = f"{word} must be a whole number of minutes >= 0, got {minutes[i]}"
            faults.append(f"step '{plan.names[i]}': {allowed}")
    if not 0 < plan.horizon <= MINUTES_MAX:
        faults.append(f"horizon: must be 1..{MINUTES_MAX} min, got {plan.horizon}")
    lengths = {id(w.shifts): w.longest_shift for w in _of_different_shifts(plan.windows)}
    longest = np.array([lengths[id(w.shifts)] for w in plan.windows] or [0], dtype=np.int64)
    for i in np.flatnonzero((plan.mode == START) & (plan.expected > longest[plan.window])).tolist():
        window = int(plan.window[i])
        said = _too_long(int(plan.expected[i]), int(longest[window]), plan.windows[window].name)
        faults.append(f"step '{plan.names[i]}': {said}")
    faults += _never_enough(plan)
    if faults:
        raise PlanError(faults)


def _of_different_shifts(windows: Sequence[Window]) -> list[Window]:
    """One window for each list of shifts: a calendar is the same at every height."""
    return list({id(window.shifts): window for window in windows}.values())


def _cycle(plan: PlanArrays) -> str:
    import networkx as nx

    owners, before = plan.before.owners.tolist(), plan.before.values.tolist()
    edges = nx.find_cycle(nx.DiGraph(list(zip(before, owners, strict=True))))
    steps = [edges[0][0], *(edge[0] for edge in reversed(edges))]
    return "cycle: " + " after ".join(plan.names[step] for step in steps)


def _never_enough(plan: PlanArrays) -> Iterator[str]:
    arrivals = plan.give_taker.values < 0
    most = plan.pools.units.copy()
    np.add.at(most, plan.give_pool.values[arrivals], plan.give_quantity.values[arrivals])
    for k in np.flatnonzero(plan.quantities.values > most[plan.needs.values]).tolist():
        pool, step = int(plan.needs.values[k]), int(plan.needs.owners[k])
        yield (
            f"step '{plan.names[step]}': needs {plan.quantities.values[k]} of pool "
            f"'{plan.pools.names[pool]}', which never has more than {most[pool]}"
        )


def _give_balance(plan: PlanArrays) -> Iterator[str]:
    n_pools = len(plan.pools.names)
    given_back = plan.give_taker.values != NONE
    taken, quantity = _sums(plan.needs.owners * n_pools + plan.needs.values, plan.quantities.values)
    whose = plan.give_taker.values[given_back] * n_pools + plan.give_pool.values[given_back]
    back, times = _sums(whose, plan.give_quantity.values[given_back])
    place = np.searchsorted(taken, back)
    there = np.append(taken, -1)[place] == back
    most = np.where(there, np.append(quantity, 0)[place], 0)
    for k in np.flatnonzero(times > most).tolist():
        taker, pool = divmod(int(back[k]), n_pools)
        yield (
            f"step '{plan.names[taker]}': takes {most[k]} of pool "
            f"'{plan.pools.names[pool]}' but {times[k]} are given back"
        )


def _sums(keys: Ints, quantities: Ints) -> tuple[Ints, Ints]:
    """Different keys, ascending, and the sum of the quantities of each."""
    different, which = np.unique(keys, return_inverse=True)
    sums = np.zeros(len(different), dtype=np.int64)
    np.add.at(sums, which, quantities)
    return different, sums
