"""Coverage of the learned level of a trade on simulated sites.

    python tests/bench/bench_learning.py

Each site has a true level; so many per cent of the intervals of so many per cent must hold it, within three
standard errors. The cases that leave something out show what it is for. Two fronts cannot tell whether fronts
have an effect: there intervals are right over sites as they are believed to be, too wide on those without one
and too narrow on those with one.
"""

from dataclasses import replace
from time import perf_counter

import numpy as np

from support.learning_sites import COVERS, Watch, stated_levels, watched
from towerpace.answers.learn.posterior import learn
from towerpace.answers.learn.priors import Prior

SITES = 200
PRIOR = Prior(stated_levels())
TWO = Watch(gangs=2, until_min=100)
SLOW = Watch(gangs=2, until_min=2700, level=1.7, front_sd=0.15)
FRONTS = Watch(gangs=2, until_min=2700, front_sd=0.15)
NO_EFFECT = replace(PRIOR, front_sd=0.0)
# name, how watched, prior, whether items in progress count, whether it must cover as stated
CASES = (
    ("two gangs", TWO, PRIOR, True, True),
    ("same, longer", replace(TWO, until_min=520), PRIOR, True, False),
    ("same, a month", replace(TWO, until_min=7000), PRIOR, True, True),
    ("same, a year", replace(TWO, until_min=36000), PRIOR, True, True),
    ("6 gangs early", Watch(gangs=6, until_min=50), PRIOR, True, True),
    ("same, finished only", Watch(gangs=6, until_min=50), PRIOR, False, False),
    ("truth 1.7, stated 0.85 to 1.4", SLOW, PRIOR, True, True),
    ("same, no front effect", replace(SLOW, front_sd=0.0), PRIOR, True, False),
    ("same, no tail", SLOW, replace(PRIOR, tail_share=0.0), True, False),
    ("front effect 0.15", FRONTS, PRIOR, True, True),
    ("same, ignored", FRONTS, NO_EFFECT, True, False),
    ("no front effect", replace(FRONTS, front_sd=0.0), PRIOR, True, True),
    ("same, ignored", replace(FRONTS, front_sd=0.0), NO_EFFECT, True, True),
    ("two fronts, effect as believed", replace(FRONTS, front_sd=None, until_min=520), PRIOR, True, True),
    ("same, effect 0.15", replace(FRONTS, until_min=520), PRIOR, True, False),
    ("scatter drawn, front effect 0.15", replace(FRONTS, scatter_sd=0.25), PRIOR, True, True),
)


def coverage(watch, prior, *, running, sites=SITES, seed=1):
    """Items a site; share of sites whose intervals hold the truth; width of 90 % and bias of the median."""
    held, widths, errors, counts = [], [], [], []
    for site in range(sites):
        level, items = watched(watch, np.random.Generator(np.random.PCG64((seed, site))))
        learned = learn(items if running else items.taken(items.exact), prior=prior)
        u = learned_place(learned, level)
        held.append([abs(u - 0.5) <= share / 2 for share in COVERS])
        low, middle, high = learned.quantile(np.array([0.05, 0.5, 0.95]))
        widths.append(high - low)
        errors.append(np.log(middle / level))
        counts.append(learned.exact)
    return np.mean(counts), np.mean(held, axis=0), np.mean(widths), np.mean(errors)


def learned_place(learned, level):
    """Probability that the level is below the true one."""
    below = np.concatenate(([0.0], np.cumsum(learned.level.chance)))
    return float(np.interp(np.log(level), learned.level.edges, below / below[-1]))


def off_by(held, sites=SITES):
    """How many standard errors the coverage is off, at most."""
    shares = np.array(COVERS)
    return float(np.max(np.abs(held - shares) / np.sqrt(shares * (1 - shares) / sites)))


if __name__ == "__main__":
    print(f"{SITES} sites a row; off: standard errors from the stated share, at most; ms: a site, all in all")
    print(f"{'case':33} items   50 %   80 %   90 %   95 %  90 % width   bias  off   ms")
    for name, watch, prior, running, must in CASES:
        begun = perf_counter()
        items, held, width, bias = coverage(watch, prior, running=running)
        ms = 1000 * (perf_counter() - begun) / SITES
        told = "".join(f"{100 * share:6.1f} " for share in held)
        off = off_by(held)
        wrong = "  NOT AS STATED" if must and off > 3 else ""
        row = f"{name:33} {items:5.0f} {told} {width:10.3f}  {100 * bias:+4.1f} % {off:4.1f} {ms:4.0f}{wrong}"
        print(row, flush=True)
