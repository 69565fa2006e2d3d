"""A study of many scenarios, as data for a notebook."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor
from typing import TYPE_CHECKING, Literal

from towerpace.answers.sweep import sweep as answers
from towerpace.face.asked import check_name
from towerpace.face.result import grown, html_of
from towerpace.faults import Fault, InputError

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.answers.sweep.metamodel import Metamodel
    from towerpace.answers.sweep.plan import Workload
    from towerpace.render.figures.forecast import Figure
    from towerpace.scenario.study import StudyFile

QUADRATIC = "a response that a quadratic of the factors foretells"
Table = Literal["study", "trials"]
Picture = Literal["effects", "pairs", "surface"]


class Swept(answers.Swept):
    """A finished study with its tables and figures; all of it lies in `folder` as well.

    Tables: `study` (a row a point and response), and where the study keeps them `trials`. Figures of every
    response: `effects`, of two factors or more `pairs`, and the `surface` of its metamodel where that fits.
    """

    @property
    def factors(self) -> tuple[str, ...]:
        """Names of what the study varies."""
        return tuple(self.manifest.factors)

    @property
    def responses(self) -> tuple[str, ...]:
        """What the study asks of every point."""
        return tuple(self.manifest.responses)

    @property
    def tables(self) -> tuple[str, ...]:
        """Names of the tables."""
        return ("study", "trials") if self.manifest.keep_trials else ("study",)

    @property
    def figures(self) -> tuple[str, ...]:
        """Names of the figures of a response."""
        return ("effects", "pairs", "surface") if len(self.factors) > 1 else ("effects", "surface")

    def frame(self, name: Table = "study") -> DataFrame:
        """A table of the study, as `load_study` reads it; raises `InputError` for one that is not there."""
        check_name(name, self.tables, of="Swept", what="frame")
        if name == "trials":
            from towerpace.answers.sweep.read import load_trials

            return load_trials(self.folder)
        return super().frame()

    def effects(self, factor: str, *more: str, response: str | None = None) -> DataFrame:
        """Mean of a response at every value of a factor, or of several together, over all others.

        Parameters
        ----------
        factor, *more : str
            One of `factors` for main effects, two for a pair.
        response : str, optional
            One of `responses`; the first if left out.

        Returns
        -------
        DataFrame
            The factors, value, low and high (95 %), and points, in the unit of the response.

        Raises
        ------
        InputError
            For a name that is not there.
        """
        from towerpace.answers.sweep.effects import effects

        for name in (factor, *more):
            check_name(name, self.factors, of="Swept", what="factor")
        return effects(self.frame(), self._response(response), factors=[factor, *more])

    def metamodel(self, response: str | None = None) -> Metamodel:
        """A response, the first if none is named, as a quadratic of the factors, and whether that `fits`.

        Raises
        ------
        InputError
            For a name that is not there, and where the points do not determine a quadratic: says why.
        """
        from towerpace.answers.sweep.metamodel import metamodel_or_why

        wanted = self._response(response)
        found = metamodel_or_why(self.frame(), wanted)
        if isinstance(found, str):
            raise InputError([Fault("Swept", None, f"metamodel of {wanted}", found, QUADRATIC)])
        return found

    def plot(self, name: Picture = "effects", *, response: str | None = None) -> Figure:
        """A figure of a response, the first if none is named.

        Raises
        ------
        InputError
            For a name that is not there, and for the surface of a metamodel that does not fit: says why.
        """
        check_name(name, self.figures, of="Swept", what="plot")
        from towerpace.render.figures.study import draw_study

        if name == "surface" and not (found := self.metamodel(response)).fits:
            key = f"metamodel of {found.response}"
            raise InputError([Fault("Swept", None, key, found.worth.why_not, QUADRATIC)])
        return draw_study(self.folder, self._response(response), kind=name)

    def _response(self, response: str | None) -> str:
        wanted = response or self.responses[0]
        check_name(wanted, self.responses, of="Swept", what="response")
        return wanted

    @property
    def _said(self) -> str:
        return f"{self.manifest.name} on {self.manifest.scenario}: {self.manifest.points} points"

    def __repr__(self) -> str:
        return f"<Swept of {self._said}>"

    def _repr_html_(self) -> str:
        """The study and its first main effect, for a notebook."""
        response = self.responses[0]
        return html_of(f"{self._said}; main effect on {response}", self.effects(self.factors[0]))


def sweep(
    study: StudyFile | str | os.PathLike[str],
    *,
    folder: str | os.PathLike[str] | None = None,
    workers: int = 1,
    executor: Executor | None = None,
    fresh: bool = False,
    on_checked: Callable[[int], None] = lambda _: None,
    on_plan: Callable[[Workload], None] = lambda _: None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Swept:
    """Play every point of a study into a folder; points that are there already are not played again.

    Parameters
    ----------
    study : path-like or StudyFile
        The study file.
    folder : path-like, optional
        Where results go; by default results/ and the name of the study.
    workers : int
        Processes, or how many workers the executor has; the numbers do not depend on it.
    executor : Executor, optional
        Of `concurrent.futures`, in the place of our own processes: it may be many machines.
    fresh : bool
        Start over in a new folder beside the given one.
    on_checked, on_plan, on_done : callable
        Told how many points were checked; what is left and how long that takes; how many were finished.

    Returns
    -------
    Swept
        DataFrames from `frame` and `effects`, figures from `plot`.

    Raises
    ------
    InputError
        With every fault of every point before the first trial; for a folder of another study or version.
    SweepInterrupted
        After Ctrl-C; the same call goes on.

    Examples
    --------
    >>> from tempfile import mkdtemp
    >>> from towerpace import sweep
    >>> swept = sweep("scenarios/studies/one_trade_gangs.toml", folder=mkdtemp() + "/gangs")
    >>> swept
    <Swept of One trade, gangs and slips on One trade: 24 points>
    >>> print(swept.effects("gangs", response="finish.p80").round(1).to_string(index=False))
     gangs  value  low  high  points
         1   34.7 33.3  36.8       6
         2   32.2 31.3  34.6       6
         3   32.2 31.3  34.6       6
         4   32.2 31.3  34.6       6
    """
    found = answers.sweep(
        study,
        folder=folder,
        workers=workers,
        executor=executor,
        fresh=fresh,
        on_checked=on_checked,
        on_plan=on_plan,
        on_done=on_done,
    )
    return grown(Swept, found)
