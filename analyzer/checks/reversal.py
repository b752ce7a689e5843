"""Checks of the whole reversal: its distance from the fix, and the side it was flown on."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.figures import Farthest
from analyzer.checks.finding import GAP, INSIDE, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.hold_entries import LIKE_A_DIRECT_ENTRY, begun_in_turn, may_be_mirrored, may_be_parallel
from analyzer.checks.hold_wrong_round import WrongRound, wrong_round
from analyzer.checks.phrases import clock, miles, side_word
from analyzer.frozen import dataclass
from analyzer.legs.circuits import is_parallel_entry_alone
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.reach import reached_m
from analyzer.motion.states import seen_from
from analyzer.physics import geodesy
from analyzer.physics.units import NM, bearing_text, wrap
from analyzer.procedure.charted import Charted

__all__ = ["CHECKS", "distance_limit", "reversal_side"]

_AT_STATION_M = 0.1 * NM
_OFF_COURSE_M = 0.1 * NM  # closer to the outbound course, the aircraft is on neither side
_STRAYED_M = 0.5 * NM  # a smaller excursion to the uncharted side is not reported
_NONE_CHARTED = "no distance limit is charted; for information only"


def distance_limit(context: Context) -> tuple[Finding, ...]:
    """Greatest distance from the fix or charted point, from outbound passage until established.

    The distance is geodesic, or slant range where the charted limit is a DME reading. Without a charted limit, that of the
    standard applies to procedure turns and to base turns without another limit; elsewhere the distance is for information.
    """
    farthest, charted = _farthest(context), context.motion.charted
    if farthest is None:
        return ()
    default = context.standard["reversal_distance"]
    limit_m = charted.limit_m if charted.limit_m is not None else default.value * NM if _limited(charted) else None
    margin = None if limit_m is None else limit_m - farthest.distance_m
    span = context.reversal.reversal_span_s
    ends = None if context.reversal.came_home else context.not_established
    hidden = span is not None and farthest.room_m > 0.0 and bool(context.motion.holes_between(*span, LONG_HOLE_S))
    incomplete = ends or (GAP if limit_m is not None and farthest.distance_m + farthest.room_m > limit_m else None)
    verdict, reason = (NOT_ASSESSED, _NONE_CHARTED) if margin is None else judge(margin, farthest.sd_m, incomplete)
    part = context.reversal.part_at(farthest.time_s)
    return (
        Finding(
            check="distance_limit",
            leg=part.leg if part is not None else "reversal",
            part=part.name if part is not None else None,
            sentence=_distance_sentence(context, farthest, limit_m, hidden=hidden),
            verdict=verdict,
            measured=farthest.distance_m / NM,
            limit=None if limit_m is None else limit_m / NM,
            unit="NM",
            margin=None if margin is None else margin / NM,
            sd=farthest.stated_sd_m / NM,
            source=default.source
            if charted.limit_m is None
            else "charted; AIM 5-4-9 a.3: complete within the distance of the profile view",
            reason=reason,
            details={"slant_nm": farthest.slant_m / NM} if _dme_at_fix(context, farthest) else {},
            place=context.place(farthest.time_s),
        ),
    )


def _limited(charted: Charted) -> bool:
    """Whether the standard limits the distance where none is charted: in a procedure turn, or a base turn without a limit."""
    if charted.kind == "base-turn":
        return all(limit is None for limit in (charted.leg_time_s, charted.leg_length_m, charted.maximum_time_s))
    return charted.kind == "procedure-turn"


def _farthest(context: Context) -> Farthest | None:
    """The greatest distance: slant range where the charted limit is a DME reading, else over the ground."""
    charted, span = context.motion.charted, context.reversal.reversal_span_s
    if not charted.within_by_dme or span is None:
        return context.figures.farthest_from_limit
    states = context.motion.seen(context.motion.states.between(*span), LONG_HOLE_S)
    distance, _ = seen_from(charted, charted.limit_latitude_rad, charted.limit_longitude_rad, states)
    station = charted.dme.elevation_m if charted.dme is not None else charted.fix_elevation_m
    slant = geodesy.slant_range(distance, np.nan_to_num(states.altitude_m - station))
    if not len(slant):
        return None
    k = int(np.argmax(slant))
    noise = float(context.motion.path.sd(states.time_s[k : k + 1])[0])
    sd = math.hypot(noise, context.motion.position_sd_m, context.motion.altitude_sd_m if context.motion.has_altitude else 0.0)
    room = max(reached_m(context.motion, span, (charted.limit_latitude_rad, charted.limit_longitude_rad)) - distance[k], 0.0)
    return Farthest(float(slant[k]), float(slant[k]), sd, float(states.time_s[k]), room)


def _distance_sentence(context: Context, farthest: Farthest, limit_m: float | None, *, hidden: bool) -> str:
    charted = context.motion.charted
    fix = charted.procedure.fix.name if _at_fix(charted) else "the point that the limit is measured from"
    if charted.within_by_dme:
        fix = f"{charted.dme.name if charted.dme is not None else charted.procedure.fix.name}, as its DME reads"
    against = ""
    if limit_m is not None:
        beyond = farthest.distance_m - limit_m
        against = f", {miles(abs(beyond))} {'beyond' if beyond > 0 else 'inside'} the limit of {miles(limit_m, 1)}"
    slant = (
        f" The DME reads {miles(farthest.slant_m, 1)} there."
        if _dme_at_fix(context, farthest) and _dme_charted(charted)
        else ""
    )
    least = "at least " if hidden else ""
    return f"Farthest from {fix}: {least}{miles(farthest.distance_m)} at {clock(farthest.time_s)}{against}.{slant}"


def _at_fix(charted: Charted) -> bool:
    return (charted.limit_latitude_rad, charted.limit_longitude_rad) == (charted.fix_latitude_rad, charted.fix_longitude_rad)


def _dme_at_fix(context: Context, farthest: Farthest) -> bool:
    """Whether the limit is measured from a VOR, whose DME is assumed to be at the elevation of the fix."""
    charted = context.motion.charted
    stands = charted.procedure.fix.kind == "vor" and _at_fix(charted) and not charted.within_by_dme
    return stands and math.isfinite(farthest.slant_m)


def _dme_charted(charted: Charted) -> bool:
    """Whether the procedure charts a DME at the point that the limit is measured from."""
    if charted.dme is None:
        return False
    place = charted.limit_latitude_rad, charted.limit_longitude_rad
    return float(geodesy.inverse(charted.dme.latitude_rad, charted.dme.longitude_rad, *place)[0]) < _AT_STATION_M


@dataclass(frozen=True)
class _Astray:
    """An excursion to the uncharted side of the outbound course: its greatest distance and when, and its total time."""

    farthest_m: float
    time_s: float
    seconds: float


def _astray(context: Context, charted_side: int, until_s: float) -> _Astray | None:
    """The excursion to the uncharted side of the outbound course after outbound passage; None if the log has a gap there."""
    span = context.reversal.reversal_span_s
    if span is None or context.motion.holes_between(span[0], min(span[1], until_s), LONG_HOLE_S):
        return None
    states = context.motion.states.between(span[0], min(span[1], until_s))
    if not len(states):
        return None
    wrong = -charted_side * states.cross_track_m(context.motion.charted.outbound_true_rad)
    k = int(np.argmax(wrong))
    return _Astray(float(wrong[k]), float(states.time_s[k]), float((wrong > _OFF_COURSE_M).sum()))


def reversal_side(context: Context) -> tuple[Finding, ...]:
    """The side of the outbound course that the reversal was flown on, against the charted side.

    An entry that led to the uncharted side and was corrected is reported, with its distance and time, but is not a fault. A
    parallel entry that may be a direct one into the hold on the other side is not assessed, nor is a direct one into the hold
    on the other side that may be a parallel entry, or in whose first turn the log begins.

    References
    ----------
    .. [1] FAA Aeronautical Information Manual 5-4-9 a.1.
    """
    if context.reversal.flown == "arc":
        return _way_round(context)
    flown, charted = context.reversal.side, context.motion.charted.side
    if flown is None or charted is None:
        return ()
    first = context.reversal.part("offset_turn") or context.reversal.part("reversal_turn")
    agree = flown == charted
    astray, reason = None, None
    if context.motion.charted.kind == "hold" and context.reversal.flown.startswith("hold"):
        round_before = wrong_round(context) if agree else None
        if round_before is not None:
            return (_turned_wrong_way(context, round_before),)
        # a hold is described by its turns; it lies on the opposite side of its outbound course
        word, wanted = side_word(-flown), side_word(-charted)
        agreement = "as charted" if agree else f"but charted with {wanted} turns"
        sentence = f"Hold flown with {word} turns, {agreement}."
        begun = begun_in_turn(context)
        if not agree and begun is not None:
            reason = f"{begun}, and a parallel entry into the charted hold turns the same way"
        elif not agree and may_be_parallel(context):
            reason = "a parallel entry into the charted hold, which the heading calls for, turns the same way"
        if is_parallel_entry_alone(context.reversal):
            sentence = f"Parallel entry into a hold with {word} turns, {agreement}; no lap of it was flown."
            alike = LIKE_A_DIRECT_ENTRY.format(side_word(flown))
            reason = f"{alike[0].lower()}{alike[1:]}" if agree and may_be_mirrored(context) else None
    elif context.motion.charted.kind == "base-turn":
        # it turns back from its outbound track to the side that its inbound one lies on
        word, wanted = side_word(-flown), side_word(-charted)
        sentence = f"Turned back to the {word}, {'as charted' if agree else f'but charted to the {wanted}'}."
    else:
        word, wanted = side_word(flown), side_word(charted)
        # beyond the course after the turn back is an overshoot of the inbound course
        astray = _astray(context, charted, first.start_s if first is not None and agree else math.inf)
        verdict_words = "as charted" if agree else f"but charted {wanted}"
        at = f", from {clock(first.start_s)}" if first is not None and not agree else ""
        sentence = f"Reversal flown {word} of the outbound course{at}, {verdict_words}{_astray_words(astray, -charted, agree)}."
    return (
        Finding(
            check="reversal_side",
            leg="reversal",
            part=first.name if first is not None else None,
            sentence=sentence,
            verdict=NOT_ASSESSED if reason is not None else INSIDE if agree else OUTSIDE,
            measured=word,
            limit=wanted,
            reason=reason,
            source="charted; AIM 5-4-9 a.1: the charted side is the one to manoeuvre on",
            details={}
            if astray is None or astray.farthest_m < _STRAYED_M
            else {"uncharted_side_nm": astray.farthest_m / NM, "uncharted_side_s": astray.seconds},
            place=context.place(first.start_s) if first is not None else None,
        ),
    )


def _turned_wrong_way(context: Context, before: WrongRound) -> Finding:
    """The finding on a first time round a hold in lieu of a procedure turn that was turned the wrong way."""
    word, wanted = side_word(before.turn), side_word(-before.turn)
    heading = bearing_text(before.heading_rad - context.motion.charted.variation.east_rad)
    fix = context.motion.charted.procedure.fix.name
    return Finding(
        check="reversal_side",
        leg="reversal",
        part="arrival",
        sentence=f"{fix} was first passed at {clock(before.passed_s)} on heading {heading}, and the turn back to it was to the "
        f"{word}; {wanted} turns are charted.",
        verdict=OUTSIDE,
        measured=word,
        limit=wanted,
        source="charted; AIM 5-4-9 a.5: a hold in lieu of a procedure turn is flown as charted",
        details={"before_laps": 1.0},
        place=context.place(before.passed_s),
    )


def _way_round(context: Context) -> tuple[Finding, ...]:
    """The way round its centre that the charted arc was flown, where the chart says which."""
    part, charted = context.reversal.part("arc"), context.motion.charted
    latitude, longitude = charted.arc_latitude_rad, charted.arc_longitude_rad
    if part is None or charted.turn is None or latitude is None or longitude is None:
        return ()
    states = context.motion.states.between(part.start_s, part.end_s)
    _, bearing = geodesy.inverse_near(latitude, longitude, states.latitude_rad, states.longitude_rad)
    flown = 1 if float(np.sum(wrap(np.diff(bearing)))) > 0.0 else -1
    agree, word, wanted = flown == charted.turn, side_word(flown), side_word(charted.turn)
    return (
        Finding(
            check="reversal_side",
            leg=part.leg,
            part=part.name,
            sentence=f"Arc flown to the {word}, {'as charted' if agree else f'but charted to the {wanted}'}.",
            verdict=INSIDE if agree else OUTSIDE,
            measured=word,
            limit=wanted,
            source="charted",
            place=context.place(part.start_s),
        ),
    )


def _astray_words(astray: _Astray | None, side: int, agree: bool) -> str:
    """The end of a sentence on an excursion to the uncharted side; empty if it is too small to report."""
    if astray is None or astray.farthest_m < _STRAYED_M:
        return ""
    far = f"up to {miles(astray.farthest_m)} {side_word(side)} of it at {clock(astray.time_s)}"
    seconds = f"{astray.seconds:.0f} s on that side"
    return f", but first {far}, {seconds}, then back" if agree else f": {far}, {seconds}"


CHECKS = (
    Check(
        "distance_limit",
        distance_limit,
        "Greatest distance from the fix, or the point that the limit is charted from, between passing the fix outbound and"
        " being established inbound; with further circuits of a hold, after the last of them.",
        "Geodesic distance on WGS 84, or the DME reading where the chart's limit is one. "
        "A DME reads slant range: the root of distance squared plus height above the "
        "station squared.",
        limits={"reversal_distance": ("NM",)},
        weight=20.0,
        all_lost_by={"NM": 1.0},
        fails_outright=True,
    ),
    Check(
        "reversal_side",
        reversal_side,
        "The side of the outbound course, looking outbound, that the reversal was flown on; the turns of a hold; the turn back "
        "of a base turn; the way round of an arc.",
        "The side of the best-fitting shape; a hold goes by its turns, and with right ones lies left of its outbound course; "
        "of a round before it, begun in the direct sector, the turn back counts. "
        "Excursions of half a mile or more to the uncharted side are reported with distance and time.",
        weight=10.0,
        fails_outright=True,
        in_words=True,
    ),
)
