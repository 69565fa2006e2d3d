"""Trials drawn once in a process for set-ups that differ in nothing that chance decides."""

from __future__ import annotations

from threading import Lock

from towerpace.draws import Chooser, Draw, unwritable
from towerpace.plan.chance import Drawn, DrawnTogether


class SharedDraws:
    """Trials drawn in this process, for set-ups that differ in nothing that chance decides.

    Of the laws met last so many trials are kept as fit into the room, the first ones, because every set-up
    begins with them. What is shared cannot be written into.

    room_bytes : for all kept draws together; half of it for the laws in hand.
    """

    LAWS = 2

    def __init__(self, room_bytes: int = 96_000_000) -> None:
        self._room = room_bytes // self.LAWS
        self._drawn: dict[tuple[bytes, int], dict[int, Drawn]] = {}
        self._one_at_a_time = Lock()

    def draw(self, chooser: Chooser, fingerprint: bytes, *, seed: int, trial: int) -> Draw:
        """The draw of a chooser, with the numbers of another that had the same fingerprint."""
        kept = self._of((fingerprint, seed))
        drawn = kept.get(trial)
        if drawn is None:
            drawn = chooser.numbers(seed, trial)
            if (len(kept) + 1) * _bytes(drawn) <= self._room:
                kept[trial] = drawn
        return chooser.whole(drawn, seed, trial)

    def draws(
        self, chooser: Chooser, fingerprint: bytes, *, seed: int, trials: range, into: DrawnTogether
    ) -> list[Draw]:
        """The same of some trials together; into : room for them, where there is none to keep them."""
        kept = self._of((fingerprint, seed))
        if not all(trial in kept for trial in trials):
            is_room = (len(kept) + len(trials)) * _bytes(into.each[0]) <= self._room
            if not is_room:
                return chooser.draws(seed, trials, into=into)
            own = DrawnTogether.room_for(len(trials), chooser.plan.n)
            kept |= zip(trials, chooser.numbers_together(seed, trials, into=own).each, strict=True)
            for drawn in own.each:
                unwritable(drawn)
        return [chooser.whole(kept[trial], seed, trial) for trial in trials]

    def _of(self, key: tuple[bytes, int]) -> dict[int, Drawn]:
        """What is kept of some laws, the last asked for behind the others."""
        with self._one_at_a_time:
            kept = self._drawn.pop(key, {})
            self._drawn[key] = kept
            if len(self._drawn) > self.LAWS:
                del self._drawn[next(iter(self._drawn))]
        return kept


def _bytes(drawn: Drawn) -> int:
    return drawn.work.nbytes + drawn.date.nbytes + drawn.skip.nbytes


SHARED = SharedDraws()
