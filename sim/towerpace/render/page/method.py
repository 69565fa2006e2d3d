"""How the numbers were made, with references, and what is needed to make them again."""

from __future__ import annotations

from collections.abc import Sequence

from towerpace.answers.said.people import day
from towerpace.render.page.model import Block, Facts, Items, PageChapter, Para
from towerpace.render.saved.answer_file import Saved

_COLOURS = "M. Okabe & K. Ito (2008), Color Universal Design: colours of the figures (from memory)."
_AGAIN = (
    "The same scenario, seed, number of trials and version give the same numbers, on any number of cores."
)


def method(parts: Sequence[Saved]) -> PageChapter:
    """What a trial is, what the intervals are, and where it is written: each thing once."""
    methods = list(dict.fromkeys(way for part in parts for way in part.answer.methods))
    blocks: list[Block] = [Para(way.text) for way in methods]
    listed = list(dict.fromkeys([*(way.source for way in methods if way.source), _COLOURS]))
    return PageChapter("method", "Method", [*blocks, Para("References", strong=True), Items(listed)])


def again(parts: Sequence[Saved]) -> PageChapter:
    """What is needed to make every number again."""
    return PageChapter(
        "again", "How to reproduce", [Para(_AGAIN), *(block for part in parts for block in _run(part))]
    )


def _run(part: Saved) -> list[Block]:
    run, manifest = part.answer.run, part.manifest
    of = "" if run.trials == run.asked else f" of {run.asked:,} asked for"
    packages = ", ".join(f"{name} {version}" for name, version in manifest.packages.items())
    facts = [
        ("command", manifest.command),
        ("scenario file", run.path),
        ("scenario hash (SHA-256)", run.hash),
        ("seed", str(run.seed)),
        ("trials", f"{run.trials:,}{of}"),
        ("towerpace", run.version),
        ("made", manifest.created_utc),
        ("Python", manifest.python),
        ("packages", packages),
        (
            "tower",
            f"{run.levels} levels of {run.zones} zones, played from {day(run.start)} to {day(run.last)}",
        ),
    ]
    return [Facts([(name, said) for name, said in facts if said])]
