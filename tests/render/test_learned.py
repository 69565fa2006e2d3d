"""Learned against stated, as a table, in sentences and as a figure."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from towerpace.answers.learn.counts import FromCounts
from towerpace.answers.learn.items import Items, Stated
from towerpace.answers.learn.learned_said import LEARNED, learned_sentences, learned_tables
from towerpace.answers.learn.odd_items import odd_items
from towerpace.answers.learn.posterior import learn
from towerpace.answers.learn.priors import Prior
from towerpace.answers.learn.site import SiteSeen, TradeSeen
from towerpace.answers.said.answer import Answer, Run
from towerpace.answers.said.people import shown_columns
from towerpace.render.figures.learned import learned_figure
from towerpace.render.figures.style import look, write_figure
from towerpace.render.frames import Framed
from towerpace.scenario.spreads import Spread

FLAT, CORNER = (Spread.pert(low=20, likely=likely, high=70) for likely in (30, 40))
PRIOR = Prior(Spread.pert(low=0.85, likely=1.0, high=1.4).quantile(np.linspace(0, 1, 2001)))
RUN = Run(
    scenario="Made Tower",
    path="scenario.toml",
    hash="ab" * 32,
    seed=7,
    trials=0,
    asked=0,
    start=date(2027, 3, 1),
    last=date(2028, 3, 1),
    levels=4,
    zones=2,
    version="9.9",
)


def items(level, *, n, corners=1.0, running=3, seed=5):
    """Two kinds of items, half and half, corners so many times longer than stated; the last in progress."""
    rng = np.random.Generator(np.random.PCG64(seed))
    of = np.arange(n) % 2
    minutes = level * np.where(of, CORNER.quantile(rng.random(n)) * corners, FLAT.quantile(rng.random(n)))
    high = minutes.copy()
    if running:
        minutes[-running:], high[-running:] = 5.0, np.inf
    return Items((Stated.of([FLAT]), Stated.of([CORNER])), of, np.ones(n), minutes, high, np.arange(n) // 8)


def trade(name, seen, **more):
    learned = learn(seen, prior=PRIOR)
    return TradeSeen(name, PRIOR, learned, odd=odd_items(seen, learned), **more)


@pytest.fixture(scope="module")
def seen():
    counted = FromCounts(np.linspace(0.95, 1.05, 80))
    trades = [
        trade("brackets", items(1.02, n=60)),
        trade("panels", items(1.9, n=160)),
        trade("corner_boards", items(1.0, n=120, corners=1.5, running=0)),
        TradeSeen("seal", PRIOR, untold=4),
    ]
    return SiteSeen(trades).with_counts({"seal": counted, "panels": counted})


def test_the_table_says_what_was_shown_of_every_trade(seen):
    table = next(learned_tables(seen))
    rows = {row[0]: dict(zip([c.name for c in LEARNED.columns], row, strict=True)) for row in table.rows}
    assert [rows[name]["learned_from"] for name in rows] == ["log", "log", "log", "counts"]
    assert (rows["panels"]["items"], rows["panels"]["running"]) == (157, 3)
    assert (rows["panels"]["remark"], rows["brackets"]["remark"]) == ("overrules the range", None)
    assert rows["panels"]["level_low"] < rows["panels"]["level"] < rows["panels"]["level_high"]
    assert rows["seal"]["level"] == pytest.approx(1.0)
    heads = [column.heading for column, _ in shown_columns(table.columns, table.rows)]
    assert heads[:4] == [" ", "stated, 90 %", "learned", "90 % interval"]


def test_sentences_name_what_overrules_what_is_odd_and_what_nobody_told(seen):
    said = list(learned_sentences(seen))
    assert said[0].startswith("Panels: the site overrules the stated range: 1.")
    odd = [sentence for sentence in said if "times what the pace of the trade says" in sentence]
    assert [sentence.split(":")[0] for sentence in odd] == ["Corner boards"] * len(odd)
    assert odd
    assert said[-2].startswith("Not learned from the log, for weather stops them")
    assert said[-1] == "Learned from the counts of the sheet instead: seal."


def test_few_items_far_from_the_range_are_told_though_they_do_not_overrule_it():
    """1.7 times the stated minutes on two fronts; 160 items of twenty fronts overrule the range."""
    few, plenty, inside = (
        trade("few", items(1.7, n=16)),
        trade("many", items(1.7, n=160)),
        trade("in", items(1.1, n=16)),
    )
    rows = {row[0]: row[-1] for row in next(learned_tables(SiteSeen([few, plenty, inside]))).rows}
    assert rows == {"few": "may lie beyond it", "many": "overrules the range", "in": None}
    said = list(learned_sentences(SiteSeen([few, plenty, inside])))
    assert any(text.startswith("May lie beyond the stated range: few.") for text in said)


def test_kinds_that_are_stated_right_are_seldom_odd():
    """99 % of right kinds lie inside: of 60 at most 4."""
    count = 0
    for seed in range(30):
        fair = items(1.1, n=60, running=0, seed=seed)
        count += len(odd_items(fair, learn(fair, prior=PRIOR)))
    assert count <= 4


def test_the_figure_shows_every_trade_in_words_and_marks(seen, tmp_path):
    tables = list(learned_tables(seen))
    framed = Framed(Answer("update", RUN, "", tables=tables))
    with look():
        figure = learned_figure(framed)
        write_figure(figure, tmp_path / "learned", run=RUN)
    axes = figure.axes[0]
    labels = [label.get_text() for label in axes.get_yticklabels()]
    texts = " ".join(text.get_text() for text in axes.texts)
    assert labels == ["brackets", "panels", "corner boards", "seal"]
    assert "overrules the range" in texts
    assert "3 running" in texts
    assert figure.get_suptitle().replace("\n", " ").startswith("Panels: 1.")
    assert (tmp_path / "learned.png").stat().st_size > 10_000


def test_a_site_that_has_shown_nothing_still_has_its_figure():
    nothing = SiteSeen([TradeSeen("panels", PRIOR), TradeSeen("seal", PRIOR, untold=2)])
    framed = Framed(Answer("update", replace(RUN, seed=1), "", tables=list(learned_tables(nothing))))
    with look():
        figure = learned_figure(framed)
    texts = [text.get_text() for text in figure.axes[0].texts]
    assert texts == ["nothing shown yet", "weather not told"]
