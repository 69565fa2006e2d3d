"""What a study reads from every trial of a point: only the quantities that its responses need."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from towerpace.answers.cost import CostBook, cost_book
from towerpace.answers.estimates import LATER
from towerpace.answers.ledger.book import LedgerNames
from towerpace.answers.measures import ForecastReader, once_steps
from towerpace.answers.prepare import Prepared
from towerpace.answers.sweep.estimates import ONLY_FINISHED, SHARES
from towerpace.answers.sweep.use_read import UseOfTrial
from towerpace.answers.why.explain import ChainReader, tower_rows
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel.block import Block
from towerpace.engine.openings import Openings
from towerpace.faults import nearest_word
from towerpace.plan.site.tower import Tower
from towerpace.scenario.complaints import Complaint, listed, shown
from towerpace.scenario.study_responses import Response
from towerpace.trials.outcome import BlockReader, Outcome, Outcomes, read_one_by_one, stacked
from towerpace.units import Ints

Names = Sequence[str | int]
# Kinds that the finish, the closing-in and the cost do not answer: the whole diary is read for them.
_WHOLE_DIARY = ("handover", "done", "ledger", "caught", "activity")
_READ_AS = {"activity": "once_done"}  # what the whole diary calls it


def unknown(response: Response, ready: Prepared) -> Complaint | None:
    """What is wrong with a response at a point, or None; its path is that of the response itself."""
    settings = ready.scenario.settings
    needed = {
        "cost": ("[cost]", settings.cost),
        "contracts_together": ("[contract.NAME]", settings.contract or None),
        "closing_in": ("[closing_in]", settings.closing_in),
    }
    table, stated = needed.get(response.kind, ("", settings))
    if stated is None:
        return Complaint((), shown(response.text), f"a scenario with {table}")
    for name, names in zip(response.names, _names(response.kind, ready), strict=True):
        if _place(name, names) is None:
            written = [str(known).replace(" ", "_") for known in names]
            nearest = nearest_word(str(name), written) if isinstance(name, str) else None
            allowed = listed(written) if isinstance(name, str) else f"a level from {names[0]} to {names[-1]}"
            return Complaint((), shown(response.text), allowed, nearest)
    return None


def _names(kind: str, ready: Prepared) -> list[Names]:
    """Names that may follow a kind, place by place."""
    tower, settings = ready.tower, ready.scenario.settings
    if kind == "ledger":
        ledger = LedgerNames(tower)
        return [ledger.rows, ledger.causes]
    if kind in ONLY_FINISHED:
        return [tower_rows(tower)]
    named: dict[str, list[Names]] = {
        **{kind: [tower.levels] for kind in ("closing_in", "handover")},
        **{kind: [list(settings.resource)] for kind in SHARES},
        "done": [tower.trades, tower.levels],
        "activity": [list(once_steps(tower))],
        "contract": [list(settings.contract)],
    }
    return named.get(kind, [])


def _place(name: str | int, names: Names) -> int | None:
    """Place of a name, its spaces written as they are or as underscores."""
    plain = [known.replace(" ", "_") if isinstance(known, str) else known for known in names]
    wanted = name.replace(" ", "_") if isinstance(name, str) else name
    return plain.index(wanted) if wanted in plain else None


@dataclass(frozen=True)
class _Pick:
    """Where a quantity stands among the values of a trial.

    due : last minute that meets a contract date, for chances; None for amounts. [min]
    """

    quantity: str
    kind: str
    place: tuple[int, ...]
    due: int | None = None


@dataclass(frozen=True)
class StudyMeasure:
    """The quantities of some responses in every trial, each int64 as `estimate` takes it."""

    tower: Tower
    costs: CostBook | None
    picks: tuple[_Pick, ...]
    dues: tuple[tuple[int, int], ...]

    def reader(self) -> StudyReader:
        """Prepare what is the same in every trial."""
        return StudyReader(self)


def measure_of(responses: Sequence[Response], ready: Prepared) -> StudyMeasure:
    """What must be read at a point; the responses are known to be right."""
    settings, tower = ready.scenario.settings, ready.tower
    dues = {
        name: (-1 if c.level is None else tower.levels.index(c.level), ready.days.last_minute(c.date))
        for name, c in settings.contract.items()
    }
    picks = {response.quantity: _pick(response, ready, dues=dues) for response in responses}
    costs = None
    if any(response.kind == "cost" for response in responses):
        costs = cost_book(settings, tower=tower, days=ready.days)
    return StudyMeasure(tower, costs, tuple(picks.values()), tuple(dues.values()))


def _pick(response: Response, ready: Prepared, *, dues: dict[str, tuple[int, int]]) -> _Pick:
    places = []
    for name, names in zip(response.names, _names(response.kind, ready), strict=True):
        place = _place(name, names)
        assert place is not None, "the responses of a point are checked before it is played"
        places.append(place)
    if response.kind == "contract":
        level, due = list(dues.values())[places[0]]
        return _Pick(response.quantity, response.kind, (level,), due)
    return _Pick(response.quantity, response.kind, tuple(places))


class StudyReader:
    """Reads diaries at one point.

    Values of a trial are those of the picks: minutes, thousandths of money, counts, or 1 where something came
    true; LATER beyond the horizon, and for what a controlling chain says of a trial that did not finish.
    """

    def __init__(self, measure: StudyMeasure) -> None:
        kinds = {pick.kind for pick in measure.picks}
        tower, self._measure = measure.tower, measure
        self._whole = ForecastReader(tower, measure.costs) if kinds.intersection(_WHOLE_DIARY) else None
        self._chain = ChainReader(tower) if kinds.intersection(ONLY_FINISHED) else None
        used = {pick.place[0] for pick in measure.picks if pick.kind in SHARES}
        self._use = UseOfTrial(tower, resources=used, holes="open_holes" in kinds)

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial."""
        whole = self._brief(diary) if self._whole is None else self._whole(draw, openings, diary).values
        return self._picked(whole, draw, openings, diary)

    def in_blocks(self, block: Block) -> BlockReader:
        """Reads the forecast of many trials at once where a response asks for it, and the rest one by one."""
        if self._whole is None:
            return partial(read_one_by_one, self, block)
        read_forecasts, plan = self._whole.in_blocks(block), block.plan

        def read(draws: Sequence[Draw]) -> Outcomes | None:
            whole = read_forecasts(draws)
            if whole is None:
                return None
            forecasts, outcomes = dict(whole.values), []
            for k, draw in enumerate(draws):
                own = {name: of_trials[k] for name, of_trials in forecasts.items()}
                openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
                outcomes.append(self._picked(own, draw, openings, block.diary(k)))
            return stacked(outcomes)

        return read

    def _picked(self, whole: Mapping[str, Ints], draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """The picks of a trial whose forecast was read, as far as they ask for it."""
        values = {**whole, **self._use.of(draw, diary)}
        if self._chain is not None:
            values["held"] = self._chain(draw, openings, diary).values["held"]
        by_quantity = {pick.quantity: self._value(pick, values) for pick in self._measure.picks}
        return Outcome({name: np.asarray(value, dtype=np.int64) for name, value in by_quantity.items()}, {})

    def _brief(self, diary: Diary) -> dict[str, Ints]:
        """Finish, closing-in and cost alone, as `ForecastReader` gives them."""
        finished = diary.finished[self._measure.tower.closing_in].astype(np.int64)
        values = {
            "finish": np.asarray(LATER if diary.finish is None else diary.finish),
            "closing_in": np.where(finished == NEVER, LATER, finished),
        }
        if self._measure.costs is not None:
            values["cost"] = self._measure.costs.of(diary)
        return values

    def _value(self, pick: _Pick, values: dict[str, Ints]) -> int:
        finish = int(values["finish"])
        if pick.kind in ("cost", *ONLY_FINISHED):
            return LATER if finish == LATER else self._of_finished(pick, values)
        if pick.kind == "beyond_horizon":
            return int(finish == LATER)
        if pick.kind == "contracts_together":
            return int(all(_met(values, level, due) for level, due in self._measure.dues))
        if pick.due is not None:
            return int(_met(values, pick.place[0], pick.due))
        return int(values[_READ_AS.get(pick.kind, pick.kind)][pick.place])

    @staticmethod
    def _of_finished(pick: _Pick, values: dict[str, Ints]) -> int:
        if pick.kind == "cost":
            return int(values["cost"].sum())
        held = int(values["held"][pick.place[0]].sum())
        return held if pick.kind == "held" else int(held > 0)


def _met(values: dict[str, Ints], level: int, due: int) -> bool:
    return int(values["finish"] if level < 0 else values["closing_in"][level]) <= due
