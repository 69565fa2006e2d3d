"""What enabled a member of a crowd, worked out when it starts instead of kept up while it waits.

By the rule of `engine.turns`, a member that watches its pool and is looked at while a unit is free is enabled
by the last giver. If its window refuses it then, it keeps that enabler and no longer watches. At the opening
at which it fits it is looked at again: it starts, or it finds the pool short and watches again.

Two things are written down while members wait:
- marks of a pool: after which gain its members were looked at, up to which key, and who had given last.
  Members with smaller keys were all refused then, because the first that fitted would have started;
- fits of a crowd: how many of its classes fitted, and when. A member of such a class that still waits found
  the pool short at that time.

So a member that starts is enabled by the giver of the first mark that reached its key since it last found
the pool short; where there is no such mark it watched until now, and the last giver enables it. A member that
was never short keeps the predecessor that made it ready. What came first is told by ticks, counted for each
pool: a tick is a gain, or a look at a window.
"""

from __future__ import annotations

from towerpace.compiling.jit import inline_part
from towerpace.engine.kernel.arrays import NONE, CrowdArrays, TrialArrays


@inline_part
def keep_fit(crowds: CrowdArrays, crowd: int) -> None:
    """Keep how many classes fitted at the last look; earlier looks at which no more did are forgotten."""
    n_fitting, n_fits, first = crowds.n_fitting[crowd], crowds.n_fits[crowd], crowds.first_class[crowd]
    if n_fitting == 0:
        return
    while n_fits > 0 and crowds.fit_classes[first + n_fits - 1] <= n_fitting:
        n_fits -= 1
    crowds.fit_classes[first + n_fits] = n_fitting
    crowds.fit_tick[first + n_fits] = crowds.seen_tick[crowd]
    crowds.n_fits[crowd] = n_fits + 1


@inline_part
def last_fit(crowds: CrowdArrays, crowd: int, own_class: int) -> int:
    """Tick at which a class fitted last, before the last look; NONE if it never did."""
    first = crowds.first_class[crowd]
    fit = first + crowds.n_fits[crowd] - 1
    while fit >= first and crowds.fit_classes[fit] <= own_class:
        fit -= 1
    return int(crowds.fit_tick[fit]) if fit >= first else NONE


@inline_part
def mark_looks(trial: TrialArrays, pool: int, key: int) -> None:
    """Keep the key up to which members were looked at since the pool last gained units: one mark a gain."""
    crowds = trial.crowds
    mark = crowds.first_mark[pool] + crowds.n_marks[pool]
    if crowds.n_marks[pool] > 0 and crowds.mark_tick[mark - 1] == crowds.gain_tick[pool]:
        crowds.mark_before[mark - 1] = max(crowds.mark_before[mark - 1], key)
        return
    if mark == crowds.first_mark[pool + 1]:
        trial.clock.out_of_room[0] = True
        return
    crowds.mark_tick[mark], crowds.mark_before[mark] = crowds.gain_tick[pool], key
    crowds.mark_giver[mark] = trial.pools.last_giver[pool]
    crowds.n_marks[pool] += 1


@inline_part
def set_enabler(trial: TrialArrays, step: int) -> None:
    """Write down what enabled a member that starts now."""
    steps, crowds, member = trial.steps, trial.crowds, trial.steps.member[step]
    crowd, key = crowds.member_crowd[member], crowds.member_key[member]
    pool, joined = crowds.pool[crowd], crowds.joined_tick[member]
    fitted = last_fit(crowds, crowd, crowds.member_class[member])
    if key < crowds.short_before[pool]:
        steps.enabler[step] = trial.pools.last_giver[pool]
    elif steps.watched[step] != NONE or fitted > joined:
        steps.enabler[step] = giver_since(trial, pool, key, max(joined, fitted))
    steps.watched[step] = NONE


@inline_part
def giver_since(trial: TrialArrays, pool: int, key: int, tick: int) -> int:
    """Giver of the first mark after a tick that reached a key, or the last giver of the pool."""
    crowds, giver = trial.crowds, trial.pools.last_giver[pool]
    first = crowds.first_mark[pool]
    mark = first + crowds.n_marks[pool] - 1
    while mark >= first and crowds.mark_tick[mark] > tick:
        if crowds.mark_before[mark] > key:
            giver = crowds.mark_giver[mark]
        mark -= 1
    return int(giver)
