"""Faults as text."""

import pickle

from towerpace.faults import Fault, InputError, nearest_word

FAULTS = (
    Fault("b.toml", 60, "resource.hoist.cuont", "an unknown key", "count, order", "count"),
    Fault("b.toml", None, "set hoist.share", "2", "a number"),
    Fault("a.csv", 3, "flat", '"x"', "a number"),
    Fault("b.toml", 41, "limit.lift.kind", "missing", '"gust" or "mean"'),
)


def test_a_report_groups_by_file_in_line_order():
    assert str(InputError(FAULTS)).split("\n") == [
        "b.toml: 3 faults",
        '  line 41  limit.lift.kind: missing; allowed: "gust" or "mean"',
        "  line 60  resource.hoist.cuont: found an unknown key; allowed: count, order; nearest: count",
        "  set hoist.share: found 2; allowed: a number",
        "a.csv: 1 fault",
        '  line 3  flat: found "x"; allowed: a number',
    ]


def test_an_input_error_keeps_its_faults_across_processes():
    error = pickle.loads(pickle.dumps(InputError(FAULTS)))

    assert error.faults == FAULTS


def test_the_nearest_word_ignores_case_and_is_none_when_nothing_is_like_it():
    words = ["wind_above_m_s", "temperature_below_degC"]

    assert nearest_word("wind_above_mph", words) == "wind_above_m_s"
    assert nearest_word("TEMPERATURE_BELOW_DEGC", words) == "temperature_below_degC"
    assert nearest_word("xyz", words) is None
    assert nearest_word("anything", []) is None
