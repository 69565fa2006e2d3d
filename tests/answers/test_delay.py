"""What events cost, worked by hand on two chains of twenty days that meet before ten more, and from files."""

from __future__ import annotations

import numpy as np
import pytest

from support.two_chains import EVENT_HEAD, LOG_HEAD, SHEET_HEAD, day, moment, write_chains, write_rows
from towerpace import InputError, delay, load, update

HELD = [
    ["A", "lining held", 1, "all", day(5), day(14), "trade.lining", "", ""],
    ["B", "glass held", 1, "all", day(8), day(13), "trade.glass", "client", ""],
]


def site(folder, *, lining=(0, 30), glass=(0, 26), seen=29, handover=None, **more):
    """The files of a site: when lining and glass began and ended, to the day up to which it was seen."""
    scenario = load(write_chains(folder, **more))
    spans = {"lining": lining, "glass": glass}
    done = {name: end is not None and end <= seen + 1 for name, (_, end) in spans.items()}
    log = [[name, 1, "all", "", moment(a), moment(b) if done[name] else ""] for name, (a, b) in spans.items()]
    sheet = [[day(seen), "handover", 1, "", "yes"]]
    if handover is not None:
        log.append(["handover", 1, "", "", moment(handover), moment(handover)])
    sheet += [[day(seen), name, 1, "all", "all" if done[name] else ""] for name in spans]
    return scenario, {
        "progress": write_rows(folder / "progress.csv", SHEET_HEAD, sheet),
        "log": write_rows(folder / "log.csv", LOG_HEAD, log),
    }


def cost(folder, rows, *, trials=2, learn=True, **more):
    scenario, files = site(folder, **more)
    events = write_rows(folder / "events.csv", EVENT_HEAD, rows)
    return delay(scenario, events=events, trials=trials, learn=learn, **files)


def test_chains_late_by_ten_and_six_that_meet_cost_four_nothing_and_either_six(tmp_path):
    """Twenty days each, then ten: held for 10 and 6 they end on day 40; without A on 36, without B on 40.

    Without both on 30: A alone 40 - 36 = 4, B alone 40 - 40 = 0, either 40 + 36 - 40 - 30 = 6, together 10.
    Shares over both orders: A (10 + 4) / 2 = 7, B (0 + 6) / 2 = 3.
    """
    answer = cost(tmp_path, HELD)
    assert answer.frame("events")[["event", "cost_days", "share_days"]].values.tolist() == [
        ["A", 4.0, 7.0],
        ["B", 0.0, 3.0],
    ]
    days = answer.frame("together")[["alone_days", "other_alone_days", "either_days", "both_days"]]
    assert days.values.tolist() == [[4.0, 0.0, 6.0, 10.0]]
    assert answer.answer.fact("unexplained_days") == 0
    assert "Without A (lining held) the finish would have been 4.0 days earlier" in answer.answer.said


def test_figures_show_the_days_and_the_moves(tmp_path):
    """A row an event, and a bar from each P50 to the next: start, four parts, where it stands."""
    answer = cost(tmp_path, HELD)
    assert [label.get_text() for label in answer.plot("cost").axes[0].get_yticklabels()] == [
        "A: lining held",
        "B: glass held",
    ]
    moves = answer.plot("moves")
    assert len(moves.axes[0].get_yticks()) == 6
    assert "10 days later" in moves.get_suptitle()


def test_the_parts_of_a_move_add_up_to_it(tmp_path):
    """On day 30 both chains are done, and the P50 stands 10 days later than at the start, all by events."""
    answer = cost(tmp_path, HELD)
    assert answer.frame("periods")["moved_days"].tolist() == [10.0]
    parts = answer.frame("parts")
    assert parts["part"].tolist()[1:3] == ["A: lining held", "B: glass held"]
    assert parts["moved_days"].tolist() == [0.0, 7.0, 3.0, 0.0]


def test_a_move_is_split_among_the_sheets_in_which_its_events_went_on(tmp_path):
    """Seen to the end of day 9 lining has lost 5 of its 10 days, and glass takes 20: A has cost 5.

    From then on lining takes 20 more or 15, and glass is seen to take 26 in all: 30 or 26, which is 4.
    """
    scenario, files = site(tmp_path)
    rows = [[day(9), "lining", 1, "all", ""], [day(9), "handover", 1, "", "yes"]]
    rows += [[day(29), name, 1, "all", "all"] for name in ("lining", "glass")]
    files["progress"] = write_rows(tmp_path / "progress.csv", SHEET_HEAD, rows)
    events = write_rows(tmp_path / "events.csv", EVENT_HEAD, HELD[:1])
    answer = delay(scenario, events=events, trials=2, period="sheet", learn=False, **files)
    parts = answer.frame("parts")
    of_a = parts[parts["part"] == "A: lining held"]["moved_days"].tolist()
    assert of_a == [5.0, 4.0]
    moved = answer.frame("periods")["moved_days"].tolist()
    assert np.allclose(parts.groupby("until")["moved_days"].sum(), moved)


@pytest.mark.parametrize("dated", [True, False])
def test_a_level_six_days_late_costs_six_days(tmp_path, dated):
    """Whether the log dates the handover or the event alone tells of it."""
    late = [["late", "", "", "", day(0), day(6), 'level."1".handover', "", ""]]
    more = {"lining": (6, 26), "glass": (6, 26), "seen": 25, "handover": 6 if dated else None}
    row = cost(tmp_path, late, **more).frame("events").iloc[0]
    assert (row["cost_days"], row["unexplained_days"]) == (6.0, 0.0)


def test_a_level_that_has_not_come_would_have_come_when_it_was_due(tmp_path):
    """Seen to the end of day 9 it comes on day 10 at the soonest: ten days later, and so the finish."""
    scenario = load(write_chains(tmp_path))
    progress = write_rows(tmp_path / "progress.csv", SHEET_HEAD, [[day(9), "handover", 1, "", "no"]])
    late = [["late", "", "", "", day(0), "", 'level."from 1".handover', "", ""]]
    events = write_rows(tmp_path / "events.csv", EVENT_HEAD, late)
    answer = delay(scenario, progress, events, trials=2)
    assert answer.frame("events")["cost_days"].tolist() == [pytest.approx(10, abs=0.1)]


@pytest.mark.parametrize("key", ["resource.carpenters", "resource.carpenters.away"])
def test_a_gang_that_was_out_for_five_days_costs_five_days(tmp_path, key):
    """Lining began when its gang was back; glass had begun, and has five days to spare."""
    out = [["out", "", "", "", day(0), day(4), key, "", ""]]
    row = cost(tmp_path, out, lining=(5, 25), glass=(0, 20), seen=24).frame("events").iloc[0]
    assert (row["what"], row["cost_days"], row["unexplained_days"]) == ("carpenters out", 5.0, 0.0)


def test_with_no_end_an_event_lasts_to_the_data_date(tmp_path):
    """Held from day 5 to the end of day 14, when the site was seen: ten days; nobody knows how long yet."""
    held = [["A", "", 1, "all", day(5), "", "trade.lining", "", ""]]
    answer = cost(tmp_path, held, lining=(0, None), glass=(0, None), seen=14, learn=False)
    assert answer.frame("events")["cost_days"].tolist() == [10.0]


def test_a_replay_begins_with_its_event(tmp_path):
    """Both chains began on day 3, before B: its replay ends as the record does, 6 days later than without."""
    row = cost(tmp_path, HELD[1:], lining=(3, 23), glass=(3, 29), seen=28).frame("events").iloc[0]
    assert (row["cost_days"], row["unexplained_days"]) == (6.0, 0.0)


def test_what_no_event_explains_is_told_and_not_spread(tmp_path):
    """Both chains took 20 days but began on day 3: a replay from day 0 ends on day 30, the record on 33."""
    late = [["out", "", "", "", day(0), day(0), "resource.sweepers", "", ""]]
    answer = cost(tmp_path, late, lining=(3, 23), glass=(3, 23), seen=22)
    assert answer.answer.fact("unexplained_days") == 3.0
    assert answer.frame("events")["cost_days"].tolist() == [0.0]
    hours = answer.frame("not_started").set_index("trade")["hours"].to_dict()
    assert hours == {"lining": 72.0, "glass": 72.0}


def test_the_record_is_the_forecast_of_an_update(tmp_path):
    """With all that was seen pinned the finish is that of `update`, trial by trial."""
    spread = '{ low = 14400, likely = 28800, high = 57600, shape = "pert" }'
    scenario, files = site(tmp_path, lining=(0, None), glass=(0, 26), spread=spread)
    events = write_rows(tmp_path / "events.csv", EVENT_HEAD, HELD[1:])
    answer = delay(scenario, events=events, trials=5, **files)
    recorded = answer.detail.site.as_recorded()["finish"]
    now = update(scenario, **files, trials=5).detail.now.finish / 1440
    assert recorded.tolist() == now.tolist()
    assert len(set(now.tolist())) == 5


def test_a_front_that_was_slow_with_time_to_spare_is_listed_and_both_answers_stand(tmp_path):
    """Glass takes 10 days and took 12, from day 5 on, while lining, held for 10, ended on day 30.

    It had 13 days to spare, and A cost 10: without A glass ends before lining as well, slow or not.
    """
    answer = cost(tmp_path, HELD[:1], glass=(5, 17), glass_days=10, learn=False)
    rows = answer.frame("paced").values.tolist()
    assert rows == [["glass L1 all", 288.0, 240.0, 240.0, 13.0, 10.0]]
    assert answer.frame("paced_days").values.tolist() == [["A", 10.0, 10.0]]


@pytest.mark.parametrize(
    ("row", "more", "found", "allowed"),
    [
        (
            ["A", "", "", "", day(3), day(6), 'level."1".handover', "", ""],
            {"handover": 2},
            day(3),
            "a day before it came",
        ),
        (
            ["A", "", 1, "all", day(27), day(28), "trade.glass", "", ""],
            {},
            day(27),
            "glass L1 all held was to be done",
        ),
    ],
)
def test_an_event_that_changed_nothing_by_the_record_is_a_fault(tmp_path, row, more, found, allowed):
    with pytest.raises(InputError) as refused:
        cost(tmp_path, [row], **more)
    (fault,) = refused.value.faults
    assert (fault.line, fault.key, fault.found) == (2, "from", str(found))
    assert allowed in fault.allowed


def test_a_level_that_the_record_does_not_have_has_not_come(tmp_path):
    scenario = load(write_chains(tmp_path))
    progress = write_rows(tmp_path / "progress.csv", SHEET_HEAD, [[day(9), "handover", 1, "", "no"]])
    late = [["late", "", "", "", day(0), day(5), 'level."1".handover', "", ""]]
    events = write_rows(tmp_path / "events.csv", EVENT_HEAD, late)
    with pytest.raises(InputError, match="but the record has no handover by then"):
        delay(scenario, progress, events, trials=1)


def test_more_units_are_not_out_than_there_are(tmp_path):
    out = [[name, "", "", "", day(0), day(4), "resource.carpenters", "", ""] for name in "AB"]
    with pytest.raises(InputError, match="2 units of carpenters out at once; allowed: at most 1"):
        cost(tmp_path, out, lining=(5, 25), seen=24)


def test_of_more_than_six_events_pairs_are_told_and_nothing_is_shared(tmp_path):
    """Seven events of a day each, one after the other: each costs its day, and no two have any in common."""
    held = [[f"{n}", "", 1, "all", day(n), day(n), "trade.lining", "", ""] for n in range(1, 8)]
    answer = cost(tmp_path, held, lining=(0, 27), glass=(0, 20), seen=26)
    assert answer.frame("events")["cost_days"].tolist() == [1.0] * 7
    assert answer.frame("events")["share_days"].isna().all()
    assert len(answer.frame("together")) == 21
    assert answer.answer.fact("all_days") == 7.0
    assert answer.frame("parts")["moved_days"].tolist() == [0.0, *[1.0] * 7, 0.0]


def test_trials_do_not_depend_on_who_plays_them(tmp_path):
    spread = '{ low = 14400, likely = 28800, high = 57600, shape = "pert" }'
    scenario, files = site(tmp_path, lining=(0, None), spread=spread)
    events = write_rows(tmp_path / "events.csv", EVENT_HEAD, HELD[1:])
    one, two = (delay(scenario, events=events, trials=24, workers=n, **files) for n in (1, 2))
    assert one.frame("trials").equals(two.frame("trials"))
