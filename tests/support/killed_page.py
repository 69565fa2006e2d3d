"""The page's server ended at a random moment while it keeps a set-up: the file is the old one or the new one.

The page is opened, asks, and keeps what it tried, as a user does. Whatever the moment, the scenario file then
is as it was or has the set-up whole, and nothing of the server runs on. Ended while it keeps one set-up after
the other, the file has the first that was answered for, and each of the others whole or not at all.
"""

from __future__ import annotations

import hashlib
import os
import signal
import subprocess
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import httpx

from support.attacked_files import write_site
from support.dice import Dice
from support.killed import KILLED, Ended
from support.workbench_client import COMMAND, Client
from towerpace import load

CHANGES = {"resource.gang.count": 3}
PATIENCE_S = 30
KEEPING_S = 0.4  # in which a page keeps some dozens of set-ups


class Page:
    """A page of a small site, ended again and again; it knows what it leaves undisturbed."""

    def __init__(self, site: Path) -> None:
        self._path = write_site(site / "page")
        self._earlier = self._path.read_bytes()
        begin = time.perf_counter()
        self._visited(lambda _server, _opened: None)
        self._lasts_s, self._wanted = time.perf_counter() - begin, self._path.read_bytes()
        assert self._wanted != self._earlier

    def end(self, dice: Dice) -> Ended:
        """End the server at a moment of a visit, look at what is left, and visit once more."""
        for odd in self._leftovers():
            odd.unlink()
        self._path.write_bytes(self._earlier)
        after_s = self._lasts_s * dice.whole(1, 1000) / 1000
        wished, by = dice.of([signal.SIGKILL, signal.SIGINT]), signal.SIGKILL

        def end(server: subprocess.Popen[str], opened: threading.Event) -> None:
            nonlocal by
            # Before the address is there, Ctrl-C meets the interpreter while it reads our sources.
            by = wished if opened.is_set() else signal.SIGKILL
            server.send_signal(by)

        code, alive = self._visited(end, after_s=after_s)
        left, wrong = self._left()
        if code not in ({KILLED} if by == signal.SIGKILL else {0}):
            wrong.append(f"exit {code}")
        wrong += [f"{number} runs on" for number in alive]
        self._path.write_bytes(self._earlier)
        self._visited(lambda _server, _opened: None)
        if self._path.read_bytes() != self._wanted:
            wrong.append("visited again it keeps other bytes")
        return Ended(by.name, after_s, left, tuple(wrong))

    def end_after_kept(self, dice: Dice) -> Ended:
        """End the server at a moment behind the first kept set-up, while it keeps more and more of them."""
        for odd in self._leftovers():
            odd.unlink()
        self._path.write_bytes(self._earlier)
        by, after_s = dice.of([signal.SIGKILL, signal.SIGINT]), dice.whole(0, 1000) / 1000 * KEEPING_S
        answered: list[str] = []
        with self._server() as server:
            client = Client(_address(server), server)
            timer = threading.Timer(after_s, server.send_signal, (by,))
            with suppress(httpx.TransportError):  # ended while it was asked
                while server.poll() is None:
                    name = f"tried_{len(answered)}"
                    kept = client.http.post("/keep", json=self._to_keep(name))
                    assert kept.status_code == 200, kept.text
                    answered.append(name)
                    if len(answered) == 1:
                        timer.start()
            timer.join()
            code = server.wait(PATIENCE_S)
            wrong = [f"{number} runs on" for number in _alive(server.pid)]
        if code not in ({KILLED} if by == signal.SIGKILL else {0}):
            wrong.append(f"exit {code}")
        there = list(load(self._path).settings.setup)
        if there[: len(answered)] != answered or len(there) > len(answered) + 1:
            wrong.append(f"answered for {answered}, there are {there}")
        return Ended(by.name, after_s, "every set-up that was answered for", tuple(wrong))

    def _to_keep(self, name: str) -> dict[str, object]:
        was = hashlib.sha256(self._path.read_bytes()).hexdigest()
        return {"changes": CHANGES, "name": name, "note": "kept, or not", "was": was}

    def _server(self) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [*COMMAND, str(self._path), "--no-browser"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            start_new_session=True,
        )

    def _left(self) -> tuple[str, list[str]]:
        content, wrong = self._path.read_bytes(), []
        load(self._path)
        if content == self._earlier:
            left = "the file as it was"
        elif content == self._wanted:
            left = "the file with the set-up"
        else:
            left, wrong = "another file", ["the file is neither the old nor the new one"]
        return left, wrong

    def _leftovers(self) -> list[Path]:
        """Files that were to take the place of the scenario."""
        return [path for path in self._path.parent.iterdir() if path.name.startswith(f".{self._path.name}-")]

    def _visited(
        self, end: Callable[[subprocess.Popen[str], threading.Event], None], *, after_s: float | None = None
    ) -> tuple[int, list[int]]:
        """Open the page, ask and keep; its exit code, and which of its processes run on."""
        opened = threading.Event()
        with self._server() as server:
            timer = None if after_s is None else threading.Timer(after_s, end, (server, opened))
            if timer is not None:
                timer.start()
            self._visit(server, opened)
            if timer is None:
                server.send_signal(signal.SIGINT)
            else:
                timer.join()
            code = server.wait(PATIENCE_S)
            return code, _alive(server.pid)

    def _visit(self, server: subprocess.Popen[str], opened: threading.Event) -> None:
        address = _address(server)
        if not address:
            return  # ended before it was open
        opened.set()
        body = self._to_keep("tried")
        try:
            client = Client(address, server)
            client.ask(CHANGES, 20)
            client.http.post("/keep", json=body)
        except httpx.TransportError:
            return  # ended on the way


def _address(server: subprocess.Popen[str]) -> str:
    assert server.stdout is not None
    return server.stdout.readline().strip()


def _alive(session: int) -> list[int]:
    """Processes of a session that are still there, once they had time to see that they are alone."""
    deadline = time.monotonic() + PATIENCE_S
    while (left := _of(session)) and time.monotonic() < deadline:
        time.sleep(0.05)
    return left


def _of(session: int) -> list[int]:
    found = []
    for place in Path("/proc").iterdir():
        if place.name.isdigit():
            try:
                state, *_, number = (place / "stat").read_text().rpartition(")")[2].split()[:4]
            except OSError:
                continue  # it has just ended
            if int(number) == session and state != "Z" and int(place.name) != os.getpid():
                found.append(int(place.name))
    return found
