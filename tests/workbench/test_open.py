"""The page's server as a user starts it: a process of its own, asked over HTTP."""

import subprocess
from contextlib import closing
from datetime import date

import numpy as np
import pytest

from support import wharf_in_small
from support.ends import ends
from support.workbench_client import COMMAND, opened
from towerpace import compare, load
from towerpace.units import DAY_MIN

pytestmark = pytest.mark.slow
CHANGES = {"limit.flat_lift.wind_above_m_s": 8.1}
TRIALS = 200


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return wharf_in_small.write(tmp_path_factory.mktemp("wharf"))


@pytest.fixture(scope="module")
def page(path):
    with opened(path, "--seed", "3") as client:
        yield client


def test_an_answer_grows_to_what_compare_says(page, path):
    answers = [answer for answer, _ in page.answers(page.ask(CHANGES, TRIALS))]
    assert [answer["n"] for answer in answers] == sorted({answer["n"] for answer in answers})
    assert [answer["final"] for answer in answers][-1]
    last = answers[-1]
    result = compare(load(path), {"now": CHANGES}, trials=TRIALS, seed=3)
    row = result.frame("differences").iloc[0]
    told = [last["mean_days"][key] for key in ("value", "low", "high")]
    assert told == pytest.approx([row.diff_days, row.diff_days_low, row.diff_days_high])
    setups = result.frame("setups")
    for name, finish in (("file_finish", setups.iloc[0]), ("finish", setups.iloc[1])):
        assert last[name]["p80"]["date"] == str(finish.p80)[:10]
        assert last[name]["p80"]["high"] == str(finish.p80_high)[:10]
    own = result.detail[1].forecast.outcomes.values["closing_in"] / DAY_MIN
    base = result.detail[0].forecast.outcomes.values["closing_in"] / DAY_MIN
    moved = [level["days"]["value"] for level in last["levels"]]
    assert moved == pytest.approx(np.mean(own - base, axis=0).tolist())


def test_five_questions_in_a_moment_give_one_final_answer(page):
    counts, finals = [1, 3, 1, 3, 1], []
    with closing(page.events()) as events:
        next(events)
        generations = [page.ask({"resource.seal_pair.count": count}, 60) for count in counts]
        for kind, told, _ in events:
            if kind == "answer" and told["final"] and told["gen"] >= generations[0]:
                finals.append(told["gen"])
            if kind == "state" and told["state"] == "idle" and told["gen"] == generations[-1]:
                break
    assert finals == [generations[-1]]


def test_a_fault_is_an_event_and_the_next_question_is_answered(page):
    generation = page.ask({"resource.panel_gang.count": 0}, 30)
    ((told, _),) = page.answers(generation)
    assert "panel_gang" in told["faults"][0]
    assert [answer for answer, _ in page.answers(page.ask({}, 30))][-1]["final"]


def test_a_file_that_changes_meanwhile_is_read_anew(page, path):
    before = page.http.get("/tower").json()
    text = path.read_text(encoding="utf-8")
    try:
        path.write_text(text.replace('name = "Gannet Wharf"', 'name = "Another"'), encoding="utf-8")
        answers = [answer for answer, _ in page.answers(page.ask({}, 30))]
        after = page.http.get("/tower").json()
    finally:
        path.write_text(text, encoding="utf-8")
    assert answers[-1]["final"]
    assert (before["title"], after["title"]) == ("Gannet Wharf", "Another")
    assert before["hash"] != after["hash"]


def test_the_report_of_an_answer_is_a_page_that_stands_alone(page):
    generation = page.ask(CHANGES, 20)
    answer = [answer for answer, _ in page.answers(generation)][-1]
    report = page.http.get(f"/report?gen={generation}")
    assert report.status_code == 200, report.text
    assert report.headers["content-disposition"] == 'attachment; filename="gannet_wharf.html"'
    p80 = date.fromisoformat(answer["finish"]["p80"]["date"])
    assert f"{p80.day:02d} {p80:%b %Y}" in report.text.replace("\N{NO-BREAK SPACE}", " ")
    assert "limit.flat_lift.wind_above_m_s = 8.1" in report.text
    assert page.http.get("/report?gen=999").status_code == 409
    assert page.http.get("/report?gen=../x").status_code == 400


def test_a_search_is_cancelled_and_leaves_no_process(page):
    before = _children(page.process.pid)
    with closing(page.events()) as events:
        assert page.http.post("/advice", json={"changes": {}}).status_code == 202
        assert any(kind == "advice" and told["rows"] for kind, told, _ in events)
        assert len(_children(page.process.pid)) == len(before) + 1
        assert page.http.delete("/advice").status_code == 200
        state = next(
            told["state"] for kind, told, _ in events if kind == "advice" and told["state"] != "running"
        )
    assert state == "cancelled"
    assert _children(page.process.pid) == before


def _children(process):
    words = ["ps", "-o", "pid=", "--ppid", str(process)]
    shown = subprocess.run(words, capture_output=True, text=True, check=False).stdout.split()
    return sorted(shown)


def test_ctrl_c_leaves_no_process_and_no_traceback(path):
    with opened(path) as client:
        players = _children(client.process.pid)
        assert len(players) >= 2
    assert client.process.returncode == 0
    assert "Traceback" not in client.told
    assert ends(lambda: not _alive(players)), _alive(players)


def _alive(numbers):
    shown = subprocess.run(
        ["ps", "-o", "pid=,stat=", "-p", ",".join(numbers)], capture_output=True, text=True, check=False
    )
    return [line for line in shown.stdout.splitlines() if "Z" not in line]


def test_a_port_that_is_taken_is_said_in_one_line(page, path):
    port = page.origin.rpartition(":")[2]
    run = subprocess.run(
        [*COMMAND, str(path), "--no-browser", "--port", port], capture_output=True, text=True, check=False
    )
    assert run.returncode == 2
    assert f"port: found {port}" in run.stderr
    assert "Traceback" not in run.stderr


def test_players_end_with_a_server_that_is_killed(path):
    """Nobody tells them: the line to the server is gone."""
    with opened(path) as client:
        assert [answer for answer, _ in client.answers(client.ask(CHANGES, 20))]
        client.ask(CHANGES, 2000)
        players = _children(client.process.pid)
        client.process.kill()
    assert ends(lambda: not _alive(players)), _alive(players)


def test_a_set_up_that_is_kept_answers_as_its_changes_did(page, path):
    text = path.read_bytes()
    try:
        was = page.http.get("/tower").json()["hash"]
        body = {"name": "tried", "note": "from the page", "changes": CHANGES, "was": was}
        kept = page.http.post("/keep", json=body)
        assert kept.json() == {"file": str(path), "lines_added": 4}
        assert page.http.post("/keep", json={**body, "name": "again"}).status_code == 409
        after = page.http.get("/tower").json()
        assert "tried" in after["set_ups"]
        asked = page.http.post("/ask", json={"set_up": "tried", "changes": {}, "trials": 40}).json()
        answers = [answer for answer, _ in page.answers(asked["gen"])]
        direct = [answer for answer, _ in page.answers(page.ask(CHANGES, 40))]
        assert answers[-1]["finish"] == direct[-1]["finish"]
    finally:
        path.write_bytes(text)
