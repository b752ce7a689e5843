"""Checks of a hold: the entry flown against the sector of the arrival, and the timing of its legs."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.model import NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.words import clock, miles
from analyzer.legs.model import Part
from analyzer.physics import holding
from analyzer.physics.units import DEG, FT, NM, bearing_text

__all__ = ["CHECKS", "hold_entry", "hold_timing"]

_BEFORE_S = 4.0  # before the entry is begun: the heading at the fix, not that of a turn led
_TRACK_SD_RAD = 10.0 * DEG  # of a track that stands for a heading where no wind is known
_HEADING_SD_RAD = 1.0 * DEG
_TIMING_SD_S = 1.5  # of the beginning and end of a leg, from flights whose truth is known
_LEVEL_RAD = 5.0 * DEG
_HIGH_M, _LOW_LEG_S, _HIGH_LEG_S = 14_000.0 * FT, 60.0, 90.0  # AIM 5-3-8 j.4


def hold_entry(context: Context) -> tuple[Finding, ...]:
    """The entry into a charted hold against the one that the heading at the fix calls for, either within the tolerance."""
    charted, reversal = context.motion.charted, context.reversal
    passage = reversal.passage("outbound")
    if charted.kind != "hold" or charted.turn is None or passage is None:
        return ()
    given = context.standard["hold_entry"]
    flown = reversal.flown.removeprefix("hold-")
    if flown not in holding.ENTRIES:
        sentence = f"The charted hold was not flown: {reversal.flown} instead."
        source = "AIM 5-4-9 a.5: a hold in lieu of a procedure turn is flown as charted"
        return (Finding("hold_entry", "outbound", None, sentence, OUTSIDE, reversal.flown, "hold", source=source,
                        place=context.place(passage.time_s)),)  # fmt: skip
    if reversal.side != charted.side:
        return (Finding("hold_entry", "outbound", None, f"Entry {flown}.", NOT_ASSESSED, flown, None, source=given.source,
                        reason="the hold was flown with turns to the other side than charted"),)  # fmt: skip
    at = _arrival_instant(context, passage.time_s)
    states = context.motion.states.between(at - 1.0, at + 1.0)
    if not len(states):
        return (Finding("hold_entry", "outbound", None, f"Entry {flown}.", NOT_ASSESSED, flown, None, source=given.source,
                        reason="the log has no samples before the fix"),)  # fmt: skip
    wind, known = context.figures.wind, context.figures.wind is not None
    heading = float((states.heading_rad if known else states.track_rad)[0])
    sd = math.hypot(_HEADING_SD_RAD, wind.sd_mps / float(states.true_airspeed_mps[0])) if wind is not None else _TRACK_SD_RAD
    expected = holding.entry_for(heading, charted.inbound_true_rad, charted.turn)
    margin = holding.sector_margin(flown, heading, charted.inbound_true_rad, charted.turn) + given.value * DEG
    verdict, reason = judge(margin, sd)
    word = "heading" if known else "track"
    return (
        Finding(
            check="hold_entry",
            leg="outbound",
            part="entry_turn" if reversal.part("entry_turn") is not None else "outbound",
            sentence=(
                f"Entry {flown}; {word} {bearing_text(heading - charted.variation.east_rad)} at the fix calls for {expected} "
                f"(either within {given.value:.0f}° of a sector's edge)."
            ),
            verdict=verdict,
            measured=flown,
            limit=expected,
            unit="deg",
            margin=margin / DEG,
            sd=sd / DEG,
            source=given.source,
            basis="estimate",
            reason=reason,
            details={"heading_deg_magnetic": (heading - charted.variation.east_rad) / DEG % 360.0},
            place=context.place(at),
        ),
    )


def _arrival_instant(context: Context, passage_s: float) -> float:
    """Just before the entry began: the passage of the fix, or the turn that led it."""
    turn = context.reversal.part("entry_turn")
    begun = min(passage_s, turn.start_s) if turn is not None else passage_s
    return max(begun - _BEFORE_S, float(context.motion.states.time_s[0]))


def hold_timing(context: Context) -> tuple[Finding, ...]:
    """Leg of a charted hold against its time or length: outbound as entered, inbound in further circuits."""
    charted, reversal = context.motion.charted, context.reversal
    if charted.kind != "hold" or not reversal.flown.startswith("hold"):
        return ()
    outbound = reversal.part("outbound")
    findings = []
    if outbound is not None:
        if charted.leg_length_m is not None:
            findings.append(_length(context, outbound, charted.leg_length_m))
        else:
            findings.append(_time(context, outbound, max(outbound.start_s, _abeam(context, outbound)), outbound.end_s))
    if charted.leg_length_m is None:
        # the outbound leg of the entry is flown by the clock; that of a circuit is timed to make the inbound leg right
        circuits = [part for part in reversal.parts if part.name == "inbound"][1:]
        findings += [_time(context, leg, _wings_level(context, leg), leg.end_s) for leg in circuits]
    return tuple(findings)


def _wings_level(context: Context, inbound: Part) -> float:
    """When the wings came level on an inbound leg: the turn may still go on when the aircraft is established."""
    states = context.motion.states.between(inbound.start_s, inbound.end_s)
    level = np.flatnonzero(np.abs(states.bank_rad) < _LEVEL_RAD)
    return float(states.time_s[level[0]]) if len(level) else inbound.start_s


def _leg_time(context: Context, part: Part) -> float:
    """The charted leg time, else that of the altitude."""
    charted = context.motion.charted.leg_time_s
    if charted is not None:
        return charted
    return _HIGH_LEG_S if context.motion.altitude_at(part.start_s) > _HIGH_M else _LOW_LEG_S


def _abeam(context: Context, outbound: Part) -> float:
    """When the aircraft came abeam the fix on the outbound leg, which is when its time begins if that is later."""
    states = context.motion.states.between(outbound.start_s, outbound.end_s)
    behind = states.along_m(context.motion.charted.outbound_true_rad) < 0.0
    return float(states.time_s[behind][-1]) if behind.any() else outbound.start_s


def _time(context: Context, part: Part, start_s: float, end_s: float) -> Finding:
    given, wanted = context.standard["hold_timing"], _leg_time(context, part)
    flown = end_s - start_s
    # outbound, the time must not be exceeded; inbound, it should be met
    off = flown - wanted if part.name == "outbound" else abs(flown - wanted)
    margin = given.value - off
    verdict, reason = judge(margin, _TIMING_SD_S, context.incomplete(start_s, end_s, part.name))
    return Finding(
        check="hold_timing",
        leg=part.leg,
        part=part.name,
        sentence=f"Leg {part.name} flown {flown:.0f} s from {clock(start_s)}; {wanted:.0f} s charted or standard.",
        verdict=verdict,
        measured=flown,
        limit=wanted,
        unit="s",
        tolerance=given.value,
        margin=margin,
        sd=_TIMING_SD_S,
        source=given.source,
        reason=reason,
        place=context.place(start_s),
    )


def _length(context: Context, outbound: Part, wanted: float) -> Finding:
    given, flown = context.standard["hold_length"], context.motion.distance_at(outbound.end_s)
    tolerance = given.value * NM
    sd = _TIMING_SD_S * float(context.motion.states.between(outbound.start_s, outbound.end_s).ground_speed_mps.mean())
    margin = wanted + tolerance - flown
    verdict, reason = judge(margin, sd, context.incomplete(outbound.start_s, outbound.end_s, "outbound"))
    return Finding(
        check="hold_timing",
        leg="outbound",
        part="outbound",
        sentence=f"Outbound leg ended {miles(flown)} from the fix; {miles(wanted, 1)} charted.",
        verdict=verdict,
        measured=flown / NM,
        limit=wanted / NM,
        unit="NM",
        tolerance=given.value,
        margin=margin / NM,
        sd=sd / NM,
        source=given.source,
        reason=reason,
        place=context.place(outbound.end_s),
    )


CHECKS = (
    Check(
        "hold_entry",
        hold_entry,
        "Entry flown into a charted hold, against the sector that the heading at the fix lies in.",
        "Heading from the inbound course in the direction of the turns: teardrop 110° to 180°, parallel 180° to 290°, else"
        " direct.",
        limits={"hold_entry": ("deg",)},
        weight=5.0,
        in_words=True,
    ),
    Check(
        "hold_timing",
        hold_timing,
        "Time or length of the outbound leg as entered, and of the inbound leg of each further circuit.",
        "Outbound from wings level or abeam the fix, whichever is later, to the turn; 1 min, above 14,000 ft 1.5 min, or "
        "as charted.",
        limits={"hold_timing": ("s",), "hold_length": ("NM",)},
        weight=3.0,
    ),
)
