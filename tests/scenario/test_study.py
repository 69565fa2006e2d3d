"""Study files: what they say, and every fault of one with its line, key and nearest word."""

from pathlib import Path

import pytest

from towerpace.faults import InputError
from towerpace.scenario.complaints import RefusalError
from towerpace.scenario.study import read_study
from towerpace.scenario.study_responses import parse_response

ROOT = Path(__file__).parents[2]
STUDY = """\
[study]
name = "Gangs"
scenario = "one.toml"
design = "grid"
trials = 20
seed = 1
responses = ["finish.p80", "contract.brackets_done"]

[factor.gangs]
key = "resource.bracket_gang.count"
values = [1, 2]
"""
RANGE = '[factor.gangs]\nkey = "resource.bracket_gang.count"\nlow = 1\nhigh = 4\ninteger = true\n'


def written(here: Path, text: str) -> Path:
    here.mkdir(parents=True, exist_ok=True)
    (here / "one.toml").write_text("", encoding="utf-8")
    (here / "study.toml").write_text(text, encoding="utf-8")
    return here / "study.toml"


def faults_of(here: Path, old: str, new: str) -> list[str]:
    """Report of the study with one passage replaced, without its first line."""
    assert STUDY.count(old) == 1
    with pytest.raises(InputError) as caught:
        read_study(written(here, STUDY.replace(old, new)))
    first, *faults = str(caught.value).split("\n")
    assert first.startswith(f"{here / 'study.toml'}: {len(faults)} fault")
    return [fault.strip() for fault in faults]


ONE_FAULT_EACH = {
    "unknown key": (
        "seed = 1",
        "seed = 1\ndrawz = 'common'",
        "line 7  study.drawz: found an unknown key; allowed: name, scenario, design, points, seed, trials, "
        "p80_within_days, most_trials, draws, responses, keep_trials, source, note; nearest: draws",
    ),
    "unknown design": (
        '"grid"',
        '"gird"',
        'line 4  study.design: found "gird"; allowed: "grid" or "list" or "latin" or "sobol"; nearest: grid',
    ),
    "no seed": ("seed = 1\n", "", "line 1  study.seed: missing; allowed: a whole number, at least 0"),
    "missing scenario": (
        '"one.toml"',
        '"ome.toml"',
        "line 3  study.scenario: missing file tower/ome.toml; allowed: a scenario file, its path relative "
        "to the study file; nearest: one.toml",
    ),
    "two rules for trials": (
        "trials = 20",
        "trials = 20\np80_within_days = 2\nmost_trials = 90",
        "line 5  study.trials: found both; allowed: trials, or p80_within_days with most_trials",
    ),
    "no end of trials": (
        "trials = 20",
        "p80_within_days = 2",
        "line 1  study.most_trials: missing; allowed: most_trials beside p80_within_days, and only there",
    ),
    "points of a grid": (
        "seed = 1",
        "seed = 1\npoints = 8",
        'line 7  study.points: found 8; allowed: no such key with design = "grid"',
    ),
    "unknown statistic": (
        '"finish.p80"',
        '"finish.p800"',
        'line 7  study.responses[0]: found "finish.p800"; allowed: finish.p80 or mean; nearest: p80',
    ),
    "response twice": (
        '"finish.p80"',
        '"finish.p80", "finish.p80"',
        'line 7  study.responses[1]: found "finish.p80" a second time; allowed: each response once',
    ),
    "value twice": (
        "[1, 2]",
        "[1, 1]",
        "line 11  factor.gangs.values: found a value twice; allowed: each value once",
    ),
    "values of two types": (
        "[1, 2]",
        '[1, "two"]',
        "line 11  factor.gangs.values: found values of several types; allowed: numbers only, texts only, "
        "truths only or dates only",
    ),
    "tables without labels": (
        "[1, 2]",
        "[{ low = 1, high = 2 }]",
        "line 9  factor.gangs.labels: missing; allowed: a list of 1 labels, one a value",
    ),
    "range in a grid": (
        "values = [1, 2]",
        "low = 1\nhigh = 3",
        'line 11  factor.gangs.low: found a range; allowed: values with design = "grid"; ranges with latin '
        "or sobol",
    ),
    "no key": (
        'key = "resource.bracket_gang.count"\n',
        "",
        "line 9  factor.gangs.key: missing; allowed: a key as resource.hoist.count",
    ),
    "no dotted key": (
        '"resource.bracket_gang.count"',
        '"resource..count"',
        'line 10  factor.gangs.key: found "resource..count"; allowed: a key as resource.hoist.count',
    ),
    "a name that tables need": (
        "[factor.gangs]",
        "[factor.value]",
        'line 9  factor.value: found "value"; allowed: a name of letters, digits and _ that is none of '
        "point, response, value, low, high, trials, trial, scenario_hash, seed, version",
    ),
    "two factors of one key": (
        "values = [1, 2]",
        'values = [1, 2]\n[factor.more]\nkey = "resource.bracket_gang.count"\nvalues = [3]',
        'line 13  factor.more.key: found "resource.bracket_gang.count"; allowed: a key that no other '
        "factor sets; gangs does",
    ),
}


@pytest.mark.parametrize(("old", "new", "fault"), ONE_FAULT_EACH.values(), ids=ONE_FAULT_EACH)
def test_each_fault_is_one_line(here, old, new, fault):
    assert faults_of(here, old, new) == [fault]


def test_an_unknown_response_names_the_nearest_and_all_forms(here):
    (fault,) = faults_of(here, '"finish.p80"', '"finnish.p80"')
    assert fault.startswith('line 7  study.responses[0]: found "finnish.p80"; allowed: finish.p80 or mean, ')
    assert fault.endswith("; nearest: finish")


def test_faults_of_all_kinds_come_together(here):
    text = (
        STUDY.replace('"grid"', '"sobol"').replace("seed = 1", "seed = -1").replace("values = [1, 2]\n", "")
    )
    with pytest.raises(InputError) as caught:
        read_study(written(here, text))
    assert {fault.key for fault in caught.value.faults} == {"study.points", "study.seed", "factor.gangs"}


def test_sobol_points_come_in_powers_of_two(here):
    text = (
        STUDY.replace('design = "grid"', 'design = "sobol"\npoints = 12').split("[factor.gangs]")[0] + RANGE
    )
    with pytest.raises(InputError) as caught:
        read_study(written(here, text))
    assert [fault.allowed for fault in caught.value.faults] == [
        "a power of two, as 8 or 16: other numbers spoil the balance"
    ]


def test_points_of_a_list_are_checked_value_by_value(here):
    points = "[[point]]\ngangs = 1\n[[point]]\ngangs = 7\n[[point]]\ngnags = 2\n"
    text = STUDY.replace('"grid"', '"list"') + points
    with pytest.raises(InputError) as caught:
        read_study(written(here, text))
    assert [fault.text() for fault in caught.value.faults] == [
        "line 15  point[1].gangs: found 7; allowed: 1, 2",
        'line 17  point[2].gnags: found "gnags"; allowed: gangs; nearest: gangs',
    ]


def test_labels_stand_beside_whole_sets_of_keys(here):
    sets = (
        '[factor.weather]\nlabels = ["calm", "calm"]\n'
        'replace = [{ "a.b" = 1 }, { "a.b" = 2 }, { "a.c" = 3 }]\n'
    )
    with pytest.raises(InputError) as caught:
        read_study(written(here, STUDY + sets))
    assert {fault.found for fault in caught.value.faults} == {"2 labels", "a label twice"}


def test_a_good_file_gives_its_content_and_responses(here):
    study = read_study(written(here, STUDY))
    assert [one.quantity for one in study.responses] == ["finish", "contract.brackets_done"]
    assert study.scenario == str(here / "one.toml")
    # Where the scenario lies is no content; what it holds is compared by itself.
    assert "study.scenario" not in study.content
    assert study.content["factor.gangs.values"] == "[1, 2]"


def test_levels_of_responses_are_numbers():
    assert parse_response("done.seal.12.mean").names == ("seal", 12)
    with pytest.raises(RefusalError):
        parse_response("closing_in.top.p80")


@pytest.mark.parametrize(
    "path", sorted((ROOT / "scenarios" / "studies").glob("*.toml")), ids=lambda p: p.stem
)
def test_the_example_studies_read_without_fault(path):
    assert read_study(path).responses
