"""What the page must know of a scenario before it asks: names, rows, contract dates, what may be changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from towerpace.answers.cautions import limits_cautions
from towerpace.answers.said.people import words
from towerpace.scenario.setups import stated_names
from towerpace.workbench.causes import causes_json
from towerpace.workbench.edition import Edition
from towerpace.workbench.reader import level_milestone

FLOOR_SLOTS = "Floor slots are never an engineer's agreement to the load."


def tower_json(edition: Edition) -> dict[str, Any]:
    """The scenario as the page reads it once; every answer is about these levels and zones."""
    scenario, settings = edition.scenario, edition.scenario.settings
    cautions = limits_cautions(settings) + ([FLOOR_SLOTS] if settings.storage is not None else [])
    contracts = settings.contract.items()
    return {
        "title": settings.tower.name,
        "hash": edition.digest,
        "file": Path(scenario.path).name,
        "start": settings.tower.start.isoformat(),
        "set_ups": stated_names(scenario),
        "levels": list(scenario.levels.levels),
        "zones": list(scenario.levels.zones),
        "milestone": level_milestone(scenario),
        "encloses": edition.enclosing,
        "trades": [{"name": name, "label": words(name)} for name in settings.trade],
        "contract": [{"name": k, "date": c.date.isoformat(), "level": c.level} for k, c in contracts],
        "causes": causes_json(),
        "changes": [offer.as_json() for offer in edition.offers.values() if offer.listed],
        "cautions": cautions,
        "decides": settings.cost is not None and bool(settings.decision or settings.candidate),
        "has_record": False,
    }
