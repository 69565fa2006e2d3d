"""The set-ups of a scenario's decisions: as points to search, as changes to play, as words to read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from towerpace.answers.choice.stated import all_of
from towerpace.answers.choose.space import Axis, Point, Space
from towerpace.answers.prepare import prepare
from towerpace.faults import Fault, InputError
from towerpace.scenario.decisions import AS_FILE, Decided, decisions_of, options_apart
from towerpace.scenario.load import Scenario, load
from towerpace.scenario.raised_limits import raised_limits
from towerpace.scenario.setups import OF_A_CHANGE, SetUp


@dataclass(frozen=True)
class OpenSetUps:
    """What the decisions of a scenario leave open.

    left_out : candidates that are not decided about, as they raise a wind limit; each with what it raises.
    drawn_apart : numbers of the decisions of which an option has other steps, or meets other chances, than
        the file; known of decisions that were planned.
    """

    scenario: Scenario
    decided: tuple[Decided, ...]
    space: Space
    left_out: tuple[tuple[str, str], ...] = ()
    drawn_apart: frozenset[int] = frozenset()

    def kin(self, point: Point) -> tuple[Point, Point]:
        """An order in which set-ups stand together that share their steps and their draws."""
        return tuple(point[number] for number in sorted(self.drawn_apart)), point

    def changes(self, point: Point) -> dict[str, object]:
        """Dotted keys and values that a point lays over the file."""
        changes: dict[str, object] = {}
        for decided, place in zip(self.decided, point, strict=True):
            changes.update(decided.options[place].changes)
        return changes

    def setup(self, point: Point) -> SetUp:
        """The scenario of a point, loaded; raises `InputError` for what cannot stand together."""
        base, changes = self.scenario, self.changes(point)
        scenario = load(base.path, {**base.changes, **changes}, own=base.own) if changes else base
        return SetUp(self.name(point), changes, scenario)

    def name(self, point: Point) -> str:
        """What departs from the file, in words."""
        parts = [
            f"{decided.name} = {decided.options[place].label}"
            for decided, place in zip(self.decided, point, strict=True)
            if place != decided.standing
        ]
        return ", ".join(parts) or AS_FILE

    def alone(self, number: int, option: int) -> Point:
        """The point nearest to the file at which one decision has an option."""
        at = list(self.space.standing)
        at[number] = option
        todo = [number]
        while todo:
            for other, options in self.space.axes[todo.pop()].when.items():
                if at[other] not in options:
                    at[other] = min(options)
                    todo.append(other)
        return tuple(at)


def open_setups(scenario: Scenario, *, is_planned: bool = True) -> OpenSetUps:
    """The decisions of a scenario, each of their options loaded once.

    is_planned : whether each is planned, too: some faults show only then.

    Raises `InputError` with the faults of all options at their lines, for an option that raises a wind limit
    above the file's, and where there is nothing to decide.
    """
    decided = decisions_of(scenario)
    if not decided:
        allowed = "at least one [decision.NAME] or [candidate.NAME] to choose from"
        raise InputError([Fault(scenario.path, None, "decision", "none", allowed)])
    opened = OpenSetUps(scenario, decided, _space(decided))
    numbers = {one.name: number for number, one in enumerate(decided)}
    options = [
        (one, place) for one, place in options_apart(decided) if _can_be(opened, numbers[one.name], place)
    ]
    plans = _Plans(scenario) if is_planned else None
    makers = [partial(_alone, opened, numbers[one.name], place, plans=plans) for one, place in options]
    seen = list(zip((one.name for one, _ in options), all_of(makers), strict=True))
    raising = {name: raised for name, (raised, _) in seen if raised}
    kept = tuple(one for one in decided if one.name not in raising)
    apart = {name for name, (_, is_apart) in seen if is_apart}
    drawn_apart = frozenset(number for number, one in enumerate(kept) if one.name in apart)
    return OpenSetUps(scenario, kept, _space(kept), tuple(raising.items()), drawn_apart)


class _Plans:
    """Plans every option, and tells which have the steps and the draws of the file."""

    def __init__(self, file: Scenario) -> None:
        self._file = prepare(file).chooser
        self._draws = self._file.fingerprint()

    def is_apart(self, scenario: Scenario) -> bool:
        """Whether a scenario has other steps, or meets other chances, than the file.

        Raises `InputError` for one that cannot be planned.
        """
        own = prepare(scenario).chooser
        # What was written once has one list of names.
        is_written_alike = own.plan.names is self._file.plan.names
        return not is_written_alike or own.fingerprint() != self._draws


def _can_be(opened: OpenSetUps, number: int, option: int) -> bool:
    """Whether some point has the option at all."""
    return opened.space.holds(opened.alone(number, option))


def _space(decided: Sequence[Decided]) -> Space:
    numbers = {one.name: number for number, one in enumerate(decided)}
    return Space(tuple(_axis(one, numbers) for one in decided))


def _axis(decided: Decided, numbers: dict[str, int]) -> Axis:
    return Axis(
        decided.name,
        len(decided.options),
        decided.standing,
        decided.in_order,
        {numbers[name]: options for name, options in decided.when.items() if name in numbers},
        frozenset(numbers[name] for name in decided.not_with if name in numbers),
    )


def _alone(opened: OpenSetUps, number: int, option: int, *, plans: _Plans | None) -> tuple[str, bool]:
    """What an option raises, "" if nothing, and whether it is drawn apart from the file.

    Raises `InputError` with its faults, and for a raised limit.
    """
    decided = opened.decided[number]
    try:
        setup = opened.setup(opened.alone(number, option))
        is_apart = plans is not None and plans.is_apart(setup.scenario)
    except InputError as error:
        raise InputError(_placed(opened, decided, option, fault) for fault in error.faults) from None
    raised = next(iter(raised_limits(opened.scenario, setup.scenario)), None)
    if raised is None:
        return "", is_apart
    if decided.is_candidate:
        return raised.text(), is_apart
    where = ("decision", decided.name, "values")
    allowed = f"no wind limit above the file's: {raised.base}. To see what it would gain, a set-up of compare"
    raise InputError([opened.scenario.fault(where, found=raised.changed, allowed=allowed)])


def _placed(opened: OpenSetUps, decided: Decided, option: int, fault: Fault) -> Fault:
    """A fault of an option at the line of its decision."""
    group = "candidate" if decided.is_candidate else "decision"
    line = opened.scenario.fault((group, decided.name), found="", allowed="").line
    at = "" if decided.is_candidate else f" = {decided.options[option].label}"
    key = f"{group}.{decided.name}{at}: {fault.key.removeprefix(OF_A_CHANGE)}"
    return Fault(fault.file, line, key, fault.found, fault.allowed, fault.nearest)
