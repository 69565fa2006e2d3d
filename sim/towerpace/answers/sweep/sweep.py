"""A sweep: the scenarios of a study file played one by one, each kept when it is finished, and resumed."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import BrokenExecutor, Executor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from towerpace import __version__
from towerpace.answers.sweep.dictionary import write_dictionary
from towerpace.answers.sweep.executors import Carrier, Here
from towerpace.answers.sweep.plan import Study, Workload
from towerpace.answers.sweep.store import GROUPS, MANIFEST, POINTS, Store, StudyManifest, read_manifest
from towerpace.answers.sweep.tasks import Played, Task, play_point
from towerpace.faults import Fault, InputError
from towerpace.scenario.study import StudyFile, read_study
from towerpace.trials.processes import Processes

if TYPE_CHECKING:
    from pandas import DataFrame

IN_FLIGHT = 64  # points on their way to somebody else's executor, whose workers nobody here can count


@dataclass(frozen=True)
class SweptDetail:
    """A finished study.

    resumed : points that an earlier run had done.
    """

    folder: Path
    manifest: StudyManifest
    resumed: int

    def frame(self) -> DataFrame:
        """All results, tidy: see `load_study`."""
        from towerpace.answers.sweep.read import load_study

        return load_study(self.folder)


class SweepInterrupted(KeyboardInterrupt):
    """Stopped by Ctrl-C; what is done is kept in the folder."""

    def __init__(self, folder: Path, *, done: int, points: int) -> None:
        self.folder, self.done, self.points = folder, done, points
        super().__init__(f"{done} of {points} points are done and kept in {folder}")


def sweep(
    study: StudyFile | str | os.PathLike[str],
    *,
    folder: str | os.PathLike[str] | None = None,
    workers: int = 1,
    executor: Executor | None = None,
    fresh: bool = False,
    strict: bool = False,
    on_checked: Callable[[int], None] = lambda _: None,
    on_plan: Callable[[Workload], None] = lambda _: None,
    on_done: Callable[[int], None] = lambda _: None,
) -> SweptDetail:
    """Play every point of a study into a folder; points that are there already are not played again.

    Parameters
    ----------
    study : StudyFile or path-like
        The study, or its file.
    folder : path-like, optional
        Where results go; by default results/ and the name of the study.
    workers : int
        Processes, or how many workers the executor has; the numbers do not depend on it.
    executor : Executor, optional
        Of `concurrent.futures`, in the place of our own processes: it may be many machines.
    fresh : bool
        Start over in a new folder beside the given one.
    strict : bool
        Refuse what is only unusual at any point, too.
    on_checked, on_plan, on_done : callable
        Told how many points were checked; what is left and how long that takes; how many were finished.

    Raises
    ------
    InputError
        With every fault of every point before the first trial; for a folder of another study or version; and
        for a worker that has another version or sees another scenario.
    SweepInterrupted
        After Ctrl-C; the same call goes on.
    """
    ready_study = Study(study if isinstance(study, StudyFile) else read_study(study))
    manifest = ready_study.manifest()
    place = Path(folder) if folder is not None else default_folder(manifest)
    if fresh:
        place = _free_beside(place)
    store = _store(place, manifest)
    _try_to_write(place)
    ready_study.load_points(strict=strict)
    if executor is not None:
        ready_study.pack()
    with _executor(executor, workers) as (used, window):
        if (place / MANIFEST).is_file():
            _refuse_changed_points(store, ready_study)
            store.make_room()
        else:
            ready_study.check_points(used, window=window, on_checked=on_checked)
            store.begin(ready_study.design, ready_study.hashes)
        write_dictionary(ready_study, place)
        done = store.done()
        left = [number for number in range(1, len(ready_study.design) + 1) if number not in done]
        if left:
            on_plan(ready_study.estimate(left, workers=workers))
        on_done(len(done))
        _play(ready_study, store, left, carrier=Carrier(used, play_point, window=window), on_done=on_done)
    store.combine()
    return SweptDetail(place, store.manifest, len(done))


def _play(
    study: Study,
    store: Store,
    left: list[int],
    *,
    carrier: Carrier[Task, Played],
    on_done: Callable[[int], None],
) -> None:
    def keep(played: Played) -> None:
        digest = study.hashes[played.number - 1]
        store.keep(study.design.point(played.number), played, scenario_hash=digest)
        on_done(1)

    tasks = (study.task(study.design.point(number)) for number in left)
    try:
        for played in carrier.results(tasks):
            keep(played)
    except (KeyboardInterrupt, BrokenExecutor) as stop:
        for played in carrier.leftovers():
            keep(played)
        if isinstance(stop, BrokenExecutor):
            raise
        points = len(study.design)
        raise SweepInterrupted(store.folder, done=len(store.done()), points=points) from None


@contextmanager
def _executor(given: Executor | None, workers: int) -> Iterator[tuple[Executor, int]]:
    """The executor to use, and how many tasks to have in flight: two a worker, so that none waits."""
    if given is not None:
        yield given, max(IN_FLIGHT, 2 * workers)
    elif workers == 1:
        yield Here(), 1
    else:
        pool = Processes(workers)
        try:
            yield pool, 2 * workers
        finally:
            pool.shutdown(cancel_futures=True)


def default_folder(manifest: StudyManifest) -> Path:
    """results/ and the name of the study in plain letters."""
    plain = unicodedata.normalize("NFKD", manifest.name).encode("ascii", "ignore").decode().lower()
    return Path("results") / (re.sub(r"[^a-z0-9]+", "_", plain).strip("_") or "study")


def _free_beside(place: Path) -> Path:
    """The folder itself if there is none yet, else the first free one numbered from 2."""
    number, free = 1, place
    while free.exists():
        number += 1
        free = place.with_name(f"{place.name}-{number}")
    return free


def _store(place: Path, manifest: StudyManifest) -> Store:
    """The store of a folder; raises `InputError` if the folder is not of this study, saying what changed."""
    if not (place / MANIFEST).is_file():
        if place.is_file() or (place.is_dir() and _holds_foreign(place)):
            found = "a file" if place.is_file() else "a folder with other files"
            raise InputError([Fault(str(place), None, "results folder", found, "a new folder, or a study's")])
        return Store(place, manifest)
    then = read_manifest(place)
    if faults := [*_changes(str(place), then, manifest)]:
        raise InputError(faults)
    return Store(place, then)


def _try_to_write(place: Path) -> None:
    """Write into the folder, or make it, before anything is checked or played; raises `InputError`."""
    is_new = not place.exists()
    try:
        place.mkdir(parents=True, exist_ok=True)
        trial = place / f".trial.{os.getpid()}.tmp"
        trial.write_bytes(b"{}")
        trial.unlink()
        if is_new:
            place.rmdir()
    except (OSError, ValueError) as error:  # a name with a null byte is a ValueError
        found = f"a place that cannot be written: {getattr(error, 'strerror', None) or error}"
        fault = Fault(str(place), None, "results folder", found, "a folder that can be made")
        raise InputError([fault]) from None


def _holds_foreign(place: Path) -> bool:
    """Whether there is more than what a study leaves that was stopped before its first point."""
    left = {"points.csv", "columns.csv"}
    others = [e for e in place.iterdir() if e.name not in left and not e.name.endswith(".tmp")]
    return any(entry.name not in GROUPS or not entry.is_dir() or any(entry.iterdir()) for entry in others)


def _changes(place: str, then: StudyManifest, now: StudyManifest) -> Iterator[Fault]:
    if then.version != __version__:
        yield Fault(place, None, "version", f"towerpace {__version__}", f"{then.version}, {_AS_BEGUN}")
    if then.hash == now.hash:
        return
    before = len(list(_differences("", then.study, now.study)))
    yield from (Fault(place, None, *difference) for difference in _differences("", then.study, now.study))
    pairs = ((then.scenario_keys, now.scenario_keys, "scenario: "), (then.files, now.files, "file "))
    for old, new, where in pairs:
        for key, found, allowed in _differences(where, old, new):
            before += 1
            yield Fault(place, None, key, found, allowed)
    if not before:
        yield Fault(place, None, "order of the keys", "another one", _AS_BEGUN)


_AS_BEGUN = "as the study was begun; --fresh starts over in a new folder"


def _differences(
    where: str, then: Mapping[str, str], now: Mapping[str, str]
) -> Iterator[tuple[str, str, str]]:
    for key in dict.fromkeys([*then, *now]):
        if then.get(key) != now.get(key):
            old, new = (_brief(side.get(key)) for side in (then, now))
            yield f"{where}{key}", new, f"{old}, {_AS_BEGUN}"


def _brief(text: str | None) -> str:
    if text is None:
        return "no such key"
    if re.fullmatch(r"[0-9a-f]{64}", text):
        return f"content {text[:12]}"
    return text if len(text) <= 60 else f"{text[:57]}..."


def _refuse_changed_points(store: Store, study: Study) -> None:
    try:
        changed = store.changed_points(study.design, study.hashes)
    except (OSError, ValueError) as error:
        found = "missing file" if isinstance(error, FileNotFoundError) else f"damaged: {error}"
        raise InputError([Fault(str(store.folder / POINTS), None, "points", found, _AS_BEGUN)]) from None
    if changed:
        found = f"another scenario at {len(changed)} points, the first of them {changed[0]}"
        raise InputError([Fault(str(store.folder), None, "points", found, _AS_BEGUN)])
