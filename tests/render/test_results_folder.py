"""A results folder: whole or not at all, read back as it was, and saying what it came from in every file."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pandas as pd
import pytest
from PIL import Image

from towerpace import __version__
from towerpace.answers.cautions import LIMITS_CAUTION, cautions_of
from towerpace.answers.forecast_said import said
from towerpace.answers.forecast_tables import FORECAST_TABLES
from towerpace.answers.said.kinds import On
from towerpace.faults import InputError
from towerpace.render import folder as folders
from towerpace.render.figures.forecast import FIGURES
from towerpace.render.folder import check_folder, default_folder, save, slug
from towerpace.render.saved.answer_file import load_saved


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def rows_of(answer):
    return {table.name: [tuple(row) for row in table.rows] for table in answer.tables}


def test_the_answer_comes_back_as_it_was(ten, folder):
    back, was = load_saved(folder).answer, said(ten)

    assert rows_of(back) == rows_of(was)
    assert [table.columns for table in map(described, back.tables)] == [
        table.columns for table in map(described, was.tables)
    ]
    for name in ("question", "run", "said", "facts", "chapters", "cautions", "figures", "methods", "about"):
        assert list_of(getattr(back, name)) == list_of(getattr(was, name))


def described(table):
    return replace(table, columns=tuple(table.columns), rows=())


def list_of(value):
    """Sequences come back as lists."""
    if isinstance(value, list | tuple):
        return [
            replace(one, sentences=list(one.sentences), shows=list(one.shows))
            if hasattr(one, "shows")
            else one
            for one in value
        ]
    return value


@pytest.mark.usefixtures("no_figures")
def test_empty_tables_and_names_that_look_blank_come_back(playing, tmp_path):
    made = playing(trials=2, one_trade=True)
    made = replace(made, tower=replace(made.tower, trades=("NA",)), rows=("NA", *made.rows[1:]))

    back = load_saved(save(said(made), tmp_path / "run", command="x")).answer
    assert rows_of(back) == rows_of(said(made))
    assert "NA" in back.table("flow").column("trade")


def test_the_folder_holds_every_table_every_figure_and_a_list_of_them(folder):
    listed = json.loads((folder / "manifest.json").read_text())["files"]

    assert names(folder) == sorted([*listed, "manifest.json"])
    assert {f"{table.name}.csv" for table in FORECAST_TABLES if On.FILE & table.on} <= set(listed)
    drawn = [name for name in FIGURES if name != "activities"]  # nothing happens once there
    assert {f"{name}.{kind}" for name in drawn for kind in ("png", "svg")} <= set(listed)


def test_every_file_carries_hash_seed_and_version(ten, folder):
    shown = ten.scenario.hash[:12]
    for path in folder.glob("*.csv"):
        rows = path.read_text().splitlines()
        assert rows[0].endswith(",scenario_hash,seed,version")
        assert all(row.endswith(f",{shown},3,{__version__}") for row in rows[1:])
    for path in folder.glob("*.parquet"):
        table = pd.read_parquet(path)
        assert set(table["scenario_hash"]) <= {shown}
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
    again = save(said(ten), tmp_path / "again", command="another command")

    first, second = contents(folder), contents(again)
    first.pop("manifest.json"), second.pop("manifest.json")
    assert first == second


@pytest.mark.usefixtures("no_figures")
def test_parquet_only_where_it_is_wanted(ten, tmp_path):
    save(said(ten), tmp_path / "run", command="x", parquet=False)
    assert not list((tmp_path / "run").glob("*.parquet"))


def test_parquet_without_pyarrow_is_refused_before_anything_is_written(ten, tmp_path, monkeypatch):
    monkeypatch.setattr("towerpace.render.folder.find_spec", lambda _: None)

    with pytest.raises(InputError, match="without pyarrow"):
        save(said(ten), tmp_path / "run", command="x", parquet=True)
    assert names(tmp_path) == []


@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt])
def test_an_interrupted_write_leaves_nothing(ten, tmp_path, monkeypatch, error):
    def fail(*_):
        raise error

    monkeypatch.setattr(folders, "_write_figures", fail)
    with pytest.raises(error):
        save(said(ten), tmp_path / "run", command="x")
    assert names(tmp_path) == []


@pytest.mark.usefixtures("no_figures")
def test_an_older_folder_stays_as_it_was_when_the_new_one_fails(ten, tmp_path, monkeypatch):
    save(said(ten), tmp_path / "run", command="first")
    before = contents(tmp_path / "run")

    monkeypatch.setattr(folders, "_write_figures", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        save(said(ten), tmp_path / "run", command="second")
    assert contents(tmp_path / "run") == before
    assert names(tmp_path) == ["run"]


@pytest.mark.usefixtures("no_figures")
def test_an_older_folder_is_replaced_whole(ten, late, tmp_path):
    save(said(ten), tmp_path / "run", command="first", parquet=True)
    save(said(late), tmp_path / "run", command="second", parquet=False)

    assert load_saved(tmp_path / "run").manifest.command == "second"
    assert not list((tmp_path / "run").glob("*.parquet"))
    assert names(tmp_path) == ["run"]


def test_a_folder_with_files_of_others_is_not_replaced(ten, tmp_path):
    (tmp_path / "notes.txt").write_text("mine")

    with pytest.raises(InputError, match=r"also holds notes\.txt"):
        save(said(ten), tmp_path, command="x")
    assert names(tmp_path) == ["notes.txt"]


@pytest.mark.usefixtures("no_figures")
def test_a_note_added_to_an_older_folder_is_not_lost(ten, tmp_path):
    save(said(ten), tmp_path / "run", command="x")
    (tmp_path / "run" / "notes.txt").write_text("mine")

    with pytest.raises(InputError, match=r"also holds notes\.txt"):
        check_folder(tmp_path / "run")


def test_a_file_where_the_folder_should_be_is_refused(tmp_path):
    (tmp_path / "run").write_text("mine")

    with pytest.raises(InputError, match="found a file"):
        check_folder(tmp_path / "run")


@pytest.mark.usefixtures("no_figures")
def test_reading_lists_every_fault_at_once(ten, tmp_path):
    run = save(said(ten), tmp_path / "run", command="x")
    (run / "flow.csv").unlink()
    (run / "finish.csv").write_text("a,b\n1,2\n")
    manifest = json.loads((run / "manifest.json").read_text())
    (run / "manifest.json").write_text(json.dumps({**manifest, "format": 0}))

    with pytest.raises(InputError) as refused:
        load_saved(run)
    found = {fault.file.rsplit("/", 1)[-1]: fault.found for fault in refused.value.faults}
    assert found == {
        "manifest.json": f"format 0, of version {__version__}",
        "flow.csv": "missing file",
        "finish.csv": "columns a, b",
    }


def test_a_folder_that_is_not_there_is_a_fault(tmp_path):
    with pytest.raises(InputError, match="missing folder"):
        load_saved(tmp_path / "nothing")


def test_the_default_folder_tells_name_hash_seed_and_trials(ten):
    path = default_folder(said(ten).run)

    assert path.as_posix() == f"results/every_table-{ten.scenario.hash[:8]}-seed3-10"


@pytest.mark.parametrize(
    ("name", "plain"),
    [("Tour Élan 2", "tour_elan_2"), ("../up", "up"), ("塔", "scenario"), ("x" * 300, "x" * 60)],
)
def test_the_default_folder_is_a_plain_name_whatever_the_tower_is_called(ten, name, plain):
    path = default_folder(replace(said(ten).run, scenario=name))

    assert slug(name) == plain
    assert path.parent.as_posix() == "results"
    assert path.name.startswith(f"{plain}-")


@pytest.mark.parametrize("name", ["x" * 300, "a file/run", "nul\0byte"])
def test_a_place_that_cannot_be_written_is_found_by_writing(tmp_path, name):
    (tmp_path / "a file").write_text("mine")

    with pytest.raises(InputError, match=r"results folder: found a (place that cannot be written|file)"):
        check_folder(tmp_path / name)
    assert names(tmp_path) == ["a file"]


def test_trying_a_place_leaves_no_trace(tmp_path):
    check_folder(tmp_path / "new" / "newer" / "run")

    assert names(tmp_path) == []


def test_the_manifest_says_what_was_asked_and_what_was_done(folder):
    saved = load_saved(folder)
    manifest, run = saved.manifest, saved.answer.run

    assert (run.asked, run.trials, manifest.trials) == (10, 10, 10)
    assert manifest.question == "forecast"
    assert manifest.command == "towerpace forecast tower/scenario.toml --trials 10 --seed 3"
    assert run.path.endswith("/scenario.toml")
    assert not run.path.startswith("/")
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", manifest.created_utc)
    assert manifest.packages["numpy"]
    assert run.fronts == 6


@pytest.mark.parametrize(
    ("key", "value"), [("seed", "one"), ("packages", 3), ("files", {"a": 1}), ("created_utc", None)]
)
@pytest.mark.usefixtures("no_figures")
def test_a_manifest_edited_by_hand_is_a_fault_that_names_the_key(ten, tmp_path, key, value):
    run = save(said(ten), tmp_path / "run", command="x")
    manifest = json.loads((run / "manifest.json").read_text())
    (run / "manifest.json").write_text(json.dumps({**manifest, key: value}))

    with pytest.raises(InputError, match=key):
        load_saved(run)


def test_cautions_name_too_few_trials_missing_sources_and_an_interrupted_run(ten, late):
    text = " ".join(cautions_of(replace(ten, asked=50)))
    assert "10 of 50 trials were finished" in text
    assert "no 95 % interval for P10, P80, P90" in text
    assert f"{len(ten.scenario.assumptions())} assumptions: " in text
    assert f"{len(ten.scenario.sources_missing())} without any source" in text
    assert f"{late.beyond} of 10 trials do not finish inside the horizon" in " ".join(cautions_of(late))


def test_a_scenario_without_limits_carries_the_caution_too(ten):
    assert not ten.scenario.settings.limit
    assert LIMITS_CAUTION in cautions_of(ten)
