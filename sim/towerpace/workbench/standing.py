"""The processes in which players stand, and the lines to them."""

from __future__ import annotations

import signal
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from multiprocessing import get_context
from threading import Thread
from typing import TYPE_CHECKING, Any

from towerpace.trials.processes import ignore_interrupts
from towerpace.workbench.messages import Failed, Question, Replay, Replayed, Told
from towerpace.workbench.player import Player

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    Line = Connection[Any, Any]
Asked = Question | Replay
END_S = 2.0  # how long a player may take to end by itself


class Standing:
    """One player in a process of its own.

    tell : called from a thread of ours with whatever the player tells; with None once it is gone.
    """

    def __init__(
        self, path: str, *, seed: int, place: int, of: int, tell: Callable[[Told | None], None]
    ) -> None:
        context = get_context("spawn")
        self._near, far = context.Pipe()
        self._tell = tell
        self._process = context.Process(target=stand, args=(far, path, seed, place, of), daemon=True)
        with interrupts_ignored():
            self._process.start()
        far.close()
        Thread(target=self._listen, daemon=True).start()

    def ask(self, asked: Asked) -> None:
        """Hand it a question, which takes the place of those before it."""
        with suppress(OSError):  # it is gone: who listens has been told
            self._near.send(asked)

    def end(self) -> None:
        """End the process: what it was playing is let go."""
        self._process.terminate()
        self._process.join(END_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()
        self._near.close()

    def _listen(self) -> None:
        with suppress(RuntimeError):  # the loop that listens has ended before its players
            with suppress(EOFError, OSError):
                while True:
                    self._tell(self._near.recv())
            self._tell(None)


@contextmanager
def interrupts_ignored() -> Iterator[None]:
    """A process started meanwhile leaves Ctrl-C to us from its first moment on."""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def stand(line: Line, path: str, seed: int, place: int, of: int) -> None:
    """Play what is asked until the line is closed."""
    ignore_interrupts()
    with suppress(EOFError, OSError):
        player = Player(path, seed=seed, place=place, of=of)
        question: Question | None = None
        while True:
            replays, newest = _waiting(line, is_idle=question is None)
            for replay in replays:
                line.send(_replayed(player, replay))
            question = newest or question
            if question is not None and _told(line, player, question):
                question = None


def _replayed(player: Player, replay: Replay) -> Replayed:
    try:
        return player.replay(replay)
    except Exception:
        fault = traceback.format_exc().strip().splitlines()[-1]
        return Replayed(replay.number, None, (f"A fault of towerpace: {fault}",))


def _waiting(line: Line, *, is_idle: bool) -> tuple[list[Replay], Question | None]:
    """All trials to watch, and the newest question; waits for one of them where there is nothing to do."""
    replays, newest = list[Replay](), None
    while (is_idle and not replays and newest is None) or line.poll():
        asked: Asked = line.recv()
        if isinstance(asked, Replay):
            replays.append(asked)
        else:
            newest = asked
    return replays, newest


def _told(line: Line, player: Player, question: Question) -> bool:
    """Tell of a question; False where something else waits before it is answered."""
    try:
        for told in player.answer(question):
            if told is not None:
                line.send(told)
            if line.poll():
                return False
    except OSError:
        raise
    except Exception:  # the desk tells the user, and the next question may go well
        line.send(Failed(question.generation, traceback.format_exc()))
    return True
