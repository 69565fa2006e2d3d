"""What Python gets from every question: its answer, with DataFrames, figures and a way to keep it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import On
from towerpace.answers.said.tables import Column, Table
from towerpace.face.asked import check_name

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.render.figures.drawing import Figure

Detail = TypeVar("Detail")
Kind = TypeVar("Kind", bound="type[Result[Any]]")


class Result(Generic[Detail]):
    """An answer with its tables as DataFrames and its figures; a notebook shows it.

    Attributes
    ----------
    answer : Answer
        All that is said: run, sentences, facts, tables, cautions.
    detail : object
        The estimates and arrays behind the tables, for those who compute on.
    """

    def __init__(self, answer: Answer, detail: Detail) -> None:
        self.answer = answer
        self.detail = detail

    @property
    def interrupted(self) -> str:
        """What Ctrl-C or a lack of memory cut short, in words; "" of a whole answer."""
        run = self.answer.run
        return f"{run.trials:,} of {run.asked:,} trials were played" if run.trials < run.asked else ""

    @property
    def tables(self) -> tuple[str, ...]:
        """Names of the tables."""
        return tuple(table.name for table in self.answer.tables_on(On.PROGRAMS))

    @property
    def figures(self) -> tuple[str, ...]:
        """Names of the figures that can be drawn of this answer."""
        return tuple(self.answer.figures)

    def frame(self, name: str | None = None) -> DataFrame:
        """A table of the answer, tidy: one row a fact.

        Parameters
        ----------
        name : str, optional
            One of `tables`; the first if left out.

        Returns
        -------
        DataFrame
            The columns of NAME.csv in a results folder. Hash of the scenario, seed and version, which mark
            every row of that file, stand in `attrs`.

        Raises
        ------
        InputError
            For a name that is not there.
        """
        from towerpace.render import frames

        wanted = name or self.tables[0]
        check_name(wanted, self.tables, of=type(self).__name__, what="frame")
        table = frames.frame(self.answer.table(wanted))
        run = self.answer.run
        table.attrs.update(scenario_hash=run.hash, seed=run.seed, version=run.version)
        return table

    def plot(self, name: str | None = None) -> Figure:
        """A figure of the answer, as a results folder has it.

        Parameters
        ----------
        name : str, optional
            One of `figures`; the first if left out.

        Returns
        -------
        Figure
            Of matplotlib, drawn without a screen: a notebook shows it, `savefig` writes it.

        Raises
        ------
        InputError
            For a name that is not there.
        """
        from towerpace.render.figures.drawing import draw
        from towerpace.render.frames import Framed

        wanted = name or next(iter(self.figures), "none")
        check_name(wanted, self.figures, of=type(self).__name__, what="plot")
        return draw(wanted, Framed(self.answer))

    def save(self, folder: str | os.PathLike[str], *, command: str | None = None) -> Path:
        """Write the answer with its tables, figures and manifest, as the command does with `--out`.

        command : what the manifest names as the maker.
        Raises `InputError` if the folder holds something that no run has written, or cannot be written.
        """
        from towerpace.render.folder import save

        return save(self.answer, folder, command=command or f"towerpace.{self.answer.question}")

    def to_json(self) -> dict[str, Any]:
        """The answer as one JSON object, as the command prints it with `--json`."""
        from towerpace.render.json_object import as_json

        return as_json(self.answer)

    def __repr__(self) -> str:
        return f"<{type(self).__name__}: {self.answer.said}>"

    def _repr_html_(self) -> str:
        from towerpace.render.notebook import html_of

        return html_of(self.answer)


def cut_short(answer: Answer, words: str) -> Answer:
    """The answer with a caution first that says what was cut short; as it is if nothing was."""
    return replace(answer, cautions=[f"Interrupted: {words}.", *answer.cautions]) if words else answer


def explained(tables: Sequence[Table], *, figures: Sequence[str] = ()) -> Any:
    """Write tables, columns and figures into the docstring of a result, for `help`."""

    def _explained(kind: Kind) -> Kind:
        lines = [(kind.__doc__ or "").rstrip(), "", "Tables", "------"]
        for table in tables:
            if On.PROGRAMS & table.on:
                lines.append(f"{table.name} : {table.about or table.title}")
                lines += [f"    {c.name} [{_unit(c)}] {c.about}".rstrip() for c in table.columns]
        if figures:
            lines += ["", "Figures", "-------", ", ".join(figures)]
        kind.__doc__ = "\n".join(lines)
        return kind

    return _explained


def _unit(column: Column) -> str:
    return column.unit or column.kind.unit or column.kind.value
