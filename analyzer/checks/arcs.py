"""Check of an arc: how well its radius was held."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import Context, Finding, judge
from analyzer.checks.phrases import clock, miles
from analyzer.legs.arcs import left_and_joined, rounds_of
from analyzer.legs.reversal import Part
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, FloatArray, unwrapped

__all__ = ["CHECKS", "arc_radius"]

_LEAST_RAD = 30.0 * DEG  # of bearing swept, at least: of an arc that nothing else shows
_LEAST_S = 60.0  # before the arc as found; less is the end of the turn that joins it
# A straight line that comes from this far off the radius leads to the arc, though it may pass along it for a while: its track
# stays within so much, while the bearing sweeps more than on an arc in which the track would do so.
_ELSEWHERE_M, _STRAIGHT_RAD, _PAST_RAD = 1.0 * NM, 8.0 * DEG, 15.0 * DEG


def arc_radius(context: Context) -> tuple[Finding, ...]:
    """Greatest and RMS departure from the radius of the charted arc.

    What was flown round its centre before it came near the radius belongs to it, and so does a round that never came near; a
    straight line that leads to it from elsewhere does not.
    """
    charted = context.motion.charted
    radius, latitude, longitude = charted.arc_radius_m, charted.arc_latitude_rad, charted.arc_longitude_rad
    if radius is None or latitude is None or longitude is None:
        return ()
    part = _flown_round(context, radius, latitude, longitude)
    states = context.motion.states.between(part.start_s, part.end_s) if part is not None else None
    if part is None or states is None or not len(states):
        return ()
    limit = context.standard["arc_radius"]
    distance, _ = geodesy.inverse_near(latitude, longitude, states.latitude_rad, states.longitude_rad)
    off = distance - radius
    k = int(np.argmax(np.abs(off)))
    time = float(states.time_s[k])
    margin = limit.value * NM - abs(float(off[k]))
    verdict, reason = judge(margin, context.motion.position_sd_m, context.incomplete(part.start_s, part.end_s, part.name))
    rms = float(np.sqrt(np.mean(off**2)))
    return (
        Finding(
            check="arc_radius",
            leg=part.leg,
            part=part.name,
            sentence=(
                f"Arc of {miles(radius, 1)}: at most {miles(abs(float(off[k])))} {'outside' if off[k] > 0 else 'inside'} it, "
                f"at {clock(time)}; {miles(rms)} RMS; limit {miles(limit.value * NM, 1)}."
            ),
            verdict=verdict,
            measured=abs(float(off[k])) / NM,
            limit=limit.value,
            unit="NM",
            margin=margin / NM,
            sd=context.motion.position_sd_m / NM,
            source=limit.source,
            reason=reason,
            details={"rms_nm": rms / NM},
            place=context.place(time),
        ),
    )


def _flown_round(context: Context, radius_m: float, latitude_rad: float, longitude_rad: float) -> Part | None:
    """The arc as a part, with what leads round to it; on the arrival where no arc is found; None where none was flown."""
    arc, arrival = context.reversal.part("arc"), context.reversal.parts[0]
    if arc is None and (arrival.name != "arrival" or context.motion.charted.kind != "arc"):
        return None
    since = arrival.start_s
    before = context.motion.states.between(since, arc.end_s if arc is not None else arrival.end_s)
    distance, bearing = geodesy.inverse_near(latitude_rad, longitude_rad, before.latitude_rad, before.longitude_rad)
    rounds = rounds_of(before, distance, bearing, radius_m)
    left = left_and_joined(before, distance, bearing, radius_m) if context.motion.charted.kind == "arc" else None
    if left is not None:
        rounds = (*(one for one in rounds if one.start_s < left.start_s and one.end_s > left.start_s), left)
    if arc is None:
        last = next((one for one in reversed(rounds) if abs(one.swept_rad) >= _LEAST_RAD), None)
        return Part("arrival", last.start_s, last.end_s) if last is not None else None
    led = [one.start_s for one in rounds if one.start_s < arc.start_s - _LEAST_S and one.end_s > arc.start_s]
    if led:
        return replace(arc, start_s=led[0])
    return replace(arc, start_s=_led_straight_to_s(before, distance - radius_m, unwrapped(bearing), arc.start_s))


def _led_straight_to_s(states: States, off_m: FloatArray, bearing_rad: FloatArray, start_s: float) -> float:
    """When the straight line ends that leads past an arc's centre to the arc from elsewhere; its start where none does. [s]"""
    at = min(int(np.searchsorted(states.time_s, start_s)), len(states) - 1)
    track = unwrapped(states.track_rad)
    turned = np.flatnonzero(np.abs(track - track[at]) > _STRAIGHT_RAD)
    begin, end = int(turned[turned < at][-1]) + 1 if (turned < at).any() else 0, turned[turned > at]
    if not len(end) or np.abs(off_m[begin:at]).max(initial=0.0) < _ELSEWHERE_M:
        return start_s
    swept = abs(float(bearing_rad[end[0]] - bearing_rad[at]))
    return float(states.time_s[end[0]]) if swept > _PAST_RAD else start_s


CHECKS = (
    Check(
        "arc_radius",
        arc_radius,
        "Greatest departure from the charted arc on the arc part.",
        "Geodesic distance from the arc's centre less its radius, on all that was flown round it.",
        limits={"arc_radius": ("NM",)},
        weight=10.0,
        all_lost_by={"NM": 1.0},
    ),
)
