"""Who may ask: only a page of this very server, opened with its key.

Other sites open in the same browser can send requests to a server on the user's machine, and a name of theirs
can be made to lead there. So the host must be ours by name and port, a writing request must say that it comes
from our own page, and a key that only the terminal knows opens the first page.

References: OWASP, Cross-Site Request Forgery Prevention (Origin, Fetch Metadata); W3C, Fetch Metadata Request
Headers; for names made to lead to the user's machine, NCC Group, Singularity of Origin (wiki).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from secrets import compare_digest, token_urlsafe

from starlette.datastructures import Headers, MutableHeaders, QueryParams
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

KEY_BYTES = 32
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_SAID_OF_ALL = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}
_METHODS = ("GET", "HEAD", "POST", "DELETE")


@dataclass(frozen=True)
class Lock:
    """The names under which the server may be asked, and what opens it.

    key : stands in the address that the terminal prints. ticket : of the cookie that the key is changed for.
    """

    port: int
    key: str = field(default_factory=lambda: token_urlsafe(KEY_BYTES))
    ticket: str = field(default_factory=lambda: token_urlsafe(KEY_BYTES))

    @property
    def hosts(self) -> tuple[str, ...]:
        """Hosts that lead to this machine and no other."""
        return f"127.0.0.1:{self.port}", f"localhost:{self.port}"

    @property
    def cookie(self) -> str:
        """Its name: cookies do not tell ports apart."""
        return f"towerpace_{self.port}"

    @property
    def address(self) -> str:
        """What the user opens."""
        return f"http://127.0.0.1:{self.port}/?key={self.key}"


class Guard:
    """Lets through what a page of ours asks, and says on every answer what a browser may do with it."""

    def __init__(self, app: ASGIApp, lock: Lock) -> None:
        self._app, self._lock = app, lock

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or hand it on."""
        if scope["type"] != "http":
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(_SAID_OF_ALL)
            await send(message)

        refusal = self._refusal(scope)
        await (refusal or self._app)(scope, receive, send_guarded)

    def _refusal(self, scope: Scope) -> Response | None:
        """Why a request goes no further, or where it goes instead."""
        headers, method = Headers(scope=scope), scope["method"]
        if headers.get("host") not in self._lock.hosts:
            return _said(421, "This server answers on 127.0.0.1 only.")
        if method not in _METHODS or headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
            return _said(403, "Only a page of this server may ask.")
        query = QueryParams(scope["query_string"])
        if scope["path"] == "/" and "key" in query:
            return self._opened(query["key"])
        if not compare_digest(self._ticket(headers), self._lock.ticket):
            return _said(403, "Open the address that the terminal shows: it has the key.")
        return None if method in ("GET", "HEAD") else self._of_writing(headers, method)

    def _ticket(self, headers: Mapping[str, str]) -> str:
        ticket = cookie_parser(headers.get("cookie", "")).get(self._lock.cookie, "")
        return ticket if ticket.isascii() else ""

    def _opened(self, key: str) -> Response:
        if not (key.isascii() and compare_digest(key, self._lock.key)):
            return _said(403, "This key is not that of the server: open the address that the terminal shows.")
        response = RedirectResponse("/", status_code=303)
        response.set_cookie(self._lock.cookie, self._lock.ticket, httponly=True, samesite="strict", path="/")
        return response

    def _of_writing(self, headers: Mapping[str, str], method: str) -> Response | None:
        # An address in a list of our hosts, so that 127.0.0.1 and localhost do not stand for each other.
        if headers.get("origin") != f"http://{headers['host']}":
            return _said(403, "Only a page of this server may ask.")
        kind = headers.get("content-type", "").partition(";")[0].strip().lower()
        if method == "POST" and kind != "application/json":
            return _said(415, "A question is JSON.")
        return None


def _said(status: int, text: str) -> Response:
    return PlainTextResponse(f"{text}\n", status_code=status)
