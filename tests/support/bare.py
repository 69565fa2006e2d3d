"""Answers saved without their figures, which take longer than their trials."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from towerpace.face.result import Result
from towerpace.render.folder import save


def bare(result: Result[Any], folder: str | Path) -> Path:
    """The results folder of an answer that has no figures."""
    return save(replace(result.answer, figures=()), folder, command="by hand")
