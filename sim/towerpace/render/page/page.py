"""A report in one HTML file that stands alone: from saved results, opened from disk, printed as it is."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from towerpace.faults import Fault, InputError
from towerpace.render.page.answer import first_page, headline
from towerpace.render.page.assumptions import assumptions
from towerpace.render.page.bid import bid, stated
from towerpace.render.page.cautions import cautions
from towerpace.render.page.choices import headline_of, which_to_add
from towerpace.render.page.method import again, method
from towerpace.render.page.model import Block, Chapter, Page, day
from towerpace.render.page.progress import closing_in, progress
from towerpace.render.page.results import COMPARE, FORECAST, Part, Results
from towerpace.render.page.weather import weather
from towerpace.render.page.why import why
from towerpace.render.saved.forecast import Saved

TEMPLATES = Path(__file__).parent / "templates"


def page_of(results: Results) -> Page:
    """The report as plain data: the first page, then its chapters."""
    part = results.parts[0]
    run = part.manifest
    forecast = results.part(FORECAST)
    compared = results.found(COMPARE)
    first: list[Block] = []
    said = ""
    if forecast is not None:
        saved = Saved(forecast.tables, run)
        first, said = first_page(saved), headline(saved)
    elif compared is not None:
        said = headline_of(compared[1])
    start = day(date.fromisoformat(run.start_date))
    return Page(
        title=run.scenario,
        kicker="What the finish date is worth",
        headline=f"{said} {stated(results)}".strip(),
        run=f"Start {start} · {run.trials:,} {'trial' if run.trials == 1 else 'trials'} · seed {run.seed} · "
        f"scenario {run.hash[:12]} · towerpace {run.version}",
        first=first,
        chapters=[chapter for chapter in _chapters(results, forecast) if chapter.blocks],
        created=run.created_utc,
    )


def _chapters(results: Results, forecast: Part | None) -> list[Chapter]:
    last = [cautions(results), method(results), again(results)]
    if forecast is None:
        return [which_to_add(results), bid(results), *last]
    return [
        why(forecast, results),
        which_to_add(results),
        bid(results),
        closing_in(forecast),
        progress(forecast),
        weather(forecast, results),
        assumptions(forecast),
        *last,
    ]


def html_of(page: Page) -> str:
    """The page as one file: style and figures inside, nothing from anywhere else, no script."""
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
    style = Markup((TEMPLATES / "page.css").read_text(encoding="utf-8"))
    return environment.get_template("page.html.j2").render(page=page, style=style, drawn=Markup)


def write_whole(content: str | bytes, path: str | os.PathLike[str]) -> Path:
    """Write a file or nothing: an older one stays as it was until the new one is complete."""
    target = Path(path)
    target.parent.mkdir(parents=True, exist_ok=True)
    made, name = tempfile.mkstemp(prefix=f".{target.name}-", dir=target.parent)
    try:
        with os.fdopen(made, "wb") as file:
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
