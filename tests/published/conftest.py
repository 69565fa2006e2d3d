"""The fixture `stand`, which records a published check."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from support.published_page import Stand


@pytest.fixture
def stand(request: pytest.FixtureRequest, record_property: Callable[[str, object], None]) -> Stand:
    """Records a check on the page of its theme and asserts it."""
    return Stand(request.path.stem.removeprefix("test_"), record_property)
