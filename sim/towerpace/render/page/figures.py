"""Figures of a results folder made fit to stand in a page: nothing from outside, no name used twice."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape, unescape

from towerpace.render.page.model import Picture
from towerpace.render.page.results import Part

_PROLOG = re.compile(r"<\?xml.*?\?>|<!DOCTYPE.*?>|<metadata>.*?</metadata>|<style.*?</style>", re.DOTALL)
_TITLE = re.compile(r"<title>(.*?)</title>", re.DOTALL)
_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
_PATH = re.compile(r'\bd="[^"]*"')
_LONG = re.compile(r"(\d+\.\d\d)\d+")
_SPACE = re.compile(r"\s*\n\s*")


def picture(part: Part, name: str, *, about: str) -> list[Picture]:
    """The figure of that name, if the folder has it.

    about : what it shows and where its numbers stand, for those who cannot see it.
    """
    svg = part.svgs.get(name)
    if svg is None:
        return []
    title, box = _TITLE.search(svg), _BOX.search(svg)
    if title is None or box is None:
        return []
    key = f"{part.kind}-{name.replace('_', '-')}"
    said = unescape(title[1]).strip()
    return [Picture(key, _inline(svg, key, said), said, about, float(box[2]) / float(box[1]))]


def others(part: Part, shown: Sequence[str]) -> list[Picture]:
    """The figures of a folder that stand nowhere else."""
    names = [name for name in part.svgs if name not in shown]
    return [
        one for name in names for one in picture(part, name, about="Its numbers are in the tables below.")
    ]


def _inline(svg: str, key: str, title: str) -> str:
    """The figure as an element of a page: names of its own, its size left to the page."""
    body = _TITLE.sub("", _PROLOG.sub("", svg)).strip()
    box = _BOX.search(svg)
    body = re.sub(r"<svg [^>]*>", "", body, count=1).removesuffix("</svg>")
    body = re.sub(r'\bid="', f'id="{key}-', body)
    body = re.sub(r'(?:xlink:)?href="#', f'href="#{key}-', body).replace("url(#", f"url(#{key}-")
    # A hundredth of a point: nobody sees the rest of the digits, but everybody would load them.
    body = _PATH.sub(lambda found: _LONG.sub(r"\1", found[0]), body)
    body = _SPACE.sub(" ", body).replace("> <", "><").strip()
    about = f'role="img" aria-label="{escape(title)}" aria-describedby="{key}-about"'
    return f'<svg {box[0] if box else ""} {about} xmlns="http://www.w3.org/2000/svg">{body}</svg>'
