"""A report in one HTML file that stands alone: from saved answers, opened from disk, printed as it is."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from towerpace.answers.said.answer import Run
from towerpace.answers.said.kinds import On
from towerpace.answers.said.people import day
from towerpace.faults import Fault, InputError
from towerpace.render.folder import slug
from towerpace.render.frames import Framed
from towerpace.render.page.blocks import blocks_of
from towerpace.render.page.cautions import cautions
from towerpace.render.page.method import again, method
from towerpace.render.page.model import Page, PageChapter, Para, unbroken
from towerpace.render.saved.answer_file import Saved, load_saved

TEMPLATES = Path(__file__).parent / "templates"


def read_parts(folders: Sequence[str | os.PathLike[str]]) -> list[Saved]:
    """Saved answers that make one report, in the order given.

    Raises `InputError` with every fault of every folder: files missing or broken, or of another scenario.
    """
    parts: list[Saved] = []
    faults: list[Fault] = []
    for folder in folders:
        try:
            parts.append(load_saved(folder))
        except InputError as error:
            faults.extend(error.faults)
    if not faults:
        faults = list(_of_other_scenarios(parts))
    if faults:
        raise InputError(faults)
    return parts


def _of_other_scenarios(parts: Sequence[Saved]) -> Iterator[Fault]:
    first = parts[0].answer.run
    allowed = f"results of scenario {first.hash[:12]}, as in {parts[0].folder}"
    for part in parts[1:]:
        if part.answer.run.hash != first.hash:
            found = f"results of scenario {part.answer.run.hash[:12]}"
            yield Fault(str(part.folder), None, "hash", found, allowed)


def page_of(parts: Sequence[Saved]) -> Page:
    """The report as plain data: the first chapter of the first answer, then all others."""
    first = parts[0].answer
    chapters = [chapter for part in parts for chapter in _chapters(part)]
    opening, rest = (chapters[0].blocks, chapters[1:]) if chapters else ((), [])
    ends = [cautions(parts), method(parts), again(parts)]
    said = [part.answer.said for part in parts if part.answer.said]
    headline = unbroken(" ".join(dict.fromkeys(said)))
    return Page(
        title=first.run.scenario,
        kicker=first.about,
        banners=list(dict.fromkeys(banner for part in parts for banner in part.answer.banners)),
        headline=headline,
        run=run_text(first.run),
        # What the headline says is not said again right below it.
        first=[block for block in opening if not (isinstance(block, Para) and block.text in headline)],
        chapters=_keyed([*rest, *ends]),
        created=parts[0].manifest.created_utc,
    )


def run_text(run: Run) -> str:
    """What an answer was made from, on one line of a page."""
    trials = f"{run.trials:,} {'trial' if run.trials == 1 else 'trials'} · " if run.trials else ""
    start = f"Start {unbroken(day(run.start))}"
    return f"{start} · {trials}seed {run.seed} · scenario {run.hash[:12]} · towerpace {run.version}"


def _chapters(part: Saved) -> list[PageChapter]:
    framed = Framed(part.answer)
    wanted = [chapter for chapter in part.answer.chapters if On.PAGE & chapter.on]
    return [PageChapter("", chapter.title, blocks_of(chapter, framed)) for chapter in wanted]


def _keyed(chapters: Sequence[PageChapter]) -> list[PageChapter]:
    """Chapters with something in them, each under a key of its own."""
    by_key: dict[str, PageChapter] = {}
    for chapter in chapters:
        stem = chapter.key or slug(chapter.title)
        key = next(k for k in (stem, *(f"{stem}_{n}" for n in range(2, 99))) if k not in by_key)
        if chapter.blocks:
            by_key[key] = PageChapter(key, chapter.title, chapter.blocks)
    return list(by_key.values())


def html_of(page: Page) -> str:
    """The page as one file: style and figures inside, nothing from anywhere else, no script."""
    return rendered(page, template="page")


def rendered(page: Page, *, template: str) -> str:
    """A page in one of the forms that there are templates of: a report, or one side of paper."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    style = Markup((TEMPLATES / f"{template}.css").read_text(encoding="utf-8"))
    return environment.get_template(f"{template}.html.j2").render(page=page, style=style, drawn=Markup)


def write_whole(content: str | bytes, path: str | os.PathLike[str]) -> Path:
    """Write a file or nothing: an older one stays as it was until the new one is complete."""
    target = Path(path)
    target.parent.mkdir(parents=True, exist_ok=True)
    descriptor, name = tempfile.mkstemp(prefix=f".{target.name}-", dir=target.parent)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
        Path(name).chmod(0o644)  # a temporary file is closed to others
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return target


def check_targets(targets: Sequence[str | os.PathLike[str]]) -> list[Fault]:
    """What stands in the way of writing these files."""
    return [
        Fault(str(target), None, "file", "a folder", "the name of a file to write")
        for target in targets
        if Path(target).is_dir()
    ]


def write_page(page: Page, path: str | os.PathLike[str]) -> Path:
    """Write the page.

    Raises `InputError` if a folder stands where the file should.
    """
    faults = check_targets([path])
    if faults:
        raise InputError(faults)
    return write_whole(html_of(page), path)
