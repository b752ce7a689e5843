"""Checks of the return to the inbound course: whether the aircraft was established on it, and how far it overshot."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import INSIDE, NOT_ASSESSED, OUTSIDE, TOO_LITTLE, Context, Finding, judge
from analyzer.checks.phrases import clock, degrees, miles
from analyzer.legs.final_leg import passed_at
from analyzer.legs.guidance import ESTABLISHED_TRACK_RAD, needle, off_inbound
from analyzer.legs.reversal import STRAIGHT_IN, Part, Reversal
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.motion import Motion
from analyzer.motion.uncertainty import distance_sd, smoothed_over, track_sd
from analyzer.physics.units import NM, FloatArray

__all__ = ["CHECKS", "established", "intercept", "is_past_fix"]

_NEEDLE_FROM_M = 1.0 * NM  # from the station
_NEAR_S = 20.0  # before and after: what the error of an angle can move the instant by
_LATE_SHARE = 0.2  # of the width of the smoothing: by so much the end of a roll-out is early or late
_BEHIND_S = 3.0  # an aircraft established this soon after a hole, or the log's start, may have been so before

_SOURCE = (
    "ICAO Doc 8168 Vol I, as quoted of FAA-H-8261-1, p. 4-6: within half full scale, or 5° of an NDB's course; the track "
    "within 15°: common practice"
)

_WITHIN = "a log does not show whether it was cleared to join the course only past the fix"
_BESIDE_S = 300.0  # before the fix, of who never joined the course straight in: where it was nearest to it
_PAST_M = 0.25 * NM  # beyond the fix: nearer to it, a needle swings, and both ways of saying it are right
_FARTHEST_ABEAM_M = 5.0 * NM  # farther from the fix the aircraft has gone elsewhere


def established(context: Context) -> tuple[Finding, ...]:
    """Whether the aircraft was established inbound before the fix; outside where it was not and the log covers the fix."""
    settled = context.reversal.first_established_s
    if settled is not None:
        return (_settled(context, settled),)
    back = _came_by(context.reversal)
    return (_never_settled(context, back),) if back is not None else ()


def _settled(context: Context, settled_s: float) -> Finding:
    """The finding where the aircraft was established; in a hole just before, it may have been so already."""
    distance, fix_name = context.motion.distance_at(settled_s), context.motion.charted.procedure.fix.name
    behind = context.motion.holes_between(settled_s - _BEHIND_S, settled_s, LONG_HOLE_S)
    holes = [begin for begin, end in behind if end <= settled_s]
    room = abs(context.motion.distance_at(holes[0]) - distance) / 2.0 if holes else 0.0
    from_the_start = settled_s - float(context.motion.states.time_s[0]) < _BEHIND_S
    preposition, least = ("by", "at least ") if holes or from_the_start else ("at", "")
    late = is_past_fix(context.motion, settled_s)
    untold = late and context.reversal.flown == STRAIGHT_IN
    where = f"{least}{miles(distance, 1)} {'past' if late else 'from'} {fix_name}"
    sentence = f"Established inbound {preposition} {clock(settled_s)}, {where}"
    sentence += f"{_past_final_fix(context, settled_s)}{', where the log begins' if from_the_start else ''}."
    return Finding(
        "established", "inbound", "inbound", sentence, NOT_ASSESSED if untold else INSIDE, measured=distance / NM, unit="NM",
        sd=math.hypot(context.motion.position_sd_m, room, _settled_sd_m(context, settled_s)) / NM,
        source=_SOURCE, place=context.place(settled_s), reason=_WITHIN if untold else None,
    )  # fmt: skip


def _never_settled(context: Context, back: Part) -> Finding:
    """The finding where the aircraft was not established, by how near it came to the course after a part that leads to it."""
    charted, passed_s = context.motion.charted, _passed_s(context, back)
    if passed_s is None:
        return _not_assessed("the log ends before the aircraft reached the fix")
    begin_s = back.end_s if back.name == "reversal_turn" else max(back.start_s, passed_s - _BESIDE_S)
    states = context.motion.states.between(begin_s, passed_s)
    if not len(states) or context.motion.gaps_between(begin_s, passed_s):
        where = "between the reversal and the fix" if back.name == "reversal_turn" else "before the fix"
        return _not_assessed(f"the log has a gap {where}")
    off, track = off_inbound(states, charted)
    shown = needle(states, charted, charted.inbound_true_rad)
    # over a station its needle says nothing
    shows = states.distance_m > _NEEDLE_FROM_M
    shows = shows if shows.any() else states.distance_m >= 0.0
    k = int(np.argmin(np.where(shows, np.maximum(np.abs(off), np.abs(track)), np.inf)))
    angle, turned = abs(float(shown.angle_rad[k])), abs(float(track[k])) * ESTABLISHED_TRACK_RAD
    return Finding(
        check="established",
        leg="inbound",
        part=None,
        sentence=(
            f"Never established inbound before {charted.procedure.fix.name}, which was passed at {clock(passed_s)}, "
            f"{miles(context.motion.distance_at(passed_s))} abeam. Nearest to it at {clock(float(states.time_s[k]))}: "
            f"{degrees(angle)} off the course, the track {degrees(turned, 0)} off its direction."
        ),
        verdict=OUTSIDE,
        measured=abs(float(shown.cross_track_m[k])) / NM,
        unit="NM",
        sd=context.motion.position_sd_m / NM,
        source=_SOURCE,
        place=context.place(float(states.time_s[k])),
    )


def is_past_fix(motion: Motion, established_s: float) -> bool:
    """Whether the fix lay behind already when the aircraft was established inbound."""
    states = motion.states.between(established_s - 1.0, established_s + 1.0)
    return len(states) > 0 and bool(-states.along_m(motion.charted.inbound_true_rad + math.pi)[-1] > _PAST_M)


def _came_by(reversal: Reversal) -> Part | None:
    """The part that leads to where the course is to be joined: the last reversing turn, or straight in the arrival."""
    if reversal.flown == STRAIGHT_IN and reversal.parts[0].name == "arrival":
        return reversal.parts[0]
    return reversal.last_part("reversal_turn")


def _past_final_fix(context: Context, settled_s: float) -> str:
    """That the final approach fix lay behind already, in words; empty where it did not, or none is charted."""
    back = _came_by(context.reversal)
    faf = context.motion.charted.fix_of("final-approach-fix")
    if back is None or faf is None:
        return ""
    states = context.motion.states.between(back.end_s, settled_s)
    passed_s = passed_at(states, faf.latitude_rad, faf.longitude_rad, faf.course_true_rad)
    late = passed_s is not None and settled_s - passed_s > _BEHIND_S
    return f", {settled_s - passed_s:.0f} s after passing {faf.name} beside the course" if passed_s is not None and late else ""


def _passed_s(context: Context, back: Part) -> float | None:
    """When the fix was passed after the reversing turn, within 5 NM abeam; None if it was not. [s]"""
    reversal, charted = context.reversal, context.motion.charted
    inbound = [one.time_s for one in reversal.passages if one.direction == "inbound" and one.time_s >= back.start_s]
    if inbound:
        return inbound[-1]
    states = context.motion.states.between(back.end_s, float(context.motion.states.time_s[-1]))
    abeam_s = passed_at(states, charted.fix_latitude_rad, charted.fix_longitude_rad, charted.inbound_true_rad)
    return abeam_s if abeam_s is not None and context.motion.distance_at(abeam_s) < _FARTHEST_ABEAM_M else None


def _not_assessed(reason: str) -> Finding:
    return Finding(
        "established", "inbound", None, "Established inbound.", NOT_ASSESSED, unit="NM", source=_SOURCE, reason=reason
    )


def _settled_sd_m(context: Context, settled_s: float) -> float:
    """How far from the fix the aircraft may as well have been established, as a standard deviation. [m]

    The instant is that at which an angle becomes small enough. It may be as early as the angle less its error allows, and as
    late as with its error on top; and in a roll-out the smoothing of the track moves it, by a share of its width.
    """
    motion, charted = context.motion, context.motion.charted
    states = motion.states.between(settled_s - _NEAR_S, settled_s + _NEAR_S)
    if len(states) < 2:
        return 0.0
    off, track = (np.abs(share) for share in off_inbound(states, charted))
    sd_m = distance_sd(motion, states)
    off_sd = off * sd_m / np.maximum(np.abs(states.cross_track_m(charted.inbound_true_rad)), sd_m)
    angle_sd = track_sd(motion, states) / ESTABLISHED_TRACK_RAD
    least, most = np.maximum(off - off_sd, track - angle_sd), np.maximum(off + off_sd, track + angle_sd)
    not_yet = np.flatnonzero((states.time_s < settled_s) & (least > 1.0))
    by_then = np.flatnonzero((states.time_s >= settled_s) & (most <= 1.0))
    earliest = _passes_one(states.time_s, least, int(not_yet[-1])) if len(not_yet) else float(states.time_s[0])
    latest = _passes_one(states.time_s, most, max(int(by_then[0]) - 1, 0)) if len(by_then) else float(states.time_s[-1])
    room = 0.5 * abs(motion.distance_at(earliest) - motion.distance_at(latest))
    width = smoothed_over(motion.path, motion.track.time_s, np.array([settled_s]))[0]
    speed = float(np.interp(settled_s, states.time_s, states.ground_speed_mps))
    return math.hypot(room, _LATE_SHARE * float(width) * speed)


def _passes_one(time_s: FloatArray, share: FloatArray, k: int) -> float:
    """When what is above one at a sample is down to it, on the line to the next sample."""
    fall = float(share[k] - share[k + 1])
    done = min(max((float(share[k]) - 1.0) / fall, 0.0), 1.0) if fall > 0.0 else 0.0
    return float(time_s[k] + done * (time_s[k + 1] - time_s[k]))


def intercept(context: Context) -> tuple[Finding, ...]:
    """How far the track went beyond the inbound course, and how far from the fix the aircraft was established."""
    figures, limit = context.figures, context.standard["overshoot"]
    if context.reversal.part("reversal_turn") is None:
        return ()
    if figures.overshoot_m is None or figures.overshoot_time_s is None:
        reason = context.not_established or TOO_LITTLE
        sentence = "Intercept of the inbound course."
        return (
            Finding(
                "intercept", "reversal", "intercept", sentence, NOT_ASSESSED, unit="NM", source=limit.source, reason=reason
            ),
        )
    margin, sd = limit.value * NM - figures.overshoot_m, context.motion.position_sd_m
    ends = None if context.reversal.came_home else context.not_established
    incomplete = (ends, *(context.incomplete(*span) for span in context.reversal.home_spans))
    verdict, reason_text = judge(margin, sd, next((why for why in incomplete if why is not None), None))
    part = context.reversal.part_at(figures.overshoot_time_s)
    past = f"overshot by {miles(figures.overshoot_m)}" if figures.overshoot_m > 0.02 * NM else "not overshot"
    settled = figures.established_distance_m
    then = f"established {miles(settled, 1)} from the fix" if settled is not None else "never established on it"
    return (
        Finding(
            check="intercept",
            leg="reversal",
            part=part.name if part is not None else None,
            sentence=f"Inbound course {past}; {then}.",
            verdict=verdict,
            measured=figures.overshoot_m / NM,
            limit=limit.value,
            unit="NM",
            margin=margin / NM,
            sd=sd / NM,
            source=limit.source,
            reason=reason_text,
            details={} if settled is None else {"established_distance_nm": settled / NM},
            place=context.place(figures.overshoot_time_s),
        ),
    )


CHECKS = (
    Check(
        "established",
        established,
        "Whether the aircraft was established inbound before it reached the fix, and how far from the fix.",
        "Within half of full scale (VOR and NDB 5°, localizer half of its own width, GPS half a mile; in a hold the angle at "
        "its fix), the track within 15° of the course, both for 5 s. By the guidance in use, whatever the standard.",
        weight=10.0,
    ),
    Check(
        "intercept",
        intercept,
        "How far the track went beyond the inbound course, and how far from the fix it was established.",
        "Greatest cross-track beyond the course, on the far side from where the turn began, until established and no longer "
        "going beyond it; in a hold, of all circuits.",
        limits={"overshoot": ("NM",)},
        weight=5.0,
        all_lost_by={"NM": 0.5},
    ),
)
