"""Chances of losing panels, counted on a site and drawn in the trials that follow."""

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from support.site_record import MORE, recorded, reporting_site, resolved
from towerpace.answers.learn.chances import Chance
from towerpace.answers.learn.from_record import losses_of, shares_of
from towerpace.answers.learn.learned_said import chance_table, loss_sentences
from towerpace.answers.learn.losses import learned_chances, losses_seen
from towerpace.answers.prepare import prepare
from towerpace.answers.rates.logged import lifts_by_outcome
from towerpace.answers.seen.site_state import as_planned_times, chooser_of, site_state
from towerpace.draws import stream
from towerpace.plan.chance import NOTHING_KNOWN, Known
from towerpace.plan.learned_chances import BROKEN, LATER, UNFIT, LearnedChances, LossKind
from towerpace.plan.site.losses import LossLaw
from towerpace.scenario import load

TRIALS = 300


def law_of(tower):
    (law,) = [law for law in tower.laws if isinstance(law, LossLaw)]
    return law


def lifted(tower, panels):
    done = np.zeros(tower.plan.n, dtype=bool)
    done[tower.panels[:panels]] = True
    return done


def test_losses_are_counted_among_the_panels_that_are_over():
    """10 % stated is Beta(4, 36); 6 of 30 broken make it Beta(10, 60), mean 1 / 7."""
    tower = reporting_site().tower
    broken = tower.panels[[0, 3, 9, 11, 20, 29]].tolist()
    (counted,) = losses_seen(tower, lifted=lifted(tower, 30), unfit=(), broken=broken)
    assert counted.kind == LossKind("panels", "flat", BROKEN)
    assert (counted.lost, counted.exposed, counted.stated) == (6, 30, pytest.approx(0.1))
    assert (counted.chance.events, counted.chance.others) == pytest.approx((10, 60))
    assert list(learned_chances([counted]).of) == [counted.kind]
    row = dict(
        zip([c.name for c in chance_table([counted]).columns], chance_table([counted]).rows[0], strict=True)
    )
    assert (row["family"], row["loss"], row["lost"], row["exposed"]) == ("flat", "broken", 6, 30)
    assert row["chance"] == pytest.approx(1 / 7)
    assert row["chance_low"] < row["chance"] < row["chance_high"]


def test_a_panel_found_bad_when_unpacked_could_not_break_in_handling():
    tower = reporting_site().tower
    rejected = tower.panels[[1, 2]].tolist()
    unfit, broken = losses_seen(tower, lifted=lifted(tower, 10), unfit=rejected, broken=())
    assert (unfit.lost, unfit.exposed) == (2, 10)
    assert (unfit.stated, unfit.chance.mean, learned_chances([unfit])) == (0.0, 0.0, None)
    assert (broken.lost, broken.exposed) == (0, 8)
    assert losses_seen(tower, lifted=lifted(tower, 0), unfit=(), broken=()) == []


def test_trials_lose_panels_at_the_learned_chance_and_as_before_where_nothing_is_known():
    law = law_of(reporting_site().tower)
    kind = LossKind("panels", "flat", BROKEN)
    known = Known(chances=LearnedChances({kind: Chance(40, 60)}))
    drawn = [law.losses(partial(stream, 2, t), known).broken for t in range(TRIALS)]
    usual = [law.losses(partial(stream, 2, t), NOTHING_KNOWN).broken for t in range(TRIALS)]
    nothing = [
        law.losses(partial(stream, 2, t), Known(chances=LearnedChances({}))).broken for t in range(TRIALS)
    ]
    assert np.array_equal(usual, nothing)
    # The sd of a beta law of 100 is 5 % of panels; 300 trials of 72 panels.
    assert np.mean(drawn) == pytest.approx(0.4, abs=4 * 0.057 / TRIALS**0.5)
    spread = np.mean(drawn, axis=1).std()
    assert spread > 1.15 * (0.4 * 0.6 / len(law.items)) ** 0.5
    assert (np.array(drawn) >= np.array(usual)).mean() > 0.999


def test_what_nobody_tells_apart_keeps_its_parts():
    """Rejected 2 %, broken on the way 1 %: together 2.98 %; learned 20 %, they stay 2 to 1."""
    law = law_of(reporting_site().tower)
    stated = {"reject_chance": np.array([0.02]), "transit_break_chance": np.array([0.01])}
    told = LearnedChances({LossKind("panels", "flat", UNFIT): Chance(2e7, 8e7)})
    given = told.given(stated, trade="panels", columns=["flat"], streams=partial(stream, 2, 0))
    parts = [-np.log1p(-given[key][0]) for key in stated]
    assert 1 - np.exp(-sum(parts)) == pytest.approx(0.2, abs=1e-3)
    assert parts[0] / parts[1] == pytest.approx(np.log(0.98) / np.log(0.99))
    assert law.stated.keys() == {"handling_break_chance"}


def test_a_draw_of_the_whole_site_carries_what_was_learned():
    ready = reporting_site(more=MORE)
    known = Known(chances=LearnedChances({LossKind("panels", "flat", BROKEN): Chance(90, 10)}))
    chooser = replace(ready.chooser, known=known)
    remakes = ~ready.tower.plan.planned
    lost, usual = ((~maker.draw(3, 0).skip & remakes).sum() for maker in (chooser, ready.chooser))
    assert lost > 3 * usual
    assert chooser.fingerprint() != ready.chooser.fingerprint()


def test_a_record_tells_losses_and_shares(tmp_path):
    """Five panels set, of which the log calls the third broken; brackets above are three tenths done."""
    log = "panels,1,north,3,2027-03-03T11:00,2027-03-03T11:20,,broken,"
    tower = reporting_site().tower
    past = resolved(tmp_path, "2027-03-05,panels,1,north,5,\n2027-03-05,brackets,2,north,6,", log=log)
    (broken,) = losses_of(past, tower)
    assert (broken.kind.kind, broken.lost, broken.exposed) == (BROKEN, 1, 5)
    shares, index = shares_of(past), tower.plan.index
    assert shares[index["panels L1 north: panel 5"]] == 1.0
    assert shares[index["panels L1 north: panel 6"]] == 0.0
    assert shares[index["brackets L2 north"]] == pytest.approx(0.3)


def test_panels_of_which_nobody_spoke_and_those_that_others_broke_count_right(tmp_path):
    """Nobody reported level 1, which level 2 needs; a panel of its own was set, and broken after that."""
    log = """panels,2,north,1-2,2027-03-08T08:00,2027-03-08T10:00,,set,
             panels,2,north,2,2027-03-10T08:00,2027-03-10T08:10,,broken,knocked by others"""
    past = resolved(tmp_path, "2027-03-12,panels,2,north,4,", log=log)
    first = reporting_site().tower.panels[:9]
    assert (past.ended[first] >= 0).all()
    (broken,) = losses_of(past, reporting_site().tower)
    assert (broken.kind.kind, broken.lost, broken.exposed) == (BROKEN, 0, 4)
    (loss,) = past.outcomes.losses
    assert loss.after_set


SET_ALL = """panels,1,north,1-9,2027-03-04T08:00,2027-03-05T15:00,,set,
             panels,1,east,1-9,2027-03-04T08:00,2027-03-05T15:00,,set,"""
KNOCKED = "panels,1,east,4,2027-03-15T08:00,2027-03-15T08:10,,broken,knocked by others"


def state_of(folder, *, seen, log=None, holes=0):
    """Both fronts of level 1 set on 5 March; a later break, chance 5 %, is found on the tenth day."""
    later = {"family.flat.later_break_chance": 0.05, "family.flat.later_found_days": 10}
    ready = prepare(load(reporting_site().scenario.path, later))
    sheet = "".join(
        f"{day},panels,1,{zone},9,\n" for day in ("2027-03-05", seen) for zone in ("north", "east")
    )
    sheet += f"{seen},holes,1,east,{holes},\n"
    record = recorded(folder, sheet, log=log, ready=ready)
    return site_state(ready, record, planned=as_planned_times(ready))


def later_of(state):
    return [loss for loss in state.losses if loss.kind.kind == LATER]


def test_panels_that_a_log_calls_broken_after_they_were_set_teach_the_chance_of_it(tmp_path):
    """5 % is Beta(4, 76); one of the level's 18 makes it Beta(5, 93), and it is no breakage in handling."""
    state = state_of(tmp_path, seen="2027-03-26", log=f"{SET_ALL}\n{KNOCKED}", holes=1)
    (loss,) = later_of(state)
    assert (loss.kind, loss.lost, loss.exposed) == (LossKind("panels", "flat", LATER), 1, 18)
    assert (loss.chance.events, loss.chance.others) == pytest.approx((5, 93))
    handling = next(other for other in state.losses if other.kind.kind == BROKEN)
    assert (handling.lost, handling.exposed) == (0, 18)
    known = chooser_of(state, weather=None, learned=state).known
    given = known.chances.given(
        law_of(state.ready.tower).stated, trade="panels", columns=["flat"], streams=partial(stream, 2, 0)
    )
    assert given["later_break_chance"][0] != 0.05
    lifts = lifts_by_outcome(state.record.log, state.ready.tower)
    assert not lifts["broken"]


def test_panels_count_for_a_later_break_only_when_it_would_have_been_found(tmp_path):
    """The level is closed for 20 days, of which a break takes 10 to be found; then for 6."""
    old, young = (state_of(tmp_path, seen=f"2027-03-{day}", log=SET_ALL) for day in (26, 11))
    assert [(loss.lost, loss.exposed) for loss in later_of(old)] == [(0, 18)]
    assert later_of(young) == []


def test_a_sheet_does_not_tell_who_broke_a_panel_and_the_table_says_so(tmp_path):
    """Nor does a log of a front of which the sheet has a hole among the panels that no row names."""
    some = "panels,1,east,1-5,2027-03-04T08:00,2027-03-05T10:00,,set,"
    for log in (None, some):
        (loss,) = later_of(state_of(tmp_path, seen="2027-03-26", log=log, holes=1))
        row = chance_table([loss]).rows[0]
        assert row[3:] == (0.05, None, None, None, None, None, "not told")
        assert learned_chances([loss]) is None
        assert "not who broke them" in " ".join(loss_sentences([loss]))


def test_how_a_panel_was_lost_is_called_a_guess_where_only_the_sheet_tells_of_it(tmp_path):
    named = "panels,1,east,9,2027-03-05T14:00,2027-03-05T14:30,,broken,edge"
    for log, remark in ((None, "guessed"), (named, "")):
        state = state_of(tmp_path, seen="2027-03-26", log=log, holes=1)
        handling = next(loss for loss in state.losses if loss.kind.kind == BROKEN)
        assert (handling.lost, handling.remark) == (1, remark)
        assert ("unfit or broken" in " ".join(loss_sentences(state.losses))) == bool(remark)


def test_a_hole_where_the_log_calls_all_panels_set_was_broken_by_others(tmp_path):
    (loss,) = later_of(state_of(tmp_path, seen="2027-03-26", log=SET_ALL, holes=1))
    assert (loss.lost, loss.exposed) == (1, 18)
