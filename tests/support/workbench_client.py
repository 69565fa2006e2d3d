"""A page without a browser: opens the server as the command does, asks, and listens to its events."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import httpx

COMMAND = [sys.executable, "-c", "from towerpace.cli.app import main; main()", "open"]


class Client:
    """One page of a running server.

    address : with its key, as a browser opens it. process : the server's. told : what it printed as faults,
    once it has ended.
    """

    def __init__(self, address: str, process: subprocess.Popen[str]) -> None:
        self.process, self.told, self.address = process, "", address
        self.origin = address.partition("/?key=")[0]
        self.http = httpx.Client(base_url=self.origin, headers={"origin": self.origin}, timeout=120)
        assert self.http.get(address, follow_redirects=True).status_code == 200

    def ask(self, changes: dict[str, object], trials: int = 200) -> int:
        """Send a question; the generation of its answers."""
        asked = self.http.post("/ask", json={"changes": changes, "trials": trials})
        assert asked.status_code == 200, asked.text
        return int(asked.json()["gen"])

    def events(self) -> Iterator[tuple[str, dict[str, object], float]]:
        """Kind, content and time of each event as it comes. [s]"""
        with self.http.stream("GET", "/events") as stream:
            kind = ""
            for line in stream.iter_lines():
                if line.startswith("event: "):
                    kind = line.removeprefix("event: ")
                elif line.startswith("data: "):
                    yield kind, json.loads(line.removeprefix("data: ")), time.perf_counter()

    def answers(self, generation: int) -> Iterator[tuple[dict[str, object], float]]:
        """Answers of a generation up to the final one, and when each came; faults end them, too."""
        with closing(self.events()) as events:
            for kind, told, when in events:
                if told.get("gen") == generation and kind in ("answer", "faults"):
                    yield told, when
                    if kind == "faults" or told["final"]:
                        return


@contextmanager
def opened(scenario: Path, *options: str, folder: Path | None = None) -> Iterator[Client]:
    """A page of the scenario; the server is asked to end as by Ctrl-C afterwards.

    folder : in which the server is started, and keeps what it plays.
    """
    command = [*COMMAND, str(scenario), "--no-browser", *options]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment, cwd=folder
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        client = Client(process.stdout.readline().strip(), process)
        try:
            yield client
        finally:
            client.http.close()
            process.send_signal(signal.SIGINT)
            process.wait(120)
            client.told = process.stderr.read()
