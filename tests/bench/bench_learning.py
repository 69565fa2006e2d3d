"""Coverage of the learned level of a trade on simulated sites.

    python tests/bench/bench_learning.py [--sites N] [--seed S] [--processes N]

Each site has a true level; so many per cent of the intervals of so many per cent must hold it, within three
standard errors. The cases that leave something out show what it is for. Two fronts cannot tell whether fronts
have an effect: there intervals are right over sites as they are believed to be, too wide on those without one
and too narrow on those with one.
"""

from argparse import ArgumentParser, RawDescriptionHelpFormatter
from dataclasses import replace
from functools import partial
from multiprocessing import Pool
from time import process_time

import numpy as np

from support.learning_sites import COVERS, Watch, stated_levels, watched
from towerpace.answers.learn.posterior import learn
from towerpace.answers.learn.priors import Prior

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


def one_site(watch, prior, running, seed, site):
    """Items; whether each interval holds the truth; width of that of 90 %; error of the median; seconds."""
    level, items = watched(watch, np.random.Generator(np.random.PCG64((seed, site))))
    begun = process_time()
    learned = learn(items if running else items.taken(items.exact), prior=prior)
    seconds = process_time() - begun
    u = learned_place(learned, level)
    low, middle, high = learned.quantile(np.array([0.05, 0.5, 0.95]))
    held = [abs(u - 0.5) <= share / 2 for share in COVERS]
    return [learned.exact, *held, high - low, np.log(middle / level), seconds]


def learned_place(learned, level):
    """Probability that the level is below the true one."""
    below = np.concatenate(([0.0], np.cumsum(learned.level.chance)))
    return float(np.interp(np.log(level), learned.level.edges, below / below[-1]))


def off_by(held, sites):
    """How many standard errors the coverage is off, at most."""
    shares = np.array(COVERS)
    return float(np.max(np.abs(held - shares) / np.sqrt(shares * (1 - shares) / sites)))


def main():
    """A row a case, over the processes that are asked for."""
    parser = ArgumentParser(description=__doc__, formatter_class=RawDescriptionHelpFormatter)
    parser.add_argument("--sites", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    print(
        f"{asked.sites} sites a row, seed {asked.seed}; off: standard errors from the stated share, at most;"
    )
    print("ms: processor time of learning a site")
    print(f"{'case':33} items   50 %   80 %   90 %   95 %  90 % width   bias  off   ms")
    with Pool(asked.processes) as pool:
        for name, watch, prior, running, must in CASES:
            told = pool.map(partial(one_site, watch, prior, running, asked.seed), range(asked.sites))
            items, *held, width, bias, seconds = np.mean(told, axis=0)
            off = off_by(np.array(held), asked.sites)
            shares = "".join(f"{100 * share:6.1f} " for share in held)
            wrong = "  NOT AS STATED" if must and off > 3 else ""
            last = f"{width:10.3f}  {100 * bias:+4.1f} % {off:4.1f} {1000 * seconds:4.0f}{wrong}"
            print(f"{name:33} {items:5.0f} {shares} {last}", flush=True)


if __name__ == "__main__":
    main()
