"""Coverage of the intervals of a gain that is nothing in most trials, in the mean and at P80.

    python tests/bench/bench_gains.py [--runs N]

The finish without the addition is gamma distributed about 20 days; the addition gains in a share of the
trials only. The truth of the mean is known, that of the P80 comes from four million trials. Runs without
any difference have no interval and are counted apart.
"""

import argparse

import numpy as np

from towerpace.answers.choice.paired import paired_difference, percentile_difference, skewed_difference
from towerpace.units import DAY_MIN

GAINS = {  # share of the trials with a gain, and its size there [d]
    "4.7 d in 2.5 %": (0.025, lambda _, n: np.full(n, 4.7)),
    "about 4.7 d in 2.5 %": (0.025, lambda rng, n: rng.exponential(4.7, n)),
    "about 1 d in 10 %": (0.1, lambda rng, n: rng.exponential(1.0, n)),
    "about 4 d in all": (1.0, lambda rng, n: rng.exponential(4.0, n)),
}
TRIALS = (20, 100, 400)


def finishes(share, size, *, n, rng):
    """Finish with the addition and without. [min]"""
    without = rng.gamma(4, 5, n) * DAY_MIN
    gain = np.where(rng.random(n) < share, size(rng, n), 0.0) * DAY_MIN
    return np.rint(without - gain).astype(np.int64), np.rint(without).astype(np.int64)


def covered(share, size, *, n, runs):
    """Share of runs whose interval holds the truth: mean, Student's t, P80; median lengths; none [d]."""
    rng = np.random.Generator(np.random.PCG64(n))
    many = finishes(share, size, n=4_000_000, rng=rng)
    truth = (np.mean(many[0] - many[1]), np.subtract(*(np.quantile(x, 0.8) for x in many)))
    held, lengths = [], []
    for _ in range(runs):
        own, base = finishes(share, size, n=n, rng=rng)
        if np.array_equal(own, base):
            continue
        mean = skewed_difference(own / 1.0, base / 1.0, rng=rng)
        p80 = percentile_difference(own, base, 0.8, rng=rng)
        told = [(mean, truth[0]), (paired_difference(own / 1.0, base / 1.0), truth[0]), (p80, truth[1])]
        held.append([d.low <= true <= d.high for d, true in told])
        lengths.append([(d.high - d.low) / DAY_MIN for d in (mean, p80)])
    return *np.mean(held, axis=0), *np.median(lengths, axis=0), 1 - len(held) / runs


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=300)
    runs = parser.parse_args().runs
    print(f"{runs} runs a row; standard error of 95 %: {(0.05 * 0.95 / runs) ** 0.5:.1%}")
    print("                               share that covers     median length [d]")
    print("gain                  trials   mean  Student    P80    mean    P80  none differs")
    for name, (share, size) in GAINS.items():
        for n in TRIALS:
            mean, by_t, p80, long, p80_long, none = covered(share, size, n=n, runs=runs)
            told = f"{mean:5.1%}  {by_t:7.1%}  {p80:5.1%}  {long:6.2f} {p80_long:6.2f}  {none:12.1%}"
            print(f"{name:20}  {n:6}  {told}", flush=True)


if __name__ == "__main__":
    main()
