"""What the resolved record of a site says to what is learned by counting: losses, and shares done."""

from __future__ import annotations

import numpy as np

from towerpace.answers.learn.losses import LossSeen, losses_seen
from towerpace.plan.arrays import NONE
from towerpace.plan.site.tower import Tower
from towerpace.record.resolve import Past
from towerpace.units import Floats

UNTOLD_SHARE = 0.5  # of a step in progress of which nobody says how much is done: no better guess


def losses_of(past: Past, tower: Tower) -> list[LossSeen]:
    """What a record teaches about the chances that panels are lost.

    Panels of which nobody reported anything are not counted: nobody looked. What others broke after it was
    set had come through its handling.
    """
    losses = past.outcomes.losses
    return losses_seen(
        tower,
        lifted=past.reported & (past.ended != NONE),
        unfit={loss.lift for loss in losses if loss.unfit},
        broken={loss.lift for loss in losses if not (loss.unfit or loss.after_set)},
    )


def shares_of(past: Past) -> Floats:
    """Share of each step that is done at the data date, (n,). [-]"""
    running = (past.begun != NONE) & (past.ended == NONE)
    share = np.where(np.isnan(past.share), UNTOLD_SHARE, past.share)
    return np.where(past.ended != NONE, 1.0, np.where(running, share, 0.0))
