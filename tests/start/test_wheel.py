"""What is installed from a wheel is enough to begin: the demo, its wind record, the template, the schema."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
RUN = "from towerpace.cli.app import main; main()"
BUILD = "from hatchling.build import build_wheel; import sys; print(build_wheel(sys.argv[1]))"


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with nothing but the content of a newly built wheel."""
    folder = tmp_path_factory.mktemp("wheel")
    made = subprocess.run(
        [sys.executable, "-c", BUILD, str(folder)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    with zipfile.ZipFile(folder / made.stdout.split()[-1]) as wheel:
        wheel.extractall(folder / "site")
    return folder / "site"


def told(installed: Path, folder: Path, *words: str) -> str:
    """Output of a command that has only the wheel's content to run on.

    Nothing is compiled: the numbers are the same, and the kernel of every new folder would be compiled anew.
    """
    environment = {**os.environ, "PYTHONPATH": str(installed), "NUMBA_DISABLE_JIT": "1"}
    run = subprocess.run(
        [sys.executable, "-c", RUN, *words],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    return run.stdout


@pytest.mark.slow
def test_the_demo_of_the_wheel_forecasts_in_an_empty_folder(installed, tmp_path):
    import_path = "import towerpace; print(towerpace.__file__)"
    where = subprocess.run(
        [sys.executable, "-c", import_path],
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert where.stdout.startswith(str(installed))

    told(installed, tmp_path, "new", "demo", "--example")
    found = told(
        installed, tmp_path, "forecast", str(Path("demo", "scenario.toml")), "--trials", "2", "--json"
    )

    assert "Gannet Wharf" in found
    assert "not your site" in (tmp_path / "demo" / "weather" / "provenance.md").read_text(encoding="utf-8")


@pytest.mark.slow
def test_the_wheel_begins_a_scenario_of_its_own(installed, tmp_path):
    words = ["--wind-limit", "9", "--wind-kind", "gust", "--wind-authority", "lift plan"]

    found = told(installed, tmp_path, "new", "tower", "--levels", "3", "--height", "12", *words)

    assert "for a first impression: Four trials in five finish by " in found
    assert told(installed, tmp_path, "keys", "--schema").startswith("{")


def test_the_wheel_has_every_file_of_the_page(installed):
    """The server's table of names is made of what lies there."""
    there = {path.name for path in (ROOT / "sim/towerpace/workbench/static").iterdir()}
    assert there == {path.name for path in (installed / "towerpace/workbench/static").iterdir()}
    assert "index.html" in there
