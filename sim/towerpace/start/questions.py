"""The questions of a new scenario: each with what it takes, and a default where one may be given.

The wind limit, whether it means gusts or means, and who set it have no default: nobody but the user can tell.
"""

import datetime as dt
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from towerpace.climate.record import read_record
from towerpace.faults import Fault, InputError, nearest_word

LEAST_STOREY_M, MOST_STOREY_M = 2.2, 12.0
MOST_PANELS = 12_000
MISSING_GUST_FACTOR = 1.33
_MOST_LETTERS = 80
_USUAL_STOREY_M = 3.6
_DAYS_BEFORE_START = 30

Answers = Mapping[str, Any]


class NotTakenError(ValueError):
    """An answer that cannot be used; says what can."""


@dataclass(frozen=True)
class FormQuestion:
    """One question.

    Parameters
    ----------
    key : str
        Name of the answer; its option is the same with two dashes and dashes for underscores.
    ask : str
        The question, as it is put.
    take : callable
        The answer from the user's text and the answers so far; raises `NotTakenError`.
    usual : callable or None
        The default as text, from the answers so far; None where there is none.
    """

    key: str
    ask: str
    take: Callable[[str, Answers], Any]
    usual: Callable[[Answers], str] | None

    @property
    def option(self) -> str:
        """The option of the command line that answers it."""
        return "--" + self.key.replace("_", "-")


@dataclass(frozen=True)
class OwnRecord:
    """A wind record of the user's.

    height_m : of its anemometer. knots : whether it tells whole knots. rain : whether it tells rain.
    """

    path: Path
    height_m: float
    knots: bool
    rain: bool


def taken(given: Mapping[str, str]) -> tuple[dict[str, Any], set[str]]:
    """Answers from texts and defaults, without asking.

    Returns
    -------
    dict
        The answer to every question.
    set
        Those that the user gave.

    Raises
    ------
    InputError
        With a fault for each answer that cannot be used, and each that is missing without a default.
    """
    answers: dict[str, Any] = {}
    faults: list[Fault] = []
    for question in questions():
        try:
            answers[question.key] = answer(question, given.get(question.key), answers)
        except NotTakenError as error:
            found = f'"{given[question.key]}"' if question.key in given else "missing"
            faults.append(Fault("new", None, question.option, found, str(error)))
            if question.usual is not None:
                answers[question.key] = question.take(question.usual(answers), answers)
    if faults:
        raise InputError(faults)
    return answers, set(given)


def answer(question: FormQuestion, text: str | None, answers: Answers) -> Any:
    """The answer to one question, from a text or its default; raises `NotTakenError`."""
    if text is None:
        if question.usual is None:
            return question.take("", answers)
        text = question.usual(answers)
    return question.take(text.strip(), answers)


def questions(today: dt.date | None = None) -> tuple[FormQuestion, ...]:
    """All questions, in the order in which they are put; an answer may decide what later ones take."""
    day = today or dt.date.today()
    return (
        FormQuestion("name", "Name of the tower", _text, lambda _: "My tower"),
        FormQuestion("start", "First day of the work (YYYY-MM-DD)", _day, lambda _: _first_monday(day)),
        FormQuestion("levels", "Number of levels", _whole(1, 150), lambda _: "20"),
        FormQuestion("height", "Height of the highest level above ground [m]", _height, _usual_height),
        FormQuestion(
            "zones", "Zones of a level, with commas between", _zones, lambda _: "north,east,south,west"
        ),
        FormQuestion("panels", "Panels on each zone of a level", _panels, _usual_panels),
        FormQuestion("days", "Working days a week (5, 6 or 7)", _whole(5, 7), lambda _: "5"),
        FormQuestion("cycle", "Days from one level's handover to the next", _whole(1, 90), lambda _: "7"),
        FormQuestion("gangs", "Panel gangs", _whole(1, 20), lambda _: "2"),
        FormQuestion("cranes", "Floor cranes", _whole(1, 20), lambda _: "2"),
        FormQuestion("hoists", "Hoists", _whole(1, 10), lambda _: "1"),
        FormQuestion("wind_limit", "Wind above which no panel is lifted [m/s]", _wind_limit, None),
        FormQuestion("wind_kind", "Does that limit mean the gust or the mean", _wind_kind, None),
        FormQuestion("wind_authority", "Who set it (plate, lift plan, standard)", _authority, None),
        FormQuestion("record", "Wind record (CSV), or nothing for LaGuardia 2013", _record, lambda _: ""),
        FormQuestion(
            "utc_offset", "Standard time of that record ahead of UTC [h]", _utc_offset, lambda _: "0"
        ),
    )


def _first_monday(today: dt.date) -> str:
    day = today + dt.timedelta(days=_DAYS_BEFORE_START)
    return (day + dt.timedelta(days=-day.weekday() % 7)).isoformat()


def _usual_height(answers: Answers) -> str:
    return f"{answers['levels'] * _USUAL_STOREY_M:.1f}"


def _usual_panels(answers: Answers) -> str:
    return str(min(12, MOST_PANELS // (answers["levels"] * len(answers["zones"]))))


def _text(text: str, _: Answers) -> str:
    if not text or len(text) > _MOST_LETTERS or not text.isprintable():
        raise NotTakenError(f"text of 1 to {_MOST_LETTERS} letters on one line")
    return text


def _day(text: str, _: Answers) -> dt.date:
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        day = dt.date.min
    if not dt.date(1990, 1, 1) <= day <= dt.date(2150, 1, 1):
        raise NotTakenError("a date from 1990 to 2149 as 2027-03-01")
    return day


def _whole(least: int, most: int) -> Callable[[str, Answers], int]:
    def take(text: str, _: Answers) -> int:
        number = int(text) if text.isascii() and text.isdigit() and len(text) < len("10000") else -1
        if not least <= number <= most:
            raise NotTakenError(f"a whole number from {least} to {most}")
        return number

    return take


def _number(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        return math.nan
    return number if math.isfinite(number) else math.nan


def _height(text: str, answers: Answers) -> float:
    least, most = answers["levels"] * LEAST_STOREY_M, answers["levels"] * MOST_STOREY_M
    height_m = _number(text)
    if not least <= height_m <= most:
        words = f"{LEAST_STOREY_M:g} to {MOST_STOREY_M:g} m a level"
        raise NotTakenError(
            f"a number from {least:.1f} to {most:.1f} for {answers['levels']} levels ({words})"
        )
    return height_m


def _zones(text: str, _: Answers) -> tuple[str, ...]:
    zones = tuple(zone.strip() for zone in text.split(","))
    good = all(zone and zone.isprintable() and len(zone) <= _MOST_LETTERS for zone in zones)
    if not good or len(set(zones)) < len(zones) or len(zones) > 12:
        raise NotTakenError("1 to 12 names, each once, with commas between them")
    return zones


def _panels(text: str, answers: Answers) -> int:
    most = min(200, MOST_PANELS // (answers["levels"] * len(answers["zones"])))
    return _whole(1, most)(text, answers)


def _wind_limit(text: str, _: Answers) -> float:
    limit = _number(text)
    if not 2 <= limit <= 30:
        raise NotTakenError("a number from 2 to 30, in m/s (1 mph = 0.447, 1 km/h = 0.278, 1 kt = 0.514 m/s)")
    return limit


def _wind_kind(text: str, _: Answers) -> str:
    if text not in ("gust", "mean"):
        nearest = nearest_word(text, ("gust", "mean"))
        raise NotTakenError('"gust" or "mean"' + (f"; nearest: {nearest}" if nearest else ""))
    return text


def _authority(text: str, answers: Answers) -> str:
    if sum(letter.isalpha() for letter in text) < 3:
        raise NotTakenError("who set the limit: the maker's plate, a lift plan, a standard, by name")
    return _text(text, answers)


def _record(text: str, _: Answers) -> OwnRecord | None:
    if not text:
        return None
    path = Path(text)
    if not path.is_file():
        raise NotTakenError(f"a file that is there; {path} is not")
    for rain in (True, False):
        for knots in (True, False):
            own = _read(path, knots=knots, rain=rain)
            if own is not None:
                return own
    try:
        read_record(path, missing_gust_factor=MISSING_GUST_FACTOR, knots=False, needed=())
    except InputError as error:
        raise NotTakenError(f"a record of whole years without holes; {error.faults[0].text()}") from None
    raise NotTakenError("a record of whole years")


def _read(path: Path, *, knots: bool, rain: bool) -> OwnRecord | None:
    needed = ("rain",) if rain else ()
    try:
        record = read_record(path, missing_gust_factor=MISSING_GUST_FACTOR, knots=knots, needed=needed)
    except InputError:
        return None
    return OwnRecord(path, record.height_m, knots, rain)


def _utc_offset(text: str, _: Answers) -> float:
    offset_h = _number(text)
    if not -12 <= offset_h <= 14:
        raise NotTakenError("a number of hours from -12 to 14")
    return offset_h
