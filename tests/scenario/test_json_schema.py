"""The JSON Schema: valid, whole, current, and of one mind with `check` as far as a schema can see."""

import copy
import datetime as dt
import json
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.json_schema import json_schema, json_schema_text, shipped_text

ROOT = Path(__file__).parents[2]
SMALL = ROOT / "tests/published/data/small_tower/scenario.toml"
SCENARIOS = [*sorted(ROOT.glob("scenarios/*/scenario.toml")), SMALL]
GANNET = ROOT / "scenarios/gannet_wharf/scenario.toml"


def as_json(value):
    if isinstance(value, dict):
        return {key: as_json(entry) for key, entry in value.items()}
    if isinstance(value, list):
        return [as_json(entry) for entry in value]
    return value.isoformat() if isinstance(value, dt.date) else value


def faults_in(tree):
    return list(Draft202012Validator(json_schema()).iter_errors(as_json(tree)))


def test_it_is_valid_draft_2020_12_without_infinities():
    def refuse(word):
        raise AssertionError(f"{word} is no JSON")

    schema = json.loads(json_schema_text(), parse_constant=refuse)
    Draft202012Validator.check_schema(schema)
    assert schema["$schema"].endswith("2020-12/schema")


def test_the_shipped_file_is_current():
    assert shipped_text() == json_schema_text(), (
        "towerpace keys --schema > the file in sim/towerpace/scenario"
    )


def test_no_value_is_left_untyped():
    words = {"type", "enum", "const", "anyOf", "oneOf", "$ref"}
    untyped = []

    def walk(node, path):
        if not isinstance(node, dict):
            return
        for name, below in node.get("properties", {}).items():
            if not words & set(below):
                untyped.append((*path, name))
            walk(below, (*path, name))
        for name in ("items", "additionalProperties"):
            walk(node.get(name), (*path, name))

    schema = json_schema()
    walk(schema, ())
    for name, below in schema["$defs"].items():
        walk(below, (name,))
    assert untyped == []


def test_every_key_is_described():
    schema = json_schema()
    for name, table in {**schema["$defs"], "scenario": schema}.items():
        for key, below in table.get("properties", {}).items():
            assert below.get("description") or "$ref" in below, f"{name}.{key}"


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.parent.name)
def test_scenarios_of_the_repository_pass_or_fail_as_check_says(path):
    try:
        load(path)
        good = True
    except InputError:
        good = False

    assert (faults_in(tomllib.loads(path.read_text(encoding="utf-8"))) == []) is good


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("hoist", "speed_m_s"), 0),
        (("hoist", "share"), 1.5),
        (("hoist", "cuont"), 1),
        (("tower", "horizon_days"), 2.5),
        (("calendar", "site", "week", "mon"), ["7-12"]),
        (("family", "flat", "set_min"), {"low": 1, "likely": 2, "high": 3}),
        (("family", "flat", "set_min"), {"low": 1, "likely": 2, "high": 3, "shape": "normal"}),
        (("family", "flat", "set_min"), {"p10": 1, "p50": 2, "p90": 3, "p99": 4}),
        (("family", "flat", "set_min"), {"samples": "setting_times.csv"}),
        (("limit", "flat_lift", "kind"), "gusts"),
        (("trade", "seal", "kind"), "gangs"),
        (("activity", "snag", "after"), [{"on": "joints", "level": "every"}]),
        (("weather", "height_law"), "eurocode"),
    ],
)
def test_a_wrong_value_is_refused_by_the_schema_as_by_check(path, value):
    tree = tomllib.loads(GANNET.read_text(encoding="utf-8"))
    changed = copy.deepcopy(tree)
    table = changed
    for part in path[:-1]:
        table = table[part]
    table[path[-1]] = value

    assert faults_in(tree) == []
    assert faults_in(changed) != []
    with pytest.raises(InputError):
        load(GANNET, {".".join(path): value})


def test_a_published_limit_brings_its_own_source():
    tree = tomllib.loads(GANNET.read_text(encoding="utf-8"))
    tree["limit"]["flat_lift"] = {"published": "us_hoisting_personnel"}
    assert faults_in(tree) == []

    tree["limit"]["flat_lift"] = {"wind_above_m_s": 9, "kind": "gust"}
    assert faults_in(tree) != []
