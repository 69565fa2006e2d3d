"""The only maker of random numbers: everything uncertain about one trial, before the clock starts.

Each purpose has a stream of its own in every trial of a seed, and each item its own place in it.
So two set-ups of one scenario meet the same weather, the same late trucks and the same slow days, however
differently their sites run: common random numbers.
"""

from __future__ import annotations

import pickle
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b
from io import BytesIO
from threading import local
from typing import Any, cast
from weakref import WeakKeyDictionary

import numpy as np
from numpy.random.bit_generator import ISeedSequence
from numpy.typing import DTypeLike, NDArray

from towerpace.climate.hours import Hours
from towerpace.climate.source import WeatherSource
from towerpace.lots.streams import Counted, Counters
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import NOTHING_KNOWN, Drawn, DrawnTogether, Known, Law, MadeOnce
from towerpace.plan.model import Plan
from towerpace.plan.pins import Pins, pinned
from towerpace.plan.seen import Settled
from towerpace.units import Flags, Ints

_FROM_0 = np.zeros(4, dtype=np.uint64)
TRIAL_WORD = 2  # of the four words of the counter, lowest first: 0 and 1 count the numbers of a stream


@dataclass(frozen=True)
class Draw(Drawn):
    """What chance decided for one trial, as arrays over the n compiled steps of a plan.

    A draw is all that is random about a trial: the same plan under the same draw gives the same diary.

    Parameters
    ----------
    work : ndarray
        Minutes that each step lasts, shape (n,), int64. [min]
    date : ndarray
        Earliest start of each step, shape (n,), int64. [min]
    skip : ndarray
        Whether a step is left out, shape (n,), bool.
    hours : Hours, optional
        The weather, hour by hour from the first midnight; None without weather.
    pins : Pins, optional
        What has been seen of the site up to a data date; the plan is then one that was `resumed` there.

    Examples
    --------
    >>> import numpy as np
    >>> from towerpace import Plan, Step, run
    >>> from towerpace.draws import Draw
    >>> plan = Plan([Step("set", work=30), Step("seal", work=20, after=["set"])])
    >>> slow = Draw(work=np.array([45, 20]), date=plan.date, skip=np.array([False, False]))
    >>> run(plan, slow).finish
    65
    """

    hours: Hours | None = None
    pins: Pins | None = None

    def check(self, plan: Plan) -> None:
        """Refuse a draw that does not fit the plan; raises `ValueError`."""
        for word, array in (("work", self.work), ("date", self.date), ("skip", self.skip)):
            if array.shape != (plan.n,):
                raise ValueError(f"draw: {word} has shape {array.shape}, the plan needs ({plan.n},)")
        if self.work.size and int(self.work.min()) < 0:
            raise ValueError("draw: work must be >= 0 min")
        if plan.rigid and not (np.array_equal(self.work, plan.work) and np.array_equal(self.date, plan.date)):
            raise ValueError("draw: a rigid plan is played as planned; other minutes would need foresight")
        if self.pins is not None:
            self.pins.check(plan, self.skip)
        leader = _leaders(plan)
        if np.any(self.skip != np.append(self.skip, False)[leader]):
            if np.any(self.skip[leader == plan.n]):
                raise ValueError("draw: skips a step that carries no flag")
            raise ValueError("draw: steps of one flag are skipped together or not at all")


def unwritable(drawn: Drawn) -> Drawn:
    """The same arrays, which nobody can write into from here on."""
    for array in (drawn.work, drawn.date, drawn.skip):
        array.setflags(write=False)
    return drawn


def started_by(draw: Draw) -> Ints:
    """Earliest start of each step, (n,): of pinned steps no later than they began. [min]"""
    pins = draw.pins
    return draw.date if pins is None else np.where(pins.pinned, np.minimum(draw.date, pins.began), draw.date)


_LEADERS: WeakKeyDictionary[Plan, Ints] = WeakKeyDictionary()


def _leaders(plan: Plan) -> Ints:
    """The first step that carries the same flag as each step, (n,); `plan.n` for a step without a flag.

    Worked out once for each plan.
    """
    leaders = _LEADERS.get(plan)
    if leaders is None:
        _, first, which = np.unique(plan.flag, return_index=True, return_inverse=True)
        leaders = _LEADERS[plan] = np.where(plan.flag == NONE, plan.n, first[which])
    return leaders


def as_planned(plan: Plan, *, hours: Hours | None = None) -> Draw:
    """The draw in which every step takes its expected minutes, and only remedies are left out."""
    return Draw(plan.work, plan.date, ~plan.planned, hours)


def stream(seed: int, trial: int, purpose: str) -> np.random.Generator:
    """The stream of a purpose in one trial, a generator of its own: Philox, which counts, under a hashed key.

    A purpose has one key for all trials of a seed. The trial is the third word of the counter, so that the
    streams of two trials lie 2^128 blocks apart.

    Source: Salmon, Moraes, Dror & Shaw (2011), Parallel random numbers: as easy as 1, 2, 3 (from memory).
    """
    return _Purpose(seed, purpose).at(trial)


def _digest(seed: int, purpose: str) -> bytes:
    """The 16 bytes of the key of a purpose under a seed."""
    return blake2b(f"{seed}/{purpose}".encode(), digest_size=16).digest()


class _Purpose:
    """The streams of one purpose under one seed, all in one generator that is set to a trial."""

    def __init__(self, seed: int, purpose: str) -> None:
        key = cast(
            np.random.SeedSequence, _Key(_digest(seed, purpose))
        )  # Philox takes any ISeedSequence, its type says less
        self._philox = np.random.Philox(key, counter=_FROM_0)
        self._generator = np.random.Generator(self._philox)
        self._start: Any = self._philox.state
        self._counter = self._start["state"]["counter"]

    def at(self, trial: int) -> np.random.Generator:
        """The generator at the beginning of a trial's stream."""
        self._counter[TRIAL_WORD] = trial
        self._philox.state = self._start
        return self._generator


class _Seed:
    """What is known of the streams of a seed: where they begin, and those that were made as generators."""

    def __init__(self, seed: int) -> None:
        self._seed = seed
        self._purposes: dict[str, _Purpose] = {}
        self._counters: dict[tuple[tuple[str, ...], int], Counters] = {}

    def purpose(self, name: str) -> _Purpose:
        """The streams of a purpose."""
        known = self._purposes.get(name)
        if known is None:
            known = self._purposes[name] = _Purpose(self._seed, name)
        return known

    def counters(self, purposes: tuple[str, ...], trials: Sequence[int]) -> Counters:
        """Where the streams of some purposes begin in some trials, (n_trials, n, 3)."""
        known = self._counters.get((purposes, len(trials)))
        if known is None:
            digests = b"".join(_digest(self._seed, purpose) for purpose in purposes)
            known = np.zeros((len(trials), len(purposes), 3), dtype=np.uint64)
            known[..., :2] = np.frombuffer(digests, dtype="<u8").reshape(-1, 2)
            self._counters[purposes, len(trials)] = known
        known[..., 2] = np.array(trials, dtype=np.uint64)[:, np.newaxis]
        return known


class _Trial(Counted):
    """The streams of one trial of a seed."""

    shape = ()

    def __init__(self, of: _Seed, trial: int) -> None:
        self._of, self._trial = of, trial
        self.each = (self,)

    def __call__(self, purpose: str) -> np.random.Generator:
        """The stream of a purpose; it is lent until its purpose is asked for again."""
        return self._of.purpose(purpose).at(self._trial)

    def counters(self, purposes: tuple[str, ...]) -> Counters:
        """Where the streams of some purposes begin, (1, n, 3)."""
        return self._of.counters(purposes, (self._trial,))


class _Trials(Counted):
    """The streams of some trials of a seed side by side."""

    def __init__(self, of: _Seed, trials: Sequence[int]) -> None:
        self._of, self._trials = of, trials
        self.shape = (len(trials),)
        self.each = tuple(_Trial(of, trial) for trial in trials)

    def __call__(self, purpose: str) -> np.random.Generator:
        """Refused."""
        raise TypeError(f"{purpose}: many trials have no generator in common; their laws draw rows")

    def counters(self, purposes: tuple[str, ...]) -> Counters:
        """Where the streams of some purposes begin, (n_trials, n, 3)."""
        return self._of.counters(purposes, self._trials)


class _Lent(local):
    """Generators and keys that each thread keeps from trial to trial, by seed and purpose.

    To make a generator costs six times as much as to set one to another trial.
    """

    SEEDS = 4

    def __init__(self) -> None:
        self._of: dict[int, _Seed] = {}

    def of(self, seed: int) -> _Seed:
        """What is kept of a seed, the last asked for behind the others."""
        of = self._of.pop(seed, None) or _Seed(seed)
        self._of[seed] = of
        if len(self._of) > self.SEEDS:
            del self._of[next(iter(self._of))]
        return of


_LENT = _Lent()


def streams_of(seed: int, trial: int) -> Counted:
    """The streams of a trial as laws are handed them; each is lent until it is asked for again."""
    return _Trial(_LENT.of(seed), trial)


class _Key(ISeedSequence):
    """The 16 bytes of a key, given to Philox as what became of a seed.

    The same numbers as from Philox(key=...), which costs four times as much: numpy then seeds it as well.
    """

    def __init__(self, digest: bytes) -> None:
        self._words = np.frombuffer(digest, dtype="<u8")

    def generate_state(self, n_words: int, dtype: DTypeLike = np.uint64) -> NDArray[np.uint64]:
        """The key as two words, which is what Philox asks for."""
        assert (n_words, dtype) == (2, np.uint64), "only Philox is given a key"
        return self._words


@dataclass(frozen=True)
class Chooser(MadeOnce):
    """Draws trials of one plan.

    laws : how chance decides its numbers, applied in this order.
    weather : where the hours come from, or None. known : what is known of every trial beforehand.
    """

    plan: Plan
    laws: tuple[Law, ...]
    weather: WeatherSource | None
    known: Known = NOTHING_KNOWN

    def draw(self, seed: int, trial: int) -> Draw:
        """Everything uncertain about one trial; the same for the same seed and trial, always.

        Its arrays cannot be written into.
        """
        return self.whole(self.numbers(seed, trial), seed, trial)

    def draws(self, seed: int, trials: range, *, into: DrawnTogether) -> list[Draw]:
        """The same of some trials together, in arrays that are to hold them."""
        numbers = self.numbers_together(seed, trials, into=into)
        return [self.whole(own, seed, trial) for own, trial in zip(numbers.each, trials, strict=True)]

    def whole(self, drawn: Drawn, seed: int, trial: int) -> Draw:
        """The draw of one trial whose numbers are at hand: with its weather, and what has been seen."""
        seen = self.known.seen
        pins = None if seen is None else pinned(seen, work=drawn.work, skip=drawn.skip)
        return Draw(drawn.work, drawn.date, drawn.skip, self.hours(seed, trial), pins)

    @cached_property
    def _settled(self) -> Settled | None:
        return None if self.known.seen is None else Settled.of(self.plan, self.known.seen)

    def numbers(self, seed: int, trial: int) -> Drawn:
        """What the laws decide about one trial: everything but the weather."""
        own = Drawn(self.plan.work.copy(), self.plan.date.copy(), self.left_out())
        streams = streams_of(seed, trial)
        for law in self.laws:
            law.apply(own, streams, self.known)
        self._settle(own)
        return unwritable(own)

    def numbers_together(self, seed: int, trials: range, *, into: DrawnTogether) -> DrawnTogether:
        """The same of some trials together; into : room for as many or more, of which the first are taken."""
        own, streams = into.first(len(trials)), _Trials(_LENT.of(seed), trials)
        own.work[:], own.date[:], own.skip[:] = self.plan.work, self.plan.date, self.left_out()
        for law in self.laws:
            if law.takes_many(self.known):
                law.apply(own, streams, self.known)
                continue
            for drawn, of_trial in zip(own.each, streams.each, strict=True):
                law.apply(drawn, of_trial, self.known)
        for drawn in own.each:
            self._settle(drawn)
        return own

    def _settle(self, drawn: Drawn) -> None:
        if self._settled is not None:
            self._settled.settle(date=drawn.date, skip=drawn.skip)

    def left_out(self) -> Flags:
        """Steps that are left out before any law has said otherwise: none, (n,)."""
        return np.zeros(self.plan.n, dtype=np.bool_)

    def fingerprint(self) -> bytes:
        """Equal where two choosers draw the same numbers, weather apart; seldom unequal where they do not."""
        written = BytesIO()
        pickler = pickle.Pickler(written)
        pickler.fast = True  # what is equal is written alike, whether or not it is one object
        pickler.dump((self.laws, self.known, self.plan.work, self.plan.date, self.left_out()))
        return blake2b(written.getbuffer(), digest_size=16).digest()

    def hours(self, seed: int, trial: int) -> Hours | None:
        """The weather of one trial."""
        if self.weather is None:
            return None
        return self.weather.hours(trial, streams_of(seed, trial))
