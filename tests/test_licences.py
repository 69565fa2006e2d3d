"""The table of licences names every dependency, as the installed package itself states it."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
# The first that a package's own words contain decides; what says less comes later.
FAMILIES = ("LGPL", "MPL", "Apache", "BSD", "MIT", "Python Software Foundation")


def dependencies() -> list[str]:
    """Names of all packages that the program or an extra asks for, each once, in order."""
    lists = [PROJECT["dependencies"], *PROJECT["optional-dependencies"].values()]
    return list(dict.fromkeys(Requirement(line).name for lines in lists for line in lines))


def table() -> dict[str, str]:
    """Licence of each package by the table of DEVELOPERS.md."""
    chapter = PAGE.split("## Licences", 1)[1].split("\n## ", 1)[0]
    rows = re.findall(r"^\| ([A-Za-z][^|]*) \| ([^|]+) \|$", chapter, flags=re.MULTILINE)
    return {name: licence for names, licence in rows for name in names.split(", ")}


def stated(name: str) -> str:
    """Family of licences that an installed package states, expression first, then class, then text."""
    told = metadata(name)
    classes = " ".join(c for c in told.get_all("Classifier") or [] if c.startswith("License"))
    words = told.get("License-Expression") or classes or told.get("License") or ""
    return next((family for family in FAMILIES if family in words), words)


def test_every_dependency_has_a_row_and_every_row_a_dependency():
    listed = {name for name in table() if name != "package"}

    assert listed == set(dependencies())


@pytest.mark.parametrize("name", dependencies())
def test_a_row_says_what_the_package_states(name):
    try:
        found = stated(name)
    except PackageNotFoundError:
        return  # an extra that is not installed here; its row is asked for above

    assert table()[name].startswith(found)
