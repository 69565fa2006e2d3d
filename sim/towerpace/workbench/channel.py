"""Events to all open pages, in order; who comes later gets the latest of each kind again."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

COMMENT_S = 15.0  # a silent line is cut by some machines between; none is here, but a tab finds a lost server


class Channel:
    """What the desk says, and the pages that listen."""

    def __init__(self) -> None:
        self._listeners: set[asyncio.Queue[str | None]] = set()
        self._last: dict[str, str] = {}
        self._is_closed = False

    def say(self, event: str, data: dict[str, Any]) -> None:
        """Send an event to every page."""
        text = f"event: {event}\ndata: {json.dumps(data, ensure_ascii=False, allow_nan=False)}\n\n"
        # The latest stand in the order in which they were said.
        self._last.pop(event, None)
        self._last[event] = text
        for listener in self._listeners:
            listener.put_nowait(text)

    def forget(self, *events: str) -> None:
        """Let go of the latest of some kinds, which a new question makes void."""
        for event in events:
            self._last.pop(event, None)

    def close(self) -> None:
        """End every stream."""
        self._is_closed = True
        for listener in self._listeners:
            listener.put_nowait(None)

    async def listen(self) -> AsyncIterator[str]:
        """The events as a page gets them, until it leaves or the channel closes."""
        queue: asyncio.Queue[str | None] = asyncio.Queue()
        for text in self._last.values():
            queue.put_nowait(text)
        self._listeners.add(queue)
        try:
            while not self._is_closed:
                try:
                    said = await asyncio.wait_for(queue.get(), COMMENT_S)
                except TimeoutError:
                    yield ": still here\n\n"
                    continue
                if said is None:
                    return
                yield said
        finally:
            self._listeners.discard(queue)
