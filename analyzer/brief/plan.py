"""The plan: every part of the approach as it is to be flown, the whole path, and how far it reaches."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from analyzer.brief.arc_path import arc
from analyzer.brief.conditions import LEAST_OUTBOUND_M, Conditions, LegAir
from analyzer.brief.holds import hold, leg_seconds
from analyzer.brief.joining import begin
from analyzer.brief.patterns import SHAPES_OF_KIND, Pattern, base_turn, eighty, forty_five
from analyzer.brief.stages import Stage, fly_stages
from analyzer.errors import BriefError
from analyzer.nominal.fly import Path, Straight, Turn
from analyzer.nominal.solve import solve
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, FloatArray
from analyzer.procedure.charted import Charted

__all__ = ["Plan", "PlannedPart", "limit_centre", "make_plan", "over_threshold"]

_USUAL_OUTBOUND_M = 4.5 * NM  # before a 45-degree turn; common practice, no source
_CROSSING_M = 50.0 * FT
_LEAST_INBOUND_M = 0.3 * NM
# Angles that the inbound course is met at where the turn does not come out on it, the first that can be.
_CUTS_RAD = (30.0 * DEG, 45.0 * DEG, 20.0 * DEG, 10.0 * DEG, 5.0 * DEG, 2.0 * DEG)
_LONGER = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0)  # times the leg of a hold's entry, until the course is met before the fix
_ON_COURSE_M = 0.02 * NM
_MAKERS: Mapping[str, Callable[[Charted, Conditions, float], Pattern]] = {
    "45/180": forty_five,
    "80/260": eighty,
    "base-turn": base_turn,
    "hold": hold,
    "arc": arc,
}


@dataclass(frozen=True)
class PlannedPart:
    """A part as planned. Angles true; `bank_rad` and `turn`, +1 right, None in a straight part."""

    part: str
    leg: str
    heading_rad: float
    course_rad: float | None
    air: LegAir
    ground_speed_mps: float
    seconds: float
    length_m: float
    bank_rad: float | None
    turn: int | None
    altitude_start_m: float
    altitude_end_m: float
    end_distance_m: float
    end_slant_m: float

    @property
    def descent_mps(self) -> float:
        """Rate of descent over the part, which makes the leg's altitude."""
        return (self.altitude_start_m - self.altitude_end_m) / self.seconds if self.seconds > 0.0 else 0.0


@dataclass(frozen=True, eq=False)
class Plan:
    """An approach as planned: its shape, parts, path and altitudes at the path's nodes.

    `pattern` is the reversal up to the end of the reversing turn. `farthest_m` is measured from the point that the limit is.
    `longest_outbound_m` is the longest outbound leg that keeps the margin asked for, None where none does or nothing limits it.
    `lead_m` is how far before the fix the turn onto the outbound course begins, None where none is led.
    """

    charted: Charted
    conditions: Conditions
    pattern: Pattern
    stages: tuple[Stage, ...]
    parts: tuple[PlannedPart, ...]
    path: Path
    altitude_m: FloatArray
    farthest_m: float
    longest_outbound_m: float | None
    lead_m: float | None


def make_plan(charted: Charted, conditions: Conditions) -> Plan:
    """The plan of a procedure.

    Raises
    ------
    BriefError
        What was asked cannot be flown; the message gives the nearest that can.
    """
    shape = _shape(charted, conditions)
    maker = _MAKERS[shape]
    longest = _longest(charted, conditions, maker) if shape in ("45/180", "80/260") else None
    outbound = _outbound(charted, conditions, maker, longest)
    pattern, stages = _flown(charted, conditions, maker, outbound)
    begun = begin(charted, conditions, pattern, stages)
    stages, path = begun.stages, fly_stages(begun.stages, begun.heading_rad, begun.start_m)
    altitude = _altitudes(charted, stages, path)
    return Plan(
        charted=charted,
        conditions=conditions,
        pattern=pattern,
        stages=stages,
        parts=_parts(charted, stages, path, altitude),
        path=path,
        altitude_m=altitude,
        farthest_m=_farthest(charted, pattern),
        longest_outbound_m=longest,
        lead_m=begun.lead_m,
    )


def _flown(
    charted: Charted, conditions: Conditions, maker: Callable[[Charted, Conditions, float], Pattern], outbound_m: float
) -> tuple[Pattern, tuple[Stage, ...]]:
    """The pattern and all its stages; the entry of a hold with its outbound leg made longer where the course needs that."""
    if maker is not hold or conditions.outbound_s is not None:
        pattern = maker(charted, conditions, outbound_m)
        return pattern, _to_the_fix(charted, conditions, pattern)
    leg = leg_seconds(charted, conditions.leg(charted, "outbound"))
    refusal = BriefError("")
    for times in _LONGER:
        pattern = hold(charted, replace(conditions, outbound_s=times * leg), outbound_m)
        try:
            return pattern, _to_the_fix(charted, conditions, pattern)
        except BriefError as error:
            refusal = error
    raise refusal


def _shape(charted: Charted, conditions: Conditions) -> str:
    shapes = SHAPES_OF_KIND[charted.kind]
    if not shapes:
        raise BriefError("the procedure charts no reversal: there is nothing to brief")
    if conditions.shape is None:
        return shapes[0]
    if conditions.shape not in shapes:
        choice = f"leaves the choice of {' or '.join(shapes)}" if len(shapes) > 1 else f"leaves no choice: {shapes[0]}"
        raise BriefError(f"--shape {conditions.shape}: this chart {choice}")
    return conditions.shape


def limit_centre(charted: Charted) -> tuple[float, float]:
    """The point that the limit is measured from, metres north and east of the fix."""
    distance, bearing = geodesy.inverse(
        charted.fix_latitude_rad, charted.fix_longitude_rad, charted.limit_latitude_rad, charted.limit_longitude_rad
    )
    return float(distance * np.cos(bearing)), float(distance * np.sin(bearing))


def _farthest(charted: Charted, pattern: Pattern) -> float:
    return float(pattern.fly().distance_m(*limit_centre(charted)).max())


def _longest(charted: Charted, conditions: Conditions, maker: Callable[[Charted, Conditions, float], Pattern]) -> float | None:
    """The longest outbound leg that keeps the margin to the limit. [m]"""
    if charted.limit_m is None:
        return None
    free, wanted = replace(conditions, outbound_m=None, outbound_s=None), charted.limit_m - conditions.keep_m
    return solve(lambda metres: _farthest(charted, maker(charted, free, metres)) - wanted, 100.0, charted.limit_m)


def _outbound(
    charted: Charted,
    conditions: Conditions,
    maker: Callable[[Charted, Conditions, float], Pattern],
    longest: float | None,
) -> float:
    """The length of the outbound leg: as asked, or the usual one, or the longest that keeps the margin."""
    limit = charted.limit_m
    asked = conditions.outbound_m is not None or conditions.outbound_s is not None
    if asked and limit is not None:
        reached = _farthest(charted, maker(charted, conditions, 0.0))
        if reached > limit:
            nearest = ""
            if longest is not None and longest >= LEAST_OUTBOUND_M:
                nearest = f"; --outbound {longest / NM:.1f} keeps {conditions.keep_m / NM:.1f} NM inside"
            raise BriefError(
                f"with this outbound leg the reversal reaches {reached / NM:.1f} NM, beyond the limit of {limit / NM:g} NM"
                f"{nearest}"
            )
    if not asked and limit is not None and longest is None and maker in (forty_five, eighty):
        raise BriefError(
            f"no outbound leg keeps {conditions.keep_m / NM:.1f} NM inside the limit of {limit / NM:g} NM at this speed and "
            "bank; fly slower, or ask for less with --keep"
        )
    return min(_USUAL_OUTBOUND_M, longest) if longest is not None else _USUAL_OUTBOUND_M


def _to_the_fix(charted: Charted, conditions: Conditions, pattern: Pattern) -> tuple[Stage, ...]:
    """The pattern's stages, an intercept where the turn does not come out on the course, inbound, and final to a runway."""
    stages = list(pattern.stages)
    inward = conditions.leg(charted, "inbound")
    if abs(pattern.rolled_out_m) > _ON_COURSE_M:
        stages = _with_intercept(charted, pattern)
    path = pattern.fly(stages)
    course = charted.inbound_true_rad
    to_go = -(float(path.north_m[-1]) * math.cos(course) + float(path.east_m[-1]) * math.sin(course))
    if to_go <= _LEAST_INBOUND_M:
        raise BriefError("the inbound course is met only at the fix or beyond; choose a longer outbound leg")
    stages.append(Stage("inbound", "inbound", Straight(to_go / inward.hold_course(course)[1]), inward, course))
    if charted.runway is not None:
        last = conditions.leg(charted, "final")
        metres, bearing = geodesy.inverse(
            charted.fix_latitude_rad, charted.fix_longitude_rad, charted.runway.latitude_rad, charted.runway.longitude_rad
        )
        if math.cos(float(bearing) - course) > 0.5:
            final = float(bearing)
            stages.append(Stage("final", "final", Straight(float(metres) / last.hold_course(final)[1]), last, final))
    return tuple(stages)


def _with_intercept(charted: Charted, pattern: Pattern) -> list[Stage]:
    """The stages with the turn ended short of the inbound course, or past it, and the course met from there."""
    back = pattern.stages[-1]
    if not isinstance(back.segment, Turn):
        raise TypeError(f"{pattern.shape}: a pattern that does not end in a turn")
    air, direction, course = back.air, back.segment.direction, charted.inbound_true_rad
    home = air.hold_course(course)[0]
    for cut in (size * sign for size in _CUTS_RAD for sign in (-direction, direction)):
        heading = air.hold_course(course + cut)[0]
        last = 1 if cut < 0.0 else -1
        before = [*pattern.stages[:-1], replace(back, segment=replace(back.segment, to_heading_rad=heading))]

        def stages(seconds: float, before: list[Stage] = before, last: int = last) -> list[Stage]:
            return [
                *before,
                Stage("intercept", "reversal", Straight(seconds), air),
                Stage("intercept", "reversal", Turn(home, last, air.bank_rad), air),
            ]

        def across(seconds: float, stages: Callable[[float], list[Stage]] = stages) -> float:
            return float(pattern.fly(stages(seconds)).across_m(course)[-1])

        seconds = solve(across, 0.0, 600.0)
        if seconds is not None:
            return stages(seconds)
    raise BriefError("the inbound course cannot be met from where the reversing turn comes out; choose a longer outbound leg")


def _altitudes(charted: Charted, stages: tuple[Stage, ...], path: Path) -> FloatArray:
    """Altitude at every node: each leg's minimum is made steadily over the whole leg, the threshold from the fix."""
    floors = charted.levels_m
    if not floors:
        return np.full(len(path.time_s), np.nan)
    now = floors.get("arrival", floors.get("outbound", floors.get("reversal", next(iter(floors.values())))))
    nodes, heights, begun = [0], [now], 0
    for (stage, end), (after, _) in zip(
        zip(stages, path.ends, strict=True), [*zip(stages[1:], path.ends[1:], strict=True), (None, 0)], strict=True
    ):
        if after is None or after.leg != stage.leg:
            now = min(now, floors.get(stage.leg, now)) if stage.part != "final" else over_threshold(charted)
            if end > begun:
                nodes.append(end)
                heights.append(now)
                begun = end
    altitude: FloatArray = np.interp(path.time_s, path.time_s[nodes], heights)
    return altitude


def over_threshold(charted: Charted) -> float:
    """Altitude over the threshold: the charted crossing height, else 50 ft."""
    if charted.runway is None:
        raise ValueError("a threshold is asked for, and no runway is charted")
    crossing = charted.threshold_crossing_height_m
    return charted.runway.elevation_m + (crossing if crossing is not None else _CROSSING_M)


def _parts(charted: Charted, stages: tuple[Stage, ...], path: Path, altitude: FloatArray) -> tuple[PlannedPart, ...]:
    parts, first = [], 0
    for stage, end in zip(stages, path.ends, strict=True):
        seconds = float(path.time_s[end] - path.time_s[first])
        steps = np.hypot(np.diff(path.north_m[first : end + 1]), np.diff(path.east_m[first : end + 1]))
        distance = float(np.hypot(path.north_m[end], path.east_m[end]))
        height = float(altitude[end]) - charted.fix_elevation_m
        north, east = (float(v[end] - v[first]) for v in (path.north_m, path.east_m))
        straight = isinstance(stage.segment, Straight)
        parts.append(
            PlannedPart(
                part=stage.part,
                leg=stage.leg,
                heading_rad=float(path.heading_rad[end]),
                course_rad=math.atan2(east, north) if straight and seconds > 0.0 else None,
                air=stage.air,
                ground_speed_mps=float(steps.sum()) / seconds if seconds > 0.0 else math.nan,
                seconds=seconds,
                length_m=float(steps.sum()),
                bank_rad=stage.segment.bank_rad if isinstance(stage.segment, Turn) else None,
                turn=stage.segment.direction if isinstance(stage.segment, Turn) else None,
                altitude_start_m=float(altitude[first]),
                altitude_end_m=float(altitude[end]),
                end_distance_m=distance,
                end_slant_m=math.hypot(distance, height) if math.isfinite(height) else math.nan,
            )
        )
        first = end
    return tuple(parts)
