"""The published example: its page is what its saved results give, to the byte."""

from pathlib import Path

from towerpace.render.page.results import read_results

from towerpace.render.page.page import html_of, page_of

RESULTS = Path(__file__).parents[2] / "results"


def test_the_page_of_the_example_is_rebuilt_from_its_tables():
    page = html_of(page_of(read_results([RESULTS / "example"])))
    assert page == (RESULTS / "example.html").read_text(encoding="utf-8")
