"""Attacks on all that a user hands over: keys, texts, tables, records, sheets, studies, results, folders.

Each is made from a number. An arena writes its good files once and spoils some of them for each attack.
"""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Mapping
from functools import partial
from pathlib import Path

from support import attacked, attacks_of_page, attacks_of_questions, attacks_of_site, wharf_in_small
from support.attacked import ANSWERED, Attack, End
from support.attacked_files import DATES, LOG, SHEET, STUDY, WIND, write_site
from support.dice import Dice
from support.hostile import bare_tree, damaged_bytes, damaged_table, hostile_tree, spoil_one
from support.short_tower import write_short_tower
from support.toml_text import toml_text
from towerpace import baseline, load, report, sweep, update
from towerpace.answers.sweep.read import load_study


def arenas(folder: Path, *, trials: int = 1) -> Mapping[str, Attack]:
    """Every attack by what is attacked. folder : an empty one. trials : on both engines, where keys fit."""
    small = wharf_in_small.write(folder / "wharf")
    short = write_short_tower(_made(folder / "short"))
    site = write_site(folder / "site")
    trees = [bare_tree(small), bare_tree(small), bare_tree(site)]
    return {
        "keys of the scenario": partial(_keys, list(zip(trees, (small, small, site), strict=True)), trials),
        "text of the scenario": partial(_text, _copy(short, folder / "text")),
        "table of levels": partial(_table, _copy(short, folder / "levels"), "levels.csv"),
        "weather record": partial(_weather, wharf_in_small.write(folder / "weather")),
        "sheet, log and wind": partial(_record, write_site(folder / "record")),
        "dates of one's own": partial(_dates, write_site(folder / "dates")),
        "study file": partial(_study, write_site(folder / "study")),
        "folder of a study": partial(_study_folder, write_site(folder / "studied")),
        "results folder": partial(_results, write_site(folder / "results")),
        **attacks_of_site.arenas(folder / "running"),
        **attacks_of_page.arenas(folder / "page"),
        **attacks_of_questions.arenas(folder / "questions"),
    }


def _made(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _copy(scenario: Path, folder: Path) -> Path:
    shutil.copytree(scenario.parent, folder)
    return folder / scenario.name


def _keys(bases: list[tuple[dict[str, object], Path]], trials: int, dice: Dice) -> End:
    base, path = dice.of(bases)
    tree, _ = hostile_tree(base, dice)
    attack = path.with_name("attacked.toml")
    attack.write_text(toml_text(tree), encoding="utf-8", newline="")
    return attacked.scenario(attack, trials=trials)


def _text(path: Path, dice: Dice) -> End:
    good = path.with_name("good.toml")
    if not good.exists():
        shutil.copy(path, good)
    text = good.read_text(encoding="utf-8")
    for _ in range(dice.whole(1, 3)):
        start = dice.whole(0, len(text))
        odd = dice.of(
            ["", "=", "[", "]]", '"', "'''", "\n", "\x00", "9", "-", ".", "{", "true", "#", "\u00e9", " " * 9]
        )
        text = text[:start] + odd * dice.of([1, 1, 400]) + text[start + dice.of([0, 1, 8]) :]
    path.write_bytes(damaged_bytes(text, dice))
    return attacked.scenario(path)


def _table(path: Path, name: str, dice: Dice) -> End:
    good = path.with_name(f"good-{name}")
    if not good.exists():
        shutil.copy(path.with_name(name), good)
    path.with_name(name).write_bytes(damaged_table(good.read_text(encoding="utf-8"), dice))
    return attacked.scenario(path)


def _weather(path: Path, dice: Dice) -> End:
    good = wharf_in_small.RECORD
    path.with_name("record.csv").write_bytes(damaged_table(good.read_text(encoding="utf-8"), dice))
    tree = bare_tree(path)
    tree["weather"] = {**tree["weather"], "record": "record.csv"}  # type: ignore[dict-item]  # a tree of anything
    attack = path.with_name("attacked.toml")
    attack.write_text(toml_text(tree), encoding="utf-8", newline="")
    return attacked.scenario(attack)


def _record(path: Path, dice: Dice) -> End:
    texts, paths = {"progress": SHEET, "log": LOG, "wind": WIND}, {}
    for name, text in texts.items():
        paths[name] = path.with_name(f"{name}.csv")
        paths[name].write_text(text, encoding="utf-8")
    hit = dice.of(["progress", "progress", "log", "wind"])
    paths[hit].write_bytes(damaged_table(texts[hit], dice))
    update(load(path), paths.pop("progress"), **paths, trials=2).to_json()
    return End(ANSWERED)


def _dates(path: Path, dice: Dice) -> End:
    dates = path.with_name("dates.csv")
    dates.write_bytes(damaged_table(DATES, dice))
    baseline(load(path), dates=dates, trials=2).to_json()
    return End(ANSWERED)


def _study(path: Path, dice: Dice) -> End:
    tree = tomllib.loads(STUDY)
    tables = [tree["study"], tree["factor"]["gangs"], tree["factor"]["share"], tree["factor"], tree]
    for _ in range(dice.whole(1, 2)):
        table = dice.of(tables)
        key = dice.of([*table, "odd", "points", "p80_within_days", "low", "high", "replace", "integer"])
        table[key] = dice.of(
            [None, 0, -1, 3, 2**63, 1e308, True, "", "x", "latin", "sobol", [], [1], {}, [{}]]
        )
        if table[key] is None:
            del table[key]
    file = path.with_name("study.toml")
    file.write_text(toml_text(tree), encoding="utf-8", newline="")
    shutil.rmtree(path.parent / "out", ignore_errors=True)
    sweep(file, folder=path.parent / "out").to_json()
    return End(ANSWERED)


def _study_folder(path: Path, dice: Dice) -> End:
    file, whole, hit = path.with_name("study.toml"), path.parent / "whole", path.parent / "hit"
    if not whole.exists():
        file.write_text(STUDY, encoding="utf-8")
        sweep(file, folder=whole)
    spoil_one(whole, hit, dice)
    if dice.coin():
        load_study(hit)
    else:
        sweep(file, folder=hit).to_json()
    return End(ANSWERED)


def _results(path: Path, dice: Dice) -> End:
    whole, hit = path.parent / "whole", path.parent / "hit"
    if not whole.exists():
        baseline(load(path), trials=4).save(whole)
    spoil_one(whole, hit, dice)
    report(hit, out=path.parent / "page.html")
    return End(ANSWERED)
