"""A finished study as an answer: main effects of every response, its points, and its quadratic surfaces."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from datetime import date
from math import isnan
from typing import TYPE_CHECKING, Any

from towerpace.answers.said.answer import Answer, Method, Run
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Chapter, Column, Fact, Row, Table, Value, interval
from towerpace.answers.sweep.design import NUMBER, TRUTH, WHOLE
from towerpace.answers.sweep.effects import effects
from towerpace.answers.sweep.metamodel import Metamodel, metamodel_or_why
from towerpace.answers.sweep.store import DICTIONARY
from towerpace.answers.sweep.sweep import SweptDetail
from towerpace.answers.sweep.worth import brief
from towerpace.scenario.guarded import unguarded

if TYPE_CHECKING:
    from pandas import DataFrame

_MOST_SHOWN = 3  # responses whose effects a terminal shows
_KINDS = {WHOLE: Kind.COUNT, NUMBER: Kind.NUMBER, TRUTH: Kind.TRUTH}
_RESPONSE = Column("response", Kind.NAME, about="what the row is of; its unit stands in the dictionary")
_MEAN = (
    Column("mean", Kind.NUMBER, about="over all other factors, in the unit of the response", uneven=True),
    *interval("mean", Kind.NUMBER, about="end of its 95 % interval"),
)
EFFECTS = Table(
    "effects",
    "Main effects",
    (
        _RESPONSE,
        Column("factor", Kind.NAME, about="what is varied"),
        Column("value", Kind.NAME, about="its value, of a bin its middle"),
        *_MEAN,
        Column("points", Kind.COUNT, about="points of that value"),
    ),
    about="mean of every response at every value of every factor",
    note="Means over all other factors.",
    groups=True,
)
METAMODELS = Table(
    "metamodels",
    "Quadratic surfaces",
    (
        _RESPONSE,
        Column("usable", Kind.TRUTH, about="whether the quadratic may be shown"),
        Column("predictive_r2", Kind.NUMBER, "predictive R2", about="of points not seen", digits=3),
        Column("leave_one_out_rms", Kind.NUMBER, "leave-one-out error", about="in its unit", uneven=True),
        Column("noise", Kind.NUMBER, "of the points ±", about="half intervals of the points", uneven=True),
        Column("left_out", Kind.COUNT, about="points beyond the horizon", on=On.PROGRAMS),
        Column("residual_sd", Kind.NUMBER, about="of the fit", on=On.PROGRAMS),
        Column("why_not", Kind.TEXT, "why it is not shown", about="what speaks against it"),
    ),
    about="how well a full quadratic of the factors foretells each response",
)
COEFFICIENTS = Table(
    "coefficients",
    "Coefficients of the quadratic surfaces, factors scaled to -1 and 1 over their range",
    (
        _RESPONSE,
        Column("term", Kind.NAME, about="1, a factor, its square, or two factors"),
        Column("coefficient", Kind.NUMBER, about="in the unit of the response"),
    ),
    about="whole enough to use a surface elsewhere, with `ranges`",
    on=On.JSON,
)
RANGES = Table(
    "ranges",
    "Ranges of the factors in the surfaces",
    (
        _RESPONSE,
        Column("factor", Kind.NAME, about="what is varied"),
        Column("low", Kind.NUMBER, about="its least value, scaled to -1"),
        Column("high", Kind.NUMBER, about="its greatest value, scaled to 1"),
        Column("share", Kind.SHARE, about="of the variance of the surface that is its own or shared"),
    ),
    about="what -1 and 1 stand for",
    on=On.JSON,
)
_SURFACE = Method(
    "A surface is a full quadratic of the factors, shown only where it foretells points not seen.",
    "D. C. Montgomery (2017), Design and Analysis of Experiments, 9th ed., sections 10.4 and 11.",
)


def said(swept: SweptDetail, *, banners: Sequence[str] = (), cautions: Sequence[str] = ()) -> Answer:
    """The study as everybody gets it. banners : of limits raised. cautions : of limits and longer hours."""
    manifest, frame = swept.manifest, swept.frame()
    models = {name: metamodel_or_why(frame, name) for name in manifest.responses}
    resumed = f", {swept.resumed} of them done before" if swept.resumed else ""
    tables = [
        _effects(frame, manifest.factors, manifest.responses),
        METAMODELS.filled(_worth(name, model) for name, model in models.items()),
        COEFFICIENTS.filled(_coefficients(models)),
        RANGES.filled(_ranges(models)),
        _points(swept, frame),
    ]
    return Answer(
        question="sweep",
        about="A study of many scenarios",
        run=_run(swept),
        said=f"{manifest.name} on {manifest.scenario}: {manifest.points} points{resumed}.",
        facts=[
            Fact(Column("study", Kind.NAME), manifest.name),
            Fact(Column("study_hash", Kind.NAME), manifest.hash),
            Fact(Column("points", Kind.COUNT), manifest.points),
            Fact(Column("draws", Kind.NAME, about="common to all points, or independent"), manifest.draws),
        ],
        tables=tables,
        chapters=(
            Chapter("Main effects", shows=("effects",)),
            Chapter("Quadratic surfaces", tuple(surface_lines(swept, models))),
        ),
        banners=banners,
        cautions=list(cautions),
        figures=(),
        methods=[_SURFACE],
    )


def _run(swept: SweptDetail) -> Run:
    manifest = swept.manifest
    day = date.fromisoformat(manifest.scenario_keys.get("tower.start", manifest.created_utc[:10]))
    return Run(
        scenario=manifest.scenario,
        path="",
        hash=manifest.scenario_hash,
        seed=manifest.seed,
        trials=0,
        asked=0,
        start=day,
        last=day,
        levels=0,
        zones=0,
        version=manifest.version,
    )


def _effects(frame: DataFrame, factors: Sequence[str], responses: Sequence[str]) -> Table:
    rows = [row for response in responses for row in _effects_of(frame, response, factors)]
    more = len(responses) - _MOST_SHOWN
    shown = sum(row[0] in responses[:_MOST_SHOWN] for row in rows)
    note = f"{EFFECTS.note} {more} more responses are in the tables." if more > 0 else EFFECTS.note
    table = EFFECTS.filled(rows, note=note)
    return Table(**{**vars(table), "most": shown, "first_rows": True})


def _effects_of(frame: DataFrame, response: str, factors: Sequence[str]) -> Iterator[Row]:
    for factor in factors:
        table = effects(frame, response, factors=[factor])
        for row in table.itertuples(index=False):
            value, mean, low, high, points = tuple(row)
            text = f"{value:g}" if isinstance(value, float) else str(value)
            yield (response, factor, text, *(_plain(v) for v in (mean, low, high)), int(points))


def _points(swept: SweptDetail, frame: DataFrame) -> Table:
    """Every point and response; the same rows as `study.csv` in the folder of the study."""
    manifest = swept.manifest
    kinds = dict(zip(manifest.factors, manifest.kinds, strict=True))
    columns = (
        Column("point", Kind.COUNT, about="number of the point, from 1"),
        *(Column(name, _KINDS.get(kind, Kind.NAME), about="factor") for name, kind in kinds.items()),
        _RESPONSE,
        Column("value", Kind.NUMBER, about="the estimate, in the unit of the response"),
        *interval("value", Kind.NUMBER, about="end of its 95 % interval"),
        Column("trials", Kind.COUNT, about="that it was made from"),
        Column("point_hash", Kind.NAME, about="of the scenario at the point"),
    )
    names = ["point", *kinds, "response", "value", "low", "high", "trials", "scenario_hash"]
    rows = zip(*(frame[name].tolist() for name in names), strict=True)
    table = Table("points", "Points", columns, about="a row a point and response", on=On.JSON)
    return table.filled(tuple(_plain(value) for value in row) for row in rows)


def _plain(value: Any) -> Value:
    """A number or word as plain Python; None where there is none."""
    value = value.item() if hasattr(value, "item") else value
    return None if isinstance(value, float) and isnan(value) else value


def _worth(response: str, model: Metamodel | str) -> Row:
    if isinstance(model, str):
        return (response, False, None, None, None, None, None, model)
    worth = model.worth
    numbers = (worth.predictive_r2, worth.rms, worth.noise)
    sd = model.residual_sd
    return (response, model.fits, *map(_plain, numbers), model.left_out, _plain(sd), worth.why_not)


def _coefficients(models: dict[str, Metamodel | str]) -> Iterator[Row]:
    for response, model in models.items():
        if not isinstance(model, str):
            for term, coefficient in model.coefficients.items():
                yield response, term, coefficient


def _ranges(models: dict[str, Metamodel | str]) -> Iterator[Row]:
    for response, model in models.items():
        if not isinstance(model, str):
            shares = dict(model.shares)
            for name, low, high in zip(model.factors, model.lows, model.highs, strict=True):
                yield response, name, float(low), float(high), shares.get(name)


def surface_lines(swept: SweptDetail, models: dict[str, Metamodel | str]) -> list[str]:
    """One line a response; what is true of all of them is said once."""
    units = _units(swept)
    lines = [
        f"No quadratic surface: {model}." if isinstance(model, str) else surface_text(model, units[name])
        for name, model in list(models.items())[:_MOST_SHOWN]
    ]
    return list(dict.fromkeys(lines))


def surface_text(model: Metamodel, unit: str) -> str:
    """Whether a surface may be shown, and the numbers behind that."""
    worth, unit = model.worth, "" if unit == "-" else f" {unit}"
    verdict = "usable" if model.fits else f"not shown: {worth.why_not}"
    if model.fits and model.left_out:
        verdict += f", {model.left_out} points left out: beyond the horizon"
    noise = "" if isnan(worth.noise) else f", intervals of the points ±{brief(worth.noise)}{unit}"
    error = f"predictive R2 {worth.r2_text}, leave-one-out error {brief(worth.rms)}{unit}{noise}"
    return f"Quadratic surface of {model.response} {verdict} ({error})."


def _units(swept: SweptDetail) -> dict[str, str]:
    """Units of the responses, from the dictionary of the study."""
    with (swept.folder / DICTIONARY).open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["what"] == "response"]
    return {unguarded(row["name"]): unguarded(row["unit"]) for row in rows}
