"""Median and quantiles against those of numpy, which follow Hyndman and Fan (1996), definition 7."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.physics.quantiles import median, quantile, sum_of_smallest

values = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40)


@given(values, st.floats(0.0, 1.0))
def test_quantiles_agree_with_numpy(numbers, share):
    assert quantile(np.array(numbers), share) == pytest.approx(np.quantile(numbers, share), rel=1e-12, abs=1e-9)


@given(values)
def test_half_of_the_values_lie_below_the_median(numbers):
    assert median(np.array(numbers)) == pytest.approx(np.median(numbers), rel=1e-12, abs=1e-9)


def test_a_nan_makes_the_quantile_nan():
    assert math.isnan(median(np.array([1.0, math.nan, 2.0])))


@pytest.mark.parametrize("digits", [0, 1, 12])
@pytest.mark.parametrize("share", [0.01, 0.5, 0.8, 0.999])
def test_the_sum_of_the_smallest_of_many_is_that_of_the_sorted(digits, share):
    """Also where many are equal, so that the sample says nothing exact."""
    values = np.round(np.random.default_rng(5).normal(0.0, 1.0, 100_000) ** 2, digits)
    count = int(share * len(values))
    assert sum_of_smallest(values.copy(), count) == pytest.approx(float(np.sort(values)[:count].sum()), rel=1e-12)
