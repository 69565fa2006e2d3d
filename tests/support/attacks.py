"""Attacks on all that a user hands over: keys, texts, tables, records, sheets, studies, results, folders.

Each is made from a number. An arena writes its good files once and spoils some of them for each attack.
"""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from support import attacked, wharf_in_small
from support.attacked import ANSWERED, End
from support.dice import Dice
from support.hostile import damaged_bytes, damaged_json, damaged_table, hostile_tree
from support.short_tower import write_short_tower
from support.site_record import LEVELS, MORE, TOML
from support.toml_text import toml_text
from towerpace import baseline, load, report, sweep, update
from towerpace.answers.sweep.read import load_study

Attack = Callable[[Dice], End]
STUDY = """[study]
name = "attacked"
scenario = "scenario.toml"
responses = ["finish.p80", "finish.mean"]
trials = 2
seed = 1
design = "grid"
keep_trials = true

[factor.gangs]
key = "resource.gang.count"
values = [1, 2]

[factor.share]
key = "hoist.share"
values = [0.5, 1.0]
"""
SHEET = """date,what,level,zone,done,note
2027-03-05,brackets,1,north,all,
2027-03-05,panels,1,north,4,"a note, with a comma"
2027-03-12,panels,1,north,9,
2027-03-12,brackets,1,east,all,
2027-03-12,brackets,2,north,50%,
2027-03-12,holes,1,north,1,
2027-03-12,mock_up,,,passed,
"""
LOG = """what,level,zone,panel,start,finish,unit,outcome,note
panels,1,north,1,2027-03-04T09:00,2027-03-04T10:00,,set,
panels,1,north,2,2027-03-04T10:10,2027-03-04T11:05,,set,
brackets,1,north,,2027-03-01T07:00,2027-03-01T17:00,,,
"""
WIND = "time,wind_speed_10m_m_s,wind_gust_10m_m_s\n" + "".join(
    f"2027-03-{day:02d}T{hour:02d}:00,{hour % 7},{hour % 7 + 3}\n"
    for day in range(1, 13)
    for hour in range(24)
)
DATES = "what,level,zone,done\nfinish,,,2027-06-01\npanels,1,north,2027-03-20\nbrackets,2,,2027-03-25\n"


def arenas(folder: Path) -> Mapping[str, Attack]:
    """Every attack by what is attacked. folder : an empty one."""
    small = wharf_in_small.write(folder / "wharf")
    short = write_short_tower(_made(folder / "short"))
    site = _site(folder / "site")
    trees = [_tree(small), _tree(small), _tree(site)]
    return {
        "keys of the scenario": partial(_keys, list(zip(trees, (small, small, site), strict=True))),
        "text of the scenario": partial(_text, _copy(short, folder / "text")),
        "table of levels": partial(_table, _copy(short, folder / "levels"), "levels.csv"),
        "weather record": partial(_weather, wharf_in_small.write(folder / "weather")),
        "sheet, log and wind": partial(_record, _site(folder / "record")),
        "dates of one's own": partial(_dates, _site(folder / "dates")),
        "study file": partial(_study, _site(folder / "study")),
        "folder of a study": partial(_study_folder, _site(folder / "studied")),
        "results folder": partial(_results, _site(folder / "results")),
    }


def _made(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _site(folder: Path) -> Path:
    _made(folder)
    (folder / "levels.csv").write_text(LEVELS, encoding="utf-8")
    (folder / "scenario.toml").write_text(TOML + MORE, encoding="utf-8")
    return folder / "scenario.toml"


def _copy(scenario: Path, folder: Path) -> Path:
    shutil.copytree(scenario.parent, folder)
    return folder / scenario.name


def _tree(scenario: Path) -> dict[str, object]:
    """A scenario without its own set-ups, which its levels here do not all have."""
    tree = tomllib.loads(scenario.read_text(encoding="utf-8"))
    return {key: table for key, table in tree.items() if key not in ("setup", "candidate")}


def _keys(bases: list[tuple[dict[str, object], Path]], dice: Dice) -> End:
    base, path = dice.of(bases)
    tree, _ = hostile_tree(base, dice)
    attack = path.with_name("attacked.toml")
    attack.write_text(toml_text(tree), encoding="utf-8", newline="")
    return attacked.scenario(attack)


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
    tree = _tree(path)
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
    _spoil_one(whole, hit, dice)
    if dice.coin():
        load_study(hit)
    else:
        sweep(file, folder=hit).to_json()
    return End(ANSWERED)


def _results(path: Path, dice: Dice) -> End:
    whole, hit = path.parent / "whole", path.parent / "hit"
    if not whole.exists():
        baseline(load(path), trials=4).save(whole)
    _spoil_one(whole, hit, dice)
    report(hit, out=path.parent / "page.html")
    return End(ANSWERED)


def _spoil_one(whole: Path, hit: Path, dice: Dice) -> None:
    """Copy a folder and spoil one of its files, or take it away."""
    shutil.rmtree(hit, ignore_errors=True)
    shutil.copytree(whole, hit)
    file = dice.of(sorted(file for file in hit.rglob("*") if file.is_file()))
    if dice.whole(1, 8) == 1:
        file.unlink()
    elif file.suffix == ".json":
        file.write_bytes(damaged_json(file.read_text(encoding="utf-8"), dice))
    elif file.suffix == ".csv":
        file.write_bytes(damaged_table(file.read_text(encoding="utf-8"), dice))
    else:
        content = file.read_bytes()
        file.write_bytes(content[: dice.whole(0, len(content))])
