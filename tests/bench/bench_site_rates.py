"""How often what `rates` reads from a log holds the truth, on simulated sites.

    python tests/bench/bench_site_rates.py --sites 100 --processes 16

Sites are the demo cut down to four levels and two faces, played to their end. Of each trade level and scatter
are drawn as they are believed to be beforehand; moves of the crane and loading of the hoists are as stated.
So many per cent of the intervals of so many per cent must hold the truth, within three standard errors.
"""

import argparse
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from support import wharf_in_small
from support.logged_site import LoggedSite, believed
from towerpace import __version__, rates
from towerpace.answers.prepare import prepare
from towerpace.scenario import load

COVERS = (0.5, 0.8, 0.9, 0.95)
SEED = 2028


def places(site):
    """Of every interval the probability below the truth; of moves and trips whether 90 % hold it."""
    rng = np.random.default_rng((SEED, site))
    with TemporaryDirectory() as name:
        folder = Path(name)
        ready = prepare(load(wharf_in_small.write(folder / "site")))
        truths = believed(ready, rng)
        files = LoggedSite(ready, seed=SEED, trial=site, truths=truths).write(folder)
        told = rates(ready.scenario, **files)
    levels = [_below(r.learned.level, np.log(truths[r.trade].level)) for r in told.detail.trades]
    scatters = [_below(r.learned.spread, np.log(truths[r.trade].spread)) for r in told.detail.trades]
    held = {t.name: t.site[1] <= t.stated <= t.site[2] for t in told.detail.timed}
    return levels, scatters, held, {t.name: t.level for t in told.detail.timed}


def _below(axis, truth):
    below = np.concatenate(([0.0], np.cumsum(axis.chance)))
    return float(np.interp(truth, axis.edges, below / below[-1]))


def row(name, held, stated):
    """Shares of intervals that hold the truth, and how many standard errors they are off at most."""
    shares = np.array(stated)
    off = np.max(np.abs(held.mean(axis=0) - shares) / np.sqrt(shares * (1 - shares) / len(held)))
    told = "".join(f"{100 * share:7.1f}" for share in held.mean(axis=0))
    return f"{name:34}{len(held):6d}{told}{off:6.1f}{'  NOT AS STATED' if off > 3 else ''}"


def main(sites, processes):
    if processes == 1:
        told = [places(site) for site in range(sites)]
    else:
        with ProcessPoolExecutor(processes) as pool:
            told = list(pool.map(places, range(sites)))
    print(f"rates of {sites} sites, towerpace {__version__}, {date.today()}")
    print(f"{'':34} cases" + "".join(f"{100 * share:5.0f} %" for share in COVERS) + "   off")
    for name, k in (("level of a trade", 0), ("scatter of a trade", 1)):
        below = np.array([u for site in told for u in site[k]])
        print(row(name, np.abs(below[:, None] - 0.5) <= np.array(COVERS) / 2, COVERS))
    for name in dict.fromkeys(name for site in told for name in site[2]):
        held = np.array([[site[2][name]] for site in told if name in site[2]])
        levels = np.array([site[3][name] for site in told if name in site[3]])
        error = levels.std(ddof=1) / len(levels) ** 0.5
        print(f"{row(f'{name}, 90 %', held, (0.9,))}   site over truth {levels.mean():.3f}, se {error:.3f}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sites", type=int, default=100)
    parser.add_argument("--processes", type=int, default=1)
    main(**vars(parser.parse_args()))
