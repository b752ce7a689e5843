"""The stages of an arc: in along a radial, onto it, round it, and off it onto the inbound course, with leads for the wind."""

from __future__ import annotations

import math

import numpy as np

from analyzer.brief.conditions import Conditions, LegAir
from analyzer.brief.patterns import Pattern
from analyzer.brief.stages import Stage, fly_stages
from analyzer.errors import BriefError
from analyzer.nominal.arc import Arc, heading_on_arc
from analyzer.nominal.fly import Air, Straight, Turn
from analyzer.nominal.solve import solve
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, wrap
from analyzer.procedure.charted import Charted

__all__ = ["arc", "arc_centre", "joins_from"]

_JOINED_BEFORE_RAD = 60.0 * DEG  # before the inbound radial, if no arrival course is given
_ARRIVAL_S = 60.0  # on the radial before the lead
_FARTHEST_LEAD_RAD = 80.0 * DEG
_WHOLE_ROUND_RAD = 330.0 * DEG
_ITERATIONS = 12  # for the heading at the end of the turn onto the arc


def arc_centre(charted: Charted) -> tuple[float, float]:
    """The centre of the arc, north and east of the fix. [m]"""
    if charted.arc_latitude_rad is None or charted.arc_longitude_rad is None:
        raise BriefError("the procedure charts no arc")
    distance, bearing = geodesy.inverse(
        charted.fix_latitude_rad, charted.fix_longitude_rad, charted.arc_latitude_rad, charted.arc_longitude_rad
    )
    return float(distance * np.cos(bearing)), float(distance * np.sin(bearing))


def arc(charted: Charted, conditions: Conditions, _outbound_m: float) -> Pattern:
    """An arc joined from outside, on the arrival course or on a radial 60 degrees before the inbound one.

    Raises
    ------
    BriefError
        The arc is too narrow for the turns or does not meet the inbound course, or no heading holds it in this wind.
    """
    radius, turn = charted.arc_radius_m, charted.turn
    if radius is None or turn is None:
        raise BriefError("the procedure charts no arc")
    air, around, centre = conditions.leg(charted, "outbound"), conditions.leg(charted, "reversal"), arc_centre(charted)
    if radius <= 2.0 * air.radius_m:
        raise BriefError(
            f"an arc of {radius / NM:.1f} NM is too narrow for turns of {air.radius_m / NM:.1f} NM radius; fly slower, or use "
            "--bank"
        )
    course = charted.inbound_true_rad
    meeting = _meets(charted, centre, radius)
    begin = joins_from(charted, conditions, meeting)
    inward = begin + math.pi
    arriving = conditions.leg(charted, "arrival")
    start_heading, speed = arriving.hold_course(inward)
    on_arc, off = _onto(air, centre, radius, begin, turn, start_heading), Air(*_flown_in(around))

    def turn_off(bearing: float) -> tuple[Stage, ...]:
        heading = float(heading_on_arc(bearing, turn, off)[0])
        home = around.hold_course(course)[0]
        direction = 1 if float(wrap(home - heading)) > 0.0 else -1
        return (
            Stage("arc", "outbound", Arc(centre, turn, bearing), air),
            Stage("reversal_turn", "reversal", Turn(home, direction, around.bank_rad), around),
        )

    lead, heading = on_arc
    start = _from_centre(centre, radius + lead + speed * _ARRIVAL_S, begin)
    joining = (
        Stage("arrival", "arrival", Straight(_ARRIVAL_S), arriving, inward),
        Stage("arc_turn", "outbound", Turn(heading, -turn, air.bank_rad), air),
    )

    def across(before: float) -> float:
        stages = (*joining, *turn_off(meeting - turn * before))
        return float(fly_stages(stages, start_heading, start).across_m(course)[-1])

    before = solve(across, 0.0, _FARTHEST_LEAD_RAD)
    flown = (*joining, *turn_off(meeting - turn * (before if before is not None else 0.0)))
    joined = fly_stages(joining, start_heading, start)
    joined_at = math.atan2(float(joined.east_m[-1]) - centre[1], float(joined.north_m[-1]) - centre[0])
    if (turn * (meeting - turn * (before or 0.0) - joined_at)) % math.tau > _WHOLE_ROUND_RAD:
        raise BriefError(
            "--arrival: from that radial the arc is joined beyond where it is left, and leads all the way round; give the "
            "course that it is joined from"
        )
    return Pattern(
        "arc", flown, start_heading, "lead off the arc" if before is not None else None, across(before or 0.0), start
    )


def joins_from(charted: Charted, conditions: Conditions, met_rad: float) -> float:
    """Bearing from the centre on which the arc is reached. [rad]"""
    if conditions.arrival_rad is not None:
        return conditions.arrival_rad + math.pi
    return met_rad - (charted.turn or 1) * _JOINED_BEFORE_RAD


def _flown_in(air: LegAir) -> tuple[float, float, float]:
    north, east = air.wind_north_east_mps
    return air.true_airspeed_mps, north, east


def _from_centre(centre: tuple[float, float], distance: float, bearing: float) -> tuple[float, float]:
    return centre[0] + distance * math.cos(bearing), centre[1] + distance * math.sin(bearing)


def _meets(charted: Charted, centre: tuple[float, float], radius: float) -> float:
    """Bearing from the centre to the point where the arc meets the inbound course, before the fix. [rad]"""
    ahead = math.cos(charted.inbound_true_rad), math.sin(charted.inbound_true_rad)
    along = centre[0] * ahead[0] + centre[1] * ahead[1]  # abeam the centre, from the fix
    aside = centre[1] * ahead[0] - centre[0] * ahead[1]
    if abs(aside) < radius:
        half = math.sqrt(radius**2 - aside**2)
        for metres in (along + half, along - half):  # nearest to the fix first
            if metres < 0.0:
                return math.atan2(metres * ahead[1] - centre[1], metres * ahead[0] - centre[0])
    raise BriefError("the inbound course does not meet the charted arc before the fix; check [arc] and inbound_course_deg")


def _onto(
    air: LegAir, centre: tuple[float, float], radius: float, begin: float, turn: int, heading: float
) -> tuple[float, float]:
    """Distance outside the arc at which the turn onto it begins, and the heading it ends on. [m, rad]"""
    carried = Air(*_flown_in(air))

    def end(lead: float) -> tuple[float, float]:
        """Distance from the centre at the end of the turn, and its heading."""
        to = float(heading_on_arc(begin, turn, carried)[0])
        if not math.isfinite(to):
            air.hold_course(begin + turn * math.pi / 2.0)  # raises the error on the wind
        distance = radius
        for _ in range(_ITERATIONS):
            stage = Stage("arc_turn", "outbound", Turn(to, -turn, air.bank_rad), air)
            path = fly_stages((stage,), heading, _from_centre(centre, radius + lead, begin))
            north, east = float(path.north_m[-1]) - centre[0], float(path.east_m[-1]) - centre[1]
            distance = math.hypot(north, east)
            to = float(heading_on_arc(math.atan2(east, north), turn, carried)[0])
        return distance, to

    lead = solve(lambda metres: end(metres)[0] - radius, 0.0, 0.9 * radius)
    if lead is None:
        raise BriefError(
            f"no turn from outside rolls out on an arc of {radius / NM:.1f} NM; fly slower, use --bank, or ask with less --wind"
        )
    return lead, end(lead)[1]
