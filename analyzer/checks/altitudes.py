"""Check of the charted minimum altitude of each leg."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import (
    ALTITUDE_MISSING,
    CLOSE,
    GAP,
    NO_ALTITUDE,
    NOT_ASSESSED,
    OUTSIDE,
    Context,
    Finding,
    judge,
)
from analyzer.checks.first_passage import MAY_BE_ENTRY, first_passed_s, perhaps_the_reversal
from analyzer.checks.minimum_begins import climbed_s, counting_states, hardly_begun
from analyzer.checks.phrases import clock
from analyzer.checks.routes import off_the_routes, route_flown
from analyzer.legs.held import laps_of
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.reach import could_be_lower, lowest_sd_m
from analyzer.motion.states import States
from analyzer.physics.units import FT
from analyzer.procedure.approach import PublishedHold
from analyzer.vocabulary import Leg

__all__ = ["CHECKS", "altitude_floor", "altitude_incomplete"]

# Legs that end when the aircraft is established, an instant that a gap can hide.
_ENDS_ESTABLISHED: tuple[Leg, ...] = ("arrival", "reversal")
_NEW_ARRIVAL_S = 300.0  # what was flown before a longer gap is not part of this arrival
_LEAST_LEG_S = 1.0  # states are a second apart; a leg that takes less was not flown
_VECTORED = "under radar vectors the altitude is the controller's; the charted minimum belongs to the charted routes"
_OFF_THE_ROUTES = (
    "the inbound course was joined off the charted routes, as under radar vectors, which have altitudes of their own, and a "
    "log does not show them"
)


def altitude_floor(context: Context) -> tuple[Finding, ...]:
    """Lowest altitude on each leg before final that has a charted minimum.

    An arrival route has its own minimum up to the fix; where two minimums apply, the one with the smaller margin counts.
    """
    if context.hold is not None:
        return _laps(context, context.hold)
    findings = []
    for leg, floor in context.motion.charted.floors_m.items():
        spans = context.reversal.leg_spans(leg)
        if sum(end - begin for begin, end in spans) < _LEAST_LEG_S:
            continue
        states = context.motion.states.within(spans)
        if not context.motion.has_altitude or not len(states) or not np.isfinite(states.altitude_m).any():
            findings.append(_no_altitude(context, leg, floor))
        elif leg == "arrival" and hardly_begun(context, spans):
            findings.append(_no_altitude(context, leg, floor, "the log holds too little of it"))
        elif leg == "arrival":
            findings.append(_of_its_route(context, _to_the_fix(context, floor, states)))
        else:
            findings.append(_finding(context, leg, floor, states, altitude_incomplete(context, leg, floor)))
    return _with_route(findings, _route(context))


def _of_its_route(context: Context, finding: Finding) -> Finding:
    """The finding on the charted minimum of the arrival, which holds on the charted routes only.

    Off all of them, what was flown below it is not assessed; cleared by radar vectors, nothing is, for until the aircraft is
    on a published segment the assigned altitude holds (14 CFR 91.175(i)). One that was assigned is judged wherever it was.
    """
    if context.motion.charted.assigned("arrival") or not off_the_routes(context):
        return finding
    if context.motion.charted.cleared.way == "vectors":
        return replace(finding, verdict=NOT_ASSESSED, reason=_VECTORED, margin=None)
    if finding.verdict in (OUTSIDE, CLOSE):
        return replace(finding, verdict=NOT_ASSESSED, reason=_OFF_THE_ROUTES, margin=None, unexplained=True)
    return finding


def _route(context: Context) -> Finding | None:
    """Lowest altitude on the charted arrival route that was flown; None if it has no minimum."""
    route = route_flown(context)
    if route is None or route.arrival.minimum_m is None:
        return None
    if not context.motion.has_altitude or not np.isfinite(route.states.altitude_m).any():
        return _no_altitude(context, "arrival", route.arrival.minimum_m)
    states, level_below = counting_states(context, route.arrival.minimum_m, route.states)
    lowest_s = float(states.time_s[int(np.argmin(np.where(np.isnan(states.altitude_m), np.inf, states.altitude_m)))])
    part = context.reversal.part_at(lowest_s)
    leg: Leg = "inbound" if part is not None and part.leg == "inbound" else "arrival"
    span = float(states.time_s[0]), float(states.time_s[-1])
    incomplete = context.incomplete(*span)
    if not np.isfinite(states.altitude_m).all() or context.altitude_missing([span]):
        incomplete = incomplete or ALTITUDE_MISSING
    incomplete = incomplete if could_be_lower(context.motion, [span], route.arrival.minimum_m) else None
    return _finding(
        context, leg, route.arrival.minimum_m, states, incomplete or level_below, f"the arrival {route.arrival.name}"
    )


def _with_route(findings: Sequence[Finding], route: Finding | None) -> tuple[Finding, ...]:
    """The findings with that of the arrival route, which replaces one on the same leg with a larger margin or none."""
    if route is None:
        return tuple(findings)
    same = next((finding for finding in findings if finding.leg == route.leg), None)
    if same is None:
        return (route, *findings)
    if same.margin is not None and route.margin is not None and same.margin <= route.margin:
        return tuple(findings)
    return tuple(route if finding is same else finding for finding in findings)


def _laps(context: Context, hold: PublishedHold) -> tuple[Finding, ...]:
    """Lowest altitude in each lap of a published hold, once its minimum is reached: a missed approach climbs in the hold."""
    floor = hold.minimum_m
    if floor is None:
        return ()
    laps = laps_of(context.reversal)
    if not laps:
        return ()
    flown = context.motion.states.within(context.reversal.leg_spans("hold"))
    if not context.motion.has_altitude or np.isnan(flown.altitude_m).all():
        return (_no_altitude(context, "hold", floor),)
    begin = climbed_s(flown, floor)
    findings = []
    for number, lap in enumerate(laps, 1):
        start, end = lap[0].start_s, lap[-1].end_s
        if begin is None or begin >= end:
            continue
        states = context.motion.states.between(max(begin, start), end)
        if len(states):
            incomplete = _incomplete_in(context, ((max(begin, start), end),), "hold", floor)
            finding = _finding(context, "hold", floor, states, incomplete)
            sentence = f"Lap {number}: {finding.sentence[:1].lower()}{finding.sentence[1:]}"
            findings.append(replace(finding, lap=number, sentence=sentence))
    return tuple(findings)


def altitude_incomplete(context: Context, leg: Leg, floor_m: float | None = None, since_s: float | None = None) -> str | None:
    """Why the altitudes of a leg are incomplete: a gap, the end of the log, or missing altitudes; None if they are complete.

    Also None if the aircraft cannot have been below `floor_m` in the missing part. Only the part of the leg after `since_s`
    counts, if given.
    """
    spans = context.reversal.leg_spans(leg)
    if since_s is not None:
        spans = tuple((max(begin, since_s), end) for begin, end in spans if end > since_s)
    return _incomplete_in(context, spans, leg, floor_m)


def _incomplete_in(context: Context, spans: tuple[tuple[float, float], ...], leg: Leg, floor_m: float | None) -> str | None:
    """Why the altitudes of stretches of a leg are incomplete, None if they are not or cannot have been below `floor_m`."""
    incomplete = next(filter(None, (context.incomplete(*span, leg) for span in spans)), None)
    states = context.motion.states.within(spans)
    if incomplete is None and (not np.isfinite(states.altitude_m).all() or context.altitude_missing(spans)):
        incomplete = ALTITUDE_MISSING
    if incomplete in (GAP, ALTITUDE_MISSING) and floor_m is not None and not could_be_lower(context.motion, spans, floor_m):
        return None
    return incomplete


def _no_altitude(context: Context, leg: Leg, floor: float, reason: str = NO_ALTITUDE) -> Finding:
    height = context.height
    minimum = context.minimum_words(leg, floor).removeprefix("the ").capitalize()
    sentence = f"{minimum} on {context.leg_words(leg)}."
    return Finding("altitude_floor", leg, None, sentence, NOT_ASSESSED, limit=floor / height.metres, unit=height.name,
                   source=_source(context, leg), reason=reason)  # fmt: skip


def _source(context: Context, leg: Leg) -> str:
    """Source of a minimum: the chart, and for a procedure turn the rule to keep its altitude until established inbound."""
    limit, procedure_turn = context.standard["altitude_floor"], context.motion.charted.kind == "procedure-turn"
    by_rule = limit.value > 0.0 or (procedure_turn and leg in ("outbound", "reversal"))
    return f"{context.minimum_source(leg)}; {limit.source}" if by_rule else context.minimum_source(leg)


def _to_the_fix(context: Context, floor: float, states: States) -> Finding:
    """The finding on the arrival, up to the first passage of the fix where that decides; what is low after it is left open."""
    finding, passed = _arrival(context, floor, states), first_passed_s(context)
    if finding.verdict not in (OUTSIDE, CLOSE):
        return finding
    if passed is None:
        if context.reversal.begins_on is None:
            return finding
        return replace(finding, verdict=NOT_ASSESSED, reason=MAY_BE_ENTRY, margin=None, unexplained=True)
    before = _arrival(context, floor, states.between(float(states.time_s[0]), passed))
    if before.verdict in (OUTSIDE, CLOSE):
        return before
    reason = perhaps_the_reversal(context, passed)
    return replace(finding, verdict=NOT_ASSESSED, reason=reason, margin=None, unexplained=True)


def _arrival(context: Context, floor: float, states: States) -> Finding:
    """Lowest altitude on the arrival: from its start where that is in the air, after a take-off once its minimum was reached.

    Farther than 25 NM from the fix the aircraft has not begun the arrival.
    """
    hole = _last_hole(context, states)
    if hole is None:
        near, level_below = counting_states(context, floor, states)
        return _finding(context, "arrival", floor, near, altitude_incomplete(context, "arrival", floor) or level_below)
    begin, end = hole
    # what was flown before an approach that the gap cut off is none of this arrival, nor is its missed approach
    near, level_below = counting_states(context, floor, states.between(end, float(states.time_s[-1])))
    if end - begin > _NEW_ARRIVAL_S or begin < states.time_s[0] + _LEAST_LEG_S:
        incomplete = altitude_incomplete(context, "arrival", floor, end)
        return _finding(context, "arrival", floor, near, incomplete or level_below)
    low = bool((states.altitude_m[states.time_s <= begin] < floor).any())
    incomplete = GAP if low else altitude_incomplete(context, "arrival", floor)
    return _finding(context, "arrival", floor, near, incomplete or level_below)


def _last_hole(context: Context, states: States) -> tuple[float, float] | None:
    """The last long gap in an arrival; the aircraft may have flown a reversal or another flight before it. [s]"""
    holes = context.motion.holes_between(float(states.time_s[0]), float(states.time_s[-1]), LONG_HOLE_S)
    return next((hole for hole in reversed(holes) if hole[1] < states.time_s[-1]), None)


def _finding(
    context: Context, leg: Leg, floor: float, states: States, incomplete: str | None, where: str | None = None
) -> Finding:
    """The finding on the lowest altitude of some states of a leg; `where` names them, if they are not the whole leg."""
    altitude = context.motion.logged_altitude_m(states)
    if np.isnan(altitude).all():
        return _no_altitude(context, leg, floor, ALTITUDE_MISSING)
    k = int(np.argmin(np.where(np.isnan(altitude), np.inf, altitude)))
    lowest, time = float(states.altitude_m[k]), float(states.time_s[k])
    tolerance = context.standard["altitude_floor"].value * FT
    margin = lowest - floor + tolerance
    sd = lowest_sd_m(context.motion, states, margin)
    verdict, reason = judge(margin, sd, incomplete)
    before = _before_next(context, leg, floor, states, time) if verdict == OUTSIDE else None
    if before is not None and _is_low(context, floor, before):
        return _finding(context, leg, floor, before, incomplete or GAP, where)
    if before is not None:
        verdict, reason = NOT_ASSESSED, GAP
    part = context.reversal.part_at(time)
    return Finding(
        check="altitude_floor",
        leg=leg,
        part=part.name if part is not None and part.leg == leg else None,
        sentence=_sentence(context, leg, floor, states, k, where or context.leg_words(leg), reason),
        verdict=verdict,
        measured=lowest / context.height.metres,
        limit=floor / context.height.metres,
        unit=context.height.name,
        tolerance=tolerance / context.height.metres,
        margin=margin / context.height.metres,
        sd=sd / context.height.metres,
        source=_source(context, leg),
        basis="altitude",
        reason=reason,
        place=context.place(time),
    )


def _before_next(context: Context, leg: Leg, floor: float, states: States, lowest_s: float) -> States | None:
    """The states before a gap in which the next leg may begin, to whose lower minimum a lowest altitude then belongs.

    None where the lowest altitude belongs to this leg. The states may be none.
    """
    inbound, spans = context.motion.charted.floors_m.get("inbound", floor), context.reversal.leg_spans(leg)
    if leg not in _ENDS_ESTABLISHED or inbound >= floor or not spans:
        return None
    holes = [hole for span in spans for hole in context.motion.holes_between(*span, LONG_HOLE_S)]
    earlier_holes = [hole for hole in holes if hole[1] <= lowest_s]
    noise = 2.0 * context.motion.lowest_sd_m(-1.0)
    if holes and leg == "arrival" and not context.reversal.leg_spans("outbound"):
        # the charted reversal, whose legs have their own minimums, may have been flown in the hole
        lower = min(context.motion.charted.floors_m.get(other, floor) for other in ("outbound", "reversal"))
        if lower < floor and not bool((states.altitude_m < lower - noise).any()):
            return states.where(np.zeros(len(states), dtype=bool))
    if not earlier_holes or bool((states.altitude_m < inbound - noise).any()):
        return None
    return states.where(states.time_s <= earlier_holes[-1][0])


def _is_low(context: Context, floor: float, states: States) -> bool:
    """Whether any of some states is below a minimum by more than the noise of lowest altitudes."""
    return bool((states.altitude_m < floor - 2.0 * context.motion.lowest_sd_m(-1.0)).any())


def _sentence(context: Context, leg: Leg, floor: float, states: States, k: int, where: str, incomplete: str | None) -> str:
    height, tolerance = context.height, context.standard["altitude_floor"].value * FT
    lowest = float(states.altitude_m[k])
    below = floor - lowest
    against = f"{height.text(abs(below))} {'below' if below > 0.5 * FT else 'above'} {context.minimum_words(leg, floor)}"
    allowed = f" ({height.text(tolerance)} below it allowed)" if below > 0.5 * FT and tolerance > 0 else ""
    later = np.flatnonzero(states.altitude_m[k:] >= floor)
    if leg == "arrival" and k == 0 and below > 0.5 * FT and len(later):
        climbed = clock(float(states.time_s[k + int(later[0])]))
        began = "The arrival" if where == context.leg_words(leg) else f"{where[:1].upper()}{where[1:]}"
        return f"{began} began at {height.text(lowest)}, {against}{allowed}, and climbed to it by {climbed}."
    lowest_of = "Lowest logged on" if incomplete in (GAP, ALTITUDE_MISSING) else "Lowest on"
    return f"{lowest_of} {where}: {height.text(lowest)} at {clock(float(states.time_s[k]))}, {against}{allowed}."


CHECKS = (
    Check(
        "altitude_floor",
        altitude_floor,
        "Lowest altitude on each leg before final, against its charted minimum. An arrival that starts in the air is held to "
        "it from the start, within 25 NM of the fix; one that starts on the ground, in the take-off from the charted runway or "
        "in the climb after it or in a missed approach, once the minimum was reached. The charted "
        "arrival that was flown has its own minimum until the fix. Off the charted routes, as under radar vectors, no minimum "
        "of an arrival is charted. A higher altitude that was assigned (--cleared LEG=FT) takes the place of a minimum.",
        "Margin = lowest altitude - minimum. The ±100 ft of a test standard applies to altitudes held, not to "
        "charted minimums.",
        limits={"altitude_floor": ("ft",)},
        weight=20.0,
        all_lost_by={"ft": 100.0},
        fails_outright=True,
        of=("approach", "hold"),
    ),
)
