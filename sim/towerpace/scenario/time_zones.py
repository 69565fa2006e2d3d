"""Time zones by their IANA names, as the zone database of the machine knows them."""

from contextlib import suppress
from typing import Annotated
from zoneinfo import ZoneInfo, available_timezones

from pydantic import PlainValidator, WithJsonSchema

from towerpace.faults import nearest_word
from towerpace.scenario.complaints import Complaint, RefusalError, shown
from towerpace.scenario.words import Words

ZONE_ALLOWED = 'an IANA name of a time zone as "America/New_York"'
# Names whose meaning is a setting of the machine: the same file would give other numbers elsewhere.
_OF_THE_MACHINE = ("localtime", "posixrules", "Factory")


def parse_zone(raw: object) -> str:
    """Name of a zone of the database.

    Raises `RefusalError` for any other, with the nearest name.

    >>> parse_zone("America/New_York")
    'America/New_York'
    """
    # Beside LookupError: a path or a text with zero bytes, and a folder of the database, as "America".
    with suppress(LookupError, ValueError, OSError):
        if isinstance(raw, str) and raw not in _OF_THE_MACHINE:
            return ZoneInfo(raw).key
    names = available_timezones().difference(_OF_THE_MACHINE)
    if not names:
        allowed = f"{ZONE_ALLOWED}; this machine has no time zone database: pip install tzdata"
        raise RefusalError([Complaint((), shown(raw), allowed)])
    raise RefusalError([Complaint((), shown(raw), ZONE_ALLOWED, nearest_zone(raw, names))])


def nearest_zone(raw: object, names: set[str]) -> str | None:
    """The name most like the given one; a town without its continent is found as well."""
    if not isinstance(raw, str):
        return None
    word = raw.replace(" ", "_")
    towns = {name.rpartition("/")[2]: name for name in sorted(names, reverse=True)}
    town = nearest_word(word.rpartition("/")[2], towns)
    return nearest_word(word, names) if town is None else towns[town]


TimeZone = Annotated[str, PlainValidator(parse_zone), WithJsonSchema({"type": "string"}), Words(ZONE_ALLOWED)]
