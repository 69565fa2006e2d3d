"""Under which names what was found is kept in the file: the number of the table stands in them."""

from __future__ import annotations

from collections.abc import Mapping

from towerpace.answers.choose.choice import ChoiceDetail
from towerpace.answers.choose.trade_off import KEPT, MOST_POINTS

MOST_KEPT = MOST_POINTS + 1  # set-ups of a trade-off, the file among them


def kept_names(detail: ChoiceDetail, name: str) -> dict[str, Mapping[str, object]]:
    """Changes by the name of their set-up: of the choice, or of all that a trade-off keeps.

    name : of the choice; of a trade-off what stands before the numbers of its table. The file as it is needs
    no name.
    """
    if detail.asked.goal is not None:
        chosen = None if detail.decision is None or detail.decision.proof is None else detail.chosen
        return {} if chosen is None or not chosen.changes else {name: chosen.changes}
    changed = {
        f"{name}_{place}": detail.opened.changes(one.point)
        for place, one in enumerate(detail.curve, start=1)
        if one.verdict == KEPT
    }
    return {own: changes for own, changes in changed.items() if changes}


def possible_names(name: str, *, of_trade_off: bool) -> list[str]:
    """Every name under which something may be kept."""
    return [f"{name}_{place}" for place in range(1, MOST_KEPT + 1)] if of_trade_off else [name]
