"""Coverage of the interval of expected damages, where they are due in few trials.

Damages are due with a chance and then exponential with the mean 10, so the truth is 10 times the chance.
Samples without any damage have no interval and are counted apart.
"""

import numpy as np
from scipy.stats import t

from towerpace.answers.bid.damages_due import mean_of_rare

MEAN, SAMPLES = 10.0, 1000


def coverage(*, chance, trials, seed):
    """Share of intervals that hold the truth: the one in use and Student's t; and the samples without any."""
    rng = np.random.Generator(np.random.PCG64(seed))
    held, by_t, none = 0, 0, 0
    for _ in range(SAMPLES):
        money = np.where(rng.random(trials) < chance, rng.exponential(MEAN, trials), 0.0)
        half = t.ppf(0.975, trials - 1) * money.std(ddof=1) / trials**0.5
        by_t += abs(money.mean() - chance * MEAN) <= half
        found = mean_of_rare(money)
        none += bool(np.isnan(found.high))
        held += found.low <= chance * MEAN <= found.high
    return held / max(1, SAMPLES - none), by_t / SAMPLES, none / SAMPLES


if __name__ == "__main__":
    print("chance  trials  covers where any due  Student's t, all  none due")
    for chance in (0.005, 0.01, 0.03, 0.1):
        for trials in (100, 1000):
            held, by_t, none = coverage(chance=chance, trials=trials, seed=1)
            print(f"{chance:6.1%}  {trials:6}  {held:20.1%}  {by_t:16.1%}  {none:8.1%}")
