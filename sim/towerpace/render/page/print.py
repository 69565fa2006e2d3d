"""The report as a PDF: the same plain data as the page, set by Typst, with the fonts inside.

Typst needs no library of the system and brings its own text font; that of the figures is the one that the
figures were drawn with.
"""

from __future__ import annotations

import json
import os
import re
from dataclasses import asdict
from datetime import datetime
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from towerpace.faults import Fault, InputError
from towerpace.render.page.model import Page
from towerpace.render.page.page import TEMPLATES, check_targets, write_whole

_STANDARD: Final = "ua-1"  # PDF/UA-1, ISO 14289-1: tagged, for screen readers
# The colours and letters that page.css gives to the curve.
_CURVE_STYLE = """<style>
svg { font-family: "DejaVu Sans"; fill: #1f1e1b }
.axis { stroke: #5f5b53 } .guide { stroke: #5f5b53; stroke-dasharray: 1 4; stroke-linecap: round }
.steps { fill: none; stroke: #0072b2; stroke-width: 2.6 } .interval { fill: #8fc6e6 }
.due { stroke: #b44400; stroke-width: 1.6; stroke-dasharray: 7 4 } .due-words { fill: #b44400 }
.quiet { fill: #5f5b53 } .strong { font-weight: 700 }
</style>"""


def can_print() -> list[Fault]:
    """What a PDF needs and is not installed."""
    if find_spec("typst") is not None:
        return []
    return [Fault("--pdf", None, "pdf", "asked for without typst", "pip install 'towerpace[report]'")]


def pdf_of(page: Page) -> bytes:
    """The report as PDF/UA-1; the same bytes for the same page.

    Raises `InputError` without typst.
    """
    if faults := can_print():
        raise InputError(faults)
    import matplotlib
    import typst

    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    compiler = typst.Compiler(
        font_paths=[fonts], ignore_system_fonts=True, sys_inputs={"page": json.dumps(_printed(page))}
    )
    pdf = compiler.compile(
        input=(TEMPLATES / "page.typ").read_bytes(),
        format="pdf",
        timestamp=datetime.fromisoformat(page.created),
        pdf_standards=_STANDARD,
    )
    if not isinstance(pdf, bytes):
        raise RuntimeError(f"a PDF in one piece was asked for, typst gave {type(pdf).__name__}")
    return pdf


def _printed(page: Page) -> dict[str, object]:
    """The page with the style of the curve inside the curve, where no style sheet reaches."""
    data = asdict(page)
    for block in data["first"]:
        if block["what"] == "picture" and block["narrow"]:
            block["svg"] = re.sub(r"(<svg [^>]*>)", rf"\1{_CURVE_STYLE}", block["svg"], count=1)
    return data


def write_pdf(page: Page, path: str | os.PathLike[str]) -> Path:
    """Write the PDF.

    Raises `InputError` without typst, or if a folder stands where the file should.
    """
    if faults := [*can_print(), *check_targets([path])]:
        raise InputError(faults)
    return write_whole(pdf_of(page), path)
