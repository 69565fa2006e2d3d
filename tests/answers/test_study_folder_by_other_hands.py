"""Study folders that somebody edited: a fault of the file, never a traceback."""

import json

import pytest

from towerpace.answers.sweep.store import FORMAT, StudyManifest, read_manifest
from towerpace.faults import InputError

GOOD = {
    "format": FORMAT, "name": "Gangs", "scenario": "s.toml", "scenario_hash": "a", "hash": "b",
    "version": "1", "seed": 1, "design": "grid", "draws": "common",
    "points": 2, "factors": ["gangs"], "kinds": ["whole"],
    "responses": ["finish.p80"], "quantities": [], "keep_trials": False, "study": {}, "scenario_keys": {},
    "files": {}, "python": "3", "packages": {}, "created_utc": "2026-01-01T00:00:00+00:00",
}  # fmt: skip


def written(folder, content):
    (folder / "manifest.json").write_text(json.dumps(content), encoding="utf-8")
    return folder


def test_a_manifest_is_read_as_it_was_written(tmp_path):
    assert read_manifest(written(tmp_path, GOOD)) == StudyManifest(**GOOD)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("points", "many"),
        ("points", 10**15),
        ("points", 0),
        ("factors", 7),
        ("kinds", []),
        ("keep_trials", "perhaps"),
        ("study", []),
        ("seed", None),
        ("format", 99),
    ],
)
def test_an_edited_manifest_is_a_fault_of_its_file(tmp_path, key, value):
    with pytest.raises(InputError, match=r"manifest\.json"):
        read_manifest(written(tmp_path, {**GOOD, key: value}))


@pytest.mark.parametrize("text", ["", "[]", "null", "[" * 100_000, "{}"])
def test_what_is_no_manifest_is_a_fault(tmp_path, text):
    (tmp_path / "manifest.json").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="the manifest of a study"):
        read_manifest(tmp_path)
