"""Workers on many machines: a Dask cluster behind an executor of `concurrent.futures`."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import ExitStack, contextmanager
from importlib import import_module
from importlib.util import find_spec
from typing import Any, ParamSpec, TypeVar

from towerpace import __version__
from towerpace.faults import Fault, InputError

P = ParamSpec("P")
R = TypeVar("R")
LOCAL = "local"
CONNECT_S = 10


class SchedulerLostError(BrokenExecutor):
    """The scheduler of a cluster no longer answers."""

    def __init__(self) -> None:
        super().__init__("the scheduler of the cluster no longer answers")


class Cluster(Executor):
    """The workers of a Dask client.

    slots : tasks they do at a time. is_lost : whether the scheduler no longer answers; then `submit` and
    `laid_out` raise `SchedulerLostError`.
    """

    def __init__(self, client: Any) -> None:
        self._client, self._inner = client, client.get_executor()
        self.slots = sum(client.ncores().values())
        self.is_lost = False

    def laid_out(self, data: bytes) -> bytes:
        """Data that is sent once, as it is put into tasks; workers hand it to each other."""
        # As the result of a task it comes again where all are lost that had it; what is scattered does not.
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", "Sending large graph")
            there: bytes = self._asked(lambda: self._client.submit(_same, data, pure=False))
        return there  # Dask gives tasks what this stands for

    def submit(self, fn: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> Future[R]:
        """As any executor."""
        future: Future[R] = self._asked(lambda: self._inner.submit(fn, *args, **kwargs))
        return future

    def _asked(self, ask: Callable[[], Any]) -> Any:
        try:
            return ask()
        except Exception:
            # The client tries for some time to find its scheduler again, then closes and takes nothing more.
            if self._client.status == "running":
                raise
            self.is_lost = True
            raise SchedulerLostError from None

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take nothing more; what is cancelled is not waited for, for nobody can stop it on its worker."""
        self._inner.shutdown(wait=wait and not cancel_futures)


def _same(data: bytes) -> bytes:
    return data


@contextmanager
def cluster(address: str, *, workers: int) -> Iterator[Cluster]:
    """The workers of a scheduler.

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
        joined = Cluster(client)
        if not joined.slots:
            found = "a scheduler without workers"
            raise InputError([Fault(address, None, "cluster", found, "at least one: dask worker ADDRESS")])
        check_versions(client, address)
        yield joined


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
