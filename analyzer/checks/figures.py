"""The figures of one approach, in SI units and radians: what checks compare, and reports and the JSON show."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.course_deviation import CourseDeviation, figure_of_course, never_near
from analyzer.checks.descent import Descent, measure_descent
from analyzer.checks.turn_figures import TurnFigures, known_turn, shows_its_bank
from analyzer.frozen import dataclass
from analyzer.legs.guidance import established
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.airspeed import indicated_airspeed, indicated_share_sd
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.motion import Motion
from analyzer.motion.reach import reached_m, reached_mps
from analyzer.motion.states import States, seen_from
from analyzer.motion.wind import Wind
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, KT, FloatArray, circular_mean, unwrapped, wrap_positive

__all__ = [
    "Airspeed", "Farthest", "Figures", "PartFigures", "greatest_indicated", "mean_heading", "measure",
]  # fmt: skip

_RECORDED_SD_MPS = 2.0 * KT  # of a recorded indicated airspeed; an assumption
_STRAIGHT_RAD = 30.0 * DEG  # a track that varies by more has no single course
_GOING_RAD = 3.0 * DEG  # a track at a smaller angle to the course follows it
# Of ground speeds from one state to the next, a second apart: from so little, whose peak is half a knot, to so great, of
# positions that scatter by 8 m, an airspeed is averaged over up to so long on either side.
_LITTLE_MPS, _GREAT_MPS, _SIDE_S, _A_SECOND_S = 0.25, 0.55, 4, 0.01
_LEAST_STATES = 3  # seconds; a mean of fewer is meaningless
_BEFORE_STRAIGHT_IN_S = 300.0


@dataclass(frozen=True)
class Farthest:
    """The greatest logged distance from a point, when it was reached, and the slant range to the fix then.

    `room_m` is how much farther the aircraft may have been in gaps of the log.
    """

    distance_m: float
    slant_m: float
    sd_m: float
    time_s: float
    room_m: float = 0.0

    @property
    def stated_sd_m(self) -> float:
        """Standard deviation, such that two of them include what was possible in gaps of the log. [m]"""
        return math.hypot(self.sd_m, self.room_m / 2.0)


@dataclass(frozen=True)
class Airspeed:
    """A greatest indicated airspeed, its standard deviation and instant, and whether it was recorded or estimated."""

    speed_mps: float
    sd_mps: float
    time_s: float
    recorded: bool


@dataclass(frozen=True)
class PartFigures:
    """The figures of a part. `course_rad` is the true median track, None in turns. Altitudes are NaN where none was logged.

    Length and speed are NaN if the part contains a hole of the log. `turn` is None where gaps hide so much of a turn that its
    bank is not known; `turn_seen` is then what shows of it, which may have been steeper.
    """

    part: Part
    length_m: float
    course_rad: float | None
    ground_speed_mps: float
    altitude_start_m: float
    altitude_end_m: float
    altitude_min_m: float
    turn: TurnFigures | None
    turn_seen: TurnFigures | None = None


@dataclass(frozen=True)
class Figures:
    """The figures of one approach, each None where it is unknown; `no_wind` says why there is no wind."""

    wind: Wind | None
    no_wind: str
    farthest: Farthest | None
    farthest_from_limit: Farthest | None
    outbound_length_m: float | None
    offset_leg_s: float | None
    offset_heading_rad: float | None
    outbound: CourseDeviation | None
    inbound: CourseDeviation | None
    overshoot_m: float | None
    overshoot_time_s: float | None
    established_distance_m: float | None
    indicated: Airspeed | None
    descent: Descent | None
    parts: tuple[PartFigures, ...]


def measure(motion: Motion, reversal: Reversal) -> Figures:
    """The figures of one approach."""
    span = reversal.reversal_span_s
    stretch = span if span is not None else _straight_in_span(reversal)
    wind = motion.wind_between(*stretch)
    charted = motion.charted
    outbound, offset_leg = reversal.part("outbound"), reversal.part("offset_leg")
    outbound_deviation = figure_of_course(motion, outbound, charted.outbound_true_rad)
    in_hold = reversal.flown.startswith("hold")  # whose outbound leg is off the course on purpose
    if outbound_deviation is None and not in_hold:
        outbound_deviation = never_near(motion, outbound, charted.outbound_true_rad)
    overshoot, established_s = _overshoot(motion, reversal), reversal.first_established_s
    farthest = _farthest(motion, span, charted.fix_latitude_rad, charted.fix_longitude_rad)
    centre = charted.limit_latitude_rad, charted.limit_longitude_rad
    at_fix = centre == (charted.fix_latitude_rad, charted.fix_longitude_rad)
    return Figures(
        wind=wind,
        no_wind=motion.why_no_wind(*stretch) if wind is None else "",
        farthest=farthest,
        farthest_from_limit=farthest if at_fix else _farthest(motion, span, *centre),
        outbound_length_m=motion.distance_at(outbound.end_s) if outbound is not None and _ends_seen(motion, outbound) else None,
        offset_leg_s=offset_leg.duration_s if offset_leg is not None and _ends_seen(motion, offset_leg) else None,
        offset_heading_rad=mean_heading(motion, offset_leg) if offset_leg is not None and wind is not None else None,
        outbound=outbound_deviation,
        inbound=figure_of_course(motion, reversal.last_part("inbound"), charted.inbound_true_rad),
        overshoot_m=overshoot[0] if overshoot is not None else None,
        overshoot_time_s=overshoot[1] if overshoot is not None else None,
        established_distance_m=motion.distance_at(established_s) if established_s is not None else None,
        indicated=greatest_indicated(motion, span, wind),
        descent=measure_descent(motion, reversal),
        parts=tuple(_part(motion, part) for part in reversal.parts),
    )


def _ends_seen(motion: Motion, part: Part) -> bool:
    """Whether the log covers the beginning and the end of a part."""
    return not any(motion.holes_between(instant - 1.0, instant + 1.0, LONG_HOLE_S) for instant in (part.start_s, part.end_s))


def _straight_in_span(reversal: Reversal) -> tuple[float, float]:
    """The stretch over which the wind of a straight-in is estimated: the inbound leg and the turns before it."""
    first, last = reversal.parts[0], reversal.last_part("inbound") or reversal.parts[-1]
    return max(first.start_s, last.start_s - _BEFORE_STRAIGHT_IN_S), last.end_s


def _farthest(motion: Motion, span: tuple[float, float] | None, latitude: float, longitude: float) -> Farthest | None:
    """The greatest distance from a point between outbound passage and being established."""
    if span is None:
        return None
    states = motion.seen(motion.states.between(*span), LONG_HOLE_S)
    distance, _ = seen_from(motion.charted, latitude, longitude, states)
    k = int(np.argmax(distance))
    height = float(states.altitude_m[k]) - motion.charted.fix_elevation_m
    time = float(states.time_s[k])
    noise = float(motion.path.sd(states.time_s[k : k + 1])[0])
    room = max(reached_m(motion, span, (latitude, longitude)) - float(distance[k]), 0.0)
    slant = float(geodesy.slant_range(float(distance[k]), height))
    return Farthest(float(distance[k]), slant, math.hypot(noise, motion.position_sd_m), time, room)


def mean_heading(motion: Motion, part: Part) -> float | None:
    """True mean heading of a straight part without its ends, where the wings are not level; None if it is too short. [rad]"""
    margin = min(3.0, part.duration_s / 4.0)
    states = motion.states.between(part.start_s + margin, part.end_s - margin)
    return float(wrap_positive(circular_mean(states.heading_rad))) if len(states) >= _LEAST_STATES else None


def _course(states: States) -> float | None:
    """True median track of a part, insensitive to intercepting a course at its start; None if it curves. [rad]"""
    track = unwrapped(states.track_rad)
    middle = track[len(track) // 10 : len(track) - len(track) // 10]
    return float(wrap_positive(median(middle))) if float(np.ptp(middle)) < _STRAIGHT_RAD else None


def _overshoot(motion: Motion, reversal: Reversal) -> tuple[float, float] | None:
    """How far the track overshot the inbound course, beyond it as seen from the reversing turn, and when. [m, s]

    Seen from the arc, where one leads to it: who stays on it beyond the course has overshot that before turning. Of more than
    half a circle that is the last half, as before it the aircraft was on either side. In a hold with further circuits, the
    worst of them. Where the aircraft was established and leaves the course again, that is a deviation from it, no overshoot.
    """
    overshoots = []
    arc = reversal.part("arc")
    for number, (turned, end) in enumerate(reversal.home_spans):
        start = turned if arc is None else min(turned, _last_half_circle_s(motion, arc))
        if not len(motion.states.between(start, end)):
            continue  # in a gap of the log
        settled = next((part.start_s for part in reversal.parts if part.name == "inbound" and start <= part.start_s < end), end)
        settled = settled if reversal.established_s is not None else end
        overshoots.append(_beyond(motion, (start, end), settled, _come_from(motion, reversal, number)))
    return max(overshoots, key=lambda past: past[0], default=None)


def _last_half_circle_s(motion: Motion, arc: Part) -> float:
    """When the last 180° of an arc begin; its start where it turns less. [s since 1970]"""
    states = motion.states.between(arc.start_s, arc.end_s)
    if not len(states):
        return arc.start_s
    track = unwrapped(states.track_rad)
    before = np.flatnonzero(np.abs(track - track[-1]) > math.pi)
    return float(states.time_s[before[-1]]) if len(before) else arc.start_s


def _come_from(motion: Motion, reversal: Reversal, number: int) -> int | None:
    """The side of the inbound course that a turn home comes from; None where it is the one that the turn is begun on."""
    if reversal.flown == "hold-parallel" and number == 0:
        return reversal.side  # it crosses the course to the holding side on purpose, and intercepts it from there
    if reversal.flown == "base-turn" and motion.charted.kind != "base-turn":
        return reversal.side  # it may be begun on the course
    arc = reversal.part("arc")
    states = motion.states.between(_last_half_circle_s(motion, arc), arc.end_s) if arc is not None else None
    if states is None or not len(states):
        return None
    return 1 if median(states.cross_track_m(motion.charted.inbound_true_rad + math.pi)) > 0.0 else -1


def _beyond(motion: Motion, span: tuple[float, float], settled_s: float, side: int | None) -> tuple[float, float]:
    """Greatest distance beyond the inbound course in a stretch, and when; once first on `side`, if given. [m, s]

    Where the course is left again after `settled_s`, up to then, and for as long as the track still leads beyond it.
    """
    states = motion.states.between(*span)
    outward = motion.charted.inbound_true_rad + math.pi
    cross_track = states.cross_track_m(outward)
    come_from, first = float(np.sign(cross_track[0])), 0
    if side is not None:
        come_from = float(side)
        first = int(np.argmax(np.sign(cross_track) == come_from))  # 0 where it is beyond from the beginning
    beyond = -come_from * cross_track
    beyond[:first] = -np.inf
    going = -come_from * np.sin(states.track_rad - outward) > math.sin(_GOING_RAD)
    done = np.flatnonzero((states.time_s >= settled_s) & ~going)
    if len(done) and not established(states, motion.charted)[done[0] :].all():
        beyond[int(done[0]) + 1 :] = -np.inf
    k = int(np.argmax(beyond))
    return max(0.0, float(beyond[k])), float(states.time_s[k])


def greatest_indicated(motion: Motion, span: tuple[float, float] | None, wind: Wind | None) -> Airspeed | None:
    """Greatest indicated airspeed in a stretch; None without a stretch, or if airspeed is unknown.

    As recorded where the record is plausible, else from true airspeed.
    """
    if span is None:
        return None
    states = _not_hastened(motion, span, motion.seen(motion.states.between(*span), LONG_HOLE_S))
    logged = motion.recorded("indicated_airspeed_mps", states)
    air = motion.track.air
    speed = indicated_airspeed(states.true_airspeed_mps, states.altitude_m, air, motion.charted)
    if logged is not None and len(logged) and np.isfinite(logged).all():
        k = int(np.argmax(logged))
        sd_mps = math.hypot(_RECORDED_SD_MPS, _unexplained_mps(motion, states, logged, speed))
        return Airspeed(float(logged[k]), sd_mps, float(states.time_s[k]), recorded=True)
    if wind is None or motion.wind is None or not len(states) or not np.isfinite(speed).all():
        return None
    speed = _sustained(motion, states, speed)
    k = int(np.argmax(speed))
    time = float(states.time_s[k])
    from_air = float(speed[k]) * indicated_share_sd(air)
    return Airspeed(float(speed[k]), math.hypot(motion.wind.airspeed_sd(time), from_air), time, recorded=False)


def _not_hastened(motion: Motion, span: tuple[float, float], states: States) -> States:
    """The states without those in holes of the log where the curve is faster than an aircraft becomes meanwhile."""
    kept = np.ones(len(states), dtype=bool)
    for hole in motion.holes_between(*span):
        inside = (states.time_s > hole[0]) & (states.time_s < hole[1])
        fastest_mps = reached_mps(motion, hole, motion.states.time_s, motion.states.ground_speed_mps)
        if (states.ground_speed_mps[inside] > fastest_mps).any():
            kept &= ~inside
    return states if kept.all() or not kept.any() else states.where(kept)


def _sustained(motion: Motion, states: States, speed_mps: FloatArray) -> FloatArray:
    """Estimated airspeeds, averaged over up to nine seconds where their noise is great, whose peak theirs would be. [m/s]"""
    noise_mps = median(motion.path.sd(states.time_s, 1))
    side = round(_SIDE_S * min(max((noise_mps - _LITTLE_MPS) / (_GREAT_MPS - _LITTLE_MPS), 0.0), 1.0))
    if side == 0 or len(speed_mps) <= 2 * side or float(np.abs(np.diff(states.time_s) - 1.0).max()) > _A_SECOND_S:
        return speed_mps
    ends = np.concatenate([np.repeat(speed_mps[:1], side), speed_mps, np.repeat(speed_mps[-1:], side)])
    return np.convolve(ends, np.full(2 * side + 1, 1.0 / (2 * side + 1)), mode="valid")


def _unexplained_mps(motion: Motion, states: States, logged_mps: FloatArray, estimated_mps: FloatArray) -> float:
    """By how much a recorded airspeed and the one that follows from positions and wind differ beyond the latter's error. [m/s]

    A column may hold true airspeed, or the instrument be off: which of the two is right does not show. 0 where the wind itself
    was found by the record, or is unknown.
    """
    both = np.isfinite(estimated_mps)
    if motion.wind is None or motion.wind.from_recorded or not both.any():
        return 0.0
    apart = abs(median(logged_mps[both] - estimated_mps[both]))
    from_wind = median(motion.wind.airspeed_sds(states.time_s[both]))
    from_air = median(estimated_mps[both]) * indicated_share_sd(motion.track.air)
    return max(0.0, apart - math.hypot(from_wind, from_air))


def _part(motion: Motion, part: Part) -> PartFigures:
    states = motion.states.between(part.start_s, part.end_s)
    whole = not motion.holes_between(part.start_s, part.end_s, LONG_HOLE_S)
    ends = motion.altitude_at(part.start_s), motion.altitude_at(part.end_s)
    length = float(np.mean(states.ground_speed_mps)) * part.duration_s if len(states) else 0.0
    length = length if whole else math.nan
    seen = known_turn(motion, states, part.turn) if part.turn is not None and motion.bank_known(states) else None
    return PartFigures(
        part=part,
        length_m=length,
        course_rad=_course(states) if part.turn is None and len(states) else None,
        ground_speed_mps=length / part.duration_s if part.duration_s > 0.0 else math.nan,
        altitude_start_m=ends[0],
        altitude_end_m=ends[1],
        altitude_min_m=float(np.fmin.reduce(motion.logged_altitude_m(states), initial=np.fmin(*ends))),
        turn=seen if seen is not None and shows_its_bank(motion, part.start_s, part.end_s, seen) else None,
        turn_seen=seen,
    )
