"""Where the hours of a trial come from: the record, and the generator the scenario asks for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from towerpace.climate.clock import SiteClock
from towerpace.climate.generate import Days, block_rows, replay_rows, year_factors
from towerpace.climate.hours import Hours, hours_from
from towerpace.climate.record import Record
from towerpace.lots.streams import Streams
from towerpace.units import Floats

BLOCKS, YEARS = "weather", "windy years"  # purposes of streams


@dataclass(frozen=True)
class WeatherSource:
    """A record laid over the days of a project.

    block_days, season_days, year_factor_sd : of the block bootstrap; None for historical replay.
    windier : factor on the wind of every hour, beside that of the years. [-]
    replay_year : record year in which every replay begins; None: trial k begins in record year k mod n.
    clock : the record as the site's clock reads it; None: the clock is taken to show the record's time.
    """

    record: Record
    first_day: date
    n_days: int
    block_days: int | None = None
    season_days: int = 30
    year_factor_sd: float = 0.0
    replay_year: int | None = None
    clock: SiteClock | None = None
    windier: float = 1.0

    def hours(self, trial: int, streams: Streams) -> Hours:
        """Weather of one trial, from one stream for the blocks and one for how windy the years are."""
        if self.block_days is None:
            return self.replayed(trial)
        rows = block_rows(
            self.n_days,
            first_day=self.first_day,
            years=len(self.record.years),
            block_days=self.block_days,
            season_days=self.season_days,
            rng=streams(BLOCKS),
        )
        return self._dealt(
            rows, factors=year_factors(self.n_days, sd=self.year_factor_sd, rng=streams(YEARS))
        )

    def replayed(self, trial: int) -> Hours:
        """The record as it came, from the day of the year on which the project starts."""
        n = len(self.record.years)
        year = trial % n if self.replay_year is None else self.record.years.index(self.replay_year)
        rows = replay_rows(self.n_days, first_day=self.first_day, years=n, start_year_index=year)
        return self._dealt(rows, factors=np.ones(self.n_days))

    def _dealt(self, rows: Days, *, factors: Floats) -> Hours:
        """Hours of the days that were dealt, by the site's clock."""
        factors = factors * self.windier
        if self.clock is None:
            return hours_from(self.record, rows, factors=factors)
        return hours_from(self.clock.record, rows + self.clock.first_row, factors=factors)
