"""Lessons on legs with a time or length: when the turn was due, and the outbound leg for a wanted inbound time."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.hold_timing import leg_time_s
from analyzer.checks.outbound_legs import leg_reading, length_read_by, timed_from
from analyzer.checks.phrases import clock, degrees, knots, miles, side_word
from analyzer.legs.reversal import Part
from analyzer.lessons.laps import Lap, lap_of
from analyzer.physics.units import DEG, KT, NM, bearing_text, wrap

__all__ = ["learn_circuit", "learn_leg"]

_NEAR_S = 8.0  # if the time from wings level is this close to the wanted one, timing was started there
_WIDEST_RAD, _SHORTEST_S = 60.0 * DEG, 15.0  # of an outbound leg that a pilot would fly; common practice, no source
_OFF_COURSE_M, _SAME_HEADING_RAD, _CALM_MPS = 0.2 * NM, 2.0 * DEG, 2.0 * KT  # smaller values are not reported


def learn_leg(context: Context, finding: Finding) -> Lesson | None:
    """When the turn was due, and whether timing was started too late; for an inbound leg, the next outbound leg."""
    outbound, limit = _outbound_of(context, finding), finding.limit
    if not isinstance(limit, float) or not isinstance(finding.measured, float):
        return None
    if finding.part == "inbound":
        return _next_outbound(context, finding, finding.measured, limit)
    if outbound is None:
        return None
    if finding.unit == "NM":
        return _length(context, outbound, finding.measured, limit)
    begun = timed_from(context.motion, context.reversal, outbound)
    from_level = outbound.end_s - outbound.start_s
    over = finding.measured - limit
    if over <= 0.0:
        return None
    late = outbound.start_s - begun.time_s
    cause = None
    if abs(from_level - limit) < _NEAR_S and late > _NEAR_S:
        # a log does not show a stopwatch: only that a charted time was flown from there
        cause = f"From wings level, {late:.0f} s later, it took {from_level:.0f} s: the clock was probably started there."
    where = begun.words if begun.words != "wings level" else "at wings level"
    due = f"turn {limit:.0f} s later, at {clock(begun.time_s + limit)}"
    return Lesson(cause, f"Start the clock {where}, here at {clock(begun.time_s)}, and {due}.")


def _outbound_of(context: Context, finding: Finding) -> Part | None:
    """The outbound leg that contains the place of a finding; else the first."""
    legs = [part for part in context.reversal.parts if part.name == "outbound"]
    at = finding.place.time_s if finding.place is not None else -math.inf
    return next((part for part in legs if part.start_s <= at <= part.end_s), legs[0] if legs else None)


def _length(context: Context, outbound: Part, measured_nm: float, limit_nm: float) -> Lesson | None:
    """When the leg reached its charted length, and how much later the turn began."""
    by = length_read_by(context.motion.charted)
    instants = np.arange(outbound.start_s, outbound.end_s, 1.0)
    reached = next((t for t in instants if leg_reading(context.motion, float(t), by).length_m >= limit_nm * NM), None)
    if reached is None:
        return None
    due = leg_reading(context.motion, float(reached), by)
    return Lesson(
        f"The leg was {miles(limit_nm * NM, 1)} long {due.words} at {clock(float(reached))}; the turn was begun "
        f"{outbound.end_s - float(reached):.0f} s and {miles((measured_nm - limit_nm) * NM, 1)} later.",
        f"Begin the turn at {miles(limit_nm * NM, 1)}.",
    )


def _next_outbound(context: Context, finding: Finding, measured: float, wanted: float) -> Lesson | None:
    """The outbound leg for the wanted inbound time, by simulation in the wind, else by the ground speeds flown."""
    inbound = context.reversal.part_at(finding.place.time_s) if finding.place is not None else None
    if inbound is None:
        return None
    lap = lap_of(context, inbound)
    solved = _lap_lesson(context, lap, wanted) if lap is not None else None
    return solved or _by_ground_speeds(context, inbound, wanted - measured)


def learn_circuit(context: Context, finding: Finding) -> Lesson | None:
    """The outbound leg for the circuit of a hold that a finding is about; None for the entry, or legs with a length."""
    at = finding.place.time_s if finding.place is not None else -math.inf
    inbound = next((part for part in context.reversal.parts if part.name == "inbound" and part.end_s >= at), None)
    lap = lap_of(context, inbound) if inbound is not None and context.motion.charted.leg_length_m is None else None
    return _lap_lesson(context, lap, leg_time_s(context, inbound)) if lap is not None and inbound is not None else None


def _lap_lesson(context: Context, lap: Lap, wanted_s: float) -> Lesson | None:
    """Outbound heading and time for an inbound leg of `wanted_s` on its course; None if there are none."""
    solved = lap.circuit.closing(wanted_s)
    if solved is None:
        return None
    east, wind = context.motion.charted.variation.east_rad, lap.wind.speed_mps
    seconds, heading = lap.circuit.timed_s(*solved), bearing_text(solved[0] - east)
    flown, from_fix = bearing_text(lap.heading_rad - east), lap.from_words
    off = lap.circuit.across_m(lap.heading_rad, lap.level_s)
    roll_out = ""
    if abs(off) >= _OFF_COURSE_M:
        roll_out = f"; the turn then rolls out {miles(abs(off), 1)} {side_word(1 if off > 0.0 else -1)} of the course"
    cause = (
        f"The outbound leg took {lap.timed_s:.0f} s from {from_fix} on heading {flown}, at {knots(lap.out_mps)} over the "
        f"ground against {knots(lap.in_mps)} inbound{roll_out}."
    )
    out = lap.circuit.inbound_rad + math.pi
    if abs(float(wrap(solved[0] - out))) > _WIDEST_RAD or seconds < _SHORTEST_S:
        cause = (
            f"{cause} In this wind ({knots(wind)}) only an outbound leg of less than {_SHORTEST_S:.0f} s, or more than "
            f"{degrees(_WIDEST_RAD, 0)} off its course, would make it {wanted_s:.0f} s."
        )
        return Lesson(cause, None)
    begin = f"In the wind of this lap ({knots(wind)}) fly" if wind > _CALM_MPS else "Fly"
    same = abs(float(wrap(solved[0] - lap.heading_rad))) < _SAME_HEADING_RAD
    instead = f"not for {lap.timed_s:.0f} s" if same else f"not {flown} for {lap.timed_s:.0f} s"
    return Lesson(cause, f"{begin} heading {heading} outbound for {seconds:.0f} s from {from_fix}, {instead}.")


def _by_ground_speeds(context: Context, inbound: Part, longer_s: float) -> Lesson | None:
    """The change of the outbound time for the wanted inbound time, by the ground speeds of the two legs."""
    before = [part for part in context.reversal.parts if part.name == "outbound" and part.end_s <= inbound.start_s]
    outbound = before[-1] if before else None
    if outbound is None:
        return None
    home, out = (context.motion.states.between(part.start_s, part.end_s) for part in (inbound, outbound))
    if not len(home) or not len(out):
        return None
    speeds = float(home.ground_speed_mps.mean()), float(out.ground_speed_mps.mean())
    change = longer_s * speeds[0] / speeds[1]
    cause = f"The outbound leg before it took {outbound.duration_s:.0f} s from wings level."
    if outbound.duration_s + change < _SHORTEST_S:
        return Lesson(cause, None)
    return Lesson(
        cause,
        f"Fly the outbound leg {abs(change):.0f} s {'longer' if change > 0.0 else 'shorter'}, at the ground speeds flown.",
    )
