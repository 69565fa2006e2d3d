"""A study read back from its folder: all that its figures are made from."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from towerpace.answers.said.people import words
from towerpace.answers.sweep.read import load_study
from towerpace.answers.sweep.store import DICTIONARY, StudyManifest, read_manifest
from towerpace.faults import Fault, InputError
from towerpace.scenario.guarded import unguarded

if TYPE_CHECKING:
    from pandas import DataFrame


@dataclass(frozen=True)
class SavedStudy:
    """Results and what they are.

    units, meanings : of every response and factor, from the dictionary.
    """

    frame: DataFrame
    name: str
    hash: str
    seed: int
    version: str
    factors: tuple[str, ...]
    responses: tuple[str, ...]
    units: Mapping[str, str]
    meanings: Mapping[str, str]

    def run_text(self) -> str:
        """What a figure was made from."""
        done, points = self.frame.attrs["done"], self.frame.attrs["points"]
        of = "" if done == points else f" of {points:,}"
        trials = self.frame["trials"]
        each = (
            f"{trials.min():,}" if trials.min() == trials.max() else f"{trials.min():,} to {trials.max():,}"
        )
        run = f"seed {self.seed} · {done:,}{of} points of {each} trials"
        return f"{self.name} · study {self.hash[:12]} · {run} · towerpace {self.version}"

    def axis(self, name: str) -> str:
        """Name of a factor with its unit."""
        unit = self.units.get(name, "")
        return f"{words(name)} [{unit}]" if unit and unit != "units" else words(name)

    def response_axis(self, response: str) -> str:
        """Name of a response with its unit."""
        unit = {"-": "", "d": "days"}.get(self.units[response], self.units[response])
        return f"{response} [{unit}]" if unit else response


def load_saved_study(folder: str | os.PathLike[str]) -> SavedStudy:
    """Read a study's folder; raises `InputError` if it is none, or not as it was written."""
    manifest = read_manifest(folder)
    try:
        return _loaded(folder, manifest)
    except (ValueError, KeyError, OSError) as error:
        found = str(error).splitlines()[0] if str(error) else type(error).__name__
        fault = Fault(str(folder), None, "study", found, "the tables as the study wrote them")
        raise InputError([fault]) from None


def _loaded(folder: str | os.PathLike[str], manifest: StudyManifest) -> SavedStudy:
    import pandas as pd

    names = pd.read_csv(Path(folder) / DICTIONARY, dtype="str", keep_default_na=False).map(unguarded)
    names = names[names["what"].isin(["factor", "response"])]
    return SavedStudy(
        load_study(folder),
        manifest.name,
        manifest.hash,
        manifest.seed,
        manifest.version,
        tuple(manifest.factors),
        tuple(manifest.responses),
        dict(zip(names["name"], names["unit"], strict=True)),
        dict(zip(names["name"], names["meaning"], strict=True)),
    )
