"""Spread of the plan under errors of wind, heading, timing and speed: a Monte Carlo simulation with a fixed seed.

Each flight has its own normally distributed errors, of which the stated ones are two standard deviations: in each component of
the wind, in the heading of each leg flown by compass and of each turn, in the timing of each timed leg, and in the airspeed. A
course or an arc is held by its needle, with the wind correction of that flight; an error of the turn onto an arc is corrected
over the first half of the arc. A leg that ends by a distance or a radial has no error of timing. A roll counts as half its time
straight on at either end of a turn.
"""

from __future__ import annotations

import math

import numpy as np

from analyzer.brief.plan import Plan, limit_centre
from analyzer.frozen import dataclass
from analyzer.nominal.arc import Arc
from analyzer.nominal.fly import ROLL_RATE_RAD_S, Straight, Turn
from analyzer.physics.units import DEG, GRAVITY, KT, FloatArray

__all__ = ["Chances", "Errors", "fly_many"]

_IN_TURN = 24  # points along a turn at which the distance is measured
_ON_ARC, _CENTRED = 49, 0.5  # points along an arc; share of it over which the needle is centred
_BACK_RAD = 60.0 * DEG
_SEED = 20_260_101


@dataclass(frozen=True)
class Errors:
    """The errors, each as two standard deviations, and the number of flights."""

    wind_mps: float = 10.0 * KT
    heading_rad: float = 5.0 * DEG
    timing_s: float = 10.0
    speed_mps: float = 10.0 * KT
    flights: int = 10_000


@dataclass(frozen=True, eq=False)
class Chances:
    """Result of the simulated flights.

    Attributes
    ----------
    errors : Errors
        The errors that were simulated.
    farthest_m : array
        Greatest distance of each flight from the centre of the limit.
    rolled_out_m : array
        Distance of each right of the inbound course at the end of the reversing turn.
    joined_m : array, optional
        Distance of each from the centre of the arc at the end of the turn onto it; None without an arc.
    beyond : float, optional
        Share of the flights beyond the limit; None without a limit.
    paths_m : array of shape (flights, points, 2)
        Paths of some flights, north and east of the fix, for a picture.
    """

    errors: Errors
    farthest_m: FloatArray
    rolled_out_m: FloatArray
    joined_m: FloatArray | None
    beyond: float | None
    paths_m: FloatArray


def fly_many(plan: Plan, errors: Errors) -> Chances:
    """Fly the reversal of a plan many times with random errors."""
    rng = np.random.default_rng(_SEED)
    n = errors.flights
    wind_error = rng.normal(0.0, errors.wind_mps / 2.0, (2, n))
    speed_error = rng.normal(0.0, errors.speed_mps / 2.0, n)
    timed = plan.conditions.outbound_m is None and plan.charted.kind != "arc"
    place, heading = np.tile(np.array(plan.pattern.start_m)[:, None], n), np.full(n, plan.pattern.start_heading_rad)
    places, joined = [place], None
    by_length = plan.charted.kind == "hold" and plan.charted.leg_length_m is not None and plan.conditions.outbound_s is None
    for number, stage in enumerate(plan.pattern.stages):
        speed = stage.air.true_airspeed_mps + speed_error
        wind = np.array(stage.air.wind_north_east_mps)[:, None] + wind_error
        if isinstance(stage.segment, Straight):
            seconds = np.full(n, stage.segment.seconds)
            if stage.course_rad is not None:
                metres = None if timed else stage.air.hold_course(stage.course_rad)[1] * stage.segment.seconds
                place, heading = _along_course(place, stage.course_rad, speed, wind, seconds, metres, rng, errors)
            else:
                if by_length:
                    seconds = _to_length(plan, number, place, _straight(heading, speed, wind, np.ones(n)))
                elif plan.conditions.outbound_m is not None and stage.part == "outbound":
                    seconds = plan.conditions.outbound_m / np.hypot(*_straight(heading, speed, wind, np.ones(n)))
                else:
                    seconds = np.maximum(0.0, seconds + rng.normal(0.0, errors.timing_s / 2.0, n))
                place = place + _straight(heading, speed, wind, seconds)
            places.append(place)
        elif isinstance(stage.segment, Turn):
            place, heading, passed = _turn(place, heading, stage.segment, speed, wind, rng, errors)
            places.extend(passed)
        else:
            joined = np.hypot(*(place - np.array(stage.segment.centre_m)[:, None]))
            place, heading, passed = _round(place, stage.segment, plan.charted.arc_radius_m or 0.0, speed, wind)
            places.extend(passed)
    flown = np.array(places)  # (places, 2, flights)
    centre = np.array(limit_centre(plan.charted))[:, None]
    farthest = np.hypot(*(flown - centre).transpose(1, 0, 2)).max(axis=0)
    course = plan.charted.inbound_true_rad
    across = flown[-1, 1] * math.cos(course) - flown[-1, 0] * math.sin(course)
    limit = plan.charted.limit_m
    beyond = float(np.mean(farthest > limit)) if limit is not None else None
    return Chances(errors, farthest, across, joined, beyond, flown[:, :, :200].transpose(2, 0, 1))


def _to_length(plan: Plan, number: int, place: FloatArray, velocity: FloatArray) -> FloatArray:
    """Time of each flight until a leg that ends by length is as far along the outbound course as planned. [s]"""
    path, out = plan.pattern.fly(), plan.charted.outbound_true_rad
    end, ahead = path.ends[number], np.array([math.cos(out), math.sin(out)])
    goal = float(path.north_m[end]) * ahead[0] + float(path.east_m[end]) * ahead[1]
    seconds: FloatArray = np.maximum(0.0, (goal - ahead @ place) / (ahead @ velocity))
    return seconds


def _straight(heading: FloatArray, speed: FloatArray, wind: FloatArray, seconds: FloatArray) -> FloatArray:
    flown: FloatArray = (speed * np.array([np.cos(heading), np.sin(heading)]) + wind) * seconds
    return flown


def _along_course(
    place: FloatArray, course: float, speed: FloatArray, wind: FloatArray, seconds: FloatArray, planned_m: float | None,
    rng: np.random.Generator, errors: Errors,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """Fly along a course held by its needle, for a time with its error or for a distance."""
    ahead = np.array([math.cos(course), math.sin(course)])[:, None]
    correction = _correction(np.full(len(speed), course), speed, wind)
    ground_speed = speed * np.cos(correction) + np.sum(wind * ahead, axis=0)
    if planned_m is None:
        length = ground_speed * np.maximum(0.0, seconds + rng.normal(0.0, errors.timing_s / 2.0, len(speed)))
    else:
        length = np.full(len(speed), planned_m)
    return place + ahead * length, course + correction


def _correction(track: FloatArray, speed: FloatArray, wind: FloatArray) -> FloatArray:
    """Wind correction: the heading that holds a track, less that track. [rad]"""
    crosswind = wind[1] * np.cos(track) - wind[0] * np.sin(track)
    into: FloatArray = -np.arcsin(np.clip(crosswind / speed, -1.0, 1.0))
    return into


def _round(
    place: FloatArray, arc: Arc, radius_m: float, speed: FloatArray, wind: FloatArray
) -> tuple[FloatArray, FloatArray, list[FloatArray]]:
    """Fly round an arc held by its needle, to the radial where it is left; the last value are the points passed."""
    centre = np.array(arc.centre_m)[:, None]
    north, east = place - centre
    joined, begin = np.hypot(north, east), np.arctan2(east, north)
    sweep = np.mod(arc.direction * (arc.to_bearing_rad - begin), math.tau)
    sweep = np.where(sweep > math.tau - _BACK_RAD, 0.0, sweep)  # joined beyond where it is left: left at once
    passed = []
    for share in np.linspace(0.0, 1.0, _ON_ARC):
        bearing = begin + arc.direction * sweep * share
        distance = joined + (radius_m - joined) * min(1.0, share / _CENTRED)
        passed.append(centre + distance * np.array([np.cos(bearing), np.sin(bearing)]))
    track = np.full(len(speed), arc.to_bearing_rad + arc.direction * math.pi / 2.0)
    return passed[-1], track + _correction(track, speed, wind), passed


def _turn(
    place: FloatArray, heading: FloatArray, turn: Turn, speed: FloatArray, wind: FloatArray,
    rng: np.random.Generator, errors: Errors,
) -> tuple[FloatArray, FloatArray, list[FloatArray]]:  # fmt: skip
    """Fly a turn to a heading with its error; the last value are the points passed."""
    to = turn.to_heading_rad + rng.normal(0.0, errors.heading_rad / 2.0, len(speed))
    sweep = np.mod(turn.direction * (to - heading), math.tau)
    sweep = np.where(
        sweep > math.tau - _BACK_RAD, sweep - math.tau, sweep
    )  # a small turn that an error makes one the other way
    rate = GRAVITY * math.tan(turn.bank_rad) / speed
    half_roll = np.full(len(speed), turn.bank_rad / ROLL_RATE_RAD_S / 2.0)
    begin = place + _straight(heading, speed, wind, half_roll)
    passed = []
    for share in np.linspace(0.0, 1.0, _IN_TURN):
        turned = heading + turn.direction * sweep * share
        chord = np.array([np.sin(turned) - np.sin(heading), np.cos(heading) - np.cos(turned)])
        passed.append(begin + turn.direction * speed / rate * chord + wind * (sweep * share / rate))
    out = heading + turn.direction * sweep
    end = passed[-1] + _straight(out, speed, wind, half_roll)
    passed.append(end)
    return end, out, passed
