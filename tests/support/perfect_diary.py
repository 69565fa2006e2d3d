"""What a perfect diary of a trial would tell: every step, to the minute. No site has one to be held to."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import partial

import numpy as np

from support.foreman import WatchedSite
from support.pinned import pins_of
from towerpace.answers.learn.losses import learned_chances, losses_seen
from towerpace.answers.learn.minutes import Shown
from towerpace.answers.learn.site import learn_log
from towerpace.answers.prepare import Prepared
from towerpace.climate.hours import Hours
from towerpace.climate.source import WeatherSource
from towerpace.draws import Chooser, Draw, stream
from towerpace.engine.diary import Diary
from towerpace.engine.spent import spent_min
from towerpace.lots.streams import Streams
from towerpace.plan.chance import NOTHING_KNOWN, Known
from towerpace.plan.laws import Durations
from towerpace.plan.pins import Pins, resumed
from towerpace.plan.seen import Seen, held_since
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.mock_up import TriesLaw
from towerpace.plan.site.paces import risk_purpose
from towerpace.plan.site.risks import ChanceLaw, LateLevelLaw
from towerpace.units import Flags


def seen_perfectly(ready: Prepared, draw: Draw, diary: Diary, *, of: tuple[int, int], at: int) -> Seen:
    """All that a perfect diary tells of a trial up to a minute. of : its seed and number."""
    plan, pins = ready.tower.plan, pins_of(diary, draw, at)
    began, told = pins.began, partial(stream, *of)
    lost: dict[int, bool] = {}
    risks: dict[str, bool] = {}
    failed, passed = 0, False
    for law in ready.tower.laws:
        if isinstance(law, LossLaw):
            losses = law.losses(told, NOTHING_KNOWN)
            for happened, chain, unfit in (
                (losses.unfit, law.unfit, True),
                (losses.broken, law.broken, False),
            ):
                panels = np.flatnonzero(happened & (chain[:, 0] >= 0))
                lost |= {int(law.normal[k]): unfit for k in panels.tolist() if began[chain[k, 0]] >= 0}
        elif isinstance(law, ChanceLaw) and (began[law.steps] >= 0).any():
            risks[law.risk] = True
        elif isinstance(law, LateLevelLaw) and plan.date[law.steps[0]] < at:
            risks[law.risk] = bool(told(risk_purpose(law.risk)).random() < law.chance)
        elif isinstance(law, TriesLaw):
            failed = int((began[law.again[:, 0]] >= 0).sum())
            passed = _is_done(ready, pins, "mock_up")
    return Seen(
        data_date_min=at,
        began=began,
        ended=pins.ended,
        share=np.full(plan.n, np.nan),
        spent=spent_min(plan, began=began, ended=pins.ended, until=at, hours=draw.hours),
        since=held_since(plan, began=began, ended=pins.ended),
        earliest=pins.ended,
        latest=pins.ended,
        lost=lost,
        risks=risks,
        failed_tries=failed,
        passed=passed,
    )


def _is_done(ready: Prepared, pins: Pins, kind: str) -> bool:
    plan = ready.tower.plan
    steps: Flags = plan.by_tags(lambda tags: tags.kind == kind).astype(np.bool_) & plan.planned
    return bool((pins.ended[steps] >= 0).all())


@dataclass(frozen=True)
class HoursOfSite:
    """The weather of a site up to an hour, of a usual source from then on."""

    site: Hours
    usual: WeatherSource
    hour: int

    def hours(self, trial: int, streams: Streams) -> Hours:
        """The hours of one trial."""
        drawn = self.usual.hours(trial, streams)
        pairs = [(getattr(self.site, field.name), getattr(drawn, field.name)) for field in fields(Hours)]
        return Hours(
            *(a if a is None else np.concatenate((a[: self.hour], b[self.hour :])) for a, b in pairs)
        )


def perfect_chooser(site: WatchedSite, ready: Prepared, *, at: int) -> Chooser:
    """Draws trials that go on from a perfect diary, with paces and losses learned from it."""
    seen = seen_perfectly(ready, site.draw, site.diary, of=site.of, at=at)
    learned = learn_log(
        ready.tower, _rows(ready, site.diary, at), clock=site.clock, data_date=at, befallen=seen.risks
    )
    unfit, broken = ([lift for lift, early in seen.lost.items() if early is kind] for kind in (True, False))
    losses = losses_seen(ready.tower, lifted=seen.done, unfit=unfit, broken=broken)
    known = Known(learned=learned.paces(ready.tower), chances=learned_chances(losses), seen=seen)
    weather = HoursOfSite(site.draw.hours, ready.chooser.weather, at // 60)
    return Chooser(resumed(ready.tower.plan, at), ready.chooser.laws, weather, known)


def _rows(ready: Prepared, diary: Diary, at: int) -> list[Shown]:
    """Everything that the pace of a trade stretches, as a log would have it."""
    laws = [w for law in ready.tower.laws if isinstance(law, Durations) for w in law.work if w.pace]
    steps = [s for law in laws for s in law.steps.tolist()]
    begun = [s for s in steps if 0 <= diary.started[s] < at and diary.finished[s] != diary.started[s]]
    ends = [int(diary.finished[s]) for s in begun]
    return [
        Shown((s,), int(diary.started[s]), end if 0 <= end <= at else None)
        for s, end in zip(begun, ends, strict=True)
    ]
