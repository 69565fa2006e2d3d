"""From the site's words to the past of a plan: what began, ended or has a share left, and what is known.

Everything goes by names (trade, level, zone, panel), so that a record outlives a changed scenario. Explicit
beats silent; what is filled in is counted, what is contradicted names both lines.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from towerpace.faults import InputError
from towerpace.plan.arrays import NONE
from towerpace.plan.lists import ALWAYS
from towerpace.plan.model import Plan
from towerpace.plan.site.tower import Tower
from towerpace.record.filling import Filled, fill, hold_faults, where_said
from towerpace.record.log import Remark
from towerpace.record.moments import end_of
from towerpace.record.optional import end_optional, make_as_planned
from towerpace.record.outcomes import Outcomes, outcomes_of
from towerpace.record.outside import work_outside
from towerpace.record.overdraft import overdrafts
from towerpace.record.site_record import SiteRecord
from towerpace.record.step_index import index_of
from towerpace.record.times import AsPlanned, minutes_of
from towerpace.record.told import State, Told, told_by
from towerpace.units import WEEK_MIN, Flags, Floats, Ints


@dataclass(frozen=True)
class Past:
    """What a site has recorded of a plan up to a data date.

    Attributes
    ----------
    until : int
        First minute after the data date. [min]
    begun, ended : ndarray
        Minutes at which each step began and ended, shape (n,); -1 where it has not. [min]
    undone : ndarray
        Of each step that is done the end of the last sheet before the one that says so, shape (n,); 0 if
        there is none. [min]
    earliest, latest : ndarray
        First and last minute at which each step that is done may have ended, shape (n,): since the sheet
        before the one that calls it done. [min]
    reported : ndarray
        Steps that somebody reported as begun or done, shape (n,), bool; the others of the past are filled in.
    share : ndarray
        Share of its work that each step in progress has done, shape (n,); NaN where nobody told it. [-]
    told : ndarray
        Whether both minutes of a step are told by the log, shape (n,): what may be learned from.
    begin_told : ndarray
        Whether the log tells when a step began, shape (n,), bool; other begins are guessed from the order.
    dated : ndarray
        Whether somebody dated the end of a step, in the log or on a sheet no more than a week after the one
        before, shape (n,). Of the others only the order is known.
    let_go : tuple of (int, int)
        Links, predecessor and successor, that the site did not keep.
    held : ndarray
        Steps reported as not begun that nothing but time would hold, shape (k,): they wait for the data date.
    outcomes : Outcomes
        What chance has decided.
    filled : dict
        Steps filled in, by trade.
    done : dict
        Units done and their total, by trade, as reported.
    remarks : tuple of Remark
        What was let through.
    """

    until: int
    begun: Ints
    ended: Ints
    undone: Ints
    earliest: Ints
    latest: Ints
    reported: Flags
    share: Floats
    told: Flags
    begin_told: Flags
    dated: Flags
    let_go: tuple[tuple[int, int], ...]
    held: Ints
    outcomes: Outcomes
    filled: Mapping[str, int]
    done: Mapping[str, tuple[float, float]]
    remarks: tuple[Remark, ...]


def resolve(record: SiteRecord, tower: Tower, *, planned: AsPlanned) -> Past:
    """What a record says of the steps of a plan.

    Parameters
    ----------
    record : SiteRecord
        From `read_site_record`, perhaps `as_of` an earlier day.
    tower : Tower
        The compiled scenario; it need not be the one under which the record was begun.
    planned : AsPlanned
        When every step would begin and end if all went as planned: the order of what nobody timed.

    Returns
    -------
    Past

    Raises
    ------
    InputError
        Where units are given back that were never taken.
    """
    plan, index = tower.plan, index_of(tower.plan)
    told, remarks = told_by(record, tower, index), [*record.remarks, *record.log.remarks]
    outcomes = outcomes_of(record, tower, index, told, remarks=remarks)
    _hand_over_below(told, tower)
    filled = fill(told, plan)
    end_optional(filled, plan, until=record.until)
    make_as_planned(filled, plan, until=record.until, finished=planned.finished)
    if faults := list(hold_faults(filled, plan)):
        raise InputError(faults)
    days = [end_of(day, start=record.start) for day in record.progress.days]
    minutes = minutes_of(filled, plan, days=days, until=record.until, planned=planned)
    remarks += _out_of_sequence(filled, plan)
    remarks += overdrafts(filled, plan, file=record.progress.file)
    remarks += work_outside(told, plan, start=record.start)
    return Past(
        until=record.until,
        **minutes._asdict(),
        reported=_reported(filled, plan),
        share=_shares(told),
        told=_told_in_full(told),
        begin_told=_begin_told(told),
        dated=_dated(told, days),
        let_go=tuple(sorted(filled.let_go)),
        held=_held(told, tower, outcomes),
        outcomes=outcomes,
        filled=filled.counts(plan),
        done=_done(record),
        remarks=tuple(remarks),
    )


def _hand_over_below(told: Told, tower: Tower) -> None:
    """No level is handed over before the one below it."""
    above = None
    for step in reversed(tower.handover.tolist()):
        if told.state[step] == State.DONE:
            above = step
        elif above is not None and told.state[step] == State.SILENT:
            told.state[step], told.source[step] = State.DONE, told.source[above]
            told.ended_by[step] = told.begun_by[step] = told.ended_by[above]


def _shares(told: Told) -> Floats:
    share = np.full(len(told.state), np.nan)
    for step, done in told.share.items():
        if told.state[step] == State.BEGUN:
            share[step] = done
    return share


def _reported(filled: Filled, plan: Plan) -> Flags:
    reported = np.zeros(plan.n, dtype=np.bool_)
    reported[[step for step, cause in filled.cause.items() if step == cause]] = True
    return reported


def _told_in_full(told: Told) -> Flags:
    in_full = np.zeros(len(told.state), dtype=np.bool_)
    in_full[[step for step in told.begun_at if step in told.ended_at]] = True
    return in_full


def _begin_told(told: Told) -> Flags:
    begins = np.zeros(len(told.state), dtype=np.bool_)
    begins[list(told.begun_at)] = True
    return begins


def _dated(told: Told, days: list[int]) -> Flags:
    """Days : ends of the days of the sheets, ascending. [min]"""
    weekly = [day for before, day in zip([0, *days[:-1]], days, strict=True) if day - before <= WEEK_MIN]
    dated: Flags = np.isin(np.array(told.ended_by, dtype=np.int64), weekly)
    dated[list(told.ended_at)] = True
    dated &= np.array(told.state, dtype=np.int64) == State.DONE
    return dated


def _held(told: Told, tower: Tower, outcomes: Outcomes) -> Ints:
    """Steps that would begin by themselves before the data date, and have not.

    Those that are reported as not begun, and levels that are not handed over; whoever waits for a pool or a
    window waits for the data date anyway.
    """
    plan, state = tower.plan, np.array(told.state, dtype=np.int64)
    alone = (np.diff(plan.needs.start) == 0) & ((plan.window == NONE) | (plan.mode == ALWAYS))
    reported = np.flatnonzero(alone & (state == State.UNDONE))
    levels = tower.handover[state[tower.handover] < State.DONE]
    later = np.array(outcomes.remade_later, dtype=np.int64)
    held: Ints = np.unique(np.concatenate((reported, levels, later)))
    return held


def _out_of_sequence(filled: Filled, plan: Plan) -> list[Remark]:
    """A remark for every pair of rows that contradict the order of the plan, with both lines."""
    remarks: dict[tuple[str, str], Remark] = {}
    for before, after in sorted(filled.let_go):
        earlier, later = where_said(plan.tags(before)), where_said(plan.tags(after))
        ours, theirs = filled.source(after), filled.source(before)
        if (earlier, later) in remarks or ours is None or theirs is None:
            continue
        same = ours.file == theirs.file
        lines = (ours.line, theirs.line) if same else (ours.line,)
        against = "" if same else f", which {theirs.said} does not call finished"
        text = f"{later} went on before {earlier} was finished{against}; the link is let go"
        remarks[earlier, later] = Remark(ours.file, lines, text)
    return list(remarks.values())


def _done(record: SiteRecord) -> dict[str, tuple[float, float]]:
    """Units done as last reported, and the total, of every word that counts units front by front."""
    done: dict[str, list[float]] = {}
    latest = record.progress.latest()
    for place, total in record.words.totals.items():
        sums = done.setdefault(place.what, [0.0, 0.0])
        sums[0] += latest[place].amount.units if place in latest else 0.0
        sums[1] += total
    return {what: (units, total) for what, (units, total) in done.items()}
