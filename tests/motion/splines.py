"""The smoothing spline through samples, from knots and instants."""

from analyzer.motion.likelihood import Design
from analyzer.motion.spline import Knots, SmoothingSpline, fit_design
from analyzer.physics.units import FloatArray


def fit_spline(knots: Knots, time_s: FloatArray, value: FloatArray) -> SmoothingSpline:
    """The spline through samples, shape (n, components), at rising instants; the knots have four or more in each stretch."""
    return fit_design(Design.of(knots, time_s), value)
