"""The page of a planner's twenty questions: each has one command, and asks of set-ups that are one edit."""

from __future__ import annotations

import re

import pytest

from support.command_line import ROOT
from support.pages import blocks
from towerpace import load
from towerpace.scenario.setups import flattened

PAGE = (ROOT / "scenarios" / "questions.md").read_text(encoding="utf-8")
QUESTIONS = re.split(r"^## ", PAGE, flags=re.MULTILINE)[1:]
DEMO = ROOT / "scenarios" / "gannet_wharf" / "scenario.toml"
EDITS = 3  # keys of a set-up at the most


def test_there_are_twenty():
    assert [int(question.split(".")[0]) for question in QUESTIONS] == list(range(1, 21))


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda q: q.split(".")[0])
def test_each_is_answered_by_one_command_on_the_demo(question):
    (block,) = blocks(question)
    assert "scenarios/gannet_wharf/scenario.toml" in block.command
    assert "Gannet Wharf" in block.output
    assert len(block.output.splitlines()) > 10


def test_what_is_asked_of_a_set_up_is_one_edit():
    stated = load(DEMO).settings.setup
    asked = set(re.findall(r"--setup (\w+)", PAGE))
    assert len(asked) > 12
    assert {
        name: len(flattened(stated[name])) for name in asked if len(flattened(stated[name])) > EDITS
    } == {}
