"""A run is never lost to its last step: full disks, closed screens, too little memory, Ctrl-C."""

import errno
import os
import signal
from contextlib import nullcontext
from functools import partial

import pytest
import typer

from render.made_answer import MADE
from support.command_line import ROOT, towerpace
from towerpace import add, bid, compare, explain, load
from towerpace.cli import app, output
from towerpace.cli.announce import announce, announce_check
from towerpace.cli.explain import _say_cost
from towerpace.cli.terminal import progress
from towerpace.face.result import Result
from towerpace.trials.player import BLOCK, TrialPlayer

ONE_HOIST = ROOT / "scenarios" / "one_hoist" / "scenario.toml"


@pytest.fixture
def result():
    return Result(MADE, None)


def full_disk(place):
    """A `save` for which there is no room below a place."""
    save = Result.save

    def saved(result, folder, **more):
        if os.fspath(folder).startswith(os.fspath(place)):
            raise OSError(errno.ENOSPC, "No space left on device")
        return save(result, folder, **more)

    return saved


def test_an_answer_whose_folder_cannot_be_written_is_printed_and_kept_elsewhere(
    result, tmp_path, monkeypatch, capsys
):
    monkeypatch.setattr(Result, "save", full_disk(tmp_path / "full"))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with pytest.raises(typer.Exit) as ended:
        output.hand_over(result, as_json=False, out=tmp_path / "full")
    out, err = capsys.readouterr()
    assert ended.value.exit_code == 2
    assert MADE.chapters[0].sentences[0][:20] in out
    assert f"Not written to {tmp_path / 'full'}: No space left on device." in err
    (folder,) = tmp_path.glob("towerpace-*/results")
    assert (folder / "answer.json").exists()
    assert f"Tables and figures: {folder}" in out


def test_an_answer_that_can_be_kept_nowhere_is_printed_and_says_how_to_go_on(
    result, tmp_path, monkeypatch, capsys
):
    monkeypatch.setattr(Result, "save", full_disk(tmp_path))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with pytest.raises(typer.Exit) as ended:
        output.hand_over(result, as_json=True, out=tmp_path / "full")
    out, err = capsys.readouterr()
    assert ended.value.exit_code == 2
    assert '"question": "made"' in out
    assert "with --out and another folder gives the same numbers" in err


@pytest.mark.parametrize(
    ("error", "code"), [(BrokenPipeError(), 0), (SystemExit(1), 0), (OSError(errno.ENOSPC, "No space"), 2)]
)
def test_a_screen_that_takes_no_more_costs_no_folder(result, tmp_path, monkeypatch, error, code):
    def fails(*_):
        raise error

    monkeypatch.setattr(output, "print_json", fails)
    monkeypatch.setattr(output, "_print_no_more", lambda: None)
    ended = pytest.raises(typer.Exit, match=f"^{code}$") if code else nullcontext()
    with ended:
        output.hand_over(result, as_json=True, out=tmp_path / "run")
    assert (tmp_path / "run" / "answer.json").exists()


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (MemoryError(), 1, "Stopped, as memory ran out."),
        (OSError(errno.ENOSPC, "No space left on device", "parts/1.csv"), 2, "parts/1.csv cannot be written"),
        (KeyboardInterrupt(), 130, "Interrupted before there was anything to tell"),
    ],
)
def test_what_the_machine_lacks_is_a_sentence_and_no_fault_of_ours(monkeypatch, capsys, error, code, words):
    def fails():
        raise error

    monkeypatch.setattr(app, "app", fails)
    monkeypatch.setattr(signal, "signal", lambda *_: None)
    with pytest.raises(SystemExit) as ended:
        app.main()
    said = capsys.readouterr().err
    assert ended.value.code == code
    assert words in said
    assert "Traceback" not in said
    assert "fault of towerpace" not in said


def test_ctrl_c_within_a_command_before_there_is_anything_to_tell_is_a_sentence(monkeypatch):
    """The library that reads the command line ends on it by itself, with its own code and no word of ours."""

    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("towerpace.cli.check.read_scenario", stopped)
    done = towerpace("check", ONE_HOIST)
    assert done.returncode == 130
    assert "Interrupted before there was anything to tell" in done.stderr


def test_a_second_interrupt_ends_at_once(monkeypatch):
    codes = []
    monkeypatch.setattr(os, "_exit", codes.append)
    before = signal.getsignal(signal.SIGINT)
    try:
        with pytest.raises(KeyboardInterrupt):
            app._interrupt(signal.SIGINT, None)
        signal.getsignal(signal.SIGINT)(signal.SIGINT, None)
    finally:
        signal.signal(signal.SIGINT, before)
    assert codes == [130]


@pytest.fixture
def interrupted_at(monkeypatch):
    """Has the trial of that number, counted over all set-ups, interrupted once."""

    def _interrupted_at(number):
        draws, played = TrialPlayer._draws, []

        def counting(player, trials, into):
            for trial in trials:
                played.append(trial)
                if len(played) == number:
                    raise KeyboardInterrupt
            return draws(player, trials, into)

        monkeypatch.setattr(TrialPlayer, "_draws", counting)
        return played

    return _interrupted_at


def test_an_interrupted_comparison_keeps_what_is_finished_and_plays_no_more(interrupted_at):
    played = interrupted_at(20 + BLOCK + 6)
    result = compare(load(ONE_HOIST), trials=20)
    assert len(played) == 20 + BLOCK + 6
    assert result.names == ("base", "second_hoist")
    assert result.interrupted == "of second_hoist 10 of 20 trials were played; not played: third_crane, both"
    assert result.answer.cautions[0] == f"Interrupted: {result.interrupted}."


def test_an_interrupted_bid_keeps_the_parts_that_are_finished(interrupted_at):
    played = interrupted_at(25)
    result = bid(load(ONE_HOIST), days=18, trials=20, swing_trials=2, years=0)
    assert len(played) == 25
    assert result.detail.forecast.trials == result.detail.trials_played == 20
    assert result.detail.second is None
    assert result.interrupted.startswith(
        "20 of 20 trials of the forecast were played; not played: second seed"
    )


def test_an_interrupted_search_keeps_the_gains_that_are_known(interrupted_at):
    interrupted_at(20 + 20 * 4 + 5)
    advice = add(load(ONE_HOIST), matters=1, trials=20, steps=1)
    assert advice.interrupted
    assert not advice.frame("ranking").empty
    assert set(advice.frame("ranking")["verdict"]) >= {"the search was interrupted"}


def test_an_interrupted_explanation_keeps_the_sources_that_are_removed(interrupted_at):
    interrupted_at(10 + 10 + 5)
    why = explain(load(ONE_HOIST), trials=10, removals=True)
    assert why.interrupted.startswith("not removed: ")
    assert why.answer.cautions[0] == f"Interrupted: {why.interrupted}."
    removed = why.frame("reconciled")["removed_mean_days"]
    assert removed.notna().sum() == 1
    assert len(removed) == 1 + why.interrupted.count(",") + 1


def test_the_bar_of_an_explanation_expects_the_removals(capsys):
    with progress("trials", 10) as bar:
        _say_cost(bar, 30)
        bar(40)
        assert bar._bar.tasks[0].total == bar._bar.tasks[0].completed == 40
    assert "30 trials more" in capsys.readouterr().err


def test_a_large_run_says_what_it_takes_before_it_begins_and_a_small_one_nothing(capsys):
    announce(load(ONE_HOIST), trials=1000, workers=2)
    assert capsys.readouterr().err == ""
    announce(load(ONE_HOIST), trials=20_000_000, workers=2)
    assert "about 2,420 steps: roughly 0.7 GB of memory on 2 workers, and 2.2 h" in capsys.readouterr().err


def test_a_horizon_that_takes_gigabytes_is_told_before_a_check_and_before_trials(capsys):
    long = load(ONE_HOIST, {"tower.horizon_days": 36_500})
    for say in (announce_check, partial(announce, trials=1000, workers=1)):
        say(long)
        assert "horizon_days = 36500 takes 5.0 GB of it" in capsys.readouterr().err
    announce_check(load(ONE_HOIST))
    assert capsys.readouterr().err == ""
