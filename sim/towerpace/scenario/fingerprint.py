"""The hash of a scenario: same content, same hash, wherever the files lie and however they are laid out."""

import dataclasses
import datetime as dt
import hashlib
import json
from pathlib import Path

from pydantic import BaseModel

from towerpace.scenario.levels import Levels
from towerpace.scenario.quantities import Value
from towerpace.scenario.schema import Settings
from towerpace.scenario.spreads import Spread

# Names of files are places; what the files hold is hashed instead. Named changes are not what is simulated
# until they are laid over the rest; what levels have other than their table is in the levels.
_LEFT_OUT = (
    ("Tower", "levels"),
    ("Weather", "record"),
    ("Settings", "setup"),
    ("Settings", "candidate"),
    ("Settings", "decision"),
    ("Settings", "level"),
)


def fingerprint(settings: Settings, levels: Levels, *, folder: Path) -> str:
    """SHA-256 of the content of a scenario, hexadecimal.

    Parameters
    ----------
    settings : Settings
        Samples of spreads are part of them.
    levels : Levels
        The level table.
    folder : Path
        Folder from which the weather record is named.

    Notes
    -----
    Keys are in the order of the vocabulary. Named tables stay in file order, because that order decides: it
    is the rank of trades. What stands at its default is left out, so a larger vocabulary keeps the hash.
    """
    content = json.dumps([_plain(settings), levels.rows()], ensure_ascii=True, separators=(",", ":"))
    digest = hashlib.sha256(content.encode())
    if settings.weather is not None:
        record = (folder / settings.weather.record).read_bytes()
        digest.update(record.replace(b"\r\n", b"\n").replace(b"\r", b"\n"))
    return digest.hexdigest()


def _plain(value: object) -> object:
    if isinstance(value, BaseModel):
        table = type(value).__name__
        fields = type(value).model_fields.items()
        stated = [
            name
            for name, field in fields
            if (table, name) not in _LEFT_OUT
            and getattr(value, name) != field.get_default(call_default_factory=True)
        ]
        return [[name, _plain(getattr(value, name))] for name in stated]
    if isinstance(value, dict):
        return [[key, _plain(entry)] for key, entry in value.items()]
    if isinstance(value, tuple):
        return [_plain(entry) for entry in value]
    if isinstance(value, Spread):
        return _plain(tuple(getattr(value, field.name) for field in dataclasses.fields(value) if field.init))
    if isinstance(value, Value):
        return [float(value), value.source]
    return value.isoformat() if isinstance(value, dt.date) else value
