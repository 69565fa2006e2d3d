"""The network of a baseline as GraphML, from its tables alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from towerpace.answers.said.answer import Answer
from towerpace.answers.said.tables import Value
from towerpace.faults import Fault, InputError

if TYPE_CHECKING:
    import networkx as nx

_WHERE = ("what", "level", "zone")
_TOLD = ("baseline", "p50", "p80", "float_days")


def network_of(answer: Answer) -> nx.DiGraph[str]:
    """Items as nodes, links as edges; names are what, level and zone."""
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph(name=answer.run.scenario, scenario=answer.run.hash)
    for kind in ("fronts", "activities", "milestones"):
        table = answer.table(kind)
        places = {column.name: k for k, column in enumerate(table.columns)}
        for row in table.rows:
            where = [row[places[name]] if name in places else None for name in _WHERE]
            told = {name: row[places[name]] for name in _TOLD}
            graph.add_node(
                _name(where), kind=table.title, **_plain(dict(zip(_WHERE, where, strict=True)) | told)
            )
    for row in answer.table("logic").rows:
        graph.add_edge(_name(row[:3]), _name(row[3:6]), link=str(row[-1]))
    return graph


def _name(where: Sequence[Value]) -> str:
    what, level, zone = where
    return " ".join(filter(None, (str(what), "" if level is None else f"L{level}", str(zone or ""))))


def _plain(told: dict[str, Value]) -> dict[str, str | int | float]:
    """GraphML knows no dates and no missing values: ISO 8601 text, and nothing."""
    return {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in told.items()
        if value is not None
    }


def write_network(answer: Answer, file: Path) -> Path:
    """Write the network; raises `InputError` for a place that cannot be written."""
    import networkx as nx

    try:
        nx.write_graphml_xml(network_of(answer), file)
    except OSError as error:
        raise InputError(
            [Fault(str(file), None, "graphml", str(error.strerror), "a file to write")]
        ) from None
    return file
