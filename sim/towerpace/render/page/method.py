"""How the numbers were made, with references, and what is needed to make them again."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.render.page.model import Block, Chapter, Facts, Items, Para
from towerpace.render.page.results import ADD, COMPARE, FORECAST, Part, Results

# Quoted from memory, none of them re-read for this list.
_SCHEDULE = (
    "J. E. Kelley (1963), The critical-path method: resources planning and scheduling, in Muth & Thompson "
    "(eds.), Industrial Scheduling; R. Kolisch (1996), Serial and parallel resource-constrained project "
    "scheduling methods revisited, European Journal of Operational Research 90: 320-333."
)
_BLOCKS = (
    "H. R. Künsch (1989), The jackknife and the bootstrap for general stationary observations, Annals of "
    "Statistics 17: 1217-1241."
)
_ORDER = "W. J. Conover (1999), Practical Nonparametric Statistics, 3rd ed., section 3.2."
_COUNTS = (
    "C. J. Clopper & E. S. Pearson (1934), The use of confidence or fiducial limits, Biometrika 26: 404-413."
)
_COMMON = (
    "A. M. Law (2015), Simulation Modeling and Analysis, 5th ed., section 11.2, on common random numbers."
)
_SELECT = (
    "S.-H. Kim & B. L. Nelson (2001), A fully sequential procedure for indifference-zone selection in "
    "simulation, ACM Transactions on Modeling and Computer Simulation 11: 251-273."
)
_COLOURS = "M. Okabe & K. Ito (2008), Color Universal Design: colours of the figures."


def method(results: Results) -> Chapter:
    """What a trial is, what the intervals are, and where it is written."""
    said, sources = zip(*_method(results), strict=True)
    blocks: list[Block] = [Para(text) for text in said]
    listed = list(dict.fromkeys(one for one in (*sources, _COLOURS) if one))
    return Chapter("method", "Method", [*blocks, Para("References", strong=True), Items(listed)])


def _method(results: Results) -> Iterator[tuple[str, str]]:
    yield (
        "Each trial draws everything uncertain first: paces, weather, deliveries, breakages. Then it plays "
        "the site: a step starts at the first instant when what comes before it is done, its date has come, "
        "its window is open and all it needs is free; steps that compete are served in the order of their "
        "keys. This is parallel schedule generation, with calendars and weather.",
        _SCHEDULE,
    )
    yield from _weather(results)
    yield (
        "A percentile is the trial of its rank; its 95 % interval lies between two ranks given by the "
        "binomial law, whatever the shape of the curve. Trials that do not finish by the last day played "
        "count as later than all others; none is dropped.",
        _ORDER,
    )
    yield "A chance is a share of trials, with its exact binomial interval of 95 %.", _COUNTS
    if results.found(COMPARE) is not None or results.found(ADD) is not None:
        yield "Set-ups share their draws, so that a difference is theirs and not of chance.", _COMMON
    if results.found(ADD) is not None:
        yield "What to add first was chosen by a sequential procedure that drops the weak early.", _SELECT


def _weather(results: Results) -> Iterator[tuple[str, str]]:
    part = results.part(FORECAST)
    keys = [] if part is None else part.tables["assumptions"]["key"].tolist()
    if "weather.block_days" in keys:
        yield (
            "Weather comes in blocks of whole days, taken from around the same season of the record, so that "
            "spells, nights and what goes together stay real, while the order of the blocks is chance.",
            _BLOCKS,
        )


def again(results: Results) -> Chapter:
    """What is needed to make every number again."""
    lead = (
        "The same scenario, seed, number of trials and version give the same numbers, on any number of cores."
    )
    return Chapter(
        "again", "Make it again", [Para(lead), *(block for p in results.parts for block in _run(p))]
    )


def _run(part: Part) -> list[Block]:
    run = part.manifest
    of = "" if run.trials == run.trials_asked else f" of {run.trials_asked:,} asked for"
    facts = (
        ("command", run.command),
        ("scenario file", run.path),
        ("scenario hash (SHA-256)", run.hash),
        ("seed", str(run.seed)),
        ("trials", f"{run.trials:,}{of}"),
        ("towerpace", run.version),
        ("made", run.created_utc),
        ("Python", run.python),
        ("packages", ", ".join(f"{name} {version}" for name, version in run.packages.items())),
        (
            "tower",
            f"{run.levels} levels of {run.zones} zones, played from {run.start_date} to {run.horizon_date}",
        ),
    )
    return [Facts(facts)]
