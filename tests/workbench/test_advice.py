"""The ranking as it grows, and what it ends as."""

import pytest

from support.line_site import write_twins
from support.lines import Line
from towerpace import add, load
from towerpace.answers.choice import add as answers
from towerpace.answers.choice.lab import Lab
from towerpace.workbench.advice import DONE, RUNNING, search


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return str(write_twins(tmp_path_factory.mktemp("twins")))


def test_a_ranking_grows_by_options_and_trials_and_comes_best_first(path):
    seen = []
    rules = answers.Rules(most=40, steps=1)
    advice = answers.add(
        load(path), lab=Lab(2), seed=2, rules=rules, on_ranked=lambda ranked, of: seen.append((ranked, of))
    )
    sizes = [len(ranked) for ranked, _ in seen]
    assert sizes == sorted(sizes)
    assert sizes[-1] == seen[-1][1] > 1
    last = [ranked.days.mean / ranked.option.size for ranked in seen[-1][0]]
    assert last == sorted(last)
    named = {ranked.option.name for ranked in seen[-1][0]}
    assert named <= {ranked.option.name for ranked in advice.ranking}


def test_listening_moves_no_number(path):
    rules = answers.Rules(most=40, steps=1)
    alone = answers.add(load(path), lab=Lab(2), seed=2, rules=rules)
    heard = answers.add(load(path), lab=Lab(2), seed=2, rules=rules, on_ranked=lambda *_: None)
    assert [r.days for r in alone.ranking] == [r.days for r in heard.ranking]
    assert alone.trials_used == heard.trials_used


def test_a_search_ends_as_the_command_does(path):
    line = Line()
    search(line, path, {}, 2)
    last = line.told[-1]
    expected = add(load(path), seed=2).detail.ranking
    assert {told.state for told in line.told[:-1]} == {RUNNING}
    assert last.state == DONE
    assert [row["what"] for row in last.rows] == [ranked.option.name for ranked in expected]
    assert [row["gain"] for row in last.rows] == [-ranked.days.mean for ranked in expected]


def test_faults_of_the_changes_end_a_search_in_words(path):
    line = Line()
    search(line, path, {"resource.x.count": 0}, 2)
    assert line.told[-1].state == DONE
    assert "resource.x" in line.told[-1].text
