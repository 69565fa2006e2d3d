"""Events against the record: what could not have changed anything is a fault of its row."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.answers.delay.played import SitePlayed
from towerpace.answers.seen.acts import Held, Late, Out
from towerpace.faults import Fault, InputError
from towerpace.plan.arrays import NONE
from towerpace.record.events import Event
from towerpace.record.moments import shown_minute

NOTHING = "the event changes nothing"


def check_events(site: SitePlayed, *, file: str) -> None:
    """Refuse events of which the record says that they struck nothing.

    Raises
    ------
    InputError
        With every such row: a level handed over before it was due, or not handed over by the day that the
        event says, trucks that come on no day, units away by the scenario, work that was done before.
    """
    if faults := list(_faults(site, file)):
        raise InputError(faults)


def _faults(site: SitePlayed, file: str) -> Iterator[Fault]:
    for event in site.events:
        since = event.from_min(site.state.ready.tower.start)
        act = site.chooser(since).acts[event.name]
        match act:
            case Late():
                wrong = _late(event, act, site)
            case Held():
                wrong = _held(event, act, site)
            case Out():
                wrong = _out(event, act)
            case _:
                wrong = None
        if wrong is not None:
            yield Fault(file, event.line, *wrong)


def _late(event: Event, act: Late, site: SitePlayed) -> tuple[str, str, str] | None:
    if not len(act.steps):
        return "effect", event.effect.key, f"trucks that come on a day of their own: {NOTHING}"
    first = int(act.steps[0])
    came, dated = int(site.state.past.ended[first]), bool(site.state.past.dated[first])
    if came == NONE and event.until is not None:
        found = f"{event.until}, but the record has no {event.effect.struck.value} by then"
        return "to", found, "an empty cell while it goes on"
    if came != NONE and dated and came <= act.since:
        start = site.state.ready.tower.start
        return "from", str(event.since), f"a day before it came, {shown_minute(came, start=start)}: {NOTHING}"
    return None


def _held(event: Event, act: Held, site: SitePlayed) -> tuple[str, str, str] | None:
    ended = site.known.seen.ended[act.steps]
    if (ended == NONE).any() or (ended > act.since).any():
        return None
    return "from", str(event.since), f"a day on which any of {event.effect.said} was to be done: {NOTHING}"


def _out(event: Event, act: Out) -> tuple[str, str, str] | None:
    if len(act.leave):
        return None
    name = event.effect.name
    return "effect", event.effect.key, f"days on which {name} is not away by the scenario: {NOTHING}"
