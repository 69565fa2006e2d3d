"""A standing player: it holds the plan of the file and plays what the page asks for, bit by bit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from towerpace.answers.cautions import hours_cautions, raised_banners
from towerpace.answers.ledger.book import Ledger
from towerpace.answers.measures import once_steps
from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.why.explain import ChainReader
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.fastest import engine_named
from towerpace.engine.openings import Openings
from towerpace.faults import InputError
from towerpace.plan.site.tower import is_written
from towerpace.scenario.load import load
from towerpace.trials.shared_draws import SharedDraws
from towerpace.units import Ints
from towerpace.workbench.holds import CHAINS_OF
from towerpace.workbench.messages import (
    Begun,
    Held,
    Hours,
    Question,
    Refused,
    Replay,
    Replayed,
    Told,
    Trials,
    Values,
)
from towerpace.workbench.reader import PageReader
from towerpace.workbench.watched import watched

Changes = Mapping[str, object]
HOURS_OF = range(20, 100)  # trials whose hours are told: none before the first answer, enough for a mean
AT_ONCE = 5  # trials told together
DRAWS_BYTES = 240_000_000  # of a whole tower some three hundred draws, for all changes of other numbers


@dataclass
class Site:
    """A scenario that is ready to be played, and what has been played of it.

    laws : equal where chance decides the same. told : trials that have been told. booked : those whose hours
    are in `minutes`, (n_rows, n_levels, n_causes), `hours_told` of them told; the book is made
    when the first of them is played.
    held : trials with a controlling chain, its minutes, and the names along them.
    """

    ready: Prepared
    reader: PageReader
    laws: bytes
    told: set[int] = field(default_factory=set)
    booked: set[int] = field(default_factory=set)
    book: Ledger | None = None
    minutes: Ints | None = None
    hours_told: int = 0
    held: tuple[int, Ints, tuple[str, ...], tuple[str, ...]] | None = None


class Player:
    """Plays trials of one file, and of changes laid over it, on the same draws.

    place, of : of every `of` trials it takes one, first the trial `place`.

    Examples
    --------
    >>> from towerpace.workbench.holds import CHAINS_OF
    from towerpace.workbench.messages import Question, Trials
    >>> player = Player("scenarios/one_trade/scenario.toml", seed=1, place=0, of=1)
    >>> told = list(player.answer(Question(1, 1, 0, {"resource.panel_gang.count": 2}, upto=5)))
    >>> [(len(bit.values), bit.of_file) for bit in told if isinstance(bit, Trials)]
    [(5, True), (5, False)]
    """

    def __init__(self, path: str, *, seed: int, place: int, of: int) -> None:
        self._path, self._seed, self._place, self._of = path, seed, place, of
        self._draws, self._run = SharedDraws(DRAWS_BYTES), engine_named("fastest")
        self._edition = -1
        self._file: Site | None = None
        self._series: tuple[int, Site | None] = (-1, None)

    def answer(self, question: Question) -> Iterator[Told | None]:
        """What is told of a question, bit by bit; None between two trials, where one may leave."""
        number = question.generation
        try:
            of_file = self.file(question.edition)
            if self._is_new(question):
                yield Begun(number, building=True)
            site = self._asked(question, of_file)
        except InputError as error:
            yield Refused(number, tuple(fault.text() for fault in error.faults))
            return
        yield self._begun(number, site, of_file)
        own = list(range(self._place, question.upto, self._of))
        for first in range(0, len(own), AT_ONCE):
            trials = own[first : first + AT_ONCE]
            yield from self._played(question, trials, of_file, is_file=True)
            if site is not of_file:
                yield from self._played(question, trials, site, is_file=False)
        if self._place == 0:
            yield from self._held(question, site)

    def replay(self, asked: Replay) -> Replayed:
        """One trial for people to watch."""
        try:
            self.file(asked.edition)
            site = self.changed(asked.changes)
        except InputError as error:
            return Replayed(asked.number, None, tuple(fault.text() for fault in error.faults))
        draw, diary = self.play(site, asked.trial)
        return Replayed(asked.number, watched(site.ready, draw, diary, trial=asked.trial))

    def file(self, edition: int) -> Site:
        """The scenario as it is; read anew when its edition has risen."""
        if self._file is None or edition != self._edition:
            self._file, self._edition = self.changed({}), edition
        return self._file

    def changed(self, changes: Changes) -> Site:
        """The file with changes laid over it; raises `InputError` for what cannot be run."""
        ready = prepare(load(self._path, changes))
        return Site(ready, PageReader(ready.tower, ready.scenario), ready.chooser.fingerprint())

    def play(self, site: Site, trial: int) -> tuple[Draw, Diary]:
        """One trial of a site."""
        ready, plan = site.ready, site.ready.tower.plan
        draw = self._draws.draw(ready.chooser, site.laws, seed=self._seed, trial=trial)
        openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
        return draw, self._run(plan, draw, openings=openings)

    def _is_new(self, question: Question) -> bool:
        """Whether a plan has to be written for it, which takes a while."""
        if not question.changes or question.series == self._series[0]:
            return False
        return not is_written(load(self._path, question.changes))

    def _asked(self, question: Question, of_file: Site) -> Site:
        """What a question is about; that of the question before, where it goes on."""
        if not question.changes:
            return of_file
        series, site = self._series
        if site is None or series != question.series:
            site = self.changed(question.changes)
            self._series = question.series, site
        return site

    def _begun(self, number: int, site: Site, of_file: Site) -> Begun:
        scenario, tower, base = site.ready.scenario, site.ready.tower, of_file.ready.scenario
        banners = (
            *raised_banners(base, [("what you changed", scenario)]),
            *hours_cautions(base, [scenario]),
        )
        return Begun(number, False, tower.trades, tuple(once_steps(tower)), banners)

    def _played(
        self, question: Question, trials: list[int], site: Site, *, is_file: bool
    ) -> Iterator[Told | None]:
        values: dict[int, Values] = {}
        for trial in trials:
            if trial not in site.told:
                draw, diary = self.play(site, trial)
                values[trial] = site.reader(diary)
                if trial in HOURS_OF:
                    _book(site, trial, draw, diary)
                yield None
        if values:
            site.told |= set(values)
            yield Trials(question.series, question.edition, is_file, values)
        last = self._last_booked(question.upto)
        if last in trials and site.hours_told < len(site.booked):
            yield _hours(question, site, is_file=is_file)
            # Not before: who leaves with the trials alone is told the hours when the question is asked again.
            site.hours_told = len(site.booked)

    def _held(self, question: Question, site: Site) -> Iterator[Told | None]:
        """The controlling chains of the first trials; they take longer than answers, and come behind them."""
        if site.held is None:
            reader = ChainReader(site.ready.tower)
            minutes, finished = np.zeros((len(reader.rows), len(reader.causes)), dtype=np.int64), 0
            for trial in range(CHAINS_OF):
                draw, diary = self.play(site, trial)
                chained = reader.chained(draw, diary)
                minutes, finished = minutes + chained, finished + bool(chained.any())
                yield None
            site.held = finished, minutes, reader.rows, reader.causes
        yield Held(question.series, question.edition, *site.held)

    def _last_booked(self, upto: int) -> int | None:
        """The last of our trials that brings hours."""
        own = [trial for trial in HOURS_OF if trial < upto and trial % self._of == self._place]
        return own[-1] if own else None


def _book(site: Site, trial: int, draw: Draw, diary: Diary) -> None:
    """Add the minutes of a trial to those of its site, once."""
    if trial in site.booked:
        return
    if site.book is None:
        site.book = Ledger(site.ready.tower)
    minutes, _, _ = site.book.booked(draw, diary)
    site.minutes = minutes if site.minutes is None else site.minutes + minutes
    site.booked.add(trial)


def _hours(question: Question, site: Site, *, is_file: bool) -> Hours:
    assert site.book is not None, "asked for only after a trial was booked"
    assert site.minutes is not None
    names = site.book.rows, site.book.causes
    minutes = np.array(site.minutes)
    return Hours(question.series, question.edition, is_file, len(site.booked), minutes, *names)
