"""The page's server asked in this process: no port, no players, every header as a browser would send it."""

from __future__ import annotations

import asyncio
from typing import Any

import httpx


class Asked:
    """Asks an application as one browser with its cookies."""

    def __init__(self, app: Any, origin: str) -> None:
        self._app, self._origin = app, origin
        self.cookies = httpx.Cookies()

    def request(self, method: str, path: str, **content: Any) -> httpx.Response:
        """One request and its answer; cookies of answers are kept."""
        return asyncio.run(self._request(method, path, content))

    async def _request(self, method: str, path: str, content: dict[str, Any]) -> httpx.Response:
        transport = httpx.ASGITransport(app=self._app)
        async with httpx.AsyncClient(
            transport=transport, base_url=self._origin, cookies=self.cookies
        ) as client:
            answer = await client.request(method, path, **content)
            self.cookies = client.cookies
            return answer

    def get(self, path: str, **content: Any) -> httpx.Response:
        """Read."""
        return self.request("GET", path, **content)

    def post(self, path: str, **content: Any) -> httpx.Response:
        """Write."""
        return self.request("POST", path, **content)
