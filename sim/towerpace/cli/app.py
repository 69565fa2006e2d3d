"""The command `towerpace`: arguments, messages, exit codes (0 done, 2 the input is wrong, 1 our fault)."""

from __future__ import annotations

import errno
import gc
import os
import signal
import sys
import traceback
from concurrent.futures import BrokenExecutor
from types import FrameType
from typing import NoReturn

import typer

from towerpace import __version__
from towerpace.cli import (
    add,
    ahead,
    baseline,
    bid,
    bring,
    check,
    choose,
    compare,
    delay,
    events,
    explain,
    forecast,
    keys,
    know,
    new,
    rates,
    report,
    score,
    sheet,
    sweep,
    update,
    use,
    weather,
)
from towerpace.cli import open as open_page
from towerpace.cli.output import why
from towerpace.cli.terminal import INPUT, INTERRUPTED, OURS
from towerpace.faults import InputError
from towerpace.trials.cluster import SchedulerLostError

# What the place lacks in which the user has us write.
_OF_THE_PLACE = {
    errno.ENOSPC,
    errno.EDQUOT,
    errno.EFBIG,
    errno.EROFS,
    errno.EACCES,
    errno.EPERM,
    errno.ENAMETOOLONG,
    errno.ENOTDIR,
    errno.EIO,
    errno.EMFILE,
    errno.ENFILE,
}

app = typer.Typer(
    name="towerpace",
    help="What is a tower's finish date worth? Simulates the installation of a tower, floor by floor.",
    no_args_is_help=True,
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command("forecast")(forecast.command)
app.command("check")(check.command)
app.command("compare")(compare.command)
app.command("know")(know.command)
app.command("add")(add.command)
app.command("choose")(choose.command)
app.command("explain")(explain.command)
app.command("baseline")(baseline.command)
app.command("use")(use.command)
app.command("events")(events.command)
app.command("sweep")(sweep.command)
app.command("weather")(weather.command)
app.command("bid")(bid.command)
app.command("sheet")(sheet.command)
app.command("update")(update.command)
app.command("ahead")(ahead.command)
app.command("score")(score.command)
app.command("delay")(delay.command)
app.command("rates")(rates.command)
app.command("report")(report.command)
app.command("new")(new.command)
app.command("open")(open_page.command)
app.command("keys")(keys.command)
app.add_typer(bring.app, name="bring")


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"towerpace {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Print the version."
    ),
) -> None:
    pass


# New objects after which Python looks for circles of them: its own 700 or 2,000 make imports a sixth longer.
_LOOKED_THROUGH_AFTER = 50_000


def main() -> None:
    """Run the command line; faults of the input are printed without a traceback."""
    gc.set_threshold(_LOOKED_THROUGH_AFTER)
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _interrupt)
    try:
        app()
    except InputError as error:
        typer.echo(str(error), err=True)
        sys.exit(INPUT)
    except KeyboardInterrupt:
        _say_interrupted()
    except SystemExit as ended:
        # typer ends on Ctrl-C by itself, without a word.
        if not isinstance(getattr(ended.__context__, "__cause__", None), KeyboardInterrupt):
            raise
        _say_interrupted()
    except SchedulerLostError as error:
        typer.echo(f"Stopped, as {error}. Given again, a study goes on where it stopped.", err=True)
        sys.exit(INPUT)
    except (MemoryError, BrokenExecutor) as error:
        typer.echo(
            f"Stopped, as {why(error)}. Fewer --workers need less of it; a study goes on where it stopped.",
            err=True,
        )
        sys.exit(OURS)
    except Exception as error:
        if isinstance(error, OSError) and error.errno in _OF_THE_PLACE:
            typer.echo(f"{error.filename or 'a file'} cannot be written or read: {error.strerror}", err=True)
            sys.exit(INPUT)
        traceback.print_exc()
        typer.echo(
            f"\nThis is a fault of towerpace {__version__}, not of your input. Please report it with the "
            "lines above and the scenario.",
            err=True,
        )
        sys.exit(OURS)


def _say_interrupted() -> NoReturn:
    typer.echo("Interrupted before there was anything to tell; nothing was written.", err=True)
    sys.exit(INTERRUPTED)


def _interrupt(signum: int, frame: FrameType | None) -> None:
    """The first Ctrl-C keeps and shows what is finished; the second ends at once."""
    signal.signal(signal.SIGINT, lambda *_: os._exit(INTERRUPTED))
    signal.default_int_handler(signum, frame)
