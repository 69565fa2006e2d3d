"""Where trials are played: on this machine, or on the workers of a cluster."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from towerpace.cli.terminal import INPUT, INTERRUPTED

if TYPE_CHECKING:
    from concurrent.futures import Executor


@contextmanager
def players(cluster: str | None, *, workers: int) -> Iterator[tuple[Executor | None, int]]:
    """The executor of a cluster and how many tasks it does at a time, or none and our own workers."""
    if cluster is None:
        yield None, workers
        return
    from towerpace.trials.cluster import cluster as joined

    with joined(cluster, workers=workers) as executor:
        yield executor, executor.slots


def code_when_stopped(executor: Executor | None) -> int:
    """The exit code of a command that was stopped: by Ctrl-C, or as its cluster no longer answers."""
    return INPUT if getattr(executor, "is_lost", False) else INTERRUPTED
