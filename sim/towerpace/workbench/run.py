"""Open the page: bind to this machine alone, start the players, serve until Ctrl-C."""

from __future__ import annotations

import asyncio
import signal
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

import uvicorn

from towerpace.faults import Fault, InputError
from towerpace.workbench.desk import Desk
from towerpace.workbench.guards import Lock
from towerpace.workbench.server import app_of

LOOPBACK = "127.0.0.1"
GRACE_S = 1  # for an answer that is being written when the server ends


class _Server(uvicorn.Server):
    """uvicorn, which leaves signals to us: ours end the streams first."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def serve(desk: Desk, *, port: int, on_open: Callable[[str], None]) -> None:
    """Serve the page until Ctrl-C or an order to end; no player outlives it.

    port : 0 takes one that is free. on_open : told the address, with its key.
    Raises `InputError` where the port is taken.
    """
    with socket.socket() as listening:
        _bind(listening, port)
        lock = Lock(listening.getsockname()[1])
        try:
            asyncio.run(_served(desk, lock, listening, on_open))
        finally:
            desk.end()


def _bind(listening: socket.socket, port: int) -> None:
    try:
        listening.bind((LOOPBACK, port))
    except OSError as error:
        found = f"{port}: {error.strerror or error}"
        raise InputError([Fault("open", None, "port", found, "a port that is free, or 0")]) from None


async def _served(desk: Desk, lock: Lock, listening: socket.socket, on_open: Callable[[str], None]) -> None:
    config = uvicorn.Config(
        app_of(desk, lock),
        log_level="error",
        access_log=False,
        lifespan="off",
        server_header=False,
        timeout_graceful_shutdown=GRACE_S,
    )
    server, loop = _Server(config), asyncio.get_running_loop()

    def stop(signum: int, frame: FrameType | None) -> None:  # noqa: ARG001  the interface of a signal
        server.force_exit = server.should_exit
        server.should_exit = True
        loop.call_soon_threadsafe(desk.channel.close)

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, stop)
    desk.start(loop)
    loop.call_soon(on_open, lock.address)
    await server.serve(sockets=[listening])
