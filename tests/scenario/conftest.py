"""Fixtures: a folder in which scenarios are named by relative paths, as a user names them."""

from pathlib import Path

import pytest


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fresh working folder; returns the relative folder "tower" in it."""
    monkeypatch.chdir(tmp_path)
    return Path("tower")
