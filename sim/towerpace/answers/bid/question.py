"""What a bid is asked: working days, a date, or a confidence; and the chance of what is stated."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from towerpace.answers.days import Days
from towerpace.answers.estimates import LATER, Chance, chance
from towerpace.answers.forecast import Forecast
from towerpace.answers.prepare import Prepared
from towerpace.faults import Fault, InputError


@dataclass(frozen=True)
class Question:
    """At most one of: working days from the start, a date, a confidence."""

    working_days: int | None = None
    date: date | None = None
    confidence: float | None = None


@dataclass(frozen=True)
class Stated:
    """A duration and the chance that it is kept: to the end of its date, or within its working days."""

    date: date
    working_days: int
    chance: Chance


def check(question: Question, ready: Prepared) -> None:
    """Refuse what lies outside the horizon; raises `InputError`."""
    days, settings = ready.days, ready.scenario.settings
    last = settings.tower.start + timedelta(days=settings.tower.horizon_days - 1)
    most = days.working_day(days.last_minute(last))
    faults, path = [], ready.scenario.path
    asked = [q for q in (question.working_days, question.date, question.confidence) if q is not None]
    if len(asked) > 1:
        faults.append(Fault(path, None, "bid", f"{len(asked)} questions", "one of days, date and confidence"))
    if question.working_days is not None and not 1 <= question.working_days <= most:
        allowed = f"1 to {most} working days, which end the horizon"
        faults.append(Fault(path, None, "days", str(question.working_days), allowed))
    if question.date is not None and not settings.tower.start <= question.date <= last:
        allowed = f"{settings.tower.start.isoformat()} to {last.isoformat()}, the end of the horizon"
        faults.append(Fault(path, None, "date", question.date.isoformat(), allowed))
    if question.confidence is not None and not 0 < question.confidence < 1:
        faults.append(Fault(path, None, "confidence", f"{question.confidence:g}", "between 0 and 1"))
    if faults:
        raise InputError(faults)


def stated_of(question: Question, forecast: Forecast) -> Stated | None:
    """The stated duration and its chance; None where a confidence was asked, or nothing."""
    days, finish = forecast.days, forecast.finish
    if question.date is not None:
        minute = days.last_minute(question.date)
        return Stated(question.date, days.working_day(minute), chance(finish <= minute))
    if question.working_days is None:
        return None
    # A finish on a day off counts with the working day before it.
    worked = [finish_of != LATER and days.working_day(finish_of) for finish_of in finish.tolist()]
    met = np.array([w is not False and w <= question.working_days for w in worked])
    return Stated(date_of_working_day(days, question.working_days), question.working_days, chance(met))


def date_of_working_day(days: Days, number: int) -> date:
    """Date of the so-manieth working day from the start, the first being 1."""
    day = days.start
    while days.working_day(days.last_minute(day)) < number:
        day += timedelta(days=1)
    return day
