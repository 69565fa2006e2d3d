# %% [markdown]
# # The finish of the demo tower, from Python
#
# The cells below play Gannet Wharf and draw the figure at the head of README, `results/example/finish.png`.
# Open the file as a notebook in any editor that knows `# %%` cells, or run it:
# `python scenarios/from_python.py`. All of it takes some twenty seconds on one core.

# %%
from pathlib import Path

from towerpace import compare, forecast, load

TRIALS = 1000
SEED = 1
ROOT = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "scenarios").is_dir())
OUT = ROOT / "results" / "from_python"
OUT.mkdir(parents=True, exist_ok=True)

# %% [markdown]
# ## A forecast
# Trial k of a seed is the same however many are played, on any number of workers.

# %%
tower = load(ROOT / "scenarios" / "gannet_wharf" / "scenario.toml")
found = forecast(tower, trials=TRIALS, seed=SEED)
found  # noqa: B018  a notebook shows what ends a cell

# %%
finish = found.plot("finish")
finish.savefig(OUT / "finish.png", dpi=150)
finish  # noqa: B018  a notebook shows what ends a cell

# %% [markdown]
# ## Its tables are DataFrames
# Every table and figure of a results folder has its name here: `found.tables`, `found.figures`.

# %%
lost_to_wind = found.frame("ledger").query("cause == 'wind'")
print(lost_to_wind.nlargest(5, "mean_h").to_string(index=False, float_format="{:,.0f}".format))

# %%
closing_in = found.frame("closing_in")[["level", "p50", "p80"]]
print(closing_in.tail(3).to_string(index=False))

# %% [markdown]
# ## What a third hoist, or a third gang with its crane, would gain
# Set-ups meet the same wind and the same slow panels, so a fifth of the trials tells them apart.

# %%
against = compare(tower, ["third_hoist", "third_gang_and_crane"], trials=TRIALS // 5, seed=SEED)
gains = against.frame("differences")[["setup", "diff_days", "diff_days_low", "diff_days_high"]]
print(gains.to_string(index=False, float_format="%.1f"))

# %%
against.plot("paired_differences").savefig(OUT / "paired_differences.png", dpi=150)
