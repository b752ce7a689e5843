"""Trends: Kendall's test by counting all orders, Holm's levels by a worked example, and how many attempts it takes."""

import math
from itertools import combinations, permutations

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy import stats

from analyzer.comparison.trends import attempts_needed, holm, trend_of


def concordance(values) -> int:
    return sum((later > earlier) - (later < earlier) for earlier, later in combinations(values, 2))


@pytest.mark.parametrize(
    "values", [(5.0, 4.0, 3.0, 2.0, 1.0), (1.0, 2.0, 4.0, 3.0, 5.0), (2.0, 1.0, 4.0, 3.0), (1.0, 3.0, 2.0)]
)
def test_the_chance_of_an_order_is_the_share_of_all_orders_as_marked(values):
    """Kendall (1938): of all n! orders, those whose concordance is as far from zero."""
    flown = abs(concordance(values))
    orders = [abs(concordance(order)) >= flown for order in permutations(values)]
    trend = trend_of(values)
    assert trend is not None
    assert trend.p == pytest.approx(sum(orders) / len(orders))


@given(st.lists(st.integers(-50, 50), min_size=3, max_size=60), st.booleans())
@example(list(range(40)), False)
@example([*range(40), 38.5], False)
@settings(deadline=None)
def test_slope_and_chance_are_those_of_scipy(values, apart):
    """With equal values and without, of few and of many."""
    values = [value + k / 1000.0 for k, value in enumerate(values)] if apart else [*map(float, values)]
    assume(len(set(values)) > 1)
    trend = trend_of(values)
    assert trend is not None
    assert trend.p == pytest.approx(stats.kendalltau(range(len(values)), values).pvalue, rel=1e-9, abs=1e-15)
    assert trend.slope == pytest.approx(stats.theilslopes(values).slope, rel=1e-12, abs=1e-15)


def test_the_slope_is_the_median_of_all_pairs():
    """One value far off does not move it (Sen, 1968)."""
    trend = trend_of([10.0, 9.0, 8.0, 70.0, 6.0, 5.0, 4.0])
    assert trend is not None
    assert trend.slope == pytest.approx(-1.0)


@pytest.mark.parametrize("values", [[], [1.0], [1.0, 2.0], [3.0, 3.0, 3.0, 3.0]])
def test_no_trend_of_too_few_or_the_same(values):
    assert trend_of(values) is None


def test_holms_worked_example():
    """Four tests at 0.05, a textbook example (from memory): 0.005 < 0.0125 and 0.01 < 0.0167 hold, 0.03 > 0.025 ends it."""
    assert holm([0.01, 0.04, 0.03, 0.005]) == [True, False, False, True]


def test_one_test_alone_holds_at_the_level_itself():
    assert holm([0.049]) == [True]
    assert holm([0.051]) == [False]
    assert holm([]) == []


@pytest.mark.parametrize(("tests", "needed"), [(1, 5), (3, 5), (4, 6), (16, 6), (18, 6), (19, 7)])
def test_how_many_attempts_it_takes(tests, needed):
    """Of n! orders the two perfect ones must be rarer than the level shared by the tests: 2/120 < 0.05 < 2/24, and so on."""
    assert attempts_needed(tests) == needed
    assert 2 / math.factorial(needed) <= 0.05 / tests < 2 / math.factorial(needed - 1)
