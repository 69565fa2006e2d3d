"""The published example: its page is what its saved results give, to the byte; its list of files is true."""

import json
from pathlib import Path

from towerpace.render.page.page import html_of, page_of, read_parts

RESULTS = Path(__file__).parents[2] / "results"


def test_the_page_of_the_example_is_rebuilt_from_its_tables():
    page = html_of(page_of(read_parts([RESULTS / "example"])))
    assert page == (RESULTS / "example.html").read_text(encoding="utf-8")


def test_the_manifest_lists_what_is_there():
    listed = json.loads((RESULTS / "example" / "manifest.json").read_text(encoding="utf-8"))["files"]
    there = {path.name for path in (RESULTS / "example").iterdir() if path.suffix not in (".svg", ".parquet")}
    assert there == {*listed, "manifest.json"}
