"""Reports of several folders: comparison, explanation, advice and bid join the forecast they are of."""

from __future__ import annotations

import json
import shutil

import pytest

from render.page_reader import PageReader
from render.test_page import html
from towerpace.faults import InputError
from towerpace.render.page.results import read_results


@pytest.fixture
def copied(folder, tmp_path):
    return shutil.copytree(folder, tmp_path / "copied")


def beside(copied, name, **content):
    """Put a JSON object of the same scenario into the folder."""
    run = json.loads((copied / "manifest.json").read_text())
    (copied / name).write_text(json.dumps({"scenario": run["scenario"], "hash": run["hash"], **content}))
    return copied


def folder_of(copied, name, *, tables, **content):
    """A folder of another command on the same scenario."""
    made = copied.parent / name
    made.mkdir()
    run = json.loads((copied / "manifest.json").read_text())
    (made / "manifest.json").write_text(json.dumps(run))
    for table, text in tables.items():
        (made / f"{table}.csv").write_text(text)
    return beside(made, f"{name}.json", **content)


SETUPS = [
    {"name": "base", "changes": {}, "p50": "2027-04-05", "p80": "2027-04-08", "cost": None},
    {
        "name": "second_hoist",
        "changes": {"resource.hoist.count": "2"},
        "p50": "2027-04-02",
        "p80": None,
        "cost": None,
        "diff_days": -1.3361,
        "diff_low": -1.4988,
        "diff_high": -1.1734,
        "diff_p80_days": -0.9708,
        "beats_base": 0.983,
    },
]
STAMP = "scenario_hash,seed,version"


def comparison(copied):
    table = f"setup,diff_days,{STAMP}\nbase,,abc,1,0\nsecond_hoist,-1.3361,abc,1,0\n"
    return folder_of(copied, "compare", tables={"setups": table}, trials=60, unit=None, setups=SETUPS)


def test_a_comparison_joins_its_forecast(copied):
    page = PageReader(html(copied, comparison(copied)))

    base, second = page.rows("Set-ups against the base")
    assert base[3] == ""
    assert second == [
        "second hoist",
        "2027-04-02",
        "after the last day",
        "-1.3361",
        "-1.4988",
        "-1.1734",
        "-0.9708",
        "0.983",
        "",
    ]
    assert page.rows("Setups") == [["base", ""], ["second_hoist", "-1.3361"]]
    assert "second hoist: resource.hoist.count = 2" in page.said


def test_a_comparison_alone_answers_for_its_base(copied):
    page = PageReader(html(comparison(copied)))

    assert "With the base, four of five trials finish by 8 Apr 2027." in page.said
    assert (
        "The set-up that gains most, second hoist, moves the finish by −1.3 days (−1.5 to −1.2)." in page.said
    )
    assert "What can be promised" not in page.tables


def test_an_advice_in_the_folder_is_shown(copied):
    ranked = {
        "resource": "hoist",
        "change": "+1",
        "days": -1.43,
        "low": -1.7,
        "high": -1.16,
        "p80_days": -0.98,
    }
    more = {"money": None, "verdict": "best with 90 % confidence", "trials": 20}
    path = [{**ranked, "p80": "2027-04-06"}]
    beside(
        copied,
        "add.json",
        ranking=[{**ranked, **more}],
        path=path,
        stopped="nothing more helps",
        procedure="a procedure",
        matters_days=2.0,
        confidence=0.9,
        unit=None,
    )
    page = PageReader(html(copied))

    assert page.rows("One change at a time")[0][:5] == ["hoist", "+1", "-1.43", "-1.7", "-1.16"]
    assert "hoist +1: −1.4 days, then P80 6 Apr 2027" in page.said
    assert "a procedure; 2 days matter, 90 % confidence" in page.said


def test_an_explanation_says_what_held_the_finish(copied):
    held = [{"trade": "panels", "cause": "wind", "days": 12.345, "share": 0.9}]
    table = f"trade,cause,mean_days,share,{STAMP}\npanels,wind,12.345,0.9,abc,1,0\n"
    explained = folder_of(copied, "explain", tables={"held": table}, held=held, mean_finish_days=37.5)
    page = PageReader(html(explained, copied))

    assert page.rows("What held the finish") == [["panels", "wind", "12.345", "0.9"]]
    assert (
        "the critical chain is 37.5 days long in the mean. Most of it: panels, wind (12.3 days)" in page.said
    )


BID = {
    "format": 1,
    "confidence": 0.8,
    "stated": {"date": "2027-04-07", "working_days": 30, "chance": 0.6, "low": 0.26, "high": 0.88},
    "planned": {
        "no_weather": {"date": "2027-04-02", "working_days": 28},
        "weather_as_recorded": {"date": None, "working_days": None},
        "counted_from": "no_weather",
    },
    "needed": [
        {
            "confidence": 0.8,
            "date": "2027-04-08",
            "low": None,
            "high": None,
            "working_days": 31,
            "contingency_days": 6.25,
        }
    ],
    "damages": [
        {
            "name": "end",
            "unit": "gang-day",
            "expected": 11.4,
            "expected_low": 3.3,
            "expected_high": 19.5,
            "p80": 16.0,
            "chance_of_any": 0.275,
        }
    ],
    "contingency": {
        "confidence": 0.8,
        "total_days": 6.25,
        "remainder_off_days": 1.25,
        "remainder_alone_days": -0.5,
        "sources": [{"source": "weather", "off_days": 5.0, "alone_days": 6.75}],
    },
    "drivers": {
        "inputs": [
            {"name": f"input_{k}", "rank": 0.5 - k / 10, "known": -0.001, "verdict": "drives"}
            for k in range(14)
        ]
    },
    "swings": {
        "trials": 10,
        "numbers": [
            {
                "key": "hoist.load_min",
                "low_value": 0.27,
                "low_days": -1.43,
                "high_value": 10.61,
                "high_days": 4.17,
                "verdict": "moves",
            }
        ],
    },
    "convergence": {
        "confidence": 0.8,
        "stages": [{"trials": 25, "date": "2027-04-08"}],
        "second_seed": {"seed": 2, "trials": 25, "date": "2027-04-09", "intervals_overlap": True},
    },
    "methods": {"percentiles": "order statistics"},
}


def test_a_bid_is_worth_its_own_chapter_and_a_sentence_of_the_answer(copied):
    page = PageReader(html(beside(copied, "bid.json", **BID)))

    assert "The stated 30 working days, to 7 Apr 2027, are kept in 60 % (26 to 88 %)." in page.said
    assert page.rows("What each confidence needs") == [["0.8", "2027-04-08", "", "", "31", "6.25"]]
    sources = page.rows("Contingency by source")
    assert [row[0] for row in sources] == ["weather", "what does not add up", "contingency"]
    assert [float(row[1]) for row in sources] == [5.0, 1.25, 6.25]
    assert sum(float(row[1]) for row in sources[:2]) == float(sources[2][1])
    assert len(page.rows("What drives the finish")) == 12
    assert len(page.rows("What drives the finish, all of them")) == 14
    assert page.rows("One number at a time, low and high")[0][0] == "hoist.load_min"
    assert "Another seed, 2, with 25 trials gives 9 Apr 2027: the two intervals overlap." in page.said


def test_a_bid_with_parts_left_out_is_shown_without_them(copied):
    page = PageReader(html(beside(copied, "bid.json", format=1, needed=BID["needed"])))

    assert "What each confidence needs" in page.tables
    assert "Contingency by source" not in page.tables


def test_results_of_another_scenario_are_refused(copied):
    other = shutil.copytree(copied, copied.parent / "other")
    manifest = json.loads((other / "manifest.json").read_text())
    (other / "manifest.json").write_text(json.dumps({**manifest, "hash": "f" * 64}))

    with pytest.raises(InputError, match="results of scenario ffffffffffff"):
        read_results([copied, other])


def test_an_object_of_another_scenario_is_refused(copied):
    (copied / "bid.json").write_text(json.dumps({**BID, "hash": "f" * 64}))

    with pytest.raises(InputError, match=r"bid\.json.*\n.*results of scenario ffffffffffff"):
        read_results([copied])


def test_an_explanation_alone_is_no_report(copied):
    explained = folder_of(copied, "explain", tables={}, held=[], mean_finish_days=None)

    with pytest.raises(InputError, match="found results of explain only; allowed: the folder of a forecast"):
        read_results([explained])


def test_faults_of_all_folders_are_listed_at_once(copied, tmp_path):
    (copied / "bid.json").write_text("{")
    broken = folder_of(copied, "compare", tables={"setups": "setup,diff_days\nbase,1\n"}, setups=SETUPS)

    with pytest.raises(InputError) as refused:
        read_results([copied, broken, tmp_path / "nothing"])
    said = str(refused.value)
    assert "no JSON" in said
    assert f"a table that ends in the columns {STAMP.replace(',', ', ')}" in said
    assert "missing file" in said
