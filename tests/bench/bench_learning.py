"""Coverage of the learned level of a trade on simulated sites.

    python tests/bench/bench_learning.py [--sites N] [--seed S] [--processes N] [--table NAME]

Each site has a true level; so many per cent of the intervals of so many per cent must hold it, within three
standard errors. Three questions, one a table:

as believed: level (also from the tail), scatter, effect of fronts and mistyped items are drawn from what is
    believed before the site shows anything. Then intervals must cover as stated at every number of items.
one truth: fronts have no effect, or one of 0.15. Few fronts cannot tell which, so intervals are too wide on
    the sites without and too narrow on those with one; with many fronts they must cover as stated on both.
    Levels outside the stated range count here too.
left out: what each part of the law is for.
"""

from argparse import ArgumentParser, RawDescriptionHelpFormatter
from dataclasses import replace
from functools import partial
from multiprocessing import Pool
from time import process_time

import numpy as np

from support.learning_sites import COVERS, Watch, stated_levels, watched
from towerpace.answers.learn.learned_said import doubts, overrules
from towerpace.answers.learn.posterior import learn
from towerpace.answers.learn.priors import Prior
from towerpace.answers.learn.site import TradeSeen

PRIOR = Prior(stated_levels())
TWO, SIX = Watch(gangs=2, until_min=100), Watch(gangs=6, until_min=50)
LONG = Watch(gangs=2, until_min=2700)
SLOW = replace(LONG, level=1.7, front_sd=0.15)
FRONTS = replace(LONG, front_sd=0.15)
NO_EFFECT = replace(PRIOR, front_sd=0.0)
WATCHED_MIN = (100, 220, 520, 2700)


def one_truth():
    """Both truths, and two levels outside the stated range, watched for longer and longer."""
    for until_min in WATCHED_MIN:
        must = until_min == WATCHED_MIN[-1] or until_min == WATCHED_MIN[0]
        for name, front_sd in (("no effect of fronts", 0.0), ("effect 0.15", 0.15)):
            yield name, Watch(2, until_min, front_sd=front_sd), PRIOR, True, must
    for until_min in WATCHED_MIN[1:]:
        must = until_min == WATCHED_MIN[-1]
        yield "level 1.7, effect 0.15", replace(SLOW, until_min=until_min), PRIOR, True, must
    yield "level 1.7, no effect", replace(SLOW, front_sd=0.0), PRIOR, True, False
    yield "a month, no effect", replace(TWO, until_min=7000), PRIOR, True, True


# name, how watched, prior, whether items in progress count, whether it must cover as stated
TABLES = {
    "as believed": [
        *(("two gangs", Watch.as_believed(2, until_min), PRIOR, True, True) for until_min in WATCHED_MIN),
        *(("six gangs", Watch.as_believed(6, until_min), PRIOR, True, True) for until_min in (50, 200)),
    ],
    "one truth": list(one_truth()),
    "left out": [
        ("6 gangs early", SIX, PRIOR, True, True),
        ("same, finished only", SIX, PRIOR, False, False),
        ("level 1.7, no tail", SLOW, replace(PRIOR, tail_share=0.0), True, False),
        ("effect 0.15, ignored", FRONTS, NO_EFFECT, True, False),
        ("no effect, ignored", LONG, NO_EFFECT, True, True),
    ],
}


def one_site(watch, prior, running, seed, site):
    """Items; whether each interval holds the truth; width of 90 %; error; told to lie beyond; seconds."""
    level, items = watched(watch, np.random.Generator(np.random.PCG64((seed, site))))
    begun = process_time()
    learned = learn(items if running else items.taken(items.exact), prior=prior)
    seconds = process_time() - begun
    u = learned_place(learned, level)
    low, middle, high = learned.quantile(np.array([0.05, 0.5, 0.95]))
    held = [abs(u - 0.5) <= share / 2 for share in COVERS]
    told = TradeSeen("", prior, learned)
    beyond = doubts(told) or overrules(told)
    return [learned.exact, *held, high - low, np.log(middle / level), beyond, seconds]


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
    parser.add_argument("--table", choices=TABLES, action="append", help="one of the tables; again for more")
    asked = parser.parse_args()
    print(
        f"{asked.sites} sites a row, seed {asked.seed}; off: standard errors from the stated share, at most"
    )
    print("beyond: sites told to lie, or perhaps to lie, beyond the stated range [%]")
    print("ms: processor time of learning a site")
    with Pool(asked.processes) as pool:
        for title in asked.table or TABLES:
            print(f"\n{title:25} items   50 %   80 %   90 %   95 %  90 % width   bias  off beyond   ms")
            for name, watch, prior, running, must in TABLES[title]:
                task = partial(one_site, watch, prior, running, asked.seed)
                print(row(name, pool.map(task, range(asked.sites)), must=must), flush=True)


def row(name, told, *, must):
    """A line of a table. told : what `one_site` gives, site by site. must : whether it must be as stated."""
    items, *held, width, bias, beyond, seconds = np.mean(told, axis=0)
    off = off_by(np.array(held), len(told))
    shares = "".join(f"{100 * share:6.1f} " for share in held)
    wrong = "  NOT AS STATED" if must and off > 3 else ""
    last = f"{width:10.3f}  {100 * bias:+4.1f} % {off:4.1f} {100 * beyond:6.1f} {1000 * seconds:4.0f}{wrong}"
    return f"{name:25} {items:5.0f} {shares} {last}"


if __name__ == "__main__":
    main()
