"""Waiting for what ends by itself: long, since a busy machine must fail no test."""

from __future__ import annotations

import time
from collections.abc import Callable

PATIENCE_S = 120


def ends(is_over: Callable[[], bool]) -> bool:
    """Whether something is over before patience is."""
    deadline = time.monotonic() + PATIENCE_S
    while not (over := is_over()) and time.monotonic() < deadline:
        time.sleep(0.05)
    return over


def has_ended(pid: int) -> bool:
    """Whether a process is gone, or only waits for whoever collects it. Asks Linux' /proc."""
    try:
        with open(f"/proc/{pid}/stat", encoding="utf-8") as stat:
            return ") Z " in stat.read()
    except (FileNotFoundError, ProcessLookupError):
        return True
