"""Screenings of a bid as tables: which numbers move the mean finish, alone and together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from towerpace.answers.bid.screening import Screened
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.tables import Column, Table

_RANGE = (
    Column("key", Kind.NAME, about="number of the scenario"),
    Column("low", Kind.NUMBER, about="lower end of its range"),
    Column("high", Kind.NUMBER, about="upper end of its range"),
)


def _number(name: str, label: str, about: str) -> Column:
    return Column(name, Kind.NUMBER, label, about=about, digits=2)


MORRIS = Table(
    "morris",
    "Morris screening: days of the mean finish over the range of each number",
    (
        *_RANGE,
        _number("mu_star", "mu*", "mean elementary effect without its sign [d]"),
        _number("mu_star_half", "95 % ±", "half of its 95 % interval [d]"),
        _number("mu", "mu", "mean elementary effect [d]"),
        _number("sigma", "sigma", "deviation of the effects [d]"),
    ),
    about="elementary effects, the strongest first",
)
SOBOL = Table(
    "sobol",
    "Sobol indices of the mean finish",
    (
        *_RANGE,
        _number("first", "first", "share of the variance by the number alone"),
        _number("first_half", "95 % ±", "half of its 95 % interval"),
        _number("total", "total", "share with all that it does together with others"),
        _number("total_half", "95 % ±", "half of its 95 % interval"),
    ),
    about="shares of the variance of the mean finish, the strongest first",
)
PAIRS = Table(
    "sobol_pairs",
    "Sobol indices of pairs",
    (
        Column("key", Kind.NAME, about="one number"),
        Column("other", Kind.NAME, about="the other"),
        _number("index", "together", "share of the variance by both together"),
    ),
    about="second order indices",
)


def screening_tables(screened: Sequence[Screened]) -> Iterator[Table]:
    """The tables of all screenings; empty for what was not played."""
    effects = [effect for one in screened for effect in one.effects]
    indices = [index for one in screened for index in one.indices]
    pairs = [(*keys, value) for one in screened for keys, value in (one.pairs or {}).items()]
    yield MORRIS.filled((e.name, e.low, e.high, e.mu_star, e.half, e.mu, e.sigma) for e in effects)
    yield SOBOL.filled((i.name, i.low, i.high, i.first, i.first_half, i.total, i.total_half) for i in indices)
    yield PAIRS.filled(pairs)
