"""A comparison of set-ups as one JSON object."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from towerpace import __version__
from towerpace.answers.cost import PARTS
from towerpace.answers.forecast import iso

if TYPE_CHECKING:
    from towerpace.answers.choice.compare import Compared
    from towerpace.answers.choice.paired import Difference


def as_data(found: Sequence[Compared], *, seed: int) -> dict[str, Any]:
    """Every number of a comparison."""
    base = found[0].forecast
    return {
        "scenario": base.tower.name,
        "hash": base.scenario.hash,
        "seed": seed,
        "trials": base.trials,
        "version": __version__,
        "unit": None if base.costs is None else base.costs.unit,
        "setups": [_setup(one) for one in found],
    }


def _setup(one: Compared) -> dict[str, Any]:
    forecast, against = one.forecast, one.against
    half, most = forecast.finish_at(0.5), forecast.finish_at(0.8)
    made: dict[str, Any] = {
        "name": one.setup.name,
        "hash": forecast.scenario.hash,
        "changes": {key: str(value) for key, value in one.setup.changes.items()},
        "p50": iso(forecast.days, half.value),
        "p80": iso(forecast.days, most.value),
        "p80_low": iso(forecast.days, most.low) if most.bounded else None,
        "p80_high": iso(forecast.days, most.high) if most.bounded else None,
        "contract": [{"name": c.name, "chance": c.chance.value} for c in forecast.contracts],
        "beyond_horizon": forecast.beyond,
        "cost": _mean_cost(one),
    }
    if against is not None:
        made |= {
            **_difference("diff", against.days, "_days"),
            **_difference("diff_p80", against.p80_days, "_days"),
            **_difference("diff_cost", against.money, ""),
            "beats_base": against.beats.value,
            "ledger_changes": [
                {"trade": s.row, "cause": s.cause, "hours": round(s.hours, 2)} for s in against.shifts
            ],
        }
    return made


def _difference(name: str, found: Difference | None, unit: str) -> dict[str, float | None]:
    values = (None, None, None) if found is None else (found.mean, found.low, found.high)
    rounded = [None if v is None else round(v, 4) for v in values]
    return dict(zip((f"{name}{unit}", f"{name}_low", f"{name}_high"), rounded, strict=True))


def _mean_cost(one: Compared) -> float | None:
    cost = one.forecast.cost
    return None if cost is None or one.forecast.beyond else round(float(cost.mean()) / PARTS, 3)
