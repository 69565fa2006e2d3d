"""The way in of the command: stopped while all else is still being read, it ends without a traceback."""

from __future__ import annotations

import signal


def main() -> None:
    """Read the command line's modules, which takes half a second, and run it."""
    usual = signal.getsignal(signal.SIGINT)
    if usual is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from towerpace.cli.app import main as run

    signal.signal(signal.SIGINT, usual)
    run()
