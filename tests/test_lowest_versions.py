"""The lowest versions that are stated are those that have been tried, as `tests/support/lowest.txt` says."""

import re
import tomllib
from itertools import chain

from support.command_line import ROOT

FOR_US = ("dev", "test")  # extras of those who build it
STATED = re.compile(r"([A-Za-z0-9_-]+)>=([0-9.]+)")


def plain(version):
    """A version without the zeros at its end."""
    numbers = [int(part) for part in version.split(".")]
    while numbers and not numbers[-1]:
        numbers.pop()
    return numbers


def test_every_stated_bound_is_the_one_that_was_tried():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = {name: of for name, of in project["optional-dependencies"].items() if name not in FOR_US}
    bounds = [*project["dependencies"], *chain.from_iterable(extras.values())]
    stated = {m[1]: plain(m[2]) for text in bounds if (m := STATED.match(text))}
    lines = (ROOT / "tests" / "support" / "lowest.txt").read_text(encoding="utf-8").splitlines()
    tried = dict(line.split("==") for line in lines if not line.startswith("#"))

    assert stated.keys() == tried.keys()
    for name, bound in stated.items():
        # A bound of 1.11 is tried with the first 1.11 that has a wheel.
        assert plain(tried[name])[: len(bound)] == bound, name
