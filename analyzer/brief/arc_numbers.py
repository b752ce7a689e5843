"""Numbers of an arc: leads onto it and off it, in still air by closed forms and in the wind, and headings round it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from analyzer.brief.arc_path import arc_centre
from analyzer.brief.briefed_number import Number, Rule
from analyzer.brief.parts import PlannedPart
from analyzer.brief.plan import Plan
from analyzer.nominal.arc import Arc, heading_on_arc
from analyzer.nominal.fly import Air
from analyzer.physics.units import DEG, KT, NM, bearing_text
from analyzer.vocabulary import PartName

__all__ = ["arc_numbers", "lead_from_inside", "lead_from_outside", "lead_radial"]

_STEP_RAD = 10.0 * DEG
_MOST_ROWS = 12  # headings listed; a longer arc gets wider steps


def lead_from_outside(arc_m: float, radius_m: float) -> float:
    """Distance outside the arc at which the turn onto it begins, flying towards its centre. [m]

    The circle of the turn touches the arc from outside and the radial from the side: (r + x)² + R² = (r + R)².
    """
    return math.sqrt(arc_m**2 + 2.0 * arc_m * radius_m) - arc_m


def lead_from_inside(arc_m: float, radius_m: float) -> float:
    """Distance inside the arc at which the turn onto it begins, flying away from its centre. [m] `arc_m` exceeds two radii."""
    return arc_m - math.sqrt(max(0.0, arc_m**2 - 2.0 * arc_m * radius_m))


def lead_radial(arc_m: float, radius_m: float) -> float:
    """Angle before the inbound radial at which the turn off the arc begins; the circle of the turn is inside the arc. [rad]"""
    return math.asin(min(1.0, radius_m / (arc_m - radius_m))) if arc_m > 2.0 * radius_m else math.pi / 2.0


def arc_numbers(plan: Plan) -> Iterator[Number]:
    """Leads onto and off a charted arc, in still air and in the wind, and the headings at the radials between."""
    charted, air = plan.charted, plan.conditions.leg(plan.charted, "outbound")
    arc, radius = charted.arc_radius_m or 0.0, air.radius_m
    parts = {part.part: part for part in plan.parts}
    half_percent = Rule("0.5% of the speed", 0.005 * air.true_airspeed_mps / KT)
    sixty = Rule("60/arc times the radius", 60.0 / (arc / NM) * radius / NM)
    onto, off = math.hypot(*_begin_of(plan, "arc_turn")), _radial_where(plan, "reversal_turn")
    east = charted.variation.east_rad
    in_wind, still = "solved in the wind, from the arc's centre", "turn tangent to the arc, in still air"
    leads = Rule("arc plus 0.5% of the speed", arc / NM + half_percent.value)
    yield Number("arc", "turn onto it at", onto / NM, "NM", in_wind, leads)
    yield Number("arc", "turn off it at radial", (off - east) / DEG % 360.0, "° mag", in_wind)
    yield Number("arc", "lead onto it from outside", lead_from_outside(arc, radius) / NM, "NM", still, half_percent)
    yield Number("arc", "lead onto it from inside", lead_from_inside(arc, radius) / NM, "NM", still, half_percent)
    yield Number("arc", "lead radials off it", lead_radial(arc, radius) / DEG, "°", "asin(R/(arc - R)), in still air", sixty)
    yield from _round(plan, parts["arc"])


def _begin_of(plan: Plan, name: PartName) -> tuple[float, float]:
    """Start of a part, north and east of the arc's centre. [m]"""
    number = [stage.part for stage in plan.stages].index(name)
    node, centre = plan.path.ends[number - 1], arc_centre(plan.charted)
    return float(plan.path.north_m[node]) - centre[0], float(plan.path.east_m[node]) - centre[1]


def _radial_where(plan: Plan, name: PartName) -> float:
    north, east = _begin_of(plan, name)
    return math.atan2(east, north)


def _round(plan: Plan, part: PlannedPart) -> Iterator[Number]:
    """Headings at every tenth radial from joining the arc to leaving it."""
    arc = next(stage.segment for stage in plan.stages if isinstance(stage.segment, Arc))
    turn, east = arc.direction, plan.charted.variation.east_rad
    begin, end = _radial_where(plan, "arc"), arc.to_bearing_rad
    sweep = (turn * (end - begin)) % math.tau
    step = _STEP_RAD * math.ceil(sweep / _STEP_RAD / _MOST_ROWS)
    first = turn * math.ceil(turn * (begin - east) / step - 1e-9) * step + east  # the next whole radial, magnetic
    air = Air(part.air.true_airspeed_mps, *part.air.wind_north_east_mps)
    for radial in np.arange(0.0, sweep - turn * (first - begin), step) * turn + first:
        heading, speed = (float(value) for value in heading_on_arc(float(radial), turn, air))
        seconds = (plan.charted.arc_radius_m or 0.0) * step / speed
        how = f"the tangent with drift, {speed / KT:.0f} kt over the ground; {seconds:.0f} s to the next {step / DEG:.0f}°"
        yield Number(
            "arc", f"heading at radial {bearing_text(float(radial) - east)}", (heading - east) / DEG % 360.0, "° mag", how
        )
