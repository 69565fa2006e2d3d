"""What a bid keeps of every trial: the forecast, what was drawn, and what held the controlling chain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.drawn_inputs import probes_of
from towerpace.answers.measures import ForecastMeasure, ForecastReader
from towerpace.answers.prepare import Prepared
from towerpace.answers.why.explain import ChainReader
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.kernel.block import Block
from towerpace.engine.openings import Openings
from towerpace.plan.chance import Probe
from towerpace.trials.outcome import BlockReader, Outcome, Outcomes, stacked
from towerpace.units import Ints


@dataclass(frozen=True)
class BidMeasure:
    """What a forecast keeps, and the drawn inputs. until : as for the probes. [min]

    sources : of traced draws, of which the controlling chain is read too; empty for none.
    """

    forecast: ForecastMeasure
    ready: Prepared
    until: int
    sources: tuple[str, ...] = ()

    def reader(self) -> BidReader:
        """Prepare what is the same in every trial."""
        chains = ChainReader(self.ready.tower, self.sources) if self.sources else None
        return BidReader(self.forecast.reader(), probes_of(self.ready, until=self.until), chains)


@dataclass(frozen=True)
class BidReader:
    """Reads what a forecast reads, as `inputs` what the probes find, and `by_source` of the chain."""

    forecast: ForecastReader
    probes: list[Probe]
    chains: ChainReader | None

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial."""
        outcome = self.forecast(draw, openings, diary)
        return Outcome({**outcome.values, **self._beside(draw, openings, diary)}, outcome.sums)

    def in_blocks(self, block: Block) -> BlockReader:
        """Reads the forecast of many trials at once, and the rest one by one."""
        read_forecasts, plan = self.forecast.in_blocks(block), block.plan

        def read(draws: Sequence[Draw]) -> Outcomes | None:
            whole = read_forecasts(draws)
            if whole is None:
                return None
            openings = (Openings(plan.windows, hours=draw.hours, horizon=plan.horizon) for draw in draws)
            trials = zip(draws, openings, map(block.diary, range(whole.n)), strict=True)
            beside = stacked(Outcome(self._beside(*trial), {}) for trial in trials)
            return replace(whole, values=whole.values.beside(beside.values))

        return read

    def _beside(self, draw: Draw, openings: Openings, diary: Diary) -> dict[str, Ints]:
        """What is read of a trial beside its forecast."""
        inputs = np.array([probe.read(draw) for probe in self.probes], dtype=np.int64)
        if self.chains is None:
            return {"inputs": inputs}
        return {"inputs": inputs, "by_source": self.chains(draw, openings, diary).values["by_source"]}
