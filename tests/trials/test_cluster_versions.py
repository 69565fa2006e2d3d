"""Workers of a cluster that have another version: refused, each with what it has."""

from __future__ import annotations

import pytest

from towerpace import __version__
from towerpace.faults import InputError
from towerpace.trials.cluster import check_versions


class Client:
    """Three workers that answer as the machines of a cluster do."""

    def __init__(self, *others):
        self._others = others

    def run(self, function, *args, on_error):
        assert on_error == "return"
        return {"tcp://a:1": function(*args), **dict(self._others)}


def test_workers_of_another_version_or_without_one_are_refused_together():
    missing = ModuleNotFoundError("No module named 'towerpace'")
    with pytest.raises(InputError) as refused:
        check_versions(Client(("tcp://b:1", "0.3.0"), ("tcp://c:1", missing)), "tcp://s:8786")
    old, none = refused.value.faults
    assert (old.key, old.found) == ("worker tcp://b:1", "towerpace 0.3.0")
    assert none.found == "no towerpace: No module named 'towerpace'"
    assert old.allowed == f"towerpace {__version__}, as here"


def test_workers_of_this_version_are_welcome():
    check_versions(Client(("tcp://b:1", __version__)), "local")
