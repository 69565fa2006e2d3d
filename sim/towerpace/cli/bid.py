"""towerpace bid: what a stated duration is worth, and what stands behind it."""

from __future__ import annotations

import json
from concurrent.futures import Executor
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Trials, Workers, cores, print_json

if TYPE_CHECKING:
    from towerpace.answers.bid.bid import Bid
    from towerpace.answers.bid.screening import Screened
    from towerpace.scenario.load import Scenario

SCREENING = 2  # methods


def command(
    scenario: ScenarioPath,
    days: Annotated[
        int | None, typer.Option("--days", min=1, help="Working days from the start: what are they worth?")
    ] = None,
    date: Annotated[
        datetime | None,
        typer.Option("--date", formats=["%Y-%m-%d"], help="Last day: what is it worth?"),
    ] = None,
    confidence: Annotated[
        float | None,
        typer.Option("--confidence", min=0.01, max=0.99, help="As 0.8: what duration does it need?"),
    ] = None,
    trials: Trials = 400,
    seed: Seed = 1,
    workers: Workers = None,
    sources: Annotated[
        bool, typer.Option(help="Split the contingency by source; every source is played twice.")
    ] = True,
    second_seed: Annotated[bool, typer.Option(help="Ask a second seed too.")] = True,
    swing_trials: Annotated[
        int,
        typer.Option("--swing-trials", min=0, help="Trials of each number at each end; 0 leaves them out."),
    ] = 40,
    years: Annotated[
        int, typer.Option("--years", min=0, help="Years of weather for the allowance; 0 leaves it out.")
    ] = 200,
    allowance: Annotated[
        bool, typer.Option("--allowance", help="Print the weather allowance month by month.")
    ] = False,
    vary: Annotated[
        list[str] | None,
        typer.Option("--vary", help="KEY=LOW:HIGH for screening; every spread at P10 to P90 by default."),
    ] = None,
    morris: Annotated[
        int, typer.Option("--morris", min=0, help="Trajectories of a Morris screening (SALib).")
    ] = 0,
    sobol: Annotated[
        int, typer.Option("--sobol", min=0, help="Base size of Sobol indices, a power of 2 (SALib).")
    ] = 0,
    point_trials: Annotated[
        int, typer.Option("--point-trials", min=1, help="Trials of each point of a screening.")
    ] = 20,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Results folder: the forecast and bid.json.")
    ] = None,
) -> None:
    """Say what a duration is worth, what each confidence needs, and what drives it."""
    from towerpace.answers.bid.bid import Ears, Extent, bid
    from towerpace.answers.bid.question import Question
    from towerpace.cli.bid_json import as_data
    from towerpace.render.folder import check_folder

    if out is not None:
        check_folder(out)
    loaded = read_scenario(scenario, strict=strict)
    screen = _Screen(loaded, vary or [], morris, sobol, point_trials, seed)
    question = Question(days, None if date is None else date.date(), confidence)
    extent = Extent(trials, seed, swing_trials, years, sources, second_seed)
    err = Console(stderr=True)
    with err.status("", spinner="dots") as status:
        teller = _Teller(status.update)
        ears = Ears(lambda parts: typer.echo(_cost(parts), err=True), teller.say, teller.done)
        found = bid(loaded, question, extent, workers=workers or min(cores(), trials), ears=ears)
        found = screen.added_to(found, workers=workers or cores(), teller=teller)
    data = as_data(found)
    if as_json:
        print_json(data)
    else:
        from towerpace.cli.bid_text import show

        show(data, monthly=allowance)
    if out is not None:
        typer.echo(f"\nForecast and bid: {_save(found, data, out)}", err=as_json)


def _cost(parts: dict[str, int]) -> str:
    words = ", ".join(f"{name} {trials:,}" for name, trials in parts.items())
    return f"{sum(parts.values()):,} trials to play: {words}"


class _Teller:
    """Says on one line what is being played and how many trials are done."""

    def __init__(self, update: Any) -> None:
        self._update, self._what, self._done = update, "", 0

    def say(self, what: str) -> None:
        self._what = what
        self.done(0)

    def done(self, trials: int) -> None:
        self._done += trials
        self._update(f"{self._what} ({self._done:,} trials so far)")


class _Screen:
    """Screening as asked for on the command line; what is wrong with it is said before anything is played."""

    def __init__(
        self, scenario: Scenario, vary: list[str], morris: int, sobol: int, trials: int, seed: int
    ) -> None:
        self._scenario, self._morris, self._sobol = scenario, morris, sobol
        self._trials, self._seed = trials, seed
        self._ranges: dict[str, tuple[float, float]] = {}
        self._whole: tuple[bool, ...] = ()
        if morris or sobol:
            self._check()
            self._choose(vary)

    def _check(self) -> None:
        from importlib.util import find_spec

        from towerpace.faults import Fault, InputError

        faults, file = [], self._scenario.path
        if find_spec("SALib") is None:
            allowed = "pip install 'towerpace[sensitivity]'"
            faults.append(Fault(file, None, "sensitivity", "asked for without SALib", allowed))
        if self._morris == 1:
            faults.append(Fault(file, None, "morris", "1", "2 trajectories or more"))
        if self._sobol and (self._sobol < SCREENING or self._sobol & (self._sobol - 1)):
            faults.append(Fault(file, None, "sobol", str(self._sobol), "a power of 2, as 64"))
        if faults:
            raise InputError(faults)

    def _choose(self, vary: list[str]) -> None:
        from towerpace.answers.bid.screened_scenario import is_whole, parse_ranges
        from towerpace.answers.bid.swings import ranges_of, spreads_of
        from towerpace.scenario.setups import changed

        known = spreads_of(self._scenario.settings)
        if vary:
            self._ranges = parse_ranges(vary, file=self._scenario.path, known=known)
            self._whole = tuple(map(is_whole, vary))
            for end in (0, 1):
                values = {
                    key: round(ends[end]) if whole else ends[end]
                    for (key, ends), whole in zip(self._ranges.items(), self._whole, strict=True)
                }
                changed(self._scenario, "vary", values)
            return
        for one in ranges_of(self._scenario.settings):
            if one.key in known and one.low is not None and one.high is not None:
                self._ranges[one.key] = (one.low, one.high)
        self._whole = (False,) * len(self._ranges)

    def added_to(self, found: Bid, *, workers: int, teller: _Teller) -> Bid:
        """The bid with what the screening found."""
        from towerpace.answers.bid.bid import with_screening
        from towerpace.answers.choice.lab import processes

        if not self._ranges:
            return found
        with processes(workers) as pool:
            for screened in self._play(pool, teller):
                found = with_screening(found, screened, trials=screened.runs * self._trials)
        return found

    def _play(self, pool: Executor | None, teller: _Teller) -> list[Screened]:
        from towerpace.answers.bid.screened_scenario import MeanFinish
        from towerpace.answers.bid.screening import morris, morris_runs, sobol, sobol_runs

        k, made = len(self._ranges), []
        keys = tuple(self._ranges)
        answer = MeanFinish(
            self._scenario, keys, self._whole, self._trials, self._seed, pool, on_done=teller.done
        )
        if self._morris:
            self._announce("Morris", morris_runs(k, trajectories=self._morris), teller)
            made.append(morris(answer, self._ranges, trajectories=self._morris, seed=self._seed))
        if self._sobol:
            self._announce("Sobol", sobol_runs(k, n=self._sobol), teller)
            made.append(sobol(answer, self._ranges, n=self._sobol, seed=self._seed))
        return made

    def _announce(self, method: str, runs: int, teller: _Teller) -> None:
        cost = f"{runs:,} points of {self._trials} trials over {len(self._ranges)} numbers"
        typer.echo(f"{runs * self._trials:,} trials to play: {method}, {cost}", err=True)
        teller.say(f"{method} screening")


def _save(found: Bid, data: dict[str, Any], out: Path) -> Path:
    """The results folder of the forecast, with the bid in it."""
    import sys

    from towerpace.answers.bid.saved import FILE
    from towerpace.render.figures.forecast import write_figures
    from towerpace.render.folder import write_folder
    from towerpace.render.saved.forecast import load_saved
    from towerpace.render.saved.manifest import manifest_of
    from towerpace.render.tables.forecast import tables_of

    manifest = manifest_of(found.forecast, command=" ".join(["towerpace", *sys.argv[1:]]))
    text = json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    return write_folder(
        out,
        tables_of(found.forecast),
        manifest=manifest,
        draw=lambda new: write_figures(load_saved(new), new),
        texts={FILE: text},
    )
