"""For which pools a chain waited, and how long their unit was on its way, on plans worked by hand."""

from towerpace import Plan, Pool, Step
from towerpace.answers.why.chain import chain
from towerpace.answers.why.scarce import Scarce
from towerpace.draws import as_planned
from towerpace.engine.reference import run
from towerpace.plan.parts import Give, Tags


def pools_named(gangs, cranes):
    """Two jobs that need a gang and a crane each, one after the other."""
    needs = {"gang": 1, "crane": 1}
    steps = [Step("a", work=9, needs=needs), Step("b", work=5, needs=needs, rank=1)]
    plan = Plan(steps, pools=[Pool("gang", gangs), Pool("crane", cranes)])
    draw = as_planned(plan)
    diary = run(plan, draw)
    first, second = chain(diary)
    return [plan.pools.names[p] for p in Scarce(plan).pools(draw, diary, giver=first, link=second)]


def test_only_what_was_short_is_named():
    assert pools_named(gangs=2, cranes=1) == ["crane"]
    assert pools_named(gangs=1, cranes=2) == ["gang"]
    assert pools_named(gangs=1, cranes=1) == ["gang", "crane"]


def test_a_link_that_waited_for_a_predecessor_names_no_pool():
    plan = Plan(
        [Step("a", work=9, needs={"gang": 1}), Step("b", work=5, after=["a"], needs={"gang": 1})],
        pools=[Pool("gang", 1)],
    )
    draw = as_planned(plan)
    diary = run(plan, draw)
    first, second = chain(diary)
    assert Scarce(plan).pools(draw, diary, giver=first, link=second) == []


def test_a_gang_kept_over_a_front_counts_from_the_step_that_took_it():
    """Move in 10, panel 20, panel 30 keep one gang: 60 minutes on its way to the next front."""
    north, east = (Tags(trade="panels", level=1, zone=zone) for zone in ("north", "east"))
    steps = [
        Step("north in", work=10, needs={"gang": 1}, keeps=["gang"], tags=north),
        Step("north 1", work=20, after=["north in"], tags=north),
        Step("north 2", work=30, after=["north 1"], gives=[Give("gang", 1, "north in")], tags=north),
        Step("east", work=5, needs={"gang": 1}, rank=1, tags=east),
    ]
    plan = Plan(steps, pools=[Pool("gang", 1)])
    diary = run(plan)
    links = chain(diary)
    assert [plan.names[link.step] for link in links] == ["north in", "north 1", "north 2", "east"]
    assert Scarce(plan).kept(diary, links, 2, 0) == 60


def test_a_chain_that_enters_a_front_half_way_counts_from_there():
    """The second panel waits for its crate until 50: only its own 30 minutes lie on the chain."""
    north, east = (Tags(trade="panels", level=1, zone=zone) for zone in ("north", "east"))
    crate = Tags(trade="hoisting", level=1, zone="north")
    steps = [
        Step("north in", work=10, needs={"gang": 1}, keeps=["gang"], tags=north),
        Step("crate", work=50, tags=crate),
        Step(
            "north 1", work=30, after=["north in", "crate"], gives=[Give("gang", 1, "north in")], tags=north
        ),
        Step("east", work=5, needs={"gang": 1}, rank=1, tags=east),
    ]
    plan = Plan(steps, pools=[Pool("gang", 1)])
    diary = run(plan)
    links = chain(diary)
    assert [plan.names[link.step] for link in links] == ["crate", "north 1", "east"]
    assert Scarce(plan).kept(diary, links, 1, 0) == 30
