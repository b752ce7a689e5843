"""Angles wrapped and unwrapped, against the remainder of the standard library and numpy's own unwrapping."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from analyzer.physics.units import unwrapped, wrap, wrap_positive

ANGLES = st.floats(-100.0, 100.0)
EDGES = [turns * math.pi + off for turns in range(-5, 6) for off in (-4e-16, 0.0, 4e-16, -1e-17)]


@given(arrays(np.float64, st.integers(0, 20), elements=ANGLES))
def test_wrapped_angles_point_the_same_way_and_lie_within_half_a_turn(angle):
    for wrapped, low, high in ((wrap(angle), -math.pi, math.pi), (wrap_positive(angle), 0.0, math.tau)):
        assert ((wrapped >= low) & (wrapped < high)).all()
        off = [math.remainder(one, math.tau) for one in wrapped - angle]
        assert off == pytest.approx(np.zeros(len(angle)), abs=1e-13)


@pytest.mark.parametrize("angle", EDGES)
def test_the_ends_of_the_range_are_kept_by_one_number_and_by_many(angle):
    for one in (float(wrap(angle)), float(wrap(np.array([angle]))[0])):
        assert -math.pi <= one < math.pi
    for one in (float(wrap_positive(angle)), float(wrap_positive(np.array([angle]))[0])):
        assert 0.0 <= one < math.tau


def test_an_angle_is_left_as_it_was_given():
    angle = np.array([4.0, -9.0, 1.0])
    wrap(angle), wrap_positive(angle), unwrapped(angle)
    assert angle.tolist() == [4.0, -9.0, 1.0]


@given(arrays(np.float64, st.integers(1, 20), elements=ANGLES))
def test_unwrapped_angles_are_those_of_numpy(angle):
    steps = np.diff(angle)
    away = np.abs(np.abs(np.remainder(steps, math.tau) - math.pi)) > 1e-9  # of half a turn either way is right
    if away.all():
        assert unwrapped(angle) == pytest.approx(np.unwrap(angle), abs=1e-11)


def test_what_is_not_known_does_not_spread():
    unknown = unwrapped(np.array([0.1, np.nan, 6.2, 0.1, 0.2]))
    assert np.isnan(unknown).tolist() == [False, True, False, False, False]
    assert unknown[2:].tolist() == pytest.approx([6.2, math.tau + 0.1, math.tau + 0.2])
