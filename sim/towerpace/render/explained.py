"""Why the finish is late, in a folder: the JSON object, tidy tables, texts of one trial, and figures."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from towerpace.answers.why.explain import Explanation
from towerpace.answers.why.telling import Story, chain_lines
from towerpace.plan.site.tower import HANDOVER
from towerpace.render.cautions import LIMITS_CAUTION
from towerpace.render.folder import check_folder, write_folder
from towerpace.render.saved.forecast import load_saved
from towerpace.render.saved.manifest import Run, manifest_of_run
from towerpace.render.tables.columns import NUMBER, TEXT, TRUTH, WHOLE, frame
from towerpace.render.tables.forecast import HASH_SHOWN

if TYPE_CHECKING:
    from pandas import DataFrame

Rows = Iterator[tuple[object, ...]]
OBJECT, DIARY, CHAIN = "explain.json", "site_diary.txt", "chain.txt"
EXPLAINED_TABLES: dict[str, dict[str, str]] = {
    "held": {"trade": TEXT, "cause": TEXT, "mean_days": NUMBER, "share": NUMBER},
    "levels": {"level": WHOLE, "mean_days": NUMBER, "share": NUMBER},
    "pools": {"pool": TEXT, "mean_days": NUMBER, "share": NUMBER},
    "waiting": {"who": TEXT, "for": TEXT, "clock": TEXT, "mean_h": NUMBER},
    "unfinished": {"trial": WHOLE, "steps_left": WHOLE, "locked": TRUTH, "waits_for": TEXT},
}
TRIAL_TABLES: dict[str, dict[str, str]] = {
    "fronts": {
        "trial": WHOLE,
        "trade": TEXT,
        "level": WHOLE,
        "zone": TEXT,
        "begun_min": WHOLE,
        "done_min": WHOLE,
    },
    "chain": {
        "trial": WHOLE,
        "link": WHOLE,
        "step": TEXT,
        "trade": TEXT,
        "level": WHOLE,
        "zone": TEXT,
        "since_min": WHOLE,
        "started_min": WHOLE,
        "finished_min": WHOLE,
        "pool": TEXT,
    },
    "chain_causes": {"trial": WHOLE, "link": WHOLE, "cause": TEXT, "minutes": WHOLE},
}


def save_explained(
    data: Mapping[str, Any],
    why: Explanation,
    folder: str | os.PathLike[str],
    *,
    story: Story | None = None,
    command: str = "towerpace explain",
) -> Path:
    """Write object, tables, texts, figures and manifest of an explanation, or nothing at all.

    data : the object as it is printed. story : of one trial, with its chain and its whole site diary.
    Raises `InputError` if the folder holds something that no run has written.
    """
    check_folder(folder)
    run = Run(why.ready.scenario, why.ready.tower, why.seed, why.asked, why.trials)
    texts = {OBJECT: json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"}
    if story is not None:
        texts |= _texts(data, story)
    return write_folder(
        folder,
        explained_tables(data, story),
        manifest=manifest_of_run(run, command=command, cautions=_cautions(why)),
        draw=partial(_draw, of=tables_with(story)),
        texts=texts,
    )


def tables_with(story: Story | None) -> dict[str, dict[str, str]]:
    """Tables of a folder with or without one trial."""
    return EXPLAINED_TABLES if story is None else EXPLAINED_TABLES | TRIAL_TABLES


def explained_tables(data: Mapping[str, Any], story: Story | None) -> dict[str, DataFrame]:
    """Every table by name."""
    stamp = (str(data["hash"])[:HASH_SHOWN], int(data["seed"]), str(data["version"]))
    rows: dict[str, Callable[[], Rows]] = {
        "held": partial(_picked, data["held"], ("trade", "cause", "days", "share")),
        "levels": partial(_picked, data["levels"], ("level", "days", "share")),
        "pools": partial(_picked, data["pools"], ("pool", "days", "share")),
        "waiting": partial(_picked, data["waiting"], ("who", "for", "clock", "hours")),
        "unfinished": partial(_unfinished, data),
    }
    if story is not None:
        rows["fronts"] = partial(_fronts, story)
        rows["chain"] = partial(_chain, story)
        rows["chain_causes"] = partial(_chain_causes, story)
    of = tables_with(story)
    return {name: frame(name, made(), stamp=stamp, tables=of) for name, made in rows.items()}


def _draw(folder: Path, *, of: Mapping[str, Mapping[str, str]]) -> None:
    from towerpace.render.figures.explained import write_explained_figures

    write_explained_figures(load_saved(folder, of=of), folder)


def _cautions(why: Explanation) -> list[str]:
    beyond = why.trials - why.finished
    said = [
        f"{beyond} of {why.trials} trials do not finish inside the horizon; they count as later than all "
        "others and have no chain: days of the finish are means of those that finish."
    ]
    return [*(said if beyond else []), LIMITS_CAUTION]


def _texts(data: Mapping[str, Any], story: Story) -> dict[str, str]:
    run = f"scenario {str(data['hash'])[:HASH_SHOWN]}, seed {data['seed']}, towerpace {data['version']}"
    head = f"{data['scenario']}, trial {story.played.trial}, {run}"
    diary = [day.text(story.start) for day in story.diary]
    chain = list(chain_lines(story.told, start=story.start))
    unfinished = ["The trial does not finish: it has no critical chain.", *data["trial_waits_for"]]
    return {
        DIARY: "\n".join([f"Site diary: {head}", "", *diary, ""]),
        CHAIN: "\n".join([f"Critical chain: {head}", "", *(chain or unfinished), ""]),
    }


def _picked(found: list[dict[str, Any]], keys: tuple[str, ...]) -> Rows:
    for one in found:
        yield tuple(one[key] for key in keys)


def _unfinished(data: Mapping[str, Any]) -> Rows:
    """A row a wait; a trial of which no wait is known has one all the same."""
    for one in data["unfinished"]:
        for wait in one["waits_for"] or [""]:
            yield one["trial"], one["steps_left"], one["locked"], wait


def _fronts(story: Story) -> Rows:
    """Begin and end of every front of every trade, and the handover of every level; blank where none came."""
    tower, diary, trial = story.played.ready.tower, story.played.diary, story.played.trial
    for level, step in zip(tower.levels, tower.handover.tolist(), strict=True):
        at = _known(diary.finished[step])
        yield trial, HANDOVER, level, "", at, at
    for trade, first, last in zip(tower.trades, tower.first, tower.last, strict=True):
        for front, begin, end in zip(tower.fronts, first.tolist(), last.tolist(), strict=True):
            begun, done = _known(diary.started[begin]), _known(diary.finished[end])
            yield trial, trade, front.level, front.zone, begun, done


def _known(minute: np.int32) -> int | None:
    return int(minute) if minute >= 0 else None


def _chain(story: Story) -> Rows:
    plan, trial = story.played.ready.tower.plan, story.played.trial
    for k, link in enumerate(story.told.links):
        tags = plan.tags(link.step)
        pool = "" if link.pool < 0 else plan.pools.names[link.pool]
        times = (link.since, link.started, link.finished)
        yield trial, k, plan.names[link.step], tags.trade, tags.level, tags.zone, *times, pool


def _chain_causes(story: Story) -> Rows:
    told = story.told
    for link, cause in np.argwhere(told.minutes.T > 0).tolist():
        yield story.played.trial, link, told.causes[cause], int(told.minutes[cause, link])
