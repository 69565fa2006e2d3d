"""Sums that close, and files that are written whole or not at all."""

import tomllib
from pathlib import Path

import pytest

from towerpace.bring.brought import Brought, Tally, write_brought
from towerpace.faults import InputError


def test_a_converter_that_loses_something_is_stopped():
    with pytest.raises(ValueError, match="10 rows in the source, 9 accounted for"):
        Tally("rows", 10, 7, {"empty": 2})
    assert (
        Tally("rows", 10, 8, {"empty": 2, "hidden": 0}).text()
        == "10 rows: 8 brought in, 2 left out (2 empty)"
    )


@pytest.fixture
def brought(tmp_path):
    source = tmp_path / "source.csv"
    source.write_text("a\n")
    return Brought("b\n", (source,), (Tally("rows", 1, 1),), left_out=('a "quoted"\tname',))


def test_what_is_written_says_where_it_came_from(brought, tmp_path):
    written = write_brought(brought, out=tmp_path / "levels.csv", replace=False)
    assert [path.name for path in written] == ["levels.csv", "levels.provenance.toml"]
    said = tomllib.loads(written[1].read_text())
    assert said["sums"]["left_out"] == ['a "quoted" name']
    assert said["source"][0]["file"] == "source.csv"
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "levels.csv",
        "levels.provenance.toml",
        "source.csv",
    ]


def test_a_second_file_that_cannot_be_written_leaves_no_first(brought, tmp_path, monkeypatch):
    def full(path, *_, **__):
        if Path(path).name.endswith(".toml"):
            raise OSError(28, "No space left on device")
        return len(brought.text)

    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(InputError, match="No space left on device"):
        write_brought(brought, out=tmp_path / "levels.csv", replace=False)
    assert [path.name for path in tmp_path.iterdir()] == ["source.csv"]


def test_a_folder_that_is_not_there_is_refused(brought, tmp_path):
    with pytest.raises(InputError, match=r"missing folder .*nowhere; allowed: a folder that exists"):
        write_brought(brought, out=tmp_path / "nowhere" / "levels.csv", replace=False)
