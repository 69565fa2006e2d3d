"""A trial taken for a site whose foreman writes down what he sees: weekly sheets, a log and the wind."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import date, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

from towerpace.answers.prepare import Prepared
from towerpace.draws import stream
from towerpace.plan.site.paces import risk_purpose
from towerpace.plan.site.risks import ChanceLaw, LateLevelLaw
from towerpace.record.site_record import SiteRecord, read_site_record

SCRIPT = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "record" / "make_record.py"


def _script() -> ModuleType:
    """The script that writes the record of the demo."""
    spec = spec_from_file_location("make_record", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


MADE = _script()


class WatchedSite(MADE.Site):
    """A trial that is the truth, with the risks as they come to be known."""

    def __init__(self, ready: Prepared, *, seed: int, trial: int) -> None:
        self._seed, self._trial = seed, trial
        draw = ready.chooser.draw(seed, trial)
        super().__init__(ready.scenario, ready, draw, of=(seed, trial))

    def risk(self, name: str, minute: int) -> str:
        """That it has befallen or is over, or that it can befall no more."""
        law = next(
            (a for a in self.tower.laws if isinstance(a, ChanceLaw | LateLevelLaw) and a.risk == name), None
        )
        if law is None:  # it slows a trade, of which nobody can say
            return ""
        befallen = bool(stream(self._seed, self._trial, risk_purpose(name)).random() < law.chance)
        step = int(law.steps[0])
        if isinstance(law, LateLevelLaw):
            due = minute > self.plan.date[step]
            return ("yes" if befallen else "no" if self.over(step, minute) else "") if due else ""
        begun = 0 <= self.diary.started[step] < minute
        if not begun:
            return ""
        return "no" if not befallen else "over" if self.over(step, minute) else "yes"

    def record(self, folder: Path, at: date, *, log: bool = True, wind: bool = True) -> SiteRecord:
        """Write the files up to a day, and read them."""
        start, folder = self.tower.start, Path(folder)
        paths = {"progress": MADE.write(folder, "progress", MADE.sheet_rows(self, weeks(start, at)))}
        if log:
            paths["log"] = MADE.write(folder, "log", MADE.log_rows(self, start, at))
        if wind:
            paths["wind"] = MADE.write(folder, "wind", MADE.wind_rows(self, at))
        return read_site_record(self.scenario, self.tower, at=at, **paths)


def weeks(first: date, last: date) -> Iterator[date]:
    """A day in every week, and the last."""
    for days in range(6, (last - first).days, 7):
        yield first + timedelta(days)
    yield last
