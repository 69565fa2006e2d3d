"""Figures of an answer, drawn anew and made fit to stand in a page: no name is used twice."""

from __future__ import annotations

import re
from html import escape

from towerpace.render.figures.drawing import about_figure, draw
from towerpace.render.figures.style import look, svg_text
from towerpace.render.frames import Framed
from towerpace.render.page.curve import curve
from towerpace.render.page.model import Picture

_PROLOG = re.compile(r"<\?xml.*?\?>|<!DOCTYPE.*?>|<metadata>.*?</metadata>|<style.*?</style>", re.DOTALL)
_TITLE = re.compile(r"<title>(.*?)</title>", re.DOTALL)
_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
_PATH = re.compile(r'\bd="[^"]*"')
_LONG = re.compile(r"(\d+\.\d\d)\d+")
_SPACE = re.compile(r"\s*\n\s*")
_NAMES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
# Figures with a form of their own for pages: in the page's colours, and readable on a phone.
_DRAWN_HERE = {("forecast", "finish"): curve, ("bid", "finish"): curve}


def picture(framed: Framed, name: str) -> Picture:
    """The figure of that name."""
    drawn_here = _DRAWN_HERE.get((framed.answer.question, name))
    if drawn_here is not None:
        return drawn_here(framed)
    figure = draw(name, framed)
    with look():
        svg = svg_text(figure, {"Date": None})
    title = figure.get_suptitle().replace("\n", " ")
    box = _BOX.search(svg)
    if box is None:
        raise RuntimeError(f"the figure {name} was drawn without a size")
    key = f"{framed.answer.question}-{name}".replace("_", "-")
    drawn = _inline(svg, key, title)
    return Picture(key, drawn, title, about_figure(name, framed), float(box[2]) / float(box[1]))


def _inline(svg: str, key: str, title: str) -> str:
    """The figure as an element of a page: names of its own, its size left to the page."""
    body = _TITLE.sub("", _PROLOG.sub("", svg)).strip()
    box = _BOX.search(svg)
    body = re.sub(r"<svg [^>]*>", "", body, count=1).removesuffix("</svg>")
    body = re.sub(r'\bid="', f'id="{key}-', body)
    body = re.sub(r'(xlink:)?href="#', rf'\1href="#{key}-', body).replace("url(#", f"url(#{key}-")
    # A hundredth of a point: nobody sees the rest of the digits, but everybody would load them.
    body = _PATH.sub(lambda path: _LONG.sub(r"\1", path[0]), body)
    body = _SPACE.sub(" ", body).replace("> <", "><").strip()
    about = f'role="img" aria-label="{escape(title)}" aria-describedby="{key}-about"'
    return f"<svg {box[0] if box else ''} {about} {_NAMES}>{body}</svg>"
