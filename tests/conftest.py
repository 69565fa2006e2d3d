"""What holds for every run: the guard of the published page, one compilation, browsers, tests left out."""

import gc
import os
import sys
from collections.abc import Generator

import pytest

from support.compiled import compile_before_the_workers
from support.published_page import Guard

# Where nothing that was translated may be kept, every worker and every command in a process of its own would
# translate all sources again: ten seconds a worker. The engine is kept beside its sources in any case.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# There is a worker a core, which takes this over. Threads of linear algebra wait in loops beside it: on a
# busy machine four to seven times the processor time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Modules and tests are many objects that all stay. That the collector looked through them time and again was
# an eighth of the processor time.
gc.set_threshold(20_000, 10, 10)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option with which nothing may be left out for want of a program."""
    parser.addoption("--no-skips", action="store_true", help="a test that is skipped fails")


def pytest_configure(config: pytest.Config) -> None:
    """Stand guard in the process that sees the reports of all tests."""
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(Guard(), "guard of the published page")


def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile the engine, where several workers are about to start."""
    if getattr(session.config.option, "numprocesses", None) and not session.config.option.collectonly:
        compile_before_the_workers(session.config)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what needs a browser unless it is asked for: `-m browser`."""
    if "browser" in config.option.markexpr:
        return
    left_out = [item for item in items if item.get_closest_marker("browser")]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]


@pytest.fixture
def no_figures(monkeypatch: pytest.MonkeyPatch) -> None:
    """Results are written without figures, which take longest; for tests of all else that is written."""
    monkeypatch.setattr("towerpace.render.folder._write_figures", lambda *_: None)


def pytest_collection_finish() -> None:
    """Hide from the collector what is there before the first test."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """With `--no-skips`, fail a test that is skipped."""
    report = yield
    if report.skipped and item.config.option.no_skips:
        report.outcome = "failed"
        report.longrepr = f"skipped: {report.longreprtext}"
    return report
