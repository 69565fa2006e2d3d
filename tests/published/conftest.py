"""The fixture `stand`, which records a published check, and the guard against rows that no test records."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence

import pytest

from support.published_page import PAGE, PUBLISHED, REMEDY, SWITCH, THEMES, Stand, recorded, rows_of

CHOSEN: pytest.StashKey[bool] = pytest.StashKey()  # some tests were left out on purpose


@pytest.fixture
def stand(request: pytest.FixtureRequest, record_property: Callable[[str, object], None]) -> Stand:
    """Records a check on the page of its theme and asserts it."""
    return Stand(request.path.stem.removeprefix("test_"), record_property)


def pytest_deselected(items: Sequence[pytest.Item]) -> None:
    """Remember that not everything runs."""
    for item in items[:1]:
        item.config.stash[CHOSEN] = True


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """A run of all tests of this folder fails if the page has a row that none of them recorded."""
    config, files = session.config, {item.path for item in session.items}
    named = any("::" in argument for argument in config.args)
    every = {PUBLISHED / f"test_{theme}.py" for theme in THEMES}
    whole = files.issuperset(every) and not named and CHOSEN not in config.stash
    if exitstatus or not whole or os.environ.get(SWITCH) == "off":
        return
    left = set(rows_of(PAGE.read_text(encoding="utf-8")).values()).difference(recorded(session.items))
    if left:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
        names = "; ".join(sorted(f"{row.theme}: {row.check}" for row in left))
        config.get_terminal_writer().line(f"\n{PAGE.name} has rows no test records, {REMEDY}: {names}")
