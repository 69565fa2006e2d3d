"""The scenario file and the level table that a dozen answers make."""

import csv
import datetime as dt
import io
import json
import math
from collections.abc import Collection
from importlib.resources import files
from string import Template

from towerpace.climate.height import ASCE_TERRAIN, EN_HIGHEST_M, gust_ratio, mean_ratio
from towerpace.scenario.assumptions import STARTING_VALUE
from towerpace.scenario.guarded import guarded
from towerpace.start.questions import Answers
from towerpace.start.shipped import NOT_YOUR_SITE, RECORD_UTC_OFFSET_H

ANSWERED = "answered when this scenario was begun"
_DAYS_TO_FIRST_HANDOVER = 14
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri")
_WEEKEND = ("sat", "sun")
_RAIN = """
[limit.rain_on_joints]
rain_above_mm_h = 0.5
source = "starting value, replace: joints must be dry, common practice, no source"
"""


def scenario_text(answers: Answers, *, given: Collection[str], record: str) -> str:
    """The commented scenario file.

    Parameters
    ----------
    answers : mapping
        The answer to every question.
    given : collection of str
        Questions that the user answered; what the others say is a starting value.
    record : str
        Path of the weather record from the scenario's folder.
    """
    template = (files("towerpace.start") / "templates" / "scenario.toml").read_text(encoding="utf-8")

    def source(key: str) -> str:
        return _quoted(ANSWERED if key in given else STARTING_VALUE)

    own = answers["record"]
    rain = own is None or own.rain
    shift = ["07:00-12:00", "12:30-17:00"]
    per_level = answers["panels"] * len(answers["zones"])
    return Template(template).substitute(
        name=_quoted(answers["name"]),
        start=answers["start"].isoformat(),
        horizon_days=horizon_days(answers),
        site_week=_week(answers["days"], shift=shift, weekend=["07:00-13:00"]),
        delivery_week=_week(answers["days"], shift=["07:00-17:00"], weekend=["07:00-13:00"]),
        days_source=source("days"),
        record=_quoted(record),
        record_height_m=f"{own.height_m:g}" if own else "10",
        utc_offset_h=f"{answers['utc_offset']:g}" if own else RECORD_UTC_OFFSET_H,
        height_law="\n".join(height_law(answers["height"])),
        knots="true" if own is None or own.knots else "false",
        record_source=_quoted(ANSWERED if own else f"{STARTING_VALUE}: {NOT_YOUR_SITE}"),
        wind_limit=f"{answers['wind_limit']:g}",
        wind_kind=_quoted(answers["wind_kind"]),
        wind_authority=_quoted(answers["wind_authority"]),
        rain_limit=_RAIN if rain else "",
        seal_limits='["rain_on_joints"]' if rain else "[]",
        gangs=answers["gangs"],
        gangs_source=source("gangs"),
        gangs_more=answers["gangs"] + 1,
        cranes=answers["cranes"],
        cranes_source=source("cranes"),
        cranes_more=answers["cranes"] + 1,
        hoists=answers["hoists"],
        hoists_source=source("hoists"),
        zone_pairs=max(1, len(answers["zones"]) // 2),
        slots_per_level=max(8, math.ceil(per_level / 4)),
        contract_date=(answers["start"] + dt.timedelta(days=horizon_days(answers) // 2)).isoformat(),
    )


def levels_text(answers: Answers) -> str:
    """The level table: levels of one height, fronts of one size."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["level", "zone", "height_m", "difficulty", "handover", "flat", "brackets", "joints_m"])
    levels, panels = answers["levels"], answers["panels"]
    for level in range(1, levels + 1):
        height_m = f"{answers['height'] * level / levels:.2f}"
        handover = _handover(answers, level=level).isoformat()
        for zone in answers["zones"]:
            table.writerow([level, guarded(zone), height_m, "1.0", handover, panels, 2 * panels, 6 * panels])
    return out.getvalue()


def height_law(height_m: float) -> list[str]:
    """Lines that say how wind grows up to a height; a code's profile where one reaches so far.

    Above all of them stands a power law that meets ASCE 7, exposure B, at its gradient height.
    """
    gradient_m = ASCE_TERRAIN["B"][1]
    if height_m <= EN_HIGHEST_M:
        return ['height_law = "en1991"', 'site_exposure = "IV"  # city; I, II, III: more open ground']
    if height_m <= gradient_m:
        return [
            f"# EN 1991-1-4 stops at {EN_HIGHEST_M:g} m, so ASCE 7 serves up to {gradient_m:.0f} m.",
            'height_law = "asce7"',
            'site_exposure = "B"  # city or suburb; C open country, D water',
        ]
    gust = _exponent(gust_ratio(gradient_m, law="asce7", exposure="B"), gradient_m)
    mean = _exponent(mean_ratio(gradient_m, law="asce7", exposure="B"), gradient_m)
    return [
        f"# Codes stop at {EN_HIGHEST_M:g} and {gradient_m:.0f} m: a power law that meets ASCE 7 there.",
        'height_law = "power"',
        f"gust_exponent = {gust:.3f}",
        f"mean_exponent = {mean:.3f}",
    ]


def law_told(height_m: float) -> str | None:
    """What to tell of a height that the usual profile does not cover; None where it does."""
    if height_m <= EN_HIGHEST_M:
        return None
    law = "ASCE 7, exposure B" if height_m <= ASCE_TERRAIN["B"][1] else "a power law"
    stop = f"the {EN_HIGHEST_M:g} m at which EN 1991-1-4 stops"
    return f"{height_m:g} m is above {stop}: wind grows with height by {law} instead."


def horizon_days(answers: Answers) -> int:
    """Twice the time that structure and setting would take at a slow pace, and a year. [d]"""
    structure: int = _DAYS_TO_FIRST_HANDOVER + answers["levels"] * answers["cycle"]
    panels: int = answers["levels"] * len(answers["zones"]) * answers["panels"]
    setting: float = panels / (4 * min(answers["gangs"], answers["cranes"])) * 7 / answers["days"]
    return min(36_500, 365 + math.ceil(2 * (structure + setting)))


def _handover(answers: Answers, *, level: int) -> dt.date:
    days = _DAYS_TO_FIRST_HANDOVER + (level - 1) * answers["cycle"]
    day: dt.date = answers["start"] + dt.timedelta(days=days)
    return day


def _exponent(ratio: float, height_m: float) -> float:
    return math.log(ratio) / math.log(height_m / 10)


def _week(days: int, *, shift: list[str], weekend: list[str]) -> str:
    hours = dict.fromkeys(_WEEKDAYS, shift) | dict.fromkeys(_WEEKEND[: days - len(_WEEKDAYS)], weekend)
    return "{ " + ", ".join(f"{day} = {json.dumps(stretches)}" for day, stretches in hours.items()) + " }"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
