"""Checks of a hold, lap by lap: direction of turn, altitude, drift correction and timing."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import INSIDE, NO_ALTITUDE, NOT_ASSESSED, OUTSIDE, Context, Finding
from analyzer.checks.hold_wrong_round import WrongRound, wrong_round
from analyzer.checks.levels import level_finding, level_stretches
from analyzer.checks.outbound_legs import abeam_s, wings_level_s
from analyzer.checks.phrases import clock, degrees, side_word
from analyzer.legs.held import laps_of
from analyzer.legs.reversal import Part
from analyzer.motion.states import States
from analyzer.physics.units import DEG, FloatArray, bearing_text, wrap

__all__ = ["CHECKS", "hold_altitude", "hold_drift", "hold_turn"]

_TURN_SOURCE = "charted; AIM 5-3-8 j.1: the direction of turns is part of the hold"
_LEAST_STATES = 10
_AT_ONCE_S = 3.0  # from the beginning of the log


def hold_turn(context: Context) -> tuple[Finding, ...]:
    """The direction of the turns of a hold against the charted one."""
    if context.hold is None or context.reversal.side is None:
        return ()
    flown, wanted = -context.reversal.side, context.hold.turn
    first = wrong_round(context) if flown == wanted else None
    if first is not None:
        return (_first_wrong_way(context, first),)
    agrees = flown == wanted
    unseen = None if agrees else _entry_unseen(context)
    turn = context.reversal.part("turn_inbound")
    sentence = (
        f"Held with {side_word(flown)} turns, {'as charted' if agrees else f'but charted with {side_word(wanted)} turns'}."
    )
    return (
        Finding(
            "hold_turn", "hold", "turn_inbound", sentence, NOT_ASSESSED if unseen else INSIDE if agrees else OUTSIDE,
            side_word(flown), side_word(wanted), source=_TURN_SOURCE, reason=unseen,
            place=context.place(turn.start_s) if turn is not None else None,
        ),
    )  # fmt: skip


def _entry_unseen(context: Context) -> str | None:
    """Why one lap round the wrong way may be an entry that turned as it should; None where its beginning, or another, shows."""
    begins = context.reversal.begun_s < float(context.motion.states.time_s[0]) + _AT_ONCE_S
    if not begins or len(laps_of(context.reversal)) > 1:
        return None
    return "the log begins in its first turn, and a parallel entry turns the same way"


def _first_wrong_way(context: Context, first: WrongRound) -> Finding:
    """The finding on a first time round that was turned the wrong way, before laps as charted."""
    heading = bearing_text(first.heading_rad - context.motion.charted.variation.east_rad)
    sentence = (
        f"The fix was first passed at {clock(first.passed_s)} on heading {heading}, and the turn back to it was to the "
        f"{side_word(first.turn)}; {side_word(-first.turn)} turns are charted. The laps are numbered from the next passage."
    )
    return Finding(
        "hold_turn", "hold", "arrival", sentence, OUTSIDE, side_word(first.turn), side_word(-first.turn), source=_TURN_SOURCE,
        place=context.place(first.passed_s), details={"before_laps": 1.0},
    )  # fmt: skip


def hold_altitude(context: Context) -> tuple[Finding, ...]:
    """Greatest departure from the altitude held, lap by lap."""
    if context.hold is None:
        return ()
    if not context.motion.has_altitude:
        reason = NO_ALTITUDE
        return (Finding("hold_altitude", "hold", None, "Level of the hold.", NOT_ASSESSED, unit=context.height.name,
                        source=context.standard["altitude_hold"].source, reason=reason),)  # fmt: skip
    findings = []
    for number, lap in enumerate(laps_of(context.reversal), 1):
        span = lap[0].start_s, lap[-1].end_s
        levels = level_stretches(context.motion.states.between(*span))
        if levels:
            words = f"Lap {number}: level at {{level}},"
            finding = level_finding(context, "hold_altitude", "hold", levels, words, context.incomplete(*span))
            findings.append(replace(finding, lap=number))
    return tuple(findings)


def hold_drift(context: Context) -> tuple[Finding, ...]:
    """Drift correction outbound and inbound, lap by lap, and the outbound time for the wanted inbound one; no verdict."""
    if context.hold is None or context.figures.wind is None:
        return ()
    findings = []
    for number, lap in enumerate(laps_of(context.reversal), 1):
        parts = {part.name: part for part in lap}
        # the outbound leg of a teardrop or parallel entry is offset on purpose
        entered = number == 1 and context.reversal.flown != "hold-direct"
        if entered or "outbound" not in parts or "inbound" not in parts:
            continue
        if context.incomplete(lap[0].start_s, parts["inbound"].end_s):
            continue
        finding = _lap_drift(context, number, lap[0].start_s, parts["outbound"], parts["inbound"])
        findings += [finding] if finding is not None else []
    return tuple(findings)


def _lap_drift(context: Context, number: int, begun_s: float, outbound: Part, inbound: Part) -> Finding | None:
    motion, course = context.motion, context.motion.charted.inbound_true_rad
    out, back = (_straight(motion.states.between(part.start_s, part.end_s)) for part in (outbound, inbound))
    if len(out) < _LEAST_STATES or len(back) < _LEAST_STATES:
        return None
    correction_out = _mean(wrap(out.heading_rad - course - math.pi))
    correction_in = _mean(wrap(back.heading_rad - course))
    words = f"{_side(correction_out)} outbound, {_side(correction_in)} inbound"
    # outbound from over or abeam the fix, whichever is later, and inbound from wings level, as the legs are timed
    abeam = abeam_s(motion.states.between(begun_s, outbound.end_s), motion.charted.outbound_true_rad)
    out_s = outbound.end_s - (abeam if abeam is not None else begun_s)
    back_s = inbound.end_s - wings_level_s(motion, inbound)
    times = f"outbound {out_s:.0f} s, inbound {back_s:.0f} s"
    wanted = motion.charted.leg_time_s
    due, better = None, ""
    if wanted is not None:
        longer = (wanted - back_s) * float(back.ground_speed_mps.mean()) / float(out.ground_speed_mps.mean())
        due = out_s + longer
        better = f"; {due:.0f} s outbound would have given {wanted:.0f} s inbound"
    ratio = f" ({abs(correction_out / correction_in):.1f} times)" if abs(correction_in) > 1.0 * DEG else ""
    return Finding(
        check="hold_drift",
        leg="hold",
        part="outbound",
        lap=number,
        sentence=f"Lap {number}: heading corrected {words}{ratio}; {times}{better}.",
        verdict=NOT_ASSESSED,
        measured=abs(correction_out) / DEG,
        unit="deg",
        source="AIM 5-3-8 j.8(c): three times the inbound correction outbound",
        basis="estimate",
        reason="a rule of thumb; for information only",
        details={
            "inbound_correction_deg": correction_in / DEG,
            "outbound_correction_deg": correction_out / DEG,
            **({"outbound_due_s": due} if due is not None else {}),
        },
        place=context.place(outbound.start_s),
    )


def _straight(states: States) -> States:
    """The states of a leg from first to last with wings level."""
    level = np.flatnonzero(np.abs(states.bank_rad) < 5.0 * DEG)
    return (
        states.between(float(states.time_s[level[0]]), float(states.time_s[level[-1]])) if len(level) else states.between(0, -1)
    )


def _mean(angle: FloatArray) -> float:
    return float(np.mean(angle))


def _side(correction: float) -> str:
    if abs(correction) < 0.5 * DEG:
        return "none"
    return f"{degrees(abs(correction), 0)} {side_word(1 if correction > 0.0 else -1)}"


CHECKS = (
    Check(
        "hold_turn",
        hold_turn,
        "Direction of the turns of a published hold.",
        "The side of the best-fitting laps; of a round before them, begun in the direct sector, that of the turn back.",
        weight=10.0,
        fails_outright=True,
        in_words=True,
        of=("hold",),
    ),
    Check(
        "hold_altitude",
        hold_altitude,
        "Greatest departure from the altitude held in a hold, lap by lap.",
        "Level: less than 150 ft/min over 40 s, for 40 s at least.",
        limits={"altitude_hold": ("ft",)},
        weight=5.0,
        all_lost_by={"ft": 100.0},
        of=("hold",),
    ),
    Check(
        "hold_drift",
        hold_drift,
        "Drift correction outbound against inbound, lap by lap, and the outbound time that would have given the inbound one.",
        "Heading = direction of ground velocity less the estimated wind, from the course.",
        of=("hold",),
    ),
)
