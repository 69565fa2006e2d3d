"""A results folder: whole or not at all, read back as it was, and saying what it came from in every file."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pandas as pd
import pytest
from PIL import Image

from towerpace import __version__
from towerpace.faults import InputError
from towerpace.render.figures import forecast as figures
from towerpace.render.folder import check_folder, default_folder, save
from towerpace.render.saved.forecast import load_saved
from towerpace.render.tables.columns import TABLES
from towerpace.render.tables.forecast import tables_of


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_tables_come_back_as_they_were(ten, folder):
    back = load_saved(folder).tables

    for name, table in tables_of(ten).items():
        pd.testing.assert_frame_equal(back[name], table)


def test_empty_tables_and_names_that_look_blank_come_back(playing, tmp_path, monkeypatch):
    monkeypatch.setattr(figures, "write_figures", lambda *_: None)
    made = playing(trials=2, one_trade=True)
    made = replace(made, tower=replace(made.tower, trades=("NA",)), rows=("NA", *made.rows[1:]))

    back = load_saved(save(made, tmp_path / "run", command="x")).tables
    for name, table in tables_of(made).items():
        pd.testing.assert_frame_equal(back[name], table)
    assert "NA" in back["flow"]["trade"].tolist()


def test_the_folder_holds_every_table_every_figure_and_a_list_of_them(folder):
    listed = json.loads((folder / "manifest.json").read_text())["files"]

    assert names(folder) == sorted([*listed, "manifest.json"])
    assert {f"{name}.csv" for name in TABLES} <= set(listed)
    assert {f"{name}.{kind}" for name in figures.FIGURES for kind in ("png", "svg")} <= set(listed)


def test_every_file_carries_hash_seed_and_version(ten, folder):
    shown = ten.scenario.hash[:12]
    for path in folder.glob("*.csv"):
        rows = path.read_text().splitlines()
        assert rows[0].endswith(",scenario_hash,seed,version")
        assert all(row.endswith(f",{shown},3,{__version__}") for row in rows[1:])
    for path in folder.glob("*.parquet"):
        table = pd.read_parquet(path)
        assert set(table["scenario_hash"]) == {shown}
    for path in folder.glob("*.svg"):
        assert len(re.findall(f"scenario {shown} · seed 3 · 10 trials", path.read_text())) >= 2
    for path in folder.glob("*.png"):
        with Image.open(path) as image:
            assert f"scenario {shown} · seed 3" in image.info["Description"]
            assert image.info["Software"] == f"towerpace {__version__}"
    manifest = load_saved(folder).manifest
    assert (manifest.hash, manifest.seed, manifest.version) == (ten.scenario.hash, 3, __version__)


def test_no_file_names_the_machine(folder):
    place = str(folder.parent)
    for path in folder.iterdir():
        assert place.encode() not in path.read_bytes()
        assert b"pytest-of" not in path.read_bytes()


def test_equal_runs_give_equal_files(ten, folder, tmp_path):
    again = save(ten, tmp_path / "again", command="another command")

    first, second = contents(folder), contents(again)
    first.pop("manifest.json"), second.pop("manifest.json")
    assert first == second


def test_parquet_only_where_it_is_wanted(ten, tmp_path, monkeypatch):
    monkeypatch.setattr(figures, "write_figures", lambda *_: None)

    save(ten, tmp_path / "run", command="x", parquet=False)
    assert not list((tmp_path / "run").glob("*.parquet"))


def test_parquet_without_pyarrow_is_refused_before_anything_is_written(ten, tmp_path, monkeypatch):
    monkeypatch.setattr("towerpace.render.folder.find_spec", lambda _: None)

    with pytest.raises(InputError, match="without pyarrow"):
        save(ten, tmp_path / "run", command="x", parquet=True)
    assert names(tmp_path) == []


@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt])
def test_an_interrupted_write_leaves_nothing(ten, tmp_path, monkeypatch, error):
    def fail(*_):
        raise error

    monkeypatch.setattr(figures, "write_figures", fail)
    with pytest.raises(error):
        save(ten, tmp_path / "run", command="x")
    assert names(tmp_path) == []


def test_an_older_folder_stays_as_it_was_when_the_new_one_fails(ten, tmp_path, monkeypatch):
    monkeypatch.setattr(figures, "write_figures", lambda *_: None)
    save(ten, tmp_path / "run", command="first")
    before = contents(tmp_path / "run")

    monkeypatch.setattr(figures, "write_figures", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        save(ten, tmp_path / "run", command="second")
    assert contents(tmp_path / "run") == before
    assert names(tmp_path) == ["run"]


def test_an_older_folder_is_replaced_whole(ten, late, tmp_path, monkeypatch):
    monkeypatch.setattr(figures, "write_figures", lambda *_: None)
    save(ten, tmp_path / "run", command="first", parquet=True)
    save(late, tmp_path / "run", command="second", parquet=False)

    assert load_saved(tmp_path / "run").manifest.command == "second"
    assert not list((tmp_path / "run").glob("*.parquet"))
    assert names(tmp_path) == ["run"]


def test_a_folder_with_files_of_others_is_not_replaced(ten, tmp_path):
    (tmp_path / "notes.txt").write_text("mine")

    with pytest.raises(InputError, match=r"also holds notes\.txt"):
        save(ten, tmp_path, command="x")
    assert names(tmp_path) == ["notes.txt"]


def test_a_note_added_to_an_older_folder_is_not_lost(ten, tmp_path, monkeypatch):
    monkeypatch.setattr(figures, "write_figures", lambda *_: None)
    save(ten, tmp_path / "run", command="x")
    (tmp_path / "run" / "notes.txt").write_text("mine")

    with pytest.raises(InputError, match=r"also holds notes\.txt"):
        check_folder(tmp_path / "run")


def test_a_file_where_the_folder_should_be_is_refused(tmp_path):
    (tmp_path / "run").write_text("mine")

    with pytest.raises(InputError, match="found a file"):
        check_folder(tmp_path / "run")


def test_reading_lists_every_fault_at_once(ten, tmp_path, monkeypatch):
    monkeypatch.setattr(figures, "write_figures", lambda *_: None)
    run = save(ten, tmp_path / "run", command="x")
    (run / "flow.csv").unlink()
    (run / "finish.csv").write_text("a,b\n1,2\n")
    manifest = json.loads((run / "manifest.json").read_text())
    (run / "manifest.json").write_text(json.dumps({**manifest, "format": 0}))

    with pytest.raises(InputError) as refused:
        load_saved(run)
    found = {fault.file.rsplit("/", 1)[-1]: fault.found for fault in refused.value.faults}
    assert found == {
        "manifest.json": "another format",
        "flow.csv": "missing file",
        "finish.csv": "columns a, b",
    }


def test_a_folder_that_is_not_there_is_a_fault(tmp_path):
    with pytest.raises(InputError, match="missing file"):
        load_saved(tmp_path / "nothing")


def test_the_default_folder_tells_name_hash_seed_and_trials(ten):
    path = default_folder(ten)

    assert path.as_posix() == f"results/every_table-{ten.scenario.hash[:8]}-seed3-10"


@pytest.mark.parametrize(
    ("name", "slug"), [("Tour Élan 2", "tour_elan_2"), ("../up", "up"), ("塔", "scenario")]
)
def test_the_default_folder_is_a_plain_name_whatever_the_tower_is_called(ten, name, slug):
    path = default_folder(replace(ten, tower=replace(ten.tower, name=name)))

    assert path.parent.as_posix() == "results"
    assert path.name.startswith(f"{slug}-")


def test_the_manifest_says_what_was_asked_and_what_was_done(folder):
    manifest = load_saved(folder).manifest

    assert (manifest.trials_asked, manifest.trials) == (10, 10)
    assert manifest.command == "towerpace forecast tower/scenario.toml --trials 10 --seed 3"
    assert manifest.path.endswith("/scenario.toml")
    assert not manifest.path.startswith("/")
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", manifest.created_utc)
    assert manifest.packages["numpy"]
    assert manifest.fronts == 6


def test_cautions_name_too_few_trials_missing_sources_and_an_interrupted_run(ten, late):
    from towerpace.render.cautions import cautions_of

    said = " ".join(cautions_of(replace(ten, asked=50)))
    assert "10 of 50 trials were finished" in said
    assert "no 95 % interval for P10, P80, P90" in said
    assert f"{len(ten.scenario.sources_missing())} of {len(ten.scenario.assumptions())} assumptions" in said
    assert f"{late.beyond} of 10 trials do not finish inside the horizon" in " ".join(cautions_of(late))
