"""The PDF of a report: tagged, with the text of the page, and the same bytes for the same folder."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest

from render.test_page_joined import BID, beside, comparison
from towerpace.faults import InputError
from towerpace.render.page import print as printing
from towerpace.render.page.page import page_of
from towerpace.render.page.print import pdf_of, write_pdf
from towerpace.render.page.results import read_results

# typst belongs to the extra "report"; without it only the refusal can be tested.
needs_typst = pytest.mark.skipif(bool(printing.can_print()), reason="typst is not installed")
# The text of a PDF is compressed: another program must read it.
needs_reader = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext on this machine")


@pytest.fixture(scope="module")
def page(folder, tmp_path_factory):
    copied = shutil.copytree(folder, tmp_path_factory.mktemp("full") / "copied")
    return page_of(read_results([beside(copied, "bid.json", **BID), comparison(copied)]))


def said(path):
    read = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True)
    return " ".join(read.stdout.replace("\u00a0", " ").split())


@needs_typst
def test_the_pdf_is_tagged_for_screen_readers_and_named(page):
    made = pdf_of(page)
    assert made.startswith(b"%PDF-")
    assert b"/MarkInfo" in made
    assert b"pdfuaid:part" in made  # ISO 14289-1, section 5: the claim stands in plain metadata
    assert page.title.encode() in made


@needs_typst
def test_the_same_page_gives_the_same_pdf(page):
    assert pdf_of(page) == pdf_of(page)


@needs_typst
@needs_reader
def test_the_pdf_says_what_the_page_says(page, tmp_path):
    text = said(write_pdf(page, tmp_path / "report.pdf"))

    for sentence in page.headline.replace("\u00a0", " ").split(". "):
        assert sentence in text
    assert all(chapter.title in text for chapter in page.chapters)
    for block in page.first[1].groups[0].rows:
        assert " ".join(cell.text for cell in block if cell.text) in text
    assert re.search(r"The curve in numbers: \d+ rows, in the page and in the spreadsheet", text)


def test_without_typst_the_way_to_get_it_is_told(page, tmp_path, monkeypatch):
    monkeypatch.setattr(printing, "find_spec", lambda _: None)
    with pytest.raises(
        InputError, match=r"asked for without typst; allowed: pip install 'towerpace\[report\]'"
    ):
        write_pdf(page, tmp_path / "report.pdf")
    assert list(tmp_path.iterdir()) == []
