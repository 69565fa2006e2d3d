"""Rules on the sequence of trades and on the correlations between them."""

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from towerpace.scenario.complaints import Complaint, Path, shown
from towerpace.scenario.method_rules import methods_of
from towerpace.scenario.once import LEAVE_OUTS, MOCK_UP, WATER_TEST, conditions_of_once, happens_once
from towerpace.scenario.raw import Tree, named, number_at, table, tables_in, text_at, texts_in
from towerpace.scenario.references import MILESTONES
from towerpace.scenario.schema import FLOOR_CRANE

# Eigenvalues of a correlation matrix below this are zero within rounding.
_SMALLEST_EIGENVALUE = 1e-9

_Waits = dict[str, list[tuple[str, Path]]]


def sequence_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about trades that wait for each other on one level, and correlations that cannot hold."""
    yield from _cycles(tree)
    yield from _correlation_rules(tree)


def _cycles(tree: Tree) -> Iterator[Complaint]:
    """One complaint for each set of trades that wait in a circle, at the condition that closes it."""
    waits = _waits(tree)
    told: set[frozenset[str]] = set()
    for start in waits:
        circle = _circle(waits, start=start)
        names = frozenset(name for name, _ in circle)
        if circle and not names & frozenset().union(*told):
            told.add(names)
            spelled = " after ".join([*(name for name, _ in circle), start])
            allowed = "a sequence without a circle on one level (levels_up = 0)"
            yield Complaint(circle[0][1], spelled, allowed)


def _waits(tree: Tree) -> _Waits:
    """What each trade waits for on its own level, and the path of the condition; so too what is no trade."""
    once = happens_once(tree)
    waits: _Waits = {}
    for trade, _ in named(tree, "trade"):
        if trade not in (*MILESTONES, *once):
            waits[trade] = list(_before(tree, trade))
    if "closing_in" in tree:
        waits["closing_in"] = [(name, path) for path, name in texts_in(tree, "closing_in", "trades")]
        if table(tree, "closing_in").get("tests") is True:
            waits["closing_in"].append((WATER_TEST, ("closing_in", "tests")))
    if WATER_TEST in tree:
        waits[WATER_TEST] = _same_level(tree, WATER_TEST, "after")
    if LEAVE_OUTS in tree:
        waits[LEAVE_OUTS] = _same_level(tree, LEAVE_OUTS, "after")
    waits |= {name: [] for name in (*table(tree, "activity"), MOCK_UP)}
    for name, path, condition in conditions_of_once(tree):
        if condition.get("levels_up", 0) != 0:
            continue  # of another level
        waits[name].append((text_at(condition, "on") or "", (*path, "on")))
    return waits


def _before(tree: Tree, trade: str) -> Iterator[tuple[str, Path]]:
    """Names that a trade waits for on its own level: by its conditions, or those of how it lifts panels."""
    for method in methods_of(tree, trade) or [FLOOR_CRANE]:
        group, name = ("method", method) if table(tree, "method", method).get("after") else ("trade", trade)
        yield from _same_level(tree, group, name, "after")


def _same_level(tree: Tree, *path: str) -> list[tuple[str, Path]]:
    """Names in the conditions at a path that hold on the front's own level."""
    return [
        (text_at(condition, "on") or "", (*where, "on"))
        for where, condition in tables_in(tree, *path)
        if number_at(condition, "levels_up") in (None, 0.0)
    ]


def _circle(waits: _Waits, *, start: str) -> list[tuple[str, Path]]:
    """Shortest circle through a name: each name with the path of its wait for the next; empty if none."""
    routes: list[list[tuple[str, Path]]] = [[(start, path)] for _, path in waits[start]]
    heads = [name for name, _ in waits[start]]
    seen: set[str] = set()
    while heads:
        head, route = heads.pop(0), routes.pop(0)
        if head == start:
            return route
        if head in seen:
            continue
        seen.add(head)
        for name, path in waits.get(head, []):
            heads.append(name)
            routes.append([*route, (head, path)])
    return []


def _correlation_rules(tree: Tree) -> Iterator[Complaint]:
    rho_of: dict[frozenset[str], float] = {}
    for path, correlation in tables_in(tree, "correlation"):
        names = [name for _, name in texts_in(correlation, "trades")]
        rho = number_at(correlation, "rho")
        for name in sorted({name for name in names if names.count(name) > 1}):
            yield Complaint((*path, "trades"), f"{shown(name)} twice", "each trade once")
        for pair in combinations(dict.fromkeys(names), 2):
            if frozenset(pair) in rho_of:
                found = f"{shown(pair[0])} with {shown(pair[1])} again"
                yield Complaint((*path, "trades"), found, "each pair of trades in one table only")
            elif rho is not None and -1 < rho < 1:
                rho_of[frozenset(pair)] = rho
    smallest = _smallest_eigenvalue(rho_of)
    if smallest < _SMALLEST_EIGENVALUE:
        found = f"correlations that cannot hold together (smallest eigenvalue {smallest:.3g})"
        yield Complaint(("correlation",), found, "a positive definite matrix over all trades named")


def _smallest_eigenvalue(rho_of: dict[frozenset[str], float]) -> float:
    names = sorted(frozenset().union(*rho_of))
    if not names:
        return 1.0
    matrix = np.eye(len(names))
    for (i, first), (j, second) in combinations(enumerate(names), 2):
        matrix[i, j] = matrix[j, i] = rho_of.get(frozenset((first, second)), 0.0)
    return float(np.linalg.eigvalsh(matrix)[0])
