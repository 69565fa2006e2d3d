"""A cluster whose scheduler is gone: what is finished is kept, a sentence says so, and the exit code is 2."""

from __future__ import annotations

from concurrent.futures import Future
from pathlib import Path

import numpy as np
import pytest

from towerpace import forecast, load
from towerpace.answers.sweep.sweep import sweep
from towerpace.cli import app
from towerpace.cli.on_cluster import code_when_stopped
from towerpace.trials.cluster import Cluster, SchedulerLostError

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ONE_TRADE = SCENARIOS / "one_trade" / "scenario.toml"


class Client:
    """A client that does so many tasks, and whose scheduler then is gone, with all that was asked of it."""

    def __init__(self, tasks):
        self.status, self._left = "running", tasks

    def get_executor(self):
        return self

    def ncores(self):
        return {"worker": 2}

    def submit(self, fn, *args, pure=True):
        if not pure:  # laid out
            return fn(*args)
        if self.status == "closed":
            raise RuntimeError("Client is closed. Can't send update-graph message.")
        future = Future()
        self._left -= 1
        if self._left >= 0:
            future.set_result(fn(*args))
        else:
            future.cancel()
            future.set_running_or_notify_cancel()
        if self._left == -3:  # those that were under way are lost, and nothing more is taken
            self.status = "closed"
        return future

    def shutdown(self, wait=True):
        pass


def test_a_forecast_keeps_the_trials_that_are_done():
    scenario, cluster = load(ONE_TRADE), Cluster(Client(tasks=3))
    played = forecast(scenario, trials=100, seed=1, executor=cluster)
    assert played.interrupted
    assert np.array_equal(played.detail.finish, forecast(scenario, trials=30, seed=1).detail.finish)
    assert code_when_stopped(cluster) == 2


def test_a_study_keeps_the_points_that_are_done_and_goes_on(tmp_path):
    study = tmp_path / "study.toml"
    study.write_text(
        f'[study]\nname = "crews"\nscenario = "{ONE_TRADE}"\ndesign = "grid"\nseed = 1\ntrials = 5\n'
        'responses = ["finish.p80"]\n[factor.crews]\nkey = "resource.gang.count"\nvalues = [1, 2, 3, 4]\n',
        encoding="utf-8",
    )
    with pytest.raises(SchedulerLostError):
        sweep(study, folder=tmp_path / "out", executor=Cluster(Client(tasks=4 + 2)))
    assert len(list((tmp_path / "out" / "parts").iterdir())) >= 2
    assert sweep(study, folder=tmp_path / "out").resumed >= 2


def test_a_task_that_is_wrong_is_no_loss_of_the_scheduler():
    client = Client(tasks=1)
    client.submit = lambda *_: (_ for _ in ()).throw(TypeError("wrong"))
    with pytest.raises(TypeError, match="wrong"):
        Cluster(client).submit(len, ())


def test_the_command_line_says_it_in_a_sentence(monkeypatch, capsys):
    def fails():
        raise SchedulerLostError

    monkeypatch.setattr(app, "app", fails)
    with pytest.raises(SystemExit) as ended:
        app.main()
    said = capsys.readouterr().err
    assert ended.value.code == 2
    assert said.startswith("Stopped, as the scheduler of the cluster no longer answers.")
    assert "Traceback" not in said
