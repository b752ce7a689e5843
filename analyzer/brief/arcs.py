"""Numbers of an arc: when to turn onto it from a radial, and off it onto the inbound course. Closed forms, in still air."""

from __future__ import annotations

import math

__all__ = ["lead_from_inside", "lead_from_outside", "lead_radial"]


def lead_from_outside(arc_m: float, radius_m: float) -> float:
    """How far outside the arc to begin the turn onto it, flying towards its centre.

    The turn's circle touches the arc from outside and the radial from the side: (r + x)² + R² = (r + R)².
    """
    return math.sqrt(arc_m**2 + 2.0 * arc_m * radius_m) - arc_m


def lead_from_inside(arc_m: float, radius_m: float) -> float:
    """How far inside the arc to begin the turn onto it, flying away from its centre; needs an arc of more than two radii."""
    return arc_m - math.sqrt(max(0.0, arc_m**2 - 2.0 * arc_m * radius_m))


def lead_radial(arc_m: float, radius_m: float) -> float:
    """How many radians before the inbound radial to begin the turn off the arc: its circle lies inside the arc."""
    return math.asin(min(1.0, radius_m / (arc_m - radius_m))) if arc_m > 2.0 * radius_m else math.pi / 2.0
