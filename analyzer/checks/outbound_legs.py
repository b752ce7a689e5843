"""The time and length of an outbound leg, of holds and reversals: where timing starts, and how the length is read."""

from __future__ import annotations

import math
from itertools import takewhile

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, NM, wrap
from analyzer.procedure.approach import Dme
from analyzer.procedure.charted import Charted
from analyzer.procedure.values import LegBy

__all__ = [
    "TIMING_SD_S",
    "LegLength",
    "TimedFrom",
    "abeam_s",
    "least_time_s",
    "leg_reading",
    "length_read_by",
    "rolled_out_s",
    "timed_from",
    "turned_through_s",
    "wings_level_s",
]

TIMING_SD_S = 1.5  # of the duration of a leg, from simulated flights whose truth is known
_FROM_OVER = ("hold-parallel", "hold-teardrop")
_LEVEL_RAD = 5.0 * DEG
_HOMEWARD_RAD = 60.0 * DEG  # off the inbound course over the ground: what is level on such a track has ended the turn inbound
_SHOWS_ROLLS_S, _BEYOND_RAD = 2.0, 20.0 * DEG  # between samples; and of the course, by which a turn leads through it
_ROLLED_OUT_S = 3  # level for so long, a turn is ended; states are a second apart
_AT_FIX_M = 0.1 * NM  # a station this close to a fix is at the fix


@dataclass(frozen=True)
class TimedFrom:
    """When timing of an outbound leg starts, and where that is, in words: ``abeam the fix``."""

    time_s: float
    words: str


@dataclass(frozen=True)
class LegLength:
    """Length of a leg as a pilot reads it, and how, in words: ``along the course from the fix``."""

    length_m: float
    words: str


def timed_from(motion: Motion, reversal: Reversal, outbound: Part) -> TimedFrom:
    """When timing starts: over or abeam the fix, whichever is later; at wings level if the log does not show that.

    The aircraft may be abeam before the wings are level. A parallel or teardrop entry is timed from over the fix.

    References
    ----------
    .. [1] FAA Aeronautical Information Manual 5-3-8 j.4(b).
    """
    passage = reversal.passage("outbound")
    if passage is None or motion.gaps_between(passage.time_s, outbound.start_s):
        return TimedFrom(outbound.start_s, "wings level")
    over = TimedFrom(passage.time_s, "over the fix")
    if reversal.flown in _FROM_OVER:
        return over
    abeam = abeam_s(motion.states.between(passage.time_s, outbound.end_s), motion.charted.outbound_true_rad)
    return over if abeam is None else TimedFrom(abeam, "abeam the fix")


def wings_level_s(motion: Motion, inbound: Part) -> float:
    """When the wings were level on an inbound leg, as the aircraft may be established while still turning. [s]"""
    states = motion.states.between(inbound.start_s, inbound.end_s)
    level = np.flatnonzero(np.abs(states.bank_rad) < _LEVEL_RAD)
    return float(states.time_s[level[0]]) if len(level) else inbound.start_s


def rolled_out_s(motion: Motion, reversal: Reversal, inbound: Part) -> float | None:
    """When the wings were first level after the turn inbound, where that was before the course was joined; else None. [s]

    A turn the other way, to close with the course, ends it too.
    """
    states = _turning_home(motion, reversal, inbound)
    turned = np.cumsum(states.turn_rate_rad_s)  # a state a second
    homeward = np.abs(wrap(states.track_rad - motion.charted.inbound_true_rad)) < _HOMEWARD_RAD
    level = (np.sign(turned) * states.bank_rad < _LEVEL_RAD) & homeward
    return next((float(states.time_s[first]) for first, end in true_runs(level) if end - first >= _ROLLED_OUT_S), None)


def turned_through_s(motion: Motion, reversal: Reversal, inbound: Part) -> float | None:
    """When the turn inbound went through the inbound course, to close with it, in a log too coarse to show the roll. [s]

    The wings may have been level there, for less than from one sample to the next. None where the log would show it, and where
    the turn ended on the course.
    """
    if motion.track.interval_s <= _SHOWS_ROLLS_S:
        return None
    states = _turning_home(motion, reversal, inbound)
    off = wrap(states.track_rad - motion.charted.inbound_true_rad)
    through = np.flatnonzero((np.sign(off[1:]) != np.sign(off[:-1])) & (np.abs(off[1:] - off[:-1]) < math.pi)) + 1
    if not len(through):
        return None
    k = int(through[0])
    beyond = np.sign(off[k]) * off[k:] > _BEYOND_RAD
    return float(states.time_s[k]) if beyond.any() else None


def _turning_home(motion: Motion, reversal: Reversal, inbound: Part) -> States:
    """The states of the turn inbound and of what closes with the course after it, up to an inbound leg."""
    before = [part for part in reversal.parts if part.start_s < inbound.start_s]
    turns = list(takewhile(lambda part: part.name in ("turn_inbound", "reversal_turn", "intercept"), reversed(before)))
    return motion.states.between(turns[-1].start_s if turns else inbound.start_s, inbound.start_s)


def least_time_s(motion: Motion, start_s: float, end_s: float) -> float:
    """The least that a leg between two instants can have lasted, as either may be anywhere in a hole that it lies in. [s]"""
    first, last = start_s, end_s
    for begin, end in motion.position_holes:
        if begin < start_s < end:
            first = end
        if begin < end_s < end:
            last = begin
    return last - first


def abeam_s(states: States, outbound_rad: float) -> float | None:
    """When the aircraft last came abeam the fix outbound, interpolated; None if it never was behind it. [s]"""
    along = states.along_m(outbound_rad)
    behind = np.flatnonzero(along < 0.0)
    if not len(behind):
        return None
    k = int(behind[-1])
    if k == len(along) - 1:
        return float(states.time_s[k])
    share = float(along[k] / (along[k] - along[k + 1]))
    return float(states.time_s[k] + share * (states.time_s[k + 1] - states.time_s[k]))


def length_read_by(charted: Charted) -> LegBy:
    """How the length of the outbound leg is read: as charted, else by the kind of fix and guidance.

    Along the course for RNAV, by DME for a VOR, which is assumed to have one, else as the distance from the fix.

    References
    ----------
    .. [1] FAA Aeronautical Information Manual 5-3-8 j.5 and j.7(a)(4).
    """
    if charted.leg_by is not None:
        return charted.leg_by
    kind = charted.procedure.fix.kind
    if kind == "waypoint" or charted.guidance.kind == "gps":
        return "along-track"
    return "dme" if kind == "vor" or charted.dme is not None else "from-fix"


def leg_reading(motion: Motion, time_s: float, by: LegBy) -> LegLength:
    """The length of the outbound leg as read at an instant.

    With a DME away from the fix it is the difference between its reading and that over the fix. Inbound towards the station,
    with the fix at 10 NM and legs of 5 NM, the leg ends at 15; inbound away from it, with the fix at 28 NM and legs of 8 NM, it
    ends at 20. Without an altitude, ground distance is used instead of slant range.

    References
    ----------
    .. [1] FAA Aeronautical Information Manual, figures 5-3-5 and 5-3-6.
    """
    charted = motion.charted
    if by == "along-track":
        states = motion.states
        along = states.along_m(charted.outbound_true_rad)
        return LegLength(float(np.interp(time_s, states.time_s, along)), "along the course from the fix")
    if by == "from-fix":
        return LegLength(motion.distance_at(time_s), "from the fix")
    dme, altitude = charted.dme, motion.altitude_at(time_s)
    if dme is None:
        return LegLength(_slant(motion.distance_at(time_s), altitude - charted.fix_elevation_m), "by DME from the fix")
    height = altitude - dme.elevation_m
    fix = charted.fix_latitude_rad, charted.fix_longitude_rad
    apart, here = _distance(dme, *fix), _distance(dme, *motion.position_at(time_s))
    if apart < _AT_FIX_M:
        return LegLength(_slant(here, height), f"by the DME of {dme.name}")
    reading, over_fix = _slant(here, height), _slant(apart, height)
    words = f"by the DME of {dme.name}, which reads {reading / NM:.1f} there and {over_fix / NM:.1f} over the fix"
    return LegLength(abs(reading - over_fix), words)


def _distance(dme: Dme, latitude_rad: float, longitude_rad: float) -> float:
    return float(geodesy.inverse(dme.latitude_rad, dme.longitude_rad, latitude_rad, longitude_rad)[0])


def _slant(distance_m: float, height_m: float) -> float:
    return float(geodesy.slant_range(distance_m, height_m)) if math.isfinite(height_m) else distance_m
