"""What befell a site, read beside its record."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

from towerpace.answers.seen.reading import Reading
from towerpace.faults import Fault, InputError
from towerpace.record.effects import Effects
from towerpace.record.events import EventReader
from towerpace.record.site_record import SiteRecord
from towerpace.scenario.load import Scenario


def read_beside(
    record: SiteRecord,
    events: str | os.PathLike[str] | None,
    *,
    scenario: Scenario,
    at: date | None,
    learn: bool,
) -> tuple[SiteRecord, Reading]:
    """A record with the file of events in its hash, and how it is read.

    events : their file, or None. at : the data date that was asked for: what begins later is left out, and
    what was over later goes on, as rows of the sheet are left out. learn : whether paces are learned.

    Raises
    ------
    InputError
        With every fault of the file.
    """
    if events is None:
        return record, Reading(learn)
    path = Path(events)
    if not path.is_file():
        raise InputError([Fault(str(events), None, "file", "missing file", "a CSV file")])
    reader = EventReader(Effects.of(scenario, record.words), record.start, record.at if at is None else None)
    befell, faults = reader.read(path)
    if faults:
        raise InputError(faults)
    begun = tuple(event.as_of(record.at) for event in befell if event.since <= record.at)
    return record.beside(path), Reading(learn, begun, str(events))
