"""A bid as a person reads it in a terminal."""

from __future__ import annotations

from datetime import date
from itertools import groupby
from typing import Any

from towerpace.cli.terminal import console, table

Data = dict[str, Any]
DRIVERS_SHOWN, SWINGS_SHOWN = 10, 12
NO_WEATHER = "no_weather_at_all"


def show(data: Data, *, monthly: bool = False) -> None:
    """Print a bid. monthly : with the weather allowance of every month."""
    out = console()
    out.print(
        f"[bold]{data['scenario']}[/bold]  start {_day(data['start'])}\n"
        f"{data['trials']} trials, seed {data['seed']}, scenario {data['hash'][:12]}, "
        f"towerpace {data['version']}\n"
    )
    for sentence in answer(data):
        out.print(sentence, soft_wrap=False)
    out.print()
    parts = [_needed(data), _planned(data), _contract(data), _damages(data), _sources(data)]
    parts += [*_drivers(data), *_swings(data), _stages(data), *_screening(data)]
    for part in (*parts, *_allowance(data, monthly=monthly)):
        if part is not None:
            out.print(part, soft_wrap=False)
            out.print()
    for caution in data["cautions"]:
        out.print(f"! {caution}", style="dim", soft_wrap=False)


def answer(data: Data) -> list[str]:
    """The answer in one or two sentences."""
    stated, half = data["stated"], round(100 * data["confidence"])
    need = next(row for row in data["needed"] if row["confidence"] == data["confidence"])
    until = "beyond the horizon" if need["date"] is None else f"{_day(need['date'])}, {need['working_days']}"
    second = f"{half} % confidence needs until {until} working days\n({_between(need)})."
    if stated is None:
        return [second]
    share = f"{100 * stated['chance']:.1f} %"
    interval = f"{100 * stated['low']:.1f} to {100 * stated['high']:.1f} %"
    first = f"{stated['working_days']} working days, to {_day(stated['date'])}, are kept in {share}"
    return [f"{first} of the trials\n(95 % interval {interval}).", second]


def _day(text: str | None) -> str:
    return "beyond" if text is None else f"{date.fromisoformat(text):%a %d %b %Y}"


def _between(row: Data) -> str:
    if not row["interval"]:
        return "too few trials for an interval"
    return f"95 % interval {_day(row['low'])} to {_day(row['high'])}"


def _needed(data: Data) -> object:
    made = table(
        "confidence",
        "date",
        "95 % interval",
        "working days",
        "contingency d",
        title="What each confidence needs",
        text=("date", "95 % interval"),
    )
    for row in data["needed"]:
        interval = f"{_day(row['low'])} to {_day(row['high'])}" if row["interval"] else "too few trials"
        days = "" if row["working_days"] is None else str(row["working_days"])
        over = _number(row["contingency_days"], "+.1f")
        made.add_row(f"{100 * row['confidence']:g} %", _day(row["date"]), interval, days, over)
    return made


def _planned(data: Data) -> str:
    planned = data["planned"]
    calm, recorded = planned["no_weather"], planned["weather_as_recorded"]
    text = f"Without uncertainty: {_day(calm['date'])} ({calm['working_days']} working days) without weather"
    if planned["counted_from"] == "no_weather":
        return f"{text}; contingency is counted from it."
    return (
        f"{text}, {_day(recorded['date'])} ({recorded['working_days']}) with the weather as recorded; "
        "contingency is counted from the latter."
    )


def _contract(data: Data) -> object | None:
    if not data["contract"]:
        return None
    columns = ("", "what", "date", "chance", "95 % interval")
    made = table(*columns, title="Contract dates", text=("", "what", "date"))
    for row in data["contract"]:
        what = "finish" if row["level"] is None else f"closing-in of L{row['level']}"
        made.add_row(row["name"], what, _day(row["date"]), *_share(row))
    if data["joint"] is not None and len(data["contract"]) > 1:
        made.add_row("all together", "", "", *_share(data["joint"]))
    return made


def _share(row: Data) -> tuple[str, str]:
    return f"{100 * row['chance']:.1f} %", f"{100 * row['low']:.1f} to {100 * row['high']:.1f} %"


def _damages(data: Data) -> object | None:
    if not data["damages"]:
        return None
    unit = data["damages"][0]["unit"]
    columns = ("", "expected", "95 % interval", "P80", "chance of any")
    made = table(*columns, title=f"Damages, {unit}", text=("",))
    for row in data["damages"]:
        expected = _number(row["expected"], ",.0f")
        interval = _ends(row, "expected", ",.0f")
        chance = f"{100 * row['chance_of_any']:.1f} %"
        made.add_row(row["name"], expected, interval, _number(row["p80"], ",.0f"), chance)
    return made


def _sources(data: Data) -> object | None:
    found = data["contingency"]
    if found is None:
        return None
    p = f"P{100 * found['confidence']:g}"
    columns = ("source", f"off: {p} less", "95 % interval", f"alone: {p} over", "95 % interval", "sd alone")
    made = table(*columns, title="Contingency by source, days on common draws", text=("source",))
    rows = list(found["sources"])
    if found[NO_WEATHER] is not None:
        rows.append(found[NO_WEATHER])
    for k, row in enumerate(rows):
        if k == len(found["sources"]):
            _totals(made, found)
        made.add_row(
            row["source"],
            _number(row["off_days"], ".1f"),
            _ends(row, "off_days", ".1f"),
            _number(row["alone_days"], "+.1f"),
            _ends(row, "alone_days", "+.1f"),
            _number(row["sd_alone_days"], ".1f"),
        )
    if found[NO_WEATHER] is None:
        _totals(made, found)
    made.caption = (
        "off: what would be saved with this source as planned and all others on\n"
        "alone: this source on and all others as planned, over the date without uncertainty\n"
        "remainder: the sources do not add up where they meet; it is not shared out"
    )
    made.caption_justify = "left"
    return made


def _totals(made: Any, found: Data) -> None:
    off, alone = _number(found["remainder_off_days"], ".1f"), _number(found["remainder_alone_days"], "+.1f")
    made.add_row("remainder", off, "", alone, "", "")
    total, ends = _number(found["total_days"], ".1f"), _ends(found, "total_days", ".1f")
    made.add_row("contingency", total, ends, total, ends, _number(found["sd_days"], ".1f"))


def _drivers(data: Data) -> list[object]:
    found = data["drivers"]
    moving = [row for row in found["inputs"] if row["rank"] is not None]
    if not moving:
        return ["Drivers: too few trials, or nothing varies."]
    columns = ("drawn input", "rank", "95 % interval", "regr.", "known", "sd left", "")
    title = f"Drivers of the finish, {found['trials']} trials"
    if found["sd_days"] is not None:
        title += f", sd {found['sd_days']:.1f} d"
    made = table(*columns, title=title, text=("drawn input", ""))
    for row in moving[:DRIVERS_SHOWN]:
        known = "" if row["known"] is None else f"{100 * max(0.0, row['known']):.0f} %"
        made.add_row(
            row["name"],
            _number(row["rank"], "+.2f"),
            _ends(row, "rank", "+.2f"),
            _number(row["regression"], "+.2f"),
            known,
            _number(row["sd_known_days"], ".1f"),
            "" if row["verdict"] == "drives" else "?",
        )
    constant = [row["name"] for row in found["inputs"] if row["verdict"] == "constant"]
    more = len(moving) - DRIVERS_SHOWN
    notes = [
        "rank: correlation of ranks with the finish; regr.: in the regression of ranks; ?: no effect seen",
        "known, sd left: share of the variance and days of sd if this input were known",
        *([f"{more} weaker ones are in the JSON"] if more > 0 else []),
        *([f"constant: {', '.join(constant)}"] if constant else []),
    ]
    return [made, "\n".join(notes)]


def _swings(data: Data) -> list[object]:
    found = data["swings"]
    if not found["numbers"]:
        return []
    columns = ("number", "low", "days", "high", "days", "widest 95 %", "")
    title = f"One number at a time, mean finish on common draws, {found['trials']} trials"
    made = table(*columns, title=title, text=("number", ""))
    for row in found["numbers"][:SWINGS_SHOWN]:
        halves = [
            (row[f"{s}_days_high"] - row[f"{s}_days_low"]) / 2
            for s in ("low", "high")
            if row[f"{s}_days"] is not None
        ]
        made.add_row(
            row["key"],
            _number(row["low_value"], ".4g"),
            _number(row["low_days"], "+.1f"),
            _number(row["high_value"], ".4g"),
            _number(row["high_days"], "+.1f"),
            f"± {max(halves):.1f}" if halves else "",
            row["verdict"] if row["verdict"] != "moves" else "",
        )
    more = len(found["numbers"]) - SWINGS_SHOWN
    notes = [*([f"{more} that move it less are in the JSON"] if more > 0 else []), *_remarks(found)]
    return [made, "\n".join(notes)] if notes else [made]


def _remarks(found: Data) -> list[str]:
    """Why ends are missing, numbers with the same reason together."""
    keys: dict[str, list[str]] = {}
    for row in found["numbers"]:
        if row["remark"]:
            reason = "one end refused, see the JSON" if " refused: " in row["remark"] else row["remark"]
            keys.setdefault(reason, []).append(row["key"])
    return [f"{reason}: {', '.join(names)}" for reason, names in keys.items()]


def _stages(data: Data) -> object:
    found = data["convergence"]
    name = f"P{100 * found['confidence']:g}"
    made = table("trials", name, "95 % interval", title="Convergence", text=(name, "95 % interval"))
    for row in found["stages"]:
        interval = f"{_day(row['low'])} to {_day(row['high'])}" if row["interval"] else "too few trials"
        made.add_row(f"{row['trials']:,}", _day(row["date"]), interval)
    second = found["second_seed"]
    if second is not None:
        interval = f"{_day(second['low'])} to {_day(second['high'])}" if second["interval"] else "too few"
        words = {True: "the intervals overlap", False: "the intervals do not overlap", None: ""}
        made.add_row(f"seed {second['seed']}", _day(second["date"]), interval)
        made.caption, made.caption_justify = words[second["intervals_overlap"]] or None, "left"
    return made


def _screening(data: Data) -> list[object]:
    return [_morris(one) if one["method"] == "Morris" else _sobol(one) for one in data["screening"]]


def _morris(found: Data) -> object:
    columns = ("number", "low", "high", "mu*", "95 % ±", "mu", "sigma")
    made = table(
        *columns, title=f"Morris screening, days of the mean finish, {found['runs']} points", text=columns[:1]
    )
    for row in found["numbers"]:
        numbers = (row["mu_star"], row["half"], row["mu"], row["sigma"])
        made.add_row(row["name"], f"{row['low']:.4g}", f"{row['high']:.4g}", *(f"{v:.2f}" for v in numbers))
    return made


def _sobol(found: Data) -> object:
    columns = ("number", "low", "high", "first", "95 % ±", "total", "95 % ±")
    title = f"Sobol indices of the mean finish, {found['runs']} points"
    made = table(*columns, title=title, text=columns[:1])
    for row in found["numbers"]:
        numbers = (row["first"], row["first_half"], row["total"], row["total_half"])
        made.add_row(row["name"], f"{row['low']:.4g}", f"{row['high']:.4g}", *(f"{v:.2f}" for v in numbers))
    return made


def _allowance(data: Data, *, monthly: bool) -> list[object]:
    found = data["allowance"]
    if found is None:
        return []
    parts: list[object] = [_basis(found["basis"])]
    bands = [r for r in found["rows"] if monthly or r["month"] == "all"]
    for operation, rows in groupby(bands, key=lambda row: (row["operation"], row["limits"])):
        parts.append(_operation(operation, list(rows)))
    if not monthly:
        parts.append("Month by month: --allowance")
    return parts


def _basis(basis: Data) -> str:
    years = basis["record_years"]
    span = f"{years[0]} to {years[-1]}" if len(years) > 1 else f"{years[0]}"
    factor = f"year factor sd {basis['factor_sd']:g}" if basis["factor_sd"] else "no year factor"
    lines = [
        f"Weather allowance: record of {span} at {basis['record_height_m']:g} m",
        basis["station"] or "no source",
        f"{basis['years']} years dealt in blocks of {basis['block_days']} days from ± {basis['season_days']} "
        f"days of the season, {factor}"
        if basis["block_days"]
        else "the record as it came, no blocks",
        *(
            f"  {one['name']}: {one['text']}, restart {one['restart_min']} min ({one['source']})"
            for one in basis["limits"]
        ),
    ]
    return "\n".join(lines)


def _operation(operation: tuple[str, str], rows: list[Data]) -> object:
    name, limits = operation
    columns = (
        "levels",
        "month",
        "shift h",
        "record",
        "P50 h",
        "P80 h",
        "P90 h",
        "P80 no factor",
        "days P50/80/90",
    )
    made = table(*columns, title=f"{name} ({limits}): hours lost", text=("levels", "month"))
    for row in rows:
        days = "/".join(f"{row[f'p{p}_days']:.0f}" for p in (50, 80, 90))
        hours = [row[key] for key in ("record_h", "p50_h", "p80_h", "p90_h", "p80_h_no_year_factor")]
        made.add_row(
            _band(row),
            row["month"],
            f"{row['shift_h']:.0f}",
            *(f"{h:.0f}" for h in hours),
            days,
        )
    return made


def _band(row: Data) -> str:
    lowest, highest = row["lowest"], row["highest"]
    return f"L{lowest}" if lowest == highest else f"L{lowest}-{highest}"


def _ends(row: Data, key: str, style: str) -> str:
    low, high = row[f"{key}_low"], row[f"{key}_high"]
    return "" if low is None or high is None else f"{low:{style}} to {high:{style}}"


def _number(value: float | None, style: str) -> str:
    return "" if value is None else format(value, style)
