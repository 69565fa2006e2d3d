"""Workers on many machines: a Dask cluster behind an executor of `concurrent.futures`."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import ExitStack, contextmanager
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from towerpace import __version__
from towerpace.faults import Fault, InputError

LOCAL = "local"
CONNECT_S = 10


@contextmanager
def cluster(address: str, *, workers: int) -> Iterator[tuple[Executor, int]]:
    """An executor of a cluster, and how many tasks it can do at a time.

    address : of a scheduler, as tcp://10.0.0.1:8786, or "local" for one on this machine. workers : processes
    of a local one.

    Raises `InputError` without the library, if nobody answers at the address, or for workers of another
    version: under it the numbers of a seed may be others.
    """
    if find_spec("distributed") is None:
        found, allowed = "asked for without distributed", "pip install 'towerpace[cluster]'"
        raise InputError([Fault(address, None, "cluster", found, allowed)])
    distributed: Any = import_module("distributed")
    with ExitStack() as open_until_done:
        if address == LOCAL:
            # One thread a worker: trials are Python, and threads would only take turns.
            local_cluster = distributed.LocalCluster(
                n_workers=workers, threads_per_worker=1, dashboard_address=":0", silence_logs=50
            )
            client = distributed.Client(open_until_done.enter_context(local_cluster))
        else:
            client = _client(distributed, address)
        open_until_done.enter_context(client)
        slots = sum(client.ncores().values())
        if not slots:
            found = "a scheduler without workers"
            raise InputError([Fault(address, None, "cluster", found, "at least one: dask worker ADDRESS")])
        check_versions(client, address)
        yield client.get_executor(), slots


def check_versions(client: Any, address: str) -> None:
    """Refuse workers that have another version, or none; raises `InputError` with all of them."""
    # Asked without anything of ours, which another version may not have.
    said = client.run(eval, "__import__('towerpace').__version__", on_error="return")
    faults = [
        Fault(address, None, f"worker {worker}", _towerpace(version), f"towerpace {__version__}, as here")
        for worker, version in said.items()
        if version != __version__
    ]
    if faults:
        raise InputError(faults)


def _towerpace(version: str | BaseException) -> str:
    return f"towerpace {version}" if isinstance(version, str) else f"no towerpace: {version}"


def _client(distributed: Any, address: str) -> Any:
    try:
        return distributed.Client(address, timeout=CONNECT_S)
    except (OSError, ValueError) as error:
        found = f"nobody there: {str(error).splitlines()[0]}" if str(error) else "nobody there"
        allowed = "the address of a scheduler as tcp://10.0.0.1:8786, or local"
        raise InputError([Fault(address, None, "cluster", found, allowed)]) from None
