"""A disk that is really full: what is there stays, the answer is printed and kept elsewhere, in a sentence.

The disk is a tmpfs of a megabyte (mount(8), tmpfs(5)), filled but for two pages of memory: enough for the
bytes by which a place is tried before the first trial, too little for what is written at the end.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
from pathlib import Path

import pytest

from support.asked import Asked
from support.attacked_files import STUDY, write_record, write_site
from support.bare import bare
from support.command_line import towerpace
from towerpace import forecast, load
from towerpace.workbench.desk import Desk
from towerpace.workbench.guards import Lock
from towerpace.workbench.server import app_of

SIZE_KB, ROOM_KB = 1024, 8
NO_ROOM = "No space left on device"
UPDATE = ("update", "scenario.toml", "--progress", "progress.csv", "--trials", "2")
ANSWERS = {
    "forecast": ("forecast", "scenario.toml", "--trials", "2"),
    "update": UPDATE,
    "ahead": ("ahead", "scenario.toml", "--progress", "progress.csv", "--trials", "2", "--weeks", "1"),
    "sheet": ("sheet", "scenario.toml", "--date", "2027-03-12", "--trials", "2"),
}


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """A site with its record, a study and results."""
    path = write_site(tmp_path_factory.mktemp("site"))
    write_record(path.parent)
    (path.parent / "study.toml").write_text(STUDY, encoding="utf-8")
    bare(forecast(load(path), trials=4), path.parent / "results")
    return path.parent


@pytest.fixture(scope="module")
def mounted(tmp_path_factory):
    """A disk of a megabyte. Where none can be mounted, as by anybody but root, nothing can be said of it."""
    place = tmp_path_factory.mktemp("disk")
    mount = ["mount", "-t", "tmpfs", "-o", f"size={SIZE_KB}k", "none", os.fspath(place)]
    try:
        run = subprocess.run(mount, capture_output=True, text=True, check=False)
    except FileNotFoundError:
        pytest.skip("there is no mount here")
    if run.returncode:
        pytest.skip(f"a disk of our own is refused: {run.stderr.strip()}")
    try:
        yield place
    finally:
        subprocess.run(["umount", "--lazy", os.fspath(place)], check=True)


@pytest.fixture
def disk(mounted, tmp_path, monkeypatch):
    """The disk with earlier results in the folder `run`, full but for two pages."""
    monkeypatch.setattr("tempfile.tempdir", os.fspath(tmp_path))
    subprocess.run(["find", os.fspath(mounted), "-mindepth", "1", "-delete"], check=True)
    (mounted / "run").mkdir()
    (mounted / "run" / "manifest.json").write_text('{"files": []}', encoding="utf-8")
    fill(mounted, left_kb=ROOM_KB)
    return mounted


def fill(disk: Path, *, left_kb: int) -> None:
    """Write zeros until so much is left. [kB]"""
    free = os.statvfs(disk)
    with (disk / "zeros").open("ab") as file:
        file.write(bytes(free.f_bavail * free.f_frsize - 1024 * left_kb))


def names(disk: Path) -> list[str]:
    return sorted(path.relative_to(disk).as_posix() for path in disk.rglob("*"))


@pytest.mark.usefixtures("no_figures")
@pytest.mark.parametrize("command", ANSWERS)
def test_an_answer_for_which_there_is_no_room_is_printed_and_kept_elsewhere(command, disk, site, tmp_path):
    before = names(disk)
    run = towerpace(*ANSWERS[command], "--out", disk / "run", cwd=site)

    assert run.returncode == 2
    assert f"Not written to {disk / 'run'}: {NO_ROOM}." in run.stderr
    assert len(run.stdout) > 200
    assert "Traceback" not in run.stderr
    assert names(disk) == before
    (folder,) = tmp_path.glob("towerpace-*/results")
    assert (folder / "answer.json").is_file()


def test_a_disk_without_any_room_is_found_before_the_first_trial(disk, site):
    fill(disk, left_kb=0)
    run = towerpace(*ANSWERS["forecast"], "--out", disk / "run", cwd=site)

    assert run.returncode == 2
    assert f"results folder: found a place that cannot be written: {NO_ROOM}" in run.stderr
    assert not run.stdout


def test_a_study_for_which_there_is_no_room_stops_with_a_sentence_and_goes_on(disk, site):
    run = towerpace("sweep", "study.toml", "--out", disk / "study", cwd=site)
    assert run.returncode == 2
    assert f"cannot be written or read: {NO_ROOM}" in run.stderr
    assert "Traceback" not in run.stderr

    (disk / "zeros").unlink()
    again = towerpace("sweep", "study.toml", "--out", disk / "study", "--no-figures", cwd=site)
    assert again.returncode == 0
    assert (disk / "study" / "study.csv").is_file()


def test_figures_for_which_there_is_no_room_cost_no_answer_of_a_study(disk, site, monkeypatch):
    (disk / "zeros").unlink()
    write = "towerpace.render.figures.study.write_study_figures"
    monkeypatch.setattr(write, lambda folder: (fill(disk, left_kb=0), (folder / "figure").write_bytes(b"x")))
    run = towerpace("sweep", "study.toml", "--out", disk / "study", cwd=site)
    assert run.returncode == 2
    assert NO_ROOM in run.stderr
    assert "4 points" in run.stdout


def test_a_report_for_which_there_is_no_room_leaves_the_earlier_one(disk, site):
    page = disk / "page.html"
    page.write_text("earlier", encoding="utf-8")
    run = towerpace("report", "results", "--out", page, cwd=site)

    assert run.returncode == 2
    assert f"Not written: {page}: {NO_ROOM}" in run.stderr
    assert page.read_text(encoding="utf-8") == "earlier"
    assert names(disk) == ["page.html", "run", "run/manifest.json", "zeros"]


def test_a_set_up_for_which_there_is_no_room_leaves_the_file_as_it_was(mounted):
    subprocess.run(["find", os.fspath(mounted), "-mindepth", "1", "-delete"], check=True)
    path = write_site(mounted)
    fill(mounted, left_kb=0)
    lock, desk, before = Lock(8123), Desk(os.fspath(path), seed=1), path.read_bytes()
    page = Asked(app_of(desk, lock), "http://127.0.0.1:8123")
    page.get(f"/?key={lock.key}")
    body = {
        "changes": {"resource.gang.count": 3},
        "name": "tried",
        "note": "",
        "was": hashlib.sha256(before).hexdigest(),
    }
    kept = page.post("/keep", json=body, headers={"origin": "http://127.0.0.1:8123"})

    assert kept.status_code == 507
    assert kept.json()["faults"] == [f"Nothing was written: {NO_ROOM}."]
    assert path.read_bytes() == before
    assert names(mounted) == ["levels.csv", "scenario.toml", "zeros"]
