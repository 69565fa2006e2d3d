"""Rates of the demo as its event log shows them: panels a gang-day, trips a car-hour, lining a pair-day.

    python tests/bench/bench_rates.py > results/bench-rates-DATE.txt

What they are held against stands in scenarios/manual/rates.md.
"""

from datetime import date

import pandas as pd

from towerpace import __version__, build, events, load

DEMO = "scenarios/gannet_wharf/scenario.toml"
TRIALS, PAIR_DAY_MIN = 4, 570  # the demo's site hours from Monday to Friday


def families(site, scenario):
    """Family of every panel, by the name of the step that sets it first."""
    counts, order = scenario.levels.counts, scenario.settings.trade["panels"].families
    named = [
        name
        for front in site.tower.fronts
        for name in order
        for _ in range(int(counts[scenario.settings.family[name].column][front.spot]))
    ]
    plan = site.plan
    return {plan.names[step]: named[int(plan.panel[step])] for step in site.tower.panels.tolist()}


def lifts_of(log, family_of):
    """The first lift of every panel with its family, its gang and its day."""
    lifts = log[(log["kind"] == "lift") & (log["trade"] == "panels")].copy()
    lifts["family"], lifts["day"] = lifts["step"].map(family_of), lifts["started"].dt.date
    lifts["gang"] = lifts["units"].str.extract(r"(panel_gang \d)")
    return lifts


def main():
    scenario = load(DEMO)
    site = build(scenario)
    log = events(scenario, trials=TRIALS).frame()
    log["minutes"] = (log["finished"] - log["started"]).dt.total_seconds() / 60
    lifts = lifts_of(log, families(site, scenario))
    print(f"demo {scenario.hash[:12]}, {TRIALS} trials, seed 1, towerpace {__version__}, {date.today()}")
    gang_days = lifts.groupby(["trial", "gang", "day"])
    print(f"panels on a gang-day with any lift: mean {gang_days.size().mean():.1f}")
    kinds = gang_days["family"].agg(["nunique", "first", "size"])
    alone = kinds[kinds["nunique"] == 1].groupby("first")["size"]
    for family, sizes in alone:
        print(f"  {family} alone: mean {sizes.mean():.1f}, nine days in ten up to {sizes.quantile(0.9):.0f}")
    span = lifts.groupby("trial").agg(first=("day", "min"), last=("day", "max"), panels=("step", "size"))
    gangs = scenario.settings.resource["panel_gang"].count
    on_site = [gangs * len(pd.bdate_range(a, b, freq="C", weekmask="Mon Tue Wed Thu Fri Sat"))
               for a, b in zip(span["first"], span["last"], strict=True)]  # fmt: skip
    print(f"panels a gang-day on site: mean {span['panels'].sum() / sum(on_site):.1f}")
    trips = log[log["kind"] == "hoist trip"]
    print(f"hoist trips: {60 / trips['minutes'].mean():.1f} a car-hour, at a share of "
          f"{float(scenario.settings.hoist.share):g} left for panels")  # fmt: skip
    for trade in ("framing", "boards_1", "boards_2"):
        print(f"{trade}: {PAIR_DAY_MIN / minutes_a_m2(scenario, site, trade):.0f} m2 a pair-day")


def minutes_a_m2(scenario, site, trade):
    """Drawn working minutes of a pair for a square metre, over all fronts and trials."""
    column = scenario.settings.trade[trade].column
    steps = site.tower.last[list(scenario.settings.trade).index(trade)]
    minutes = sum(site.draw(trial).work[steps].sum() for trial in range(TRIALS))
    return minutes / (TRIALS * scenario.levels.counts[column].sum())


if __name__ == "__main__":
    main()
