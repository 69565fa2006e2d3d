"""Hours written as our record: a CSV whose headings bear unit and height, numbers as the source has them."""

import csv
import io
from collections.abc import Mapping, Sequence

from towerpace.bring.weather.hourly import Hourly
from towerpace.bring.weather.reports import Unit
from towerpace.climate.columns import TIME

Cells = list[float | None]

OBSERVED, FILLED = "O", "F"


def record_text(
    hourly: Hourly, *, unit: Unit, height_m: float, fill_h: int
) -> tuple[str, Mapping[str, tuple[int, int]]]:
    """The record as CSV, and the blanks of each further quantity before and after short ones were filled.

    Parameters
    ----------
    unit
        Unit of the speeds, which is kept: knots stay whole knots.
    height_m
        Height of the instrument. [m]
    fill_h
        Longest run of blanks of a further quantity that repeats the value before it. [h]
    """
    reports = [report for _, report in hourly.hours]
    columns: dict[str, Cells] = {
        f"wind_speed_{height_m:g}m_{unit}": [report.speed for report in reports],
        f"wind_gust_{height_m:g}m_{unit}": [report.gust for report in reports],
    }
    further: dict[str, Cells] = {
        "air_temp_degC": [report.temperature_c for report in reports],
        "precip_mm": [report.rain_mm for report in reports],
        "visibility_km": [report.visibility_km for report in reports],
        "thunder": [None if report.thunder is None else float(report.thunder) for report in reports],
    }
    blanks = {}
    for name, values in further.items():
        if before := sum(value is None for value in values):
            if before == len(values):
                continue
            repeat_short_blanks(values, longest=fill_h)
        columns[name] = values
        blanks[name] = (before, sum(value is None for value in values))
    return _csv(hourly, columns=columns), blanks


def repeat_short_blanks(values: Cells, *, longest: int) -> None:
    """Fill runs of blanks up to a length with the value before them, those at the beginning not at all.

    >>> values = [1.0, None, 2.0, None, None]
    >>> repeat_short_blanks(values, longest=1)
    >>> values
    [1.0, 1.0, 2.0, None, None]
    """
    start = 0
    while start < len(values):
        end = start
        while end < len(values) and values[end] is None:
            end += 1
        if start and 0 < end - start <= longest:
            values[start:end] = [values[start - 1]] * (end - start)
        start = max(end, start + 1)


def _csv(hourly: Hourly, *, columns: Mapping[str, Sequence[float | None]]) -> str:
    lines = io.StringIO()
    table = csv.writer(lines, lineterminator="\n")
    table.writerow([TIME, *columns, "flag"])
    for k, (hour, _) in enumerate(hourly.hours):
        flag = FILLED if hour in hourly.filled else OBSERVED
        cells = ["" if values[k] is None else f"{values[k]:.10g}" for values in columns.values()]
        table.writerow([f"{hour:%Y-%m-%dT%H:%M}", *cells, flag])
    return lines.getvalue()
