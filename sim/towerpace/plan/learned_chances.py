"""What a site has taught about the chances that panels are lost, as the draws of a trial read it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.units import Floats

UNFIT, BROKEN, LATER = "unfit", "broken", "later"
KEYS = {
    UNFIT: ("reject_chance", "transit_break_chance"),
    BROKEN: ("handling_break_chance",),
    LATER: ("later_break_chance",),
}


class LearnedChance(Protocol):
    """What is known of one chance."""

    def quantile(self, u: Floats | float) -> Floats:
        """The chance at a probability. [-]"""


class LossKind(NamedTuple):
    """Of which losses: trade, column that counts the panels of the family, and how, a key of `KEYS`."""

    trade: str
    column: str
    kind: str


@dataclass(frozen=True)
class LearnedChances:
    """Kinds of losses of which something has been learned; the others keep their stated chances."""

    of: Mapping[LossKind, LearnedChance]

    def given(
        self, stated: Mapping[str, Floats], *, trade: str, columns: Sequence[str], streams: Streams
    ) -> dict[str, Floats]:
        """Chances of the families of a trade in one trial, by their keys, (n_families,) each. [-]

        stated : the same as the scenario states them.

        Notes
        -----
        A panel is unfit if it is rejected or has broken on the way, which nobody tells apart: of a learned
        chance q in place of p each of the two keeps its part a of ln(1 - p), and becomes 1 - (1 - q)^a.
        """
        chances = {key: values.copy() for key, values in stated.items()}
        for at, column in enumerate(columns):
            for kind, keys in KEYS.items():
                told = self.of.get(LossKind(trade, column, kind))
                parts = {key: -np.log1p(-stated[key][at]) for key in keys if key in stated}
                if told is None or not sum(parts.values()):
                    continue
                u = streams(f"chance of {kind} {column} of {trade}").random()
                whole = np.log1p(-float(told.quantile(u)))
                for key, part in parts.items():
                    chances[key][at] = -np.expm1(whole * part / sum(parts.values()))
        return chances
