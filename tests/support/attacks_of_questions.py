"""Attacks on the scenario by every other question: what `check` is content with, each must answer."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from xml.etree import ElementTree

from support import wharf_in_small
from support.attacked import ANSWERED, Attack, End
from support.attacked_files import write_site
from support.dice import Dice
from support.hostile import bare_tree, hostile_tree
from support.toml_text import toml_text
from towerpace import add, baseline, bid, check, compare, events, explain, load, use, weather
from towerpace.scenario.load import Scenario

QUESTIONS: Mapping[str, Callable[[Scenario], object]] = {
    "baseline": lambda scenario: baseline(scenario, trials=2).to_json(),
    "use": lambda scenario: use(scenario, trials=2).to_json(),
    "explain": lambda scenario: explain(scenario, trials=2).to_json(),
    "compare": lambda scenario: compare(scenario, trials=2).to_json(),
    "add": lambda scenario: add(scenario, trials=2, steps=1).to_json(),
    "weather": lambda scenario: weather(scenario).to_json(),
    "bid": lambda scenario: bid(scenario, trials=2, swing_trials=1, years=0).to_json(),
}


def arenas(folder: Path) -> Mapping[str, Attack]:
    """Each by what is attacked. folder : an empty one."""
    bases = [wharf_in_small.write(folder / "wharf"), write_site(folder / "site")]
    return {
        "other questions": partial(_asked, [(bare_tree(path), path) for path in bases]),
        "event logs": partial(_logged, [(bare_tree(path), path) for path in bases]),
    }


def _content(bases: list[tuple[dict[str, object], Path]], dice: Dice) -> Scenario:
    """A scenario with keys attacked, with which `check` is content."""
    base, path = dice.of(bases)
    tree, _ = hostile_tree(base, dice)
    attack = path.with_name("attacked.toml")
    attack.write_text(toml_text(tree), encoding="utf-8", newline="")
    scenario = load(attack)
    check(scenario)
    return scenario


def _asked(bases: list[tuple[dict[str, object], Path]], dice: Dice) -> End:
    scenario = _content(bases, dice)
    QUESTIONS[dice.of([*QUESTIONS])](scenario)
    return End(ANSWERED)


def _logged(bases: list[tuple[dict[str, object], Path]], dice: Dice) -> End:
    """The log as both texts, read back by parsers that are not ours."""
    scenario = _content(bases, dice)
    folder = Path(scenario.path).with_name("log")
    counts = events(scenario, trials=1).save(folder, formats=("csv", "xes"))
    ElementTree.parse(folder / "events.xes")
    with (folder / "events.csv").open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    assert len(rows) == sum(counts.values())
    assert {len(row) for row in rows} <= {len(header)}
    return End(ANSWERED)
