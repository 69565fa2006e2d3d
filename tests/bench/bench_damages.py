"""Coverage of the interval of expected damages, where they are due in few trials.

    python tests/bench/bench_damages.py

Damages are due with a chance, then scattered by a law with the mean 10: the truth is 10 times the chance.
Samples without any damage have no interval and are counted apart.
"""

import numpy as np
from scipy.stats import t

from towerpace.answers.rare import mean_of_rare

MEAN, SAMPLES = 10.0, 1000
LAWS = {
    "exponential": lambda rng, n: rng.exponential(MEAN, n),
    "all equal": lambda _, n: np.full(n, MEAN),
    "uniform": lambda rng, n: rng.uniform(0, 2 * MEAN, n),
    "lognormal, sd 1.3 means": lambda rng, n: rng.lognormal(np.log(MEAN) - 0.5, 1.0, n),
}


def coverage(law, *, chance, trials, seed):
    """Share of intervals that hold the truth, and that of Student's t; their length; samples without any."""
    rng = np.random.Generator(np.random.PCG64(seed))
    held, by_t, lengths = 0, 0, []
    for _ in range(SAMPLES):
        money = np.where(rng.random(trials) < chance, law(rng, trials), 0.0)
        half = t.ppf(0.975, trials - 1) * money.std(ddof=1) / trials**0.5
        by_t += abs(money.mean() - chance * MEAN) <= half
        told = mean_of_rare(money)
        if not np.isnan(told.high):
            held += told.low <= chance * MEAN <= told.high
            lengths.append((told.high - told.low) / (chance * MEAN))
    return held / len(lengths), by_t / SAMPLES, np.median(lengths), 1 - len(lengths) / SAMPLES


if __name__ == "__main__":
    print("Length: the median over the truth.")
    for name, law in LAWS.items():
        print(f"\n{name}")
        print("chance  trials  covers where any due  Student's t, all  length  none due")
        for chance in (0.005, 0.01, 0.03, 0.1):
            for trials in (100, 400, 1000):
                held, by_t, length, none = coverage(law, chance=chance, trials=trials, seed=1)
                told = f"{held:20.1%}  {by_t:16.1%}  {length:6.1f}  {none:8.1%}"
                print(f"{chance:6.1%}  {trials:6}  {told}", flush=True)
