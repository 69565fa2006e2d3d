"""What all results share: tables as DataFrames and figures, named as in a results folder."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import fields
from html import escape
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar

from towerpace import __version__
from towerpace.face.asked import check_name

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.render.figures.forecast import Figure

Table = TypeVar("Table", bound=str)
Picture = TypeVar("Picture", bound=str)
Made = TypeVar("Made")


class Result(ABC, Generic[Table, Picture]):
    """An answer with its tables and figures; in a notebook it shows its main table.

    MAIN : the table and the figure that stand for the answer. BRIEF : columns that a notebook shows.
    """

    MAIN: ClassVar[tuple[str, str]]
    BRIEF: ClassVar[tuple[str, ...]]

    @property
    @abstractmethod
    def _frames(self) -> Mapping[str, DataFrame]:
        """Every table by name, as written to a results folder."""

    @property
    @abstractmethod
    def _pictures(self) -> Mapping[str, Callable[[], Figure]]:
        """What draws each figure, by name."""

    @property
    @abstractmethod
    def _run(self) -> tuple[str, int]:
        """Hash of the scenario, and the seed."""

    @property
    @abstractmethod
    def _said(self) -> str:
        """The answer in a few words."""

    @property
    def tables(self) -> tuple[str, ...]:
        """Names of the tables."""
        return tuple(self._frames)

    @property
    def figures(self) -> tuple[str, ...]:
        """Names of the figures that can be drawn of this answer."""
        return tuple(self._pictures)

    def frame(self, name: Table | None = None) -> DataFrame:
        """A table of the answer, tidy: one row a fact.

        Parameters
        ----------
        name : str, optional
            One of `tables`; the main one if left out.

        Returns
        -------
        DataFrame
            A copy with the columns of NAME.csv in a results folder. The hash of the scenario, the seed and
            the version, which mark every row of that file, stand in `attrs`.

        Raises
        ------
        InputError
            For a name that is not there.
        """
        wanted = name or self.MAIN[0]
        check_name(wanted, self._frames, of=type(self).__name__, what="frame")
        digest, seed = self._run
        stamp = {"scenario_hash": digest, "seed": seed, "version": __version__}
        made = self._frames[wanted].drop(columns=list(stamp))
        made.attrs.update(stamp)
        return made

    def plot(self, name: Picture | None = None) -> Figure:
        """A figure of the answer, as a results folder has it.

        Parameters
        ----------
        name : str, optional
            One of `figures`; the main one if left out.

        Returns
        -------
        Figure
            Of matplotlib, drawn without a screen: a notebook shows it, `savefig` writes it.

        Raises
        ------
        InputError
            For a name that is not there.
        """
        wanted = name or self.MAIN[1]
        check_name(wanted, self._pictures, of=type(self).__name__, what="plot")
        return self._pictures[wanted]()

    def __repr__(self) -> str:
        return f"<{type(self).__name__} of {self._said}>"

    def _repr_html_(self) -> str:
        """The answer and its main table, for a notebook."""
        return html_of(self._said, self.frame()[list(self.BRIEF)])


def html_of(said: str, table: DataFrame) -> str:
    """A sentence and a table for a notebook."""
    rows = table.map(_cell).to_html(index=False, border=0)
    return f"<p>{escape(said)}</p>\n{rows}"


def _cell(value: Any) -> str:
    """A value as it is read; nothing where it is blank."""
    import pandas as pd

    if pd.isna(value):
        return ""
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    if isinstance(value, float):
        return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"
    return str(value)


def grown(kind: Callable[..., Made], found: Any, **more: object) -> Made:
    """A result made from one of a lower floor, field by field, and what else it needs."""
    return kind(**{one.name: getattr(found, one.name) for one in fields(found)}, **more)
