"""What a results folder says of its origin, beside the answer itself."""

from __future__ import annotations

import platform
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version

from towerpace.answers.portable import portable_command
from towerpace.answers.said.answer import Answer

FORMAT = 2
PACKAGES = ("simpy", "numpy", "pandas", "networkx", "scipy", "matplotlib", "pydantic")


@dataclass(frozen=True)
class Manifest:
    """The manifest of a results folder, field by field as in `manifest.json`.

    question : what was asked. scenario, hash, seed, trials : name of the tower, SHA-256 of the scenario,
    seed, trials finished. command : what made it. created_utc : when. files : everything in the folder
    besides the manifest. record_hash : SHA-256 of what the site recorded, "" where nothing was read.
    """

    format: int
    question: str
    scenario: str
    hash: str
    seed: int
    trials: int
    version: str
    python: str
    packages: dict[str, str]
    command: str
    created_utc: str
    cautions: Sequence[str]
    files: Sequence[str]
    record_hash: str = ""


def manifest_of(answer: Answer, *, command: str, files: Sequence[str] = ()) -> Manifest:
    """The manifest of an answer that is being saved now."""
    run = answer.run
    return Manifest(
        format=FORMAT,
        question=answer.question,
        scenario=run.scenario,
        hash=run.hash,
        seed=run.seed,
        trials=run.trials,
        version=run.version,
        python=platform.python_version(),
        packages={name: version(name) for name in PACKAGES},
        command=portable_command(command),
        created_utc=datetime.now(UTC).isoformat(timespec="seconds"),
        cautions=[*answer.banners, *answer.cautions],
        files=sorted(files),
        record_hash=next((str(f.value) for f in answer.facts if f.column.name == "record_hash"), ""),
    )
