"""Root finding between two bounds, to find what makes a pattern end where it should.

Each value costs a whole flight, and one root is found inside the search for another: by halvings alone 26 flights for a root,
and 676 where they are nested. Three values give the next by inverse quadratic interpolation where they lie smoothly enough for
it; otherwise the interval is halved, which also copes with the small steps of a path that is integrated in pieces.

References
----------
.. [1] T. R. Chandrupatla, A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function without
   using derivatives, Advances in Engineering Software 28 (1997) 145-149.
"""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["solve"]

_SHARE = 2.0**-26  # of the interval, within which the root is located
_MOST = 100  # values; halving alone takes twenty-six


def solve(measure: Callable[[float], float], low: float, high: float) -> float | None:
    """The root of a function between two bounds, to a ten-millionth of the interval; None where it has the same sign at both.

    >>> round(solve(lambda x: x * x - 2.0, 0.0, 2.0), 4)
    1.4142
    """
    at_low, at_high = measure(low), measure(high)
    if at_low * at_high > 0.0:
        return None
    near, at_near, far, at_far = low, at_low, high, at_high  # a bracket: the values have opposite signs
    nearest, at_nearest = (low, at_low) if abs(at_low) <= abs(at_high) else (high, at_high)
    within, share = _SHARE * abs(high - low), 0.5
    for _ in range(_MOST):
        if at_nearest == 0.0 or abs(far - near) <= 2.0 * within:
            break
        tried = near + share * (far - near)
        at_tried = measure(tried)
        if at_tried * at_near > 0.0:
            third, at_third = near, at_near
        else:
            third, at_third, far, at_far = far, at_far, near, at_near
        near, at_near = tried, at_tried
        nearest, at_nearest = (near, at_near) if abs(at_near) <= abs(at_far) else (far, at_far)
        least = min(0.5, within / abs(far - near)) if far != near else 0.5
        share = min(max(_interpolated(near, far, third, at_near, at_far, at_third), least), 1.0 - least)
    return nearest


def _interpolated(near: float, far: float, third: float, at_near: float, at_far: float, at_third: float) -> float:
    """Where the root is expected between two places, as a share of the way from the first; a half where three do not say it."""
    along, fallen = (near - far) / (third - far), (at_near - at_far) / (at_third - at_far)
    if not (fallen**2 < along and (1.0 - fallen) ** 2 < 1.0 - along):
        return 0.5
    return at_near / (at_far - at_near) * at_third / (at_far - at_third) + (third - near) / (far - near) * at_near / (
        at_third - at_near
    ) * at_far / (at_third - at_far)
