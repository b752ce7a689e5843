"""What came of a sample flight, from its exact states: the reversal's figures, passages of fixes, missed approach, laps."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
from autopilot import NM
from geographiclib.geodesic import Geodesic
from pilot import CHART, Place, from_fix, geodesic, place_of, wrap
from records import utc

if TYPE_CHECKING:
    from fly import Flight

__all__ = ["missed_outcome", "reversal_outcome", "step_down_outcome"]

ESTABLISHED_COURSE_DEG = 5.0  # as seen from a station
ESTABLISHED_NM = 0.5  # half of a satellite receiver's full scale outside 30 NM of the final approach
ESTABLISHED_TRACK_DEG = 15.0
ESTABLISHED_S = 5  # for which it has to last
PASSED_WITHIN_NM = 0.5
LEVEL_DEG = 3.0  # of bank, at which the wings are level

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
Fixes = dict[str, Place]
Near = Callable[[FloatArray, FloatArray], BoolArray]  # whether near the course, by distance and angle from the fix


def reversal_outcome(flight: Flight) -> dict[str, Any]:
    """What came of it from the outbound passage of the fix until established inbound, from the states at 1 Hz."""
    start_s = {part.name: part.start_s for part in flight.parts}
    lines = [from_fix(*position) for position in zip(flight.latitude_deg, flight.longitude_deg, strict=True)]
    distance_nm = np.array([line["s12"] for line in lines]) / NM
    inbound = CHART["reversal"]["inbound_course_deg"] + CHART["fix"]["variation_deg_east"]
    off_course = wrap(np.array([line["azi1"] for line in lines]) + 180.0 - inbound)
    established = (
        (flight.time_s > start_s["reversal_turn"])
        & (np.abs(off_course) <= ESTABLISHED_COURSE_DEG)
        & (np.abs(wrap(flight.track_deg - inbound)) <= ESTABLISHED_TRACK_DEG)
    )
    end = int(np.flatnonzero(established)[0])
    reversal = slice(math.ceil(start_s["outbound_turn"]), end + 1)
    farthest = reversal.start + int(np.argmax(distance_nm[reversal]))
    steepest = reversal.start + int(np.argmax(np.abs(flight.bank_deg[reversal])))
    return {
        "established_utc": utc(flight, flight.time_s[end]),
        "established_distance_nm": round(distance_nm[end], 3),
        "greatest_distance_nm": round(distance_nm[farthest], 3),
        "greatest_distance_utc": utc(flight, flight.time_s[farthest]),
        "lowest_altitude_ft": round(float(flight.altitude_ft[reversal].min()), 1),
        "peak_bank_deg": round(flight.bank_deg[steepest], 2),
        "peak_bank_utc": utc(flight, flight.time_s[steepest]),
        "greatest_calibrated_airspeed_kt": round(float(flight.calibrated_airspeed_kt[reversal].max()), 1),
    }


def missed_outcome(flight: Flight) -> dict[str, Any]:
    """Passages of the fixes, the lowest point that the missed approach climbs from, and the laps of its hold."""
    start_s = {part.name: part.start_s for part in flight.parts}
    level, turning = math.floor(start_s["missed_climb"]), math.ceil(start_s["missed_turn"])
    lowest = level + int(np.argmin(flight.altitude_ft[level:turning]))
    before, at, after = (float(feet) for feet in flight.altitude_ft[lowest - 1 : lowest + 2])
    shift = 0.5 * (before - after) / (before - 2.0 * at + after)  # to the vertex of the parabola through the three
    return {**_passages(flight), "missed_utc": _milli(flight, flight.time_s[lowest] + shift), **_laps(flight, _near_course)}


def step_down_outcome(flight: Flight) -> dict[str, Any]:
    """Passages of the fixes, the lap of the hold in lieu, and the height at which the step-down fix was passed."""
    fixes = flight.scenario.chart["fixes"]
    step_down = next(fix for fix in fixes if fix["role"] == "step-down")
    (passed,) = _passed(flight, _fixes(flight)[step_down["name"]])
    height = float(np.interp(passed, flight.time_s, flight.altitude_ft))
    before = flight.altitude_ft[: math.floor(passed) + 1]
    facts = {"fix": step_down["name"], "lowest_altitude_ft": round(float(before.min()), 1), "altitude_ft": round(height, 1)}
    return {**_passages(flight), "step_down": facts, **_laps(flight, _near_track)}


def _fixes(flight: Flight) -> Fixes:
    """Every fix of the chart that a flight comes past; those of the final course by their distance beyond the first."""
    chart = flight.scenario.chart
    first = place_of(chart["fix"])
    course = chart["reversal"]["inbound_course_deg"] + chart["fix"]["variation_deg_east"]
    places = {chart["fix"]["name"]: first}
    for fix in chart["fixes"]:
        line = Geodesic.WGS84.Direct(*first, course, fix["distance_nm"] * NM)
        places[fix["name"]] = (line["lat2"], line["lon2"])
    return places


def _passed(flight: Flight, fix: Place) -> list[float]:
    """When a fix came abeam, nearer than half a mile. [s]"""
    lines = [geodesic(fix, *position) for position in zip(flight.latitude_deg, flight.longitude_deg, strict=True)]
    away = flight.ground_speed_kt * np.cos(np.radians(flight.track_deg - np.array([line["azi2"] for line in lines])))
    near = np.array([line["s12"] for line in lines]) < PASSED_WITHIN_NM * NM
    passing = np.flatnonzero((away[:-1] < 0.0) & (away[1:] >= 0.0) & near[1:])
    return [float(flight.time_s[k] + away[k] / (away[k] - away[k + 1])) for k in passing]


def _passages(flight: Flight) -> dict[str, Any]:
    """Every passage of the first fix, and those of the fixes of the final course that are flown along it."""
    chart = flight.scenario.chart
    course = chart["reversal"]["inbound_course_deg"] + chart["fix"]["variation_deg_east"]
    passed = sorted(
        (time, name)
        for name, place in _fixes(flight).items()
        for time in _passed(flight, place)
        if name == chart["fix"]["name"] or abs(wrap(flight.track_deg[round(time)] - course)) < ESTABLISHED_TRACK_DEG
    )
    return {"passages": [{"fix": name, "utc": _milli(flight, time)} for time, name in passed]}


def _near_course(_: FloatArray, off_deg: FloatArray) -> BoolArray:
    """Within 5° of the course as seen from the fix."""
    return np.abs(off_deg) <= ESTABLISHED_COURSE_DEG


def _near_track(distance_nm: FloatArray, off_deg: FloatArray) -> BoolArray:
    """Within half a mile of the course."""
    return np.abs(distance_nm * np.sin(np.radians(off_deg))) <= ESTABLISHED_NM


def _laps(flight: Flight, near: Near) -> dict[str, Any]:
    """Each lap of the hold, from the order to turn at the fix until the fix came abeam again, and its parts.

    A turn goes from its order, when the roll begins, until the wings are level again or the aircraft is established inbound; in
    between it may have to close with the course.
    """
    begins = [number for number, part in enumerate(flight.parts) if part.name == "hold_entry_turn"]
    return {"laps": [_lap(flight, near, lap, first) for lap, first in enumerate(begins, 1)]}


def _lap(flight: Flight, near: Near, lap: int, first: int) -> dict[str, Any]:
    ordered = {part.name: part.start_s for part in reversed(flight.parts[first:])}  # the first of each name
    after = next(k for k in range(first, len(flight.parts)) if flight.parts[k].name == "hold_inbound") + 1
    turn_s, end_s = ordered["hold_turn_inbound"], flight.parts[after].start_s
    rolled_out_s = min(ordered.get("intercept", math.inf), ordered["hold_inbound"])
    established_s = _established(flight, near, turn_s)
    level_s = min(_level(flight, rolled_out_s), established_s)
    starts = [
        ("entry_turn", ordered["hold_entry_turn"]),
        ("outbound", _level(flight, ordered["hold_outbound"])),
        ("turn_inbound", turn_s),
        ("intercept", level_s),
        ("inbound", established_s),
        ("", end_s),
    ]
    parts = [
        {"part": name, "start_utc": _milli(flight, start), "end_utc": _milli(flight, end)}
        for (name, start), (_, end) in pairwise(starts)
        if end > start
    ]
    return {"lap": lap, "parts": parts}


def _level(flight: Flight, after_s: float) -> float:
    """When the wings come level after an instant. [s]"""
    banked = np.abs(flight.bank_deg)
    begin = math.ceil(after_s)
    k = begin + int(np.flatnonzero(banked[begin:] < LEVEL_DEG)[0])
    share = (banked[k - 1] - LEVEL_DEG) / (banked[k - 1] - banked[k])
    return float(flight.time_s[k - 1] + share)


def _established(flight: Flight, near: Near, after_s: float) -> float:
    """When the aircraft is established on the hold's inbound course, after an instant, and stays so. [s]"""
    fix, course = _held_at(flight)
    lines = [geodesic(fix, *position) for position in zip(flight.latitude_deg, flight.longitude_deg, strict=True)]
    distance_nm = np.array([line["s12"] for line in lines]) / NM
    off = wrap(np.array([line["azi1"] for line in lines]) + 180.0 - course)
    established = near(distance_nm, off) & (np.abs(wrap(flight.track_deg - course)) <= ESTABLISHED_TRACK_DEG)
    lasting = np.lib.stride_tricks.sliding_window_view(established, ESTABLISHED_S + 1).all(axis=1)
    begin = math.ceil(after_s)
    return float(flight.time_s[begin + int(np.flatnonzero(lasting[begin:])[0])])


def _held_at(flight: Flight) -> tuple[Place, float]:
    """The fix of the hold, which in both charts is that of the reversal, and the hold's inbound course, true."""
    chart = flight.scenario.chart
    hold = chart["holds"][0] if "holds" in chart else chart["reversal"]
    return place_of(chart["fix"]), hold["inbound_course_deg"] + chart["fix"]["variation_deg_east"]


def _milli(flight: Flight, time_s: float) -> str:
    return utc(flight, time_s, "milliseconds")
