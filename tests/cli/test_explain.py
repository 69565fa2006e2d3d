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
    assert {"scenario", "hash", "seed", "trials", "finished", "version", "unfinished"} <= set(data)
    assert (data["scenario"], data["seed"], data["trials"], data["finished"]) == ("One hoist", 5, 12, 12)
    assert {"trade", "cause", "days"} <= set(data["held"][0])
    assert {"level", "days", "share"} <= set(data["levels"][0])
    assert {"pool", "days", "share"} <= set(data["pools"][0])
    assert {"who", "for", "hours"} <= set(data["waiting"][0])
    assert {"step", "since", "started", "finished", "pool", "causes"} <= set(data["chain"][0])
    assert data["unfinished"] == []


def test_what_held_adds_up_to_the_mean_finish_of_the_forecast(path, data):
    """Two commands, two measures, the same draws."""
    forecast = json.loads(towerpace("forecast", path, *OPTIONS, "--json").stdout)
    held = sum(one["days"] for one in data["held"])
    assert held == pytest.approx(forecast["finish"]["mean_days"], abs=0.005)
    assert [one["days"] for one in data["held"]] == sorted((o["days"] for o in data["held"]), reverse=True)


def test_the_slow_hoist_holds_the_finish_and_is_waited_for_most(data):
    """One car for two cranes: the scenario is made so that the hoist binds."""
    days: dict[str, float] = {}
    for one in data["held"]:
        if one["cause"] != "not before its date":
            days[one["trade"]] = days.get(one["trade"], 0.0) + one["days"]
    assert max(days, key=lambda trade: days[trade]) == "hoisting"
    assert data["pools"][0]["pool"] == "hoist"
    assert data["pools"][0]["share"] == 1.0
    in_shift = [one for one in data["waiting"] if one["clock"] == "shift"]
    assert (in_shift[0]["who"], in_shift[0]["for"]) == ("hoisting", "hoist")


def test_the_chain_has_no_gap_and_ends_with_the_trial(data):
    links = data["chain"]
    assert all(before["finished"] == after["since"] for before, after in pairwise(links))
    assert links[-1]["finished"] == data["trial_finish"]
    # The first truck is due a week after the start, and may come later.
    assert links[0]["causes"]["not before its date"] == 24 * 7
    assert links[0]["step"] == "panels L1 north: truck 1 arrives"


def test_one_trial_can_be_told_and_it_is_named_which_to_look_at(data, text):
    assert f"trial {data['typical']['p50']['trial']} is at P50" in text
    assert "Trial 3, finished 2027-" in text
    assert "Site diary of trial 3" in text
    assert "nights and closed days" in text
    assert "outside shift" not in text


def test_the_same_bytes_on_any_number_of_workers(path):
    runs = [
        towerpace("explain", path, "--trials", 12, "--workers", workers, "--json").stdout
        for workers in (1, 2)
    ]
    assert runs[0] == runs[1] != ""


def test_the_diary_is_limited_to_the_days_asked_for(path):
    run = towerpace(
        "explain", path, "--trials", 1, "--workers", 1, "--trial", 0, "--days", "2027-03-09..2027-03-10"
    )
    diary = run.stdout.split("Site diary of trial 0\n")[1].splitlines()
    assert [line[:15] for line in diary] == ["Tue 9 Mar 2027:", "Wed 10 Mar 2027"]


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
    run = towerpace("explain", late, "--trials", 5, "--workers", 1, "--trial", 0, "--json")
    data = json.loads(run.stdout)
    assert (data["trials"], data["finished"], data["beyond_horizon"]) == (5, 0, 5)
    assert data["typical"] == {"p50": None, "p80": None}
    assert data["chain"] == []
    assert all(one["waits_for"] and not one["locked"] for one in data["unfinished"])
    text = towerpace("explain", late, "--trials", 5, "--workers", 1, "--trial", 0).stdout
    assert "5 of 5 trials do not finish; they count as later than all others" in text
    assert data["unfinished"][0]["waits_for"][0] in " ".join(text.split())


def test_a_folder_is_written_and_a_foreign_one_refused_before_the_first_trial(path, tmp_path):
    run = towerpace("explain", path, *OPTIONS, "--trial", 3, "--out", tmp_path / "run")
    assert run.returncode == 0, run.stderr
    names = {f.name for f in (tmp_path / "run").iterdir()}
    assert {"explain.json", "site_diary.txt", "chain.txt", "held.csv", "held_the_finish.png"} <= names
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    assert towerpace("explain", path, "--out", tmp_path).returncode == 2
