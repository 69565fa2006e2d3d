"""Rates of a site for the next bid, from its log."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

from towerpace.answers.prepare import prepare
from towerpace.answers.rates import rates as answers
from towerpace.answers.rates.fragment import changes_of, fragment
from towerpace.answers.rates.rates import Rates as Detail
from towerpace.answers.rates.rates_said import RATES_FIGURES, RATES_TABLES, said
from towerpace.face.result import Result, explained
from towerpace.faults import Fault, InputError
from towerpace.record.site_record import read_site_record
from towerpace.scenario.load import Scenario

FilePath = str | os.PathLike[str]


@explained(RATES_TABLES, figures=RATES_FIGURES)
class Rates(Result[Detail]):
    """Minutes, scatter, losses and moves of a site, and the set-up that they make."""

    @property
    def toml(self) -> str:
        """The set-up as text, to be pasted at the end of a scenario file."""
        return fragment(self.detail)

    @property
    def changes(self) -> dict[str, object]:
        """The same as changes that `load` takes: dotted keys and new values, each with its source."""
        return dict(changes_of(self.detail))


def rates(
    scenario: Scenario,
    log: FilePath,
    *,
    progress: FilePath | None = None,
    wind: FilePath | None = None,
    at: date | None = None,
) -> Rates:
    """Turn a site's log into spreads with sources, trade by trade.

    Parameters
    ----------
    scenario : Scenario
        From `load`: what was planned, beside which the log is read.
    log : path
        Who did what from when to when; nobody is named in what comes out.
    progress, wind : path, optional
        The sheet, against which the log is checked; the hours measured on the site, without which trades that
        weather stops teach nothing.
    at : date, optional
        What was written later is left out; by default nothing is.

    Returns
    -------
    Rates
        DataFrames from `frame`, the set-up from `toml` and `changes`.

    Raises
    ------
    InputError
        With every fault of all files, or for a log without any row about a trade.

    Examples
    --------
    >>> from towerpace import load, rates
    >>> site = "scenarios/gannet_wharf"
    >>> told = rates(load(f"{site}/scenario.toml"), f"{site}/record/log.csv", wind=f"{site}/record/wind.csv")
    >>> pace = told.frame("learned").set_index("trade")["level"]
    >>> bool(1.2 < pace["panels"] < 1.3)  # the site that never was is a quarter slower
    True
    >>> "trade.panels.pace" in told.changes
    True
    """
    paths = {
        name: None if path is None else Path(path)
        for name, path in {"progress": progress, "log": log, "wind": wind}.items()
    }
    ready = prepare(scenario)
    record = read_site_record(scenario, ready.tower, at=at, **paths)
    if not any(entry.place.what in ready.tower.trades for entry in record.log.entries):
        allowed = f"rows about a trade: {', '.join(ready.tower.trades)}"
        raise InputError([Fault(str(log), None, "what", "no row about any trade", allowed)])
    detail = answers.rates(ready, record)
    return Rates(said(detail), detail)
