"""axe-core, which finds what keeps people from using a page; npm brings it, nothing of it is kept here."""

from __future__ import annotations

import shutil
import subprocess
import tarfile

import pytest

AXE = "axe-core@4.10.2"  # rules of WCAG 2.2 and good practice
RULES = "{resultTypes: ['violations']}"


def axe_source(place):
    """Source of axe-core, fetched into an empty folder; the test is skipped where that cannot be done."""
    if shutil.which("npm") is None:
        pytest.skip("no npm on this machine to get axe-core with")
    got = subprocess.run(["npm", "pack", AXE], cwd=place, capture_output=True, text=True, check=False)
    if got.returncode:
        pytest.skip("the npm registry cannot be reached for axe-core")
    with tarfile.open(next(place.glob("*.tgz"))) as packed:
        return packed.extractfile("package/axe.min.js").read().decode()
