"""The command `towerpace`: arguments, messages, exit codes (0 done, 2 the input is wrong, 1 our fault)."""

from __future__ import annotations

import sys
import traceback

import typer

from towerpace import __version__
from towerpace.cli import (
    add,
    bid,
    bring,
    check,
    compare,
    explain,
    forecast,
    keys,
    new,
    report,
    sweep,
    weather,
)
from towerpace.faults import InputError

OURS = 1
INPUT = 2
INTERRUPTED = 130

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
app.command("add")(add.command)
app.command("explain")(explain.command)
app.command("sweep")(sweep.command)
app.command("weather")(weather.command)
app.command("bid")(bid.command)
app.command("report")(report.command)
app.command("new")(new.command)
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


def main() -> None:
    """Run the command line; faults of the input are printed without a traceback."""
    try:
        app()
    except InputError as error:
        typer.echo(str(error), err=True)
        sys.exit(INPUT)
    except KeyboardInterrupt:
        typer.echo("Interrupted before the first trial was finished; nothing was written.", err=True)
        sys.exit(INTERRUPTED)
    except Exception:
        traceback.print_exc()
        typer.echo(
            f"\nThis is a fault of towerpace {__version__}, not of your input. Please report it with the "
            "lines above and the scenario.",
            err=True,
        )
        sys.exit(OURS)
