"""towerpace explain as a user runs it: its numbers, its words, its folder, its refusals."""

import json
from itertools import pairwise

import pytest

from support.command_line import towerpace
from support.short_tower import TOO_SHORT, write_short_tower

OPTIONS = ("--trials", 12, "--seed", 5, "--workers", 1)


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return write_short_tower(tmp_path_factory.mktemp("tower"), levels=4)


@pytest.fixture(scope="module")
def late(tmp_path_factory):
    return write_short_tower(tmp_path_factory.mktemp("late"), replace=TOO_SHORT)


@pytest.fixture(scope="module")
def data(path):
    run = towerpace("explain", path, *OPTIONS, "--trial", 3, "--json")
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


@pytest.fixture(scope="module")
def text(path):
    run = towerpace("explain", path, *OPTIONS, "--trial", 3)
    assert run.returncode == 0, run.stderr
    return run.stdout


def test_the_json_object_has_what_was_promised(data):
    assert (data["scenario"], data["seed"], data["trials"]) == ("One hoist", 5, 12)
    assert data["facts"]["finished"] == 12
    assert (data["facts"]["trial"], data["facts"]["trial_locked"]) == (3, False)
    tables = data["tables"]
    assert {"trade", "cause", "mean_days", "working_days", "share"} == set(tables["held"][0])
    assert {"level", "mean_days", "share"} == set(tables["levels"][0])
    assert {"pool", "mean_days", "share"} == set(tables["pools"][0])
    assert {"trade", "thing", "awaited", "clock", "things", "each_h", "mean_h"} == set(tables["waiting"][0])
    assert {"step", "stretch", "since_min", "started_min", "finished_min", "pool"} <= set(tables["chain"][0])
    assert {"since", "finished", "working_days", "closed_days", "spent"} <= set(tables["stretches"][0])
    assert tables["unfinished"] == tables["trial_waits"] == []


def test_what_held_adds_up_to_the_mean_finish_of_the_forecast(path, data):
    """Two commands, two measures, the same draws."""
    forecast = json.loads(towerpace("forecast", path, *OPTIONS, "--json").stdout)
    held = data["tables"]["held"]
    assert sum(row["mean_days"] for row in held) == pytest.approx(forecast["facts"]["mean_days"])
    days = [row["mean_days"] for row in held if row["cause"] != "not before its date"]
    assert days == sorted(days, reverse=True)


def test_the_wait_for_the_first_date_is_told_apart(data, text):
    """The first truck is due a week after the start."""
    tables, facts = data["tables"], data["facts"]
    assert tables["held"][-1]["cause"] == "not before its date"
    assert facts["before_begin_days"] == pytest.approx(7)
    chain = sum(row["mean_days"] for row in tables["trades"])
    assert chain == pytest.approx(facts["mean_days"] - 7)
    assert sum(row["mean_days"] for row in tables["levels"]) == pytest.approx(chain)
    assert {row["date"] for row in tables["begins"]} == {"2027-03-08"}
    assert "Until Mon 08 Mar 2027 nothing on the chain could start" in text


def test_the_slow_hoist_holds_the_finish_and_is_waited_for_most(data):
    """One car for two cranes: the scenario is made so that the hoist binds."""
    assert data["tables"]["trades"][0]["trade"] == "hoisting"
    assert data["tables"]["pools"][0]["pool"] == "hoist"
    assert data["tables"]["pools"][0]["share"] == 1.0
    longest = next(row for row in data["tables"]["waiting"] if row["clock"] == "shift")
    assert (longest["trade"], longest["thing"], longest["awaited"]) == ("hoisting", "crate", "hoist")
    # four levels of four zones, six crates each
    assert longest["things"] == 96
    assert longest["each_h"] == pytest.approx(longest["mean_h"] / 96)


def test_the_chain_has_no_gap_and_ends_with_the_trial(data):
    links, stretches = data["tables"]["chain"], data["tables"]["stretches"]
    assert all(before["finished_min"] == after["since_min"] for before, after in pairwise(links))
    assert links[0]["step"] == "panels L1 north: truck 1 arrives"
    assert stretches[-1]["finished"] == data["facts"]["trial_finish"]
    assert [link["stretch"] for link in links] == sorted(link["stretch"] for link in links)
    ends = {link["stretch"]: link["finished_min"] for link in links}
    assert [row["finished_min"] for row in stretches] == [ends[k] for k in range(len(stretches))]


def test_one_trial_can_be_told_and_it_is_named_which_to_look_at(data, text):
    typical = {row["percentile"]: row["trial"] for row in data["tables"]["typical"]}
    assert f"trial {typical['P50']} is at P50" in text
    assert "Trial 3 finishes on " in text
    assert "Its site diary" in text
    assert "outside shift" not in text
    assert "critical" not in text


def test_no_line_is_wider_than_eighty_columns(text):
    assert max(map(len, text.splitlines())) <= 80


def test_the_same_bytes_on_any_number_of_workers(path):
    runs = [
        towerpace("explain", path, "--trials", 12, "--workers", workers, "--json").stdout
        for workers in (1, 2)
    ]
    assert runs[0] == runs[1] != ""


def test_the_diary_is_limited_to_the_days_asked_for(path):
    options = ("--trials", 1, "--workers", 1, "--trial", 0)
    run = towerpace("explain", path, *options, "--days", "2027-03-09..2027-03-10")
    diary = run.stdout.split("Its site diary\n")[1].split("\n\n")[0].splitlines()[1:]
    assert [line[:15] for line in diary if line[0] != " "] == ["Tue 09 Mar 2027", "Wed 10 Mar 2027"]
    empty = towerpace("explain", path, *options, "--days", "2026-03-09..2026-03-10").stdout
    assert "Nothing happened on these days." in empty


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--days", "2027-03-09..2027-03-10"), "needs --trial"),
        (("--trial", 0, "--days", "march"), "FROM..TO"),
        (("--trial", 0, "--days", "2027-03-10..2027-03-09"), "FROM must not be after TO"),
        (("--trial", -1), "--trial"),
    ],
)
def test_wrong_options_exit_2_and_say_what_is_allowed(path, options, said):
    run = towerpace("explain", path, *options)
    assert run.returncode == 2
    assert said in run.stderr


def test_trials_that_do_not_finish_are_counted_and_said(late):
    options = ("--trials", 5, "--workers", 1, "--trial", 0)
    data = json.loads(towerpace("explain", late, *options, "--json").stdout)
    assert (data["trials"], data["facts"]["finished"], data["facts"]["beyond_horizon"]) == (5, 0, 5)
    assert data["tables"]["typical"] == data["tables"]["chain"] == []
    unfinished = data["tables"]["unfinished"]
    assert all(row["waits_for"] and not row["locked"] for row in unfinished)
    assert data["tables"]["trial_waits"][0]["waits_for"] == unfinished[0]["waits_for"]
    text = " ".join(towerpace("explain", late, *options).stdout.split())
    assert "5 of 5 trials do not finish" in text
    assert unfinished[0]["waits_for"] in text


def test_a_folder_is_written_and_a_foreign_one_refused_before_the_first_trial(path, tmp_path):
    run = towerpace("explain", path, *OPTIONS, "--trial", 3, "--out", tmp_path / "run")
    assert run.returncode == 0, run.stderr
    names = {f.name for f in (tmp_path / "run").iterdir()}
    assert {"answer.json", "diary.csv", "chain.csv", "held.csv", "held_the_finish.png"} <= names
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    assert towerpace("explain", path, "--out", tmp_path).returncode == 2
