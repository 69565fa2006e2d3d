"""Published scheduling instances: the reader of the .sm format, priority rules, and instances as plans."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import networkx as nx

from towerpace import Plan, Pool, Step
from towerpace.plan.network import network

RULES = ("LFT", "MTS", "SLK", "SPT", "FIFO")
LINE = "one line"


@dataclass(frozen=True)
class Instance:
    """Jobs by number from 0.

    work : of each job. after : predecessors of each job. needs : units of each resource, a tuple a job.
    capacity : units of each resource.
    """

    work: tuple[int, ...]
    after: tuple[tuple[int, ...], ...]
    needs: tuple[tuple[int, ...], ...]
    capacity: tuple[int, ...]

    def steps(self, ranks: Sequence[int] | None = None) -> list[Step]:
        """The jobs as steps named 1, 2, ..."""
        return [
            Step(
                str(j + 1),
                work=self.work[j],
                after=[str(i + 1) for i in self.after[j]],
                needs={f"R{r + 1}": q for r, q in enumerate(self.needs[j]) if q},
                rank=0 if ranks is None else ranks[j],
            )
            for j in range(len(self.work))
        ]

    def plan(self, rule: str = "FIFO", *, in_line: bool = False) -> Plan:
        """The plan under a rule; `in_line` puts all pools on one line, so that its head holds the others."""
        line = LINE if in_line else None
        pools = [Pool(f"R{r + 1}", units, line=line) for r, units in enumerate(self.capacity)]
        return Plan(self.steps(ranks(self, rule)), pools=pools)

    def without_pools(self) -> Plan:
        """The same network with unlimited resources."""
        return Plan([Step(s.name, work=s.work, after=s.after) for s in self.steps()])

    def energy_bound(self) -> int:
        """Most work any resource must do, over its units, rounded up."""
        loads = (
            sum(d * u[r] for d, u in zip(self.work, self.needs, strict=True))
            for r in range(len(self.capacity))
        )
        return max(-(-load // units) for load, units in zip(loads, self.capacity, strict=True))


def ranks(instance: Instance, rule: str) -> list[int]:
    """Ranks of the jobs under a rule, smallest first; ties fall to the lower job number.

    LFT, LST: latest finish and start from the backward pass that starts at the length of the network;
    MTS: most followers, direct and indirect; SLK: least total float; SPT: shortest work; FIFO: job number.
    Source: R. Kolisch (1996), Efficient priority rules for the resource-constrained project scheduling
    problem, Journal of Operations Management 14: 179-192 (from memory).
    """
    plan = instance.without_pools()
    if rule == "MTS":
        graph = plan.graph()
        return [-len(nx.descendants(graph, name)) for name in plan.names]
    if rule in ("SPT", "FIFO"):
        return list(instance.work) if rule == "SPT" else list(range(plan.n))
    passes = network(plan)
    keys = {"LFT": passes.latest_finish, "LST": passes.latest_start, "SLK": passes.total_float}
    return [int(key) for key in keys[rule]]


def read_sm(path: Path) -> Instance:
    """One single-mode instance in the .sm format of Kolisch & Sprecher (1996); raises `ValueError`."""
    text = path.read_text(encoding="ascii")
    followers = {row[0]: row[3:] for row in _rows(text, "PRECEDENCE RELATIONS", path)}
    requests = {row[0]: row[2:] for row in _rows(text, "REQUESTS/DURATIONS", path)}
    capacity = _rows(text, "RESOURCEAVAILABILITIES", path)[0]
    numbers = range(1, len(requests) + 1)
    if set(followers) != set(numbers) or set(requests) != set(numbers):
        raise ValueError(f"{path}: jobs are not numbered 1..{len(requests)} in both tables")
    if any(len(row) != 1 + len(capacity) for row in requests.values()):
        raise ValueError(f"{path}: every job needs a duration and {len(capacity)} requests, one mode")
    return Instance(
        work=tuple(requests[j][0] for j in numbers),
        after=tuple(tuple(i - 1 for i in numbers if j in followers[i]) for j in numbers),
        needs=tuple(tuple(requests[j][1:]) for j in numbers),
        capacity=tuple(capacity),
    )


def _rows(text: str, title: str, path: Path) -> list[list[int]]:
    """Lines of whole numbers below a title, up to the next line of stars."""
    found = re.search(rf"^{re.escape(title)}:\s*\n(.*?)^\*{{3}}", text, re.MULTILINE | re.DOTALL)
    if found is None:
        raise ValueError(f"{path}: no section '{title}:'")
    lines = (line.split() for line in found[1].splitlines())
    rows = [[int(word) for word in words] for words in lines if words and all(w.isdigit() for w in words)]
    if not rows:
        raise ValueError(f"{path}: section '{title}:' holds no numbers")
    return rows
