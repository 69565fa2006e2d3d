"""towerpace open: a page to work at, on the user's own machine."""

from __future__ import annotations

import webbrowser
from typing import Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.terminal import ScenarioPath, Seed
from towerpace.face.defaults import SEED


def command(
    scenario: ScenarioPath,
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Port on this machine; 0 takes a free one.")
    ] = 0,
    seed: Seed = SEED,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only print the address.")] = False,
    strict: Strict = False,
) -> None:
    """Open a page to work at: change a count, a limit or a date and see the tower move. Ctrl-C ends it."""
    read_scenario(scenario, strict=strict)
    _check_installed()
    from towerpace.workbench.desk import Desk
    from towerpace.workbench.run import serve

    def say(address: str) -> None:
        typer.echo(f"{address}\nThe page is open to this machine alone. Ctrl-C ends it.")
        if not no_browser:
            webbrowser.open(address)

    serve(Desk(str(scenario), seed=seed), port=port, on_open=say)


def _check_installed() -> None:
    """Raise `InputError` where the extra is missing."""
    from importlib.util import find_spec

    from towerpace.faults import Fault, InputError

    if missing := [name for name in ("starlette", "uvicorn") if find_spec(name) is None]:
        allowed = "the extra workbench: pip install 'towerpace[workbench]'"
        raise InputError([Fault("open", None, "installed", f"missing {', '.join(missing)}", allowed)])
