"""The server of the page: what it answers, each from the desk."""

from __future__ import annotations

import json
import re
from collections.abc import Awaitable, Callable
from importlib.resources import files
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from towerpace.faults import InputError
from towerpace.render.folder import slug
from towerpace.workbench.desk import ADVICE, CHOICE, FIRST_TRIALS, Desk
from towerpace.workbench.guards import Guard, Lock
from towerpace.workbench.keep import ChangedMeanwhileError
from towerpace.workbench.report import NoReportError
from towerpace.workbench.tower import tower_json

MOST_BODY_BYTES = 64 * 1024
MOST_TRIALS = 2000
PERCENTILES = {"p10": 0.1, "p50": 0.5, "p80": 0.8, "p90": 0.9}
KINDS = {
    "html": "text/html; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "svg": "image/svg+xml",
}
Handler = Callable[[Request], Awaitable[Response]]


def app_of(desk: Desk, lock: Lock) -> Starlette:
    """The server's answers for one desk; only what the lock lets through is asked."""
    at = Answers(desk)
    routes = [
        Route("/", at.page),
        Route("/static/{name}", at.asset),
        Route("/tower", at.tower),
        Route("/ask", at.ask, methods=["POST"]),
        Route("/events", at.events),
        Route("/trial/{which}", at.trial),
        Route("/advice", at.advise, methods=["POST"]),
        Route("/advice", at.cancel, methods=["DELETE"]),
        Route("/choice", at.choose, methods=["POST"]),
        Route("/choice", at.stop_choosing, methods=["DELETE"]),
        Route("/report", at.report),
        Route("/keep", at.keep, methods=["POST"]),
    ]
    return Starlette(
        routes=routes,
        middleware=[Middleware(Guard, lock=lock)],
        exception_handlers={InputError: _faults, HTTPException: _refused},
    )


async def _faults(request: Request, error: Exception) -> Response:  # noqa: ARG001  Starlette's interface
    assert isinstance(error, InputError)
    return JSONResponse({"faults": _texts(error)}, status_code=400)


def _texts(error: InputError) -> list[str]:
    return [fault.text() for fault in error.faults]


async def _refused(request: Request, error: Exception) -> Response:  # noqa: ARG001  Starlette's interface
    assert isinstance(error, HTTPException)
    return JSONResponse({"faults": [error.detail]}, status_code=error.status_code, headers=error.headers)


def assets() -> dict[str, tuple[bytes, str]]:
    """The files of the page, by name: content and type. Nothing else is ever served."""
    folder = files("towerpace.workbench") / "static"
    found = {}
    for entry in folder.iterdir():
        kind = KINDS.get(entry.name.rpartition(".")[2])
        if kind and entry.is_file():
            found[entry.name] = (entry.read_bytes(), kind)
    return found


class Answers:
    """Answers of the server, each a handler of one address."""

    def __init__(self, desk: Desk) -> None:
        self._desk, self._assets = desk, assets()

    async def page(self, request: Request) -> Response:  # noqa: ARG002  Starlette's interface
        """The page."""
        return self._asset("index.html")

    async def asset(self, request: Request) -> Response:
        """A file of the page, from the table of their names."""
        return self._asset(request.path_params["name"])

    async def tower(self, request: Request) -> Response:  # noqa: ARG002  Starlette's interface
        """The scenario as the page reads it once."""
        return JSONResponse(tower_json(self._desk.edition))

    async def ask(self, request: Request) -> Response:
        """Take a question; the answer comes as events."""
        asked = await body_of(request, {"changes", "trials", "set_up"})
        trials, set_up = asked.get("trials", FIRST_TRIALS), _text_or_none(asked, "set_up")
        if not isinstance(trials, int) or isinstance(trials, bool) or not 1 <= trials <= MOST_TRIALS:
            raise HTTPException(400, f"trials: a whole number, at least 1 and at most {MOST_TRIALS}")
        generation = await self._desk.ask(asked.get("changes", {}), trials=trials, set_up=set_up)
        return JSONResponse({"gen": generation})

    async def events(self, request: Request) -> Response:  # noqa: ARG002  Starlette's interface
        """What the desk says, as server-sent events."""
        return StreamingResponse(self._desk.channel.listen(), media_type="text/event-stream")

    async def trial(self, request: Request) -> Response:
        """One trial to watch: by number, or the one at a percentile of the finish."""
        which = request.path_params["which"]
        if which in PERCENTILES:
            number = self._desk.trial_at(PERCENTILES[which])
        elif re.fullmatch(r"\d{1,4}", which) and int(which) < MOST_TRIALS:
            number = int(which)
        else:
            raise HTTPException(404, f"a number below {MOST_TRIALS}, or {', '.join(PERCENTILES)}")
        replayed = await self._desk.watch(number)
        if replayed.told is None:
            return JSONResponse({"faults": list(replayed.faults)}, status_code=400)
        return JSONResponse(replayed.told)

    async def advise(self, request: Request) -> Response:
        """Begin to look for what to add; what is found comes as events."""
        asked = await body_of(request, {"changes", "set_up"})
        await self._desk.advise(asked.get("changes", {}), set_up=_text_or_none(asked, "set_up"))
        return JSONResponse({}, status_code=202)

    async def cancel(self, request: Request) -> Response:  # noqa: ARG002  Starlette's interface
        """End the search for what to add."""
        await self._desk.cancel(ADVICE)
        return JSONResponse({})

    async def choose(self, request: Request) -> Response:
        """Begin to look for the trade-off of the file's decisions; what is found comes as events."""
        await body_of(request, set())
        await self._desk.choose()
        return JSONResponse({}, status_code=202)

    async def stop_choosing(self, request: Request) -> Response:  # noqa: ARG002  Starlette's interface
        """End the search for the trade-off."""
        await self._desk.cancel(CHOICE)
        return JSONResponse({})

    async def report(self, request: Request) -> Response:
        """The report of an answer, as a file to keep."""
        generation = request.query_params.get("gen", "")
        if not re.fullmatch(r"\d{1,9}", generation):
            raise HTTPException(400, "gen: the number of an answer")
        try:
            page = await self._desk.report(int(generation))
        except NoReportError as error:
            raise HTTPException(409, str(error)) from None
        name = slug(self._desk.edition.scenario.settings.tower.name)
        said = {"content-disposition": f'attachment; filename="{name}.html"', "content-type": KINDS["html"]}
        return Response(page, headers=said)

    async def keep(self, request: Request) -> Response:
        """Write changes into the scenario file."""
        asked = await body_of(request, {"name", "note", "changes", "was", "set_up"})
        name, note, was, set_up = (_text_or_none(asked, key) for key in ("name", "note", "was", "set_up"))
        try:
            written = await self._desk.keep(
                asked.get("changes"), name=name, note=note or "", was=was or "", set_up=set_up
            )
        except ChangedMeanwhileError:
            raise HTTPException(409, "The file has changed since the page read it.") from None
        except InputError as error:
            return JSONResponse({"faults": _texts(error)}, status_code=422)
        except OSError as error:  # a disk that is full, or a folder that is not the user's
            raise HTTPException(507, f"Nothing was written: {error.strerror or error}.") from None
        return JSONResponse({"file": self._desk.path, "lines_added": written})

    def _asset(self, name: str) -> Response:
        if name not in self._assets:
            raise HTTPException(404, "There is nothing of this name.")
        content, kind = self._assets[name]
        return Response(content, headers={"content-type": kind})


async def body_of(request: Request, keys: set[str]) -> dict[str, Any]:
    """The JSON object of a request with no keys but these; raises `HTTPException` 400 or 413.

    Bytes are counted as they come: a body in chunks does not say how long it will be.
    """
    content = b""
    async for chunk in request.stream():
        content += chunk
        if len(content) > MOST_BODY_BYTES:
            raise HTTPException(413, f"more than {MOST_BODY_BYTES} bytes")
    try:
        told = json.loads(content, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise HTTPException(400, "this is no JSON") from None
    if not isinstance(told, dict) or not set(told) <= keys:
        raise HTTPException(400, f"a JSON object with the keys {', '.join(sorted(keys))}")
    return told


def _text_or_none(asked: dict[str, Any], key: str) -> str | None:
    """A text of a body, None where it is null or missing; raises `HTTPException` for anything else."""
    text = asked.get(key)
    if text is not None and not isinstance(text, str):
        raise HTTPException(400, f"{key}: text, or null")
    return text


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is no JSON")
