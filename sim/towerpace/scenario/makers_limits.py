"""The maker's word stands: nothing that is laid over a scenario file changes a maker's limit."""

from collections.abc import Iterator, Mapping

from towerpace.scenario.complaints import MISSING, Complaint
from towerpace.scenario.raw import Tree, named, number_at

KEY = "maker_limit_m_s"
_NO_CHANGE = "no set-up, study or decision changes the maker's limit"


def makers_limits(tree: Tree) -> dict[str, float | None]:
    """The maker's limit of every limit of a raw scenario, None where it states none. [m/s]"""
    return {name: number_at(limit, KEY) for name, limit in named(tree, "limit")}


def makers_rules(tree: Tree, *, of_file: Mapping[str, float | None]) -> Iterator[Complaint]:
    """Complaints about changes of a maker's limit.

    tree : the scenario with the changes laid over it. of_file : the limits before.

    A limit that is new states its own; one that is gone had better not be missed, see `raised_limits`.
    """
    for name, own in makers_limits(tree).items():
        before = of_file.get(name, own)
        if own != before:
            found = MISSING if own is None else f"{own:g}"
            stands = "none in the file" if before is None else f"{before:g}, as in the file"
            yield Complaint(("limit", name, KEY), found, f"{stands}: {_NO_CHANGE}")
