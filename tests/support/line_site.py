"""Small sites of gang trades without weather: what each trade takes, its minutes a floor, its units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True)
class LineTrade:
    """needs : units taken at once, by resource. minutes : of a floor, low, likely, high; equal: certain."""

    needs: Mapping[str, int]
    minutes: tuple[int, int, int]

    @property
    def mean_min(self) -> float:
        """Of a floor, by the beta-PERT law. [min]"""
        low, likely, high = self.minutes
        return (low + 4 * likely + high) / 6


TWIN = LineTrade({"x": 1}, (720, 1440, 5760))


def write_twins(folder: Path) -> Path:
    """Two trades of one law on one floor, with two candidates: half the minutes of either gain the same."""
    path = write_line(
        folder,
        trades=[TWIN, LineTrade({"y": 1}, TWIN.minutes)],
        counts={"x": 1, "y": 1},
        floors=1,
        pace=False,
    )
    low, likely, high = (minutes // 2 for minutes in TWIN.minutes)
    half = f'{{ low = {low}, likely = {likely}, high = {high}, shape = "pert" }}'
    text = "".join(f"\n[candidate.{n}]\ntrade.trade_{n}.unit_min = {half}\n" for n in (1, 2))
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
    return path


def write_line(
    folder: Path, *, trades: Sequence[LineTrade], counts: Mapping[str, int], floors: int, pace: bool = True
) -> Path:
    """Trades that follow each other up the floors, day and night; all floors are handed over at once."""
    week = ", ".join(f'{day} = ["00:00-24:00"]' for day in DAYS)
    text = [
        '[tower]\nname = "Line"\nstart = 2027-01-01\nhorizon_days = 400\nlevels = "levels.csv"',
        f"[calendar.always]\nweek = {{ {week} }}",
        "[structure]\nslip_days = 0",
    ]
    text += [f"[resource.{name}]\ncount = {count}" for name, count in counts.items()]
    before = "handover"
    for number, trade in enumerate(trades, start=1):
        text.append(_trade(f"trade_{number}", trade, after=before, pace=pace))
        before = f"trade_{number}"
    (folder / "scenario.toml").write_text("\n\n".join(text) + "\n", encoding="utf-8")
    rows = [f"{n},all,{3 * n},1,2027-01-01,1" for n in range(1, floors + 1)]
    table = "\n".join(["level,zone,height_m,difficulty,handover,floors", *rows]) + "\n"
    (folder / "levels.csv").write_text(table, encoding="utf-8")
    return folder / "scenario.toml"


def _trade(name: str, trade: LineTrade, *, after: str, pace: bool) -> str:
    low, likely, high = trade.minutes
    spread = f'{{ low = {low}, likely = {likely}, high = {high}, shape = "pert" }}'
    needs = ", ".join(f"{resource} = {n}" for resource, n in trade.needs.items())
    own_pace = 'pace = { low = 0.85, likely = 1.0, high = 1.3, shape = "pert" }\n' if pace else ""
    return (
        f'[trade.{name}]\nkind = "gang"\ncolumn = "floors"\n'
        f"unit_min = {likely if low == high else spread}\n{own_pace}"
        f'needs = {{ {needs} }}\ncalendar = "always"\nafter = [{{ on = "{after}" }}]'
    )
