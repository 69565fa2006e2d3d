"""Every question of a site whose names are as only people can give them: each output is read back whole."""

from __future__ import annotations

import json
import re

import pytest

from support.command_line import towerpace
from support.hostile_site import HOSTILE_NAMES, QUESTIONS, ROLES, asked, write_hostile_site
from support.read_back import read_back, read_html, said_safely
from towerpace.cli.app import app
from towerpace.cli.terminal import progress, spinner
from towerpace.face.result import Result
from towerpace.render.saved.answer_file import load_saved

NO_QUESTIONS = {"bring", "keys", "new", "open", "report"}  # they ask nothing of a scenario, or show answers
# A calendar is asked of what has dates.
WITHOUT_DATES = {"weather", "use", "explain", "sheet", "rates", "score", "know", "add", "choose", "delay"}


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """The folder of the site, and the name of every role."""
    folder = tmp_path_factory.mktemp("named")
    return folder, write_hostile_site(folder, HOSTILE_NAMES, turn=0)


@pytest.fixture(scope="module")
def answered(site):
    """Asks a question once; what was printed."""
    folder, names = site
    printed = {}

    def _answered(question):
        if question not in printed:
            printed[question] = towerpace(*asked(question, names), cwd=folder)
        return printed[question]

    return _answered


def test_every_question_is_asked():
    groups = {info.name for info in app.registered_groups}
    assert {info.name for info in app.registered_commands} | groups == set(QUESTIONS) | NO_QUESTIONS


def test_every_name_is_borne_in_as_many_turns(tmp_path):
    turns = [write_hostile_site(tmp_path, HOSTILE_NAMES, turn=turn) for turn in range(len(HOSTILE_NAMES))]
    for role in ROLES:
        assert {word for names in turns for word in HOSTILE_NAMES if names[role].startswith(word)} == {
            *HOSTILE_NAMES
        }


@pytest.mark.parametrize("question", QUESTIONS)
def test_what_is_written_of_such_names_is_read_by_other_programs(question, site, answered):
    folder, _ = site
    for first in ("forecast", "ahead") if question == "score" else ():
        assert answered(first).returncode == 0
    run = answered(question)

    assert run.returncode == 0, run.stderr
    said_safely(run.stdout + run.stderr)
    for path in folder.glob(f"{question}*/**/*.*"):
        read_back(path)
    if (folder / question / "answer.json").is_file():
        shown(folder, question)
    for path in [path for path in folder.glob(f"{question}*") if path.is_file()]:
        read_back(path)


def shown(folder, question):
    """The answer in a notebook, and reported in every form."""
    answer = load_saved(folder / question).answer
    read_html(Result(answer, None)._repr_html_())
    forms = [(f"--{form}", f"{question}.{form}") for form in ("pdf", "xlsx", "ics")]
    words = [word for form in forms if form[0] != "--ics" or question not in WITHOUT_DATES for word in form]
    run = towerpace("report", question, "--out", f"{question}.html", *words, cwd=folder)
    assert run.returncode == 0, run.stderr


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_a_bar_and_a_spinner_on_a_terminal_say_names_as_they_are(name, monkeypatch, capsys):
    for variable, value in {"FORCE_COLOR": "1", "COLUMNS": "250"}.items():
        monkeypatch.setenv(variable, value)
    with progress(f"{name}: trials", 3) as bar:
        bar(1)
        bar.says(f"again {name}")
    with spinner() as say:
        say(f"number of {name}")
    said = re.sub(r"\x1b\[[\d;?]*\w", "", capsys.readouterr().err)
    assert f"again {name}" in said
    assert f"number of {name}" in said


def test_names_come_back_as_they_were_given(site, answered):
    """The terminal and JSON say them whole; a table that was written is read with the names of the file."""
    folder, names = site
    assert answered("use").returncode == 0
    resources = {names[role] for role in ("gang", "crane", "hoist", "bay", "fixers")}
    printed = towerpace("use", "scenario.toml", "--trials", "2", "--json", cwd=folder).stdout
    rows = json.loads(printed)["tables"]["resources"]

    assert resources <= {row["resource"] for row in rows}
    assert all(name in answered("use").stdout for name in resources)
    assert resources <= {row[0] for row in load_saved(folder / "use").answer.table("resources").rows}


def test_the_set_up_of_the_rates_of_a_site_can_be_pasted(site, answered):
    folder, _ = site
    assert answered("rates").returncode == 0
    text = (folder / "scenario.toml").read_text(encoding="utf-8")
    setup = (folder / "rates.toml").read_text(encoding="utf-8")
    (folder / "pasted.toml").write_text(text + setup, encoding="utf-8", newline="")
    run = towerpace("check", "pasted.toml", cwd=folder)
    assert run.returncode == 0, run.stderr
