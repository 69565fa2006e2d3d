"""The guard of the page of published checks, where every run of the tests has it."""

import pytest

from support.published_page import Guard


def pytest_configure(config: pytest.Config) -> None:
    """Stand guard in the process that sees the reports of all tests."""
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(Guard(), "guard of the published page")
