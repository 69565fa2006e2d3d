"""A scenario compiled: its plan, to look at, to reckon with and to play."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import Draw
from towerpace.face.defaults import SEED
from towerpace.plan.model import Plan
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario

if TYPE_CHECKING:
    import networkx as nx


@dataclass(frozen=True)
class Compiled:
    """A compiled scenario; `build` makes one.

    Parameters
    ----------
    ready : Prepared
        The scenario with its plan, its weather and the laws of chance.

    Examples
    --------
    >>> from towerpace import build, load, run
    >>> site = build(load("scenarios/one_hoist/scenario.toml"))
    >>> site
    <Compiled: One hoist, 510 steps, 13 pools, 1 window>
    >>> run(site.plan, site.draw(0)).finish == run(site.plan, site.draw(0), engine="reference").finish
    True
    """

    ready: Prepared

    @property
    def plan(self) -> Plan:
        """Steps, pools and windows, with their expected minutes. [min]"""
        return self.ready.tower.plan

    @property
    def tower(self) -> Tower:
        """Where things are in the plan: fronts, first and last steps of trades, panels, milestones."""
        return self.ready.tower

    def graph(self) -> nx.DiGraph[str]:
        """The plan as a networkx graph.

        Returns
        -------
        networkx.DiGraph
            Nodes are names of steps with `work` [min], `trade`, `level`, `zone`, `panel` and `kind`; edges
            lead to successors, with `link` and `lag` [min]. Lags of a scenario are steps of their own.

        Examples
        --------
        >>> from towerpace import build, load
        >>> graph = build(load("scenarios/one_hoist/scenario.toml")).graph()
        >>> graph.nodes["panels L1 north: panel 1"]
        {'work': 34, 'trade': 'panels', 'level': 1, 'zone': 'north', 'kind': 'lift', 'panel': 0}
        >>> list(graph.predecessors("panels L1 north: panel 2"))
        ['panels L1 north: panel 1']
        """
        return self.plan.graph()

    def draw(self, trial: int, *, seed: int = SEED) -> Draw:
        """Everything that chance decides about one trial; the same for the same seed and trial, always.

        Parameters
        ----------
        trial : int
            From 0.
        seed : int
            As of `forecast`, whose trial it is.

        Returns
        -------
        Draw
            To be played with `run(site.plan, draw)`.
        """
        return self.ready.chooser.draw(seed, trial)

    def __repr__(self) -> str:
        plan = self.plan
        counts = {"step": plan.n, "pool": len(plan.pools.names), "window": len(plan.windows)}
        parts = ", ".join(f"{n:,} {word}{'' if n == 1 else 's'}" for word, n in counts.items())
        return f"<Compiled: {self.tower.name}, {parts}>"


def build(scenario: Scenario) -> Compiled:
    """Compile a scenario to a plan.

    Parameters
    ----------
    scenario : Scenario
        From `load`.

    Returns
    -------
    Compiled
        With `plan`, `graph()`, and `draw(trial)`.

    Raises
    ------
    InputError
        For a plan that could never be carried out.

    Examples
    --------
    >>> from towerpace import build, load
    >>> site = build(load("scenarios/by_hand/scenario.toml"))
    >>> site.plan.n
    16
    """
    return Compiled(prepare(scenario))
