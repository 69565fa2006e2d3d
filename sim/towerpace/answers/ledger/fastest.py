"""The fastest ledger there is: compiled with numba, else in numpy, with equal books."""

from __future__ import annotations

from towerpace.answers.ledger.book import Ledger
from towerpace.engine import kernel
from towerpace.plan.site.tower import Tower


def fastest_ledger(tower: Tower) -> Ledger:
    """The compiled ledger where it can be compiled, else the plain one."""
    if kernel.available():
        from towerpace.answers.ledger.book_fast import FastLedger

        return FastLedger(tower)
    return Ledger(tower)
