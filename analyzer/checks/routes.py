"""Checks of the arrival: whether its route calls for a reversal, and the entry sector."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import INSIDE, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.phrases import degrees, miles
from analyzer.frozen import dataclass
from analyzer.legs.arcs import arcs_about, is_plainly
from analyzer.legs.bounds import arc_reach_m, leg_bound_m, reversal_reach_m
from analyzer.legs.reversal import STRAIGHT_IN
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FT, NM, BoolArray, FloatArray, bearing_text, unwrapped, wrap, wrap_positive
from analyzer.procedure.approach import ChartedArrival
from analyzer.procedure.clearance import Way

__all__ = [
    "CHECKS",
    "Route",
    "arrival_flown",
    "entry_sector",
    "no_reversal",
    "off_the_routes",
    "route_flown",
    "track_of_arrival",
]

# a route was flown if the last 3 NM lie within either of these
_ROUTE_M, _ROUTE_RAD, _ROUTE_OFF_M = 3.0 * NM, 5.0 * DEG, 1.0 * NM
_TURN_M = 1.0 * NM  # what the turn of a reversal takes of its room, about
_BELOW_M = 100.0 * FT  # a log that begins so much below the minimum has left it; as a level is held
_NEAR_M = 0.5 * NM  # closer to the fix a turn may have begun, and the angle at the fix is meaningless
_ALONG_RAD = 30.0 * DEG  # of the track from the course of a route
_ARRIVED_S, _LED_S = 20.0, 4.0  # the track of arrival is the median between these seconds before the turn at the fix
_TRACK_SD_RAD = 1.5 * DEG  # of a track of arrival, due to its fluctuations; an assumption
_SOON_ON_COURSE_S = 300.0  # from the beginning of a log that a reversal may have come before
_AT_FIX_S, _GONE_ON_S = 5.0, 30.0  # final begins at the fix, and who is on it half a minute later goes on; no source
_CLEARANCE = "a clearance would excuse it, and a log does not show one"
_CLEARED_LATER = "only a later clearance for it would excuse it"
_CLEARED: Mapping[Way, tuple[str, str]] = {
    "vectors": (
        "by radar vectors to the final course",
        "14 CFR 91.175(j), and AIM 5-4-9 a: no procedure turn after a radar vector to the final course",
    ),
    "straight-in": (
        "straight in",
        "AIM 5-4-9 a: a charted reversal is flown unless cleared straight in; 14 CFR 91.123(a): a clearance is kept",
    ),
}
_EXCUSED = "a straight-in clearance, vectors or a NoPT route would excuse it, and a log does not show them"
_CHARTED_REVERSALS = ("procedure-turn", "base-turn", "hold")


@dataclass(frozen=True, eq=False)
class Route:
    """A charted arrival that was flown, and its states, from joining its course to the fix."""

    arrival: ChartedArrival
    states: States


def _arrives_s(context: Context) -> float | None:
    """When the arrival ends: at the fix, or at a turn that begins before it; None if the log begins later. [s]"""
    reversal = context.reversal
    passage = reversal.passage("outbound") or reversal.passage("inbound")
    if passage is None:
        return None
    turn = reversal.part("outbound_turn") or reversal.part("entry_turn")
    return min(passage.time_s, turn.start_s) if turn is not None else passage.time_s


def _coming(context: Context) -> States | None:
    """The states of the last 3 NM to the fix, before the turn there; None if the log does not cover them."""
    end = _arrives_s(context)
    if end is None:
        return None
    before = context.motion.states.between(float(context.motion.states.time_s[0]), end)
    far = np.flatnonzero(before.distance_m > _ROUTE_M)
    if not len(far):
        return None
    states = before.between(float(before.time_s[far[-1]]), end)
    if context.motion.gaps_between(float(states.time_s[0]), end):
        return None
    near = np.flatnonzero(states.distance_m < _NEAR_M)
    return states.between(float(states.time_s[0]), float(states.time_s[near[0]])) if len(near) else states


def arrival_flown(context: Context) -> ChartedArrival | None:
    """The charted arrival that was flown: within 5° or 1 NM of its course for the last 3 NM; the closest if several fit.

    None where the log begins on the way out to where the course is joined, or inbound below the route's minimum: what came
    before may be a reversal.
    """
    states = _coming(context)
    if states is None or not len(states) or _begins_on_the_way_out(context):
        return None
    fitting = [
        (median(_off_route(states, arrival)), arrival.name, arrival)
        for arrival in context.motion.charted.arrivals
        if bool(_on_route(states, arrival).all()) and not _begins_below(context, arrival)
    ]
    return min(fitting)[2] if fitting else None


def _begins_on_the_way_out(context: Context) -> bool:
    """Whether the log of a straight-in begins where reversals are flown, on a track that leads away from the way in."""
    joined, states, charted = context.reversal.part("inbound"), context.motion.states, context.motion.charted
    if context.reversal.flown != STRAIGHT_IN or joined is None or context.reversal.parts[0].start_s > states.time_s[0]:
        return False
    away = math.cos(float(states.track_rad[0]) - charted.inbound_true_rad) < 0.0
    before = states.between(float(states.time_s[0]), joined.start_s)
    return away and float(before.distance_m.max()) < reversal_reach_m(charted)


def _begins_below(context: Context, arrival: ChartedArrival) -> bool:
    """Whether the log of a straight-in begins where a reversal has been flown, below the minimum of the way in."""
    states, charted = context.motion.states, context.motion.charted
    if context.reversal.flown != STRAIGHT_IN or context.reversal.parts[0].start_s > states.time_s[0]:
        return False
    if charted.kind not in _CHARTED_REVERSALS or arrival.minimum_m is None:
        return False
    turned = float(states.distance_m[0]) < leg_bound_m(charted) - _TURN_M
    return turned and float(states.altitude_m[0]) < arrival.minimum_m - _BELOW_M


def _off_route(states: States, arrival: ChartedArrival) -> FloatArray:
    """Distance from the course of an arrival. [m]"""
    return np.abs(geodesy.cross_track(states.distance_m, states.deviation_rad(arrival.course_true_rad + math.pi)))


def _on_route(states: States, arrival: ChartedArrival) -> BoolArray:
    """Where an arrival is being flown: before the fix, within 5° or 1 NM of its course, and in its direction."""
    angle = states.deviation_rad(arrival.course_true_rad + math.pi)
    near = (np.abs(angle) <= _ROUTE_RAD) | (_off_route(states, arrival) <= _ROUTE_OFF_M)
    along = np.abs(wrap(states.track_rad - arrival.course_true_rad)) <= _ALONG_RAD
    return near & along & (np.cos(angle) > 0.0)


def route_flown(context: Context) -> Route | None:
    """The charted arrival that was flown, from where the aircraft last joined its course to the fix.

    Where the facility is on the field, the route ends with the final leg, which begins before the fix.
    """
    arrival, end = arrival_flown(context), _arrives_s(context)
    if arrival is None or end is None:
        return None
    finals = context.reversal.leg_spans("final")
    end = min(end, finals[0][0]) if finals else end
    before = context.motion.states.between(context.reversal.parts[0].start_s, end)
    # abeam the fix, and in a turn begun before it, the bearing from the fix is meaningless
    off = np.flatnonzero(~_on_route(before, arrival) & (before.distance_m > _NEAR_M))
    begin = int(off[-1]) + 1 if len(off) else 0
    if begin >= len(before):
        return None
    return Route(arrival, before.between(float(before.time_s[begin]), end))


def off_the_routes(context: Context) -> bool:
    """Whether the aircraft came to the final course off every charted route: by radar vectors, or as if by them.

    A charted reversal begins at its fix, to which the routes lead: an approach that does not pass it first came another way,
    unless it was flown on one of the charted arrivals. So did a straight-in where an arc is charted.
    """
    charted = context.motion.charted
    if charted.cleared.way == "vectors":
        return True
    joined = charted.kind in _CHARTED_REVERSALS and context.reversal.passage("outbound") is None
    joined |= _arc_left_out(context)
    return joined and arrival_flown(context) is None


def _arc_left_out(context: Context) -> bool:
    """Whether an arc is charted and the log, in which it may also stand as an approach of its own, does not hold it."""
    charted = context.motion.charted
    radius, latitude, longitude = charted.arc_radius_m, charted.arc_latitude_rad, charted.arc_longitude_rad
    if charted.kind != "arc" or context.reversal.flown != STRAIGHT_IN:
        return False
    if radius is None or latitude is None or longitude is None:
        return False
    return not any(is_plainly(arc.radius_m, radius) for arc in arcs_about(context.motion, latitude, longitude))


def no_reversal(context: Context) -> tuple[Finding, ...]:
    """Whether a reversal was flown where one is called for, by the clearance, else by the route."""
    charted, reversal = context.motion.charted, context.reversal
    flown, wanted = reversal.side is not None, charted.kind in _CHARTED_REVERSALS
    if charted.cleared.way is not None:
        return _as_cleared(context, charted.cleared.way, flown=flown, wanted=wanted)
    source = "AIM 5-4-9 a and b: when a reversal is needed, and when it is not allowed"
    arrival = arrival_flown(context) if wanted else None
    if arrival is not None and not arrival.reversal:
        source = "14 CFR 91.175(j), and AIM 5-4-9 a: no procedure turn on a route charted NoPT"
        if not flown:
            sentence = f"Flown straight in, as the arrival {arrival.name} is charted: NoPT."
            return (_none_flown(context, sentence, source),)
        sentence = (
            f"A reversal was flown ({context.flown_words}) on the arrival {arrival.name}, which is charted NoPT; {_CLEARANCE}."
        )
        return (Finding("no_reversal", "reversal", None, sentence, OUTSIDE, reversal.flown, "none", source=source),)
    not_round = _arc_left_out(context)
    if flown == wanted and not not_round:
        return ()
    if flown:
        sentence = f"A reversal was flown ({context.flown_words}) on a route charted without one; {_CLEARANCE}."
        return (Finding("no_reversal", "reversal", None, sentence, OUTSIDE, reversal.flown, "none", source=source),)
    late, what = _begins_late(context), "arc" if not_round else "reversal"
    if late is not None:
        sentence = f"Whether the charted {what} was flown."
        return (
            Finding("no_reversal", "arrival", None, sentence, NOT_ASSESSED, None, charted.kind, source=source, reason=late),
        )
    sentence = f"The charted {what} was not flown; the approach was flown as {context.flown_words}."
    return (
        Finding("no_reversal", "arrival", None, sentence, NOT_ASSESSED, "none", charted.kind, source=source, reason=_EXCUSED),
    )


def _begins_late(context: Context) -> str | None:
    """Why a reversal may have been flown before the log begins: it begins as close as one is, and soon leads to the course."""
    charted, parts, begins_s = context.motion.charted, context.reversal.parts, float(context.motion.states.time_s[0])
    to_course_s = next((part.start_s for part in parts if part.name != "arrival"), parts[-1].end_s) - begins_s
    from_m = context.motion.distance_at(begins_s)
    if to_course_s > _SOON_ON_COURSE_S or from_m > max(leg_bound_m(charted), arc_reach_m(charted)):
        return None
    return f"the log begins {miles(from_m, 1)} from {charted.procedure.fix.name}, where it may have been flown already"


def _as_cleared(context: Context, way: Way, *, flown: bool, wanted: bool) -> tuple[Finding, ...]:
    """Whether a reversal was flown despite a clearance that needs none."""
    if not flown and not wanted:
        return ()
    words, source = _CLEARED[way]
    if not flown:
        sentence = f"The charted reversal was not flown, nor was it needed: cleared {words}."
        return (_none_flown(context, sentence, source),)
    sentence = f"A reversal was flown ({context.flown_words}), though cleared {words}; {_CLEARED_LATER}."
    return (Finding("no_reversal", "reversal", None, sentence, OUTSIDE, context.reversal.flown, "none", source=source),)


def _none_flown(context: Context, sentence: str, source: str) -> Finding:
    """The finding that no reversal was flown and none was called for; no verdict where one may have begun at the fix."""
    last, passage = context.reversal.parts[-1], context.reversal.passage("inbound")
    if passage is not None and last.start_s >= passage.time_s - _AT_FIX_S and last.end_s < passage.time_s + _GONE_ON_S:
        reason = f"final was flown for {last.end_s - passage.time_s:.0f} s only, and a reversal begins at the fix, too"
        return Finding("no_reversal", "arrival", None, sentence, NOT_ASSESSED, "none", "none", source=source, reason=reason)
    return Finding("no_reversal", "arrival", None, sentence, INSIDE, "none", "none", source=source)


def track_of_arrival(context: Context) -> float | None:
    """True median track over the seconds before the turn at the fix; None if the log does not cover them. [rad]"""
    end = _arrives_s(context)
    if end is None or context.motion.gaps_between(end - _ARRIVED_S, end):
        return None
    states = context.motion.states.between(end - _ARRIVED_S, end - _LED_S)
    return float(wrap_positive(median(unwrapped(states.track_rad)))) if len(states) > 2 else None


def entry_sector(context: Context) -> tuple[Finding, ...]:
    """Angle between the track of arrival and the outbound track of a procedure or base turn, against the entry sector.

    The sector is the charted one, else that of the standard, if any. For a base turn it extends to the reciprocal of the
    inbound course on that side of the outbound track.
    """
    charted, reversal = context.motion.charted, context.reversal
    limit = context.standard.get("entry_sector")
    within = charted.entry_within_rad if charted.entry_within_rad is not None else limit.value * DEG if limit else None
    if within is None or charted.kind not in ("procedure-turn", "base-turn") or reversal.side is None:
        return ()
    source = (
        "charted; ICAO Doc 8168 Vol II (5th ed., 2006), I-4-3 3.5.3" if charted.entry_within_rad or not limit else limit.source
    )
    track = track_of_arrival(context)
    if track is None:
        return (Finding("entry_sector", "arrival", None, "Track of arrival.", NOT_ASSESSED, limit=within / DEG, unit="deg",
                        source=source, reason="the log does not hold the seconds before the fix"),)  # fmt: skip
    off = float(wrap(track - charted.outbound_true_rad))
    reciprocal = float(wrap(charted.inbound_true_rad + math.pi - charted.outbound_true_rad))
    reaches = max(within, abs(reciprocal)) if charted.kind == "base-turn" and reciprocal * off > 0.0 else within
    margin = reaches - abs(off)
    verdict, reason = judge(margin, _TRACK_SD_RAD)
    side = "right" if off > 0.0 else "left"
    at = _arrives_s(context)
    return (
        Finding(
            check="entry_sector",
            leg="arrival",
            part="arrival",
            sentence=(
                f"Arrived on track {bearing_text(track - charted.variation.east_rad)}, {degrees(abs(off), 0)} {side} of the "
                f"outbound track; a reversal is entered from within {degrees(reaches, 0)} of it."
            ),
            verdict=verdict,
            measured=abs(off) / DEG,
            limit=reaches / DEG,
            unit="deg",
            margin=margin / DEG,
            sd=_TRACK_SD_RAD / DEG,
            source=source,
            reason=reason,
            place=context.place(at) if at is not None else None,
        ),
    )


CHECKS = (
    Check(
        "no_reversal",
        no_reversal,
        "Whether a reversal was flown where one is charted, and none where none is, nor on an arrival charted NoPT. "
        "Cleared straight in or vectored (--cleared), no reversal is needed, and none is allowed.",
        "The shape that fits the track best. An arrival was flown where the last 3 NM to the fix lie within 5° or 1 NM of its"
        " course.",
        weight=10.0,
        fails_outright=True,
        in_words=True,
    ),
    Check(
        "entry_sector",
        entry_sector,
        "Angle between the track of arrival and the outbound track of a procedure turn or base turn, where the chart or the"
        " standard has an entry sector.",
        "Median track over 16 s before the turn at the fix, less the outbound track.",
        limits={"entry_sector": ("deg",)},
        optional=frozenset({"entry_sector"}),
        weight=5.0,
        all_lost_by={"deg": 20.0},
    ),
)
