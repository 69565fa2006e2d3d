"""One side of paper for a meeting: what an answer says on it, in a file that stands alone and is printed."""

from __future__ import annotations

import os
from pathlib import Path

from towerpace.answers.said.kinds import On
from towerpace.faults import Fault, InputError
from towerpace.render.folder import slug
from towerpace.render.frames import Framed
from towerpace.render.page.blocks import blocks_of
from towerpace.render.page.model import Items, Page, PageChapter, unbroken
from towerpace.render.page.page import check_targets, rendered, run_text, write_whole
from towerpace.render.saved.answer_file import Saved


def can_sheet(part: Saved) -> list[Fault]:
    """What stands in the way of a sheet: an answer that says nothing on one."""
    if any(On.SHEET & chapter.on for chapter in part.answer.chapters):
        return []
    allowed = "results of a question that has a sheet for a meeting, as ahead"
    return [Fault(str(part.folder), None, "sheet", f"results of {part.answer.question}", allowed)]


def sheet_of(part: Saved) -> Page:
    """The sheet as plain data: chapters that are for it, then the cautions of the answer."""
    answer, framed = part.answer, Framed(part.answer)
    chapters = [
        PageChapter(_key(chapter.title), chapter.title, blocks_of(chapter, framed, where=On.SHEET))
        for chapter in answer.chapters
        if On.SHEET & chapter.on
    ]
    cautions = PageChapter("cautions", "Cautions", [Items([unbroken(text) for text in answer.cautions])])
    return Page(
        title=answer.run.scenario,
        kicker=answer.about,
        banners=list(answer.banners),
        headline=unbroken(answer.said),
        run=run_text(answer.run),
        first=(),
        chapters=[*(chapter for chapter in chapters if chapter.blocks), cautions],
        created=part.manifest.created_utc,
    )


def _key(title: str) -> str:
    return slug(title) if title else ""


def write_sheet(part: Saved, path: str | os.PathLike[str]) -> Path:
    """Write the sheet.

    Raises `InputError` if the answer has none, or a folder stands where the file should.
    """
    if faults := [*can_sheet(part), *check_targets([path])]:
        raise InputError(faults)
    return write_whole(rendered(sheet_of(part), template="sheet"), path)
