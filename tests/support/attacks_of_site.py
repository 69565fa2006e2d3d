"""Attacks on what a running site hands over beside its record: promises, a forecast, earlier results."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from unittest import mock

from support.attacked import ANSWERED, Attack, End
from support.attacked_files import FORECAST, PROMISES, write_record, write_site
from support.dice import Dice
from support.hostile import damaged_table, spoil_one
from towerpace import ahead, forecast, load, score, update

RECORD = ("progress", "log", "wind")


def arenas(folder: Path) -> Mapping[str, Attack]:
    """Each by what is attacked. folder : an empty one."""
    return {
        "promises and forecast": partial(_ahead, write_site(folder / "ahead")),
        "results to be marked": partial(_score, write_site(folder / "score")),
        "results to go on from": partial(_since, write_site(folder / "since")),
    }


def _ahead(path: Path, dice: Dice) -> End:
    files = write_record(path.parent)
    name, text = dice.of([("promises", PROMISES), ("weather", FORECAST)])
    files[name].write_bytes(damaged_table(text, dice))
    look = ahead(load(path), **files, weeks=dice.of([1, 1, 52]), trials=2)
    look.to_json()
    return End(ANSWERED)


def _score(path: Path, dice: Dice) -> End:
    files, whole = _whole(path)
    spoil_one(whole, path.parent / "hit", dice)
    record = {name: files[name] for name in RECORD}
    # Without one it is the scenario that the results name, which no longer stands where it was.
    scenario = load(path) if dice.whole(1, 6) > 1 else None
    score([path.parent / "hit"], **record, scenario=scenario, promises=files["promises"]).to_json()
    return End(ANSWERED)


def _since(path: Path, dice: Dice) -> End:
    files, whole = _whole(path)
    spoil_one(whole, path.parent / "hit", dice)
    update(load(path), files["progress"], since=path.parent / "hit", trials=2).to_json()
    return End(ANSWERED)


def _whole(path: Path) -> tuple[dict[str, Path], Path]:
    """The record, and good results of this site that stand by themselves."""
    whole = path.parent / "whole"
    if not whole.exists():
        write_record(path.parent)
        with mock.patch("towerpace.render.folder._write_figures"):  # nobody reads them here
            forecast(load(path), trials=4).save(whole)
    return {name: path.with_name(f"{name}.csv") for name in (*RECORD, "promises")}, whole
