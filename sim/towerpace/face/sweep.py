"""A study of many scenarios, as data for a notebook."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor
from pathlib import Path
from typing import TYPE_CHECKING

from towerpace.answers.cautions import hours_cautions, limits_cautions, raised_banners
from towerpace.answers.sweep import sweep as answers
from towerpace.answers.sweep.design import Design
from towerpace.answers.sweep.sweep_said import EFFECTS, METAMODELS, said
from towerpace.engine.names import EngineName, played_by
from towerpace.face.asked import check_engine, check_name
from towerpace.face.result import Result, explained
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import load
from towerpace.scenario.study import StudyFile, read_study

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.answers.sweep.metamodel import Metamodel
    from towerpace.answers.sweep.plan import Workload
    from towerpace.render.figures.drawing import Figure

QUADRATIC = "a response that a quadratic of the factors foretells"


@explained((EFFECTS, METAMODELS))
class Swept(Result[answers.SweptDetail]):
    """A finished study with its tables and figures; all of it lies in `folder` as well.

    Beside the tables below: `study` (a row a point and response), and where the study keeps them `trials`.
    Figures of every response: `effects`, of two factors or more `pairs`, and the `surface` of its metamodel
    where that fits.
    """

    @property
    def folder(self) -> Path:
        """Where the study lies."""
        return self.detail.folder

    @property
    def factors(self) -> tuple[str, ...]:
        """Names of what the study varies."""
        return tuple(self.detail.manifest.factors)

    @property
    def responses(self) -> tuple[str, ...]:
        """What the study asks of every point."""
        return tuple(self.detail.manifest.responses)

    @property
    def tables(self) -> tuple[str, ...]:
        """Names of the tables."""
        kept = ("study", "trials") if self.detail.manifest.keep_trials else ("study",)
        return (*kept, *super().tables)

    @property
    def figures(self) -> tuple[str, ...]:
        """Names of the figures of a response."""
        return ("effects", "pairs", "surface") if len(self.factors) > 1 else ("effects", "surface")

    def frame(self, name: str | None = "study") -> DataFrame:
        """A table of the study, as `load_study` reads it; raises `InputError` for one that is not there."""
        wanted = name or "study"
        if wanted == "study":
            return self.detail.frame()
        if wanted == "trials" and wanted in self.tables:
            from towerpace.answers.sweep.read import load_trials

            return load_trials(self.folder)
        return super().frame(wanted)

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
        model = metamodel_or_why(self.frame(), wanted)
        if isinstance(model, str):
            raise InputError([Fault("Swept", None, f"metamodel of {wanted}", model, QUADRATIC)])
        return model

    def plot(self, name: str | None = "effects", *, response: str | None = None) -> Figure:
        """A figure of a response, the first if none is named.

        Raises
        ------
        InputError
            For a name that is not there, and for the surface of a metamodel that does not fit: says why.
        """
        from towerpace.render.figures.study import draw_study

        wanted = name or "effects"
        check_name(wanted, self.figures, of="Swept", what="plot")
        if wanted == "surface" and not (model := self.metamodel(response)).fits:
            key = f"metamodel of {model.response}"
            raise InputError([Fault("Swept", None, key, model.worth.why_not, QUADRATIC)])
        return draw_study(self.folder, self._response(response), kind=wanted)

    def _response(self, response: str | None) -> str:
        wanted = response or self.responses[0]
        check_name(wanted, self.responses, of="Swept", what="response")
        return wanted


def sweep(
    study: StudyFile | str | os.PathLike[str],
    *,
    folder: str | os.PathLike[str] | None = None,
    workers: int = 1,
    executor: Executor | None = None,
    fresh: bool = False,
    strict: bool = False,
    engine: EngineName = "fastest",
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
    strict : bool
        Refuse what is only unusual at any point, too.
    engine : str
        "fastest", "compiled" or "reference": the numbers do not depend on it, so a study that was begun with
        one may go on with another.
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
    <Swept: One trade, gangs and slips on One trade: 24 points.>
    >>> print(swept.effects("gangs", response="finish.p80").round(1).to_string(index=False))
     gangs  value  low  high  points
         1   35.7 34.9  37.7       6
         2   33.7 32.2  35.2       6
         3   33.7 32.2  35.2       6
         4   33.7 32.2  35.2       6
    """
    check_engine(study.path if isinstance(study, StudyFile) else str(study), engine)
    with played_by(engine):
        swept = answers.sweep(
            study,
            folder=folder,
            workers=workers,
            executor=executor,
            fresh=fresh,
            strict=strict,
            on_checked=on_checked,
            on_plan=on_plan,
            on_done=on_done,
        )
    banners, cautions = _warned(study)
    return Swept(said(swept, banners=banners, cautions=cautions), swept)


def _warned(study: StudyFile | str | os.PathLike[str]) -> tuple[list[str], list[str]]:
    """Banners of wind limits that some point holds above the scenario as it is, each once; and cautions."""
    file = read_study(study) if isinstance(study, str | os.PathLike) else study
    keys = [f"{factor.key} {factor.replace}" for factor in file.settings.factor.values()]
    base, design = load(file.scenario), Design(file)
    if not any(word in key for key in keys for word in ("limit", "calendar", "zone", "method")):
        return [], limits_cautions(base.settings)
    points = (design.point(number) for number in range(1, len(design) + 1))
    scenarios = [load(file.scenario, point.changes) for point in points]
    banners = raised_banners(base, [(file.settings.study.name, scenario) for scenario in scenarios])
    limits = dict.fromkeys(caution for one in (base, *scenarios) for caution in limits_cautions(one.settings))
    return list(dict.fromkeys(banners)), [*limits, *hours_cautions(base, scenarios)]
