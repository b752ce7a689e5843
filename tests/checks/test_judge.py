"""The verdict on a margin: too close to call within two standard deviations, and never inside on missing data."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.checks.finding import judge

margins = st.floats(-1e6, 1e6, allow_nan=False)
errors = st.floats(0.0, 1e3)
CALLED = ("inside", "outside")


@given(margins, errors)
def test_a_verdict_agrees_with_the_sign_and_exceeds_the_error(margin, sd):
    verdict, reason = judge(margin, sd)
    assert reason is None
    if verdict == "inside":
        assert margin >= 2.0 * sd
    elif verdict == "outside":
        assert margin < 0.0
        assert -margin >= 2.0 * sd
    else:
        assert verdict == "too close to call"
        assert abs(margin) < 2.0 * sd


@given(margins, st.floats(0.001, 1e3))
def test_negating_the_margin_swaps_inside_and_outside(margin, sd):
    mirror = {"inside": "outside", "outside": "inside", "too close to call": "too close to call"}
    assert mirror[judge(margin, sd)[0]] == judge(-margin, sd)[0]


@given(margins, st.floats(0.0, 1e3), st.floats(0.0, 1e3))
def test_a_greater_error_never_decides_what_a_smaller_one_did_not(margin, sd, more):
    if judge(margin, sd)[0] == "too close to call":
        assert judge(margin, sd + more)[0] == "too close to call"


@given(margins, errors)
def test_incomplete_data_only_affect_inside(margin, sd):
    without, with_gap = judge(margin, sd)[0], judge(margin, sd, "the log has a gap")
    expected = ("not assessed", "the log has a gap") if without == "inside" else (without, None)
    assert with_gap == expected


@pytest.mark.parametrize("margin", [math.nan, math.inf, -math.inf])
def test_a_margin_that_is_not_finite_is_not_assessed(margin):
    verdict, reason = judge(margin, 1.0)
    assert verdict == "not assessed"
    assert reason


def test_exactly_at_the_limit():
    assert judge(0.0, 0.1)[0] == "too close to call"
    assert judge(0.0, 0.0)[0] == "inside"  # a limit may be reached
    assert judge(2.0, 1.0)[0] == "inside"
    assert judge(-2.0, 1.0)[0] == "outside"
