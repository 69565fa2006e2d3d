"""Results of a study as a table that knows what it is of: its effects, its metamodels, labelled arrays."""

from __future__ import annotations

from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

import pandas as pd

from towerpace.answers.sweep.effects import effects
from towerpace.answers.sweep.metamodel import Metamodel, metamodel_or_why
from towerpace.faults import Fault, InputError, nearest_word

if TYPE_CHECKING:
    import xarray as xr

_VALUES = ("value", "low", "high", "trials")


class StudyFrame(pd.DataFrame):
    """One row a point and response, as `load_study` reads it; what is cut out of it is a plain DataFrame."""

    @property
    def _constructor(self) -> type[pd.DataFrame]:
        return pd.DataFrame

    @property
    def factors(self) -> tuple[str, ...]:
        """Names of what the study varies."""
        return tuple(self.attrs["factors"])

    @property
    def responses(self) -> tuple[str, ...]:
        """What the study asks of every point."""
        return tuple(self.attrs["responses"])

    def effects(self, factor: str, *more: str, response: str | None = None) -> pd.DataFrame:
        """Mean of a response, the first if none is named, at every value of a factor, or of several together.

        Raises `InputError` for a name that is not there.
        """
        for name in (factor, *more):
            _check(name, self.factors, what="factor")
        return effects(self._plain(), self._response(response), factors=[factor, *more])

    def metamodel(self, response: str | None = None) -> Metamodel:
        """A response, the first if none is named, as a quadratic of the factors, and whether that `fits`.

        Raises `InputError` for a name that is not there, and where the points do not determine a quadratic.
        """
        wanted = self._response(response)
        model = metamodel_or_why(self._plain(), wanted)
        if isinstance(model, str):
            allowed = "a response that a quadratic of the factors foretells"
            raise InputError([Fault("study", None, f"metamodel of {wanted}", model, allowed)])
        return model

    def to_xarray(self) -> xr.Dataset:  # type: ignore[misc]  # labelled by its factors
        """The results as labelled arrays: value, low, high and trials by factors and response.

        Of a grid each factor is a dimension; of another design `point` is, with the factors along it. Needs
        the extra `labelled`; raises `InputError` without it.
        """
        if find_spec("xarray") is None:
            found, allowed = "asked for without xarray", "pip install 'towerpace[labelled]'"
            raise InputError([Fault("study", None, "to_xarray", found, allowed)])
        import xarray as xr

        plain, responses = self._plain(), list(self.responses)
        tables = {name: plain.pivot(index="point", columns="response", values=name) for name in _VALUES}
        points = plain.drop_duplicates("point").set_index("point")
        arrays: dict[str, Any] = {
            name: (("point", "response"), table[responses].to_numpy(dtype=float))
            for name, table in tables.items()
        }
        along = {factor: ("point", points[factor].to_numpy()) for factor in self.factors}
        labels = {"point": points.index.to_numpy(), "response": responses}
        cube = xr.Dataset(arrays, coords=labels | along, attrs={"name": self.attrs["name"]})
        if self.attrs["design"] != "grid":
            return cube
        return cube.drop_vars("point").set_index(point=list(self.factors)).unstack("point")

    def _plain(self) -> pd.DataFrame:
        """The same rows as a DataFrame that is nothing else."""
        plain = pd.DataFrame(self)
        plain.attrs.update(self.attrs)
        return plain

    def _response(self, response: str | None) -> str:
        wanted = response or self.responses[0]
        _check(wanted, self.responses, what="response")
        return wanted


def _check(name: str, names: tuple[str, ...], *, what: str) -> None:
    if name not in names:
        raise InputError([Fault("study", None, what, name, ", ".join(names), nearest_word(name, names))])
