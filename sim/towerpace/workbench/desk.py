"""The desk: it hands the newest question of the page to the players, and says what their trials tell."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from towerpace.faults import Fault, InputError
from towerpace.scenario.setups import named_setup
from towerpace.workbench import advice, choosing
from towerpace.workbench.beside import CANCELLED, News, Search
from towerpace.workbench.causes import LevelHours, ledger_json
from towerpace.workbench.channel import Channel
from towerpace.workbench.collected import Collected, shown_now
from towerpace.workbench.edition import Edition, digest_of
from towerpace.workbench.given import changes_given
from towerpace.workbench.holds import holds_json
from towerpace.workbench.keep import keep_set_up, keep_values
from towerpace.workbench.messages import (
    Begun,
    Failed,
    Held,
    Hours,
    Question,
    Refused,
    Replay,
    Replayed,
    Told,
    Trials,
)
from towerpace.workbench.player import HOURS_OF
from towerpace.workbench.report import NoReportError, Writing
from towerpace.workbench.standing import Standing
from towerpace.workbench.told import Names, answer_of

PLAYERS = 2
DEBOUNCE_S = 0.08  # clicks that follow each other faster are one question
FIRST_TRIALS = 200
ADVICE, CHOICE = "advice", "choice"  # what to add; the trade-off
GENERATIONS_KEPT = 50  # questions of which a report may still be asked
MOST_LOST = 5  # players lost in a row, before the desk gives up
_TEXTS = {
    "loading": "Reading the scenario and writing its plan; the very first time the engine is compiled, too.",
    "building": "This change takes other steps: the plan is written anew.",
    "playing": "Playing trials.",
    "idle": "",
}
_log = logging.getLogger("towerpace")
Json = dict[str, Any]


class Desk:
    """One scenario file, the question at hand, and the players who answer it.

    All methods but `end` belong to one event loop.
    """

    def __init__(self, path: str, *, seed: int) -> None:
        self.path, self.seed, self.channel = path, seed, Channel()
        self.edition = Edition.read(path)
        self._question = Question(0, 0, 0, {}, FIRST_TRIALS)
        self._number = 0  # of the edition
        self._own = self.edition.trials
        self._begun: Begun | None = None
        self._shown = 0
        self._answer: Json | None = None
        self._players: list[Standing] = []
        self._lost = 0
        self._sending: asyncio.TimerHandle | None = None
        self._watched: dict[int, asyncio.Future[Replayed]] = {}
        self._searches: dict[str, Search] = {}  # by the event that tells of them
        self._found: Mapping[str, Mapping[str, object]] = {}  # set-ups of the trade-off, by name
        self._writing: set[Writing] = set()
        self._asked: dict[int, Question] = {0: self._question}

    def start(self, loop: asyncio.AbstractEventLoop) -> None:
        """Call the players and let them begin with the file as it is."""
        self._loop = loop
        self._say_state("loading")
        self._players = [self._stand(place) for place in range(PLAYERS)]
        self._send()

    def end(self) -> None:
        """End the players and every stream."""
        self.channel.close()
        for search in self._searches.values():
            search.end()
        for writing in self._writing:
            writing.end()
        players, self._players = self._players, []
        for player in players:
            player.end()

    @property
    def generation(self) -> int:
        """Of the question at hand."""
        return self._question.generation

    @property
    def changes(self) -> Mapping[str, object]:
        """Those at hand, as a file would hold them."""
        return self._question.changes

    async def ask(self, given: object, *, trials: int, set_up: str | None = None) -> int:
        """Take changes of the page; the generation that answers will bear.

        given : decoded JSON. Raises `InputError` for what was not offered.
        """
        await self._reread()
        changes = self._taken(given, set_up)
        before = self._question
        is_other = changes != before.changes or self._number != before.edition
        series = before.series + is_other
        self._question = Question(before.generation + 1, series, self._number, changes, trials)
        self._asked = dict([*self._asked.items(), (self.generation, self._question)][-GENERATIONS_KEPT:])
        if is_other:
            self._own = Collected() if changes else self.edition.trials
            self._begun = None
        self._shown, self._answer = 0, None
        self.channel.forget("answer", "faults", "holds")
        self._say_state("playing")
        if self._sending is not None:
            self._sending.cancel()
        self._sending = asyncio.get_running_loop().call_later(DEBOUNCE_S, self._send)
        return self.generation

    async def keep(
        self, given: object, *, name: str | None, note: str, was: str, set_up: str | None = None
    ) -> int:
        """Write changes into the file, as a set-up of that name or, without one, in the place of its values.

        The number of lines or values written. Raises `ChangedMeanwhileError` and `InputError`.
        """
        changes = self._taken(given, set_up)
        if name is None:
            write = partial(keep_values, self.path, changes=changes, was=was)
        else:
            write = partial(keep_set_up, self.path, name=name, note=note, changes=changes, was=was)
        written = await asyncio.to_thread(write)
        await self._reread()
        return written

    async def advise(self, given: object, *, set_up: str | None = None) -> None:
        """Begin to look for what to add to changes of the page, in the place of a search before."""
        changes = self._taken(given, set_up)
        await self._begin_search(ADVICE, advice.search, changes, self.seed, first=advice.NOTHING)

    async def choose(self) -> None:
        """Begin to look for the trade-off of the decisions of the file, in the place of a search before."""
        await self._begin_search(CHOICE, choosing.search, self.seed, first=choosing.NOTHING)

    async def cancel(self, event: str) -> None:
        """End a search, if there is one, and its process with it."""
        before = self._searches.pop(event, None)
        if before is not None:
            await asyncio.to_thread(before.end)
            first: News = advice.NOTHING if event == ADVICE else choosing.NOTHING
            self.channel.say(event, replace(first, state=CANCELLED, text="Cancelled.").as_json())  # type: ignore[type-var]  # a data class

    async def _begin_search(
        self, event: str, work: Callable[..., None], *arguments: object, first: News
    ) -> None:
        await self.cancel(event)
        loop = asyncio.get_running_loop()
        mine: list[Search] = []

        def say(told: News) -> None:
            if mine and self._searches.get(event) is mine[0]:
                if isinstance(told, choosing.ChoiceTold):
                    self._found = told.set_ups
                self.channel.say(event, told.as_json())

        def tell(told: News) -> None:
            loop.call_soon_threadsafe(say, told)

        mine.append(Search(work, self.path, *arguments, first=first, tell=tell))
        self._searches[event] = mine[0]

    async def report(self, generation: int) -> bytes:
        """The report of a question that was asked, as one page; raises `NoReportError`."""
        question = self._asked.get(generation)
        if question is None:
            raise NoReportError("This answer is no longer at hand: ask again.")
        writing = Writing(self.path, question.changes, trials=question.upto, seed=self.seed)
        self._writing.add(writing)
        try:
            return await asyncio.to_thread(writing.result)
        finally:
            self._writing.discard(writing)
            writing.end()

    async def watch(self, trial: int) -> Replayed:
        """One trial of what is at hand, for people to watch."""
        number = max(self._watched, default=0) + 1
        self._watched[number] = self._loop.create_future()
        if not self._players:
            raise InputError([Fault(self.path, None, "trial", "no player", "a page that is open")])
        self._players[number % PLAYERS].ask(Replay(number, self._number, self.changes, trial))
        try:
            return await self._watched[number]
        finally:
            del self._watched[number]

    def trial_at(self, p: float) -> int:
        """The trial whose finish is that percentile of those played so far; the first where none is."""
        return self._own.trial_at(p) if self._own.n else 0

    def _taken(self, given: object, set_up: str | None) -> dict[str, object]:
        """Changes of the page over those of a set-up that the file states, or that the trade-off found.

        Raises `InputError`.
        """
        scenario = self.edition.scenario
        if set_up is None or set_up in self._found:
            stated = self._found.get(set_up or "", {})
        else:
            stated = named_setup(scenario, set_up).changes
        return {**stated, **changes_given(scenario, self.edition.offers, given)}

    async def _reread(self) -> None:
        """Read the file anew if it has changed on disk; its trials stay where what is simulated is the same.

        Raises `InputError`.
        """
        if digest_of(self.path) == self.edition.digest:
            return
        before, self.edition = self.edition, await asyncio.to_thread(Edition.read, self.path)
        if self.edition.scenario.hash == before.scenario.hash:
            self.edition = replace(self.edition, trials=before.trials)
        else:
            self._number += 1
            await self.cancel(CHOICE)
            self._found = {}
            self.channel.forget(CHOICE)
        self.channel.say("file", {"hash": self.edition.digest})

    def _stand(self, place: int) -> Standing:
        def tell(told: Told | None) -> None:
            self._loop.call_soon_threadsafe(self._take, place, told)

        return Standing(self.path, seed=self.seed, place=place, of=PLAYERS, tell=tell)

    def _send(self) -> None:
        for player in self._players:
            player.ask(self._question)

    def _take(self, place: int, told: Told | None) -> None:
        """Take what a player tells."""
        match told:
            case None:
                self._replace(place)
            case Begun() if told.generation == self.generation:
                self._say_state("building" if told.building else "playing")
                self._begun = None if told.building else told
                self._tell()
            case Trials() | Hours():
                self._keep(place, told)
            case Held() if told.series == self._question.series and told.edition == self._number:
                said = holds_json(told, self.edition.scenario)
                self.channel.say("holds", {"gen": self.generation, **said})
            case Refused() if told.generation == self.generation:
                self._refuse(told.faults)
            case Replayed() if told.number in self._watched:
                self._watched[told.number].set_result(told)
            case Failed() if told.generation == self.generation:
                _log.error("A player failed:\n%s", told.text)
                self._refuse((f"A fault of towerpace: {told.text.strip().splitlines()[-1]}",))

    def _keep(self, place: int, told: Trials | Hours) -> None:
        question = self._question
        if told.edition != self._number or not (told.of_file or told.series == question.series):
            return
        self._lost = 0
        trials = self.edition.trials if told.of_file else self._own
        if isinstance(told, Trials):
            trials.add(told.values)
        else:
            trials.add_hours(place, told)
        self._tell()

    def _refuse(self, faults: tuple[str, ...]) -> None:
        self.channel.say("faults", {"gen": self.generation, "faults": list(faults)})
        self._say_state("idle")

    def _replace(self, place: int) -> None:
        """Put another in the place of a player that is gone; the other goes on meanwhile."""
        if not self._players:
            return
        for number, watched in self._watched.items():
            if number % PLAYERS == place and not watched.done():
                watched.set_result(Replayed(number, None, ("The player was lost: ask again.",)))
        self._lost += 1
        if self._lost > MOST_LOST:
            self._refuse(("Players were lost again and again, as by lack of memory: start again.",))
            return
        self._players[place] = self._stand(place)
        self._players[place].ask(self._question)

    def _tell(self) -> None:
        """Say what the trials tell, where there are enough more of them."""
        question, file = self._question, self.edition.trials
        n = shown_now(min(self._own.n, file.n), before=self._shown, upto=question.upto)
        if self._begun is None or n is None:
            return
        own, base = (self.edition.hours_of(x, PLAYERS) for x in (self._own, file))
        lacks_hours = own is None or base is None
        if n == question.upto >= HOURS_OF.start + PLAYERS and lacks_hours:
            return  # they follow at once
        self._shown = n
        self._answer = self._told_of(n, own, base)
        self.channel.say("answer", self._answer)
        if n == question.upto:
            self._say_state("idle")

    def _told_of(self, n: int, own: LevelHours | None, file: LevelHours | None) -> Json:
        assert self._begun is not None, "asked for only after a player has begun"
        levels = self.edition.scenario.levels
        contracts = self.edition.scenario.settings.contract
        names = Names(levels.levels, levels.zones, self._begun.trades, self._begun.once, contracts)
        arrays = self._own.first(n), self.edition.trials.first(n)
        answer = answer_of(
            *arrays,
            days=self.edition.days,
            names=names,
            asked=self._question.upto,
            is_changed=bool(self.changes),
        )
        answer |= {"gen": self.generation, "banners": list(self._begun.banners), "ledger": None}
        answer["span"] = self.edition.span()
        if own is not None and file is not None:
            answer["ledger"] = list(ledger_json(own, file, levels.levels))
            for front in answer["fronts"]:
                front["cause"], front["hours_waited"] = own.front(levels.levels.index(front["level"]))
        return answer

    def _say_state(self, state: str) -> None:
        self.channel.say("state", {"state": state, "gen": self.generation, "text": _TEXTS[state]})
