"""Drafting a procedure from a flight in one call: a track and a fix in, the procedure it seems to have been flown by out.

A draft is for the user to correct by the chart. Courses are rounded to a degree, altitudes to a hundred feet; what a log cannot
show (names, kinds of station, limits) is filled in with usual values. The remark on each value begins with its origin:
measured, given or assumed. A draft is made only if it finds the same flight in the log again: the same shape, on the same side,
of the same approach.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from analyzer.checks.course_deviation import figure_of_course
from analyzer.checks.phrases import side_word
from analyzer.draft.arc_flown import ArcFlown, arc_flown
from analyzer.draft.cost import hold_turn
from analyzer.draft.explain import Explanation, explain
from analyzer.draft.fix import FixGiven
from analyzer.draft.hold_leg import hold_leg
from analyzer.draft.kept_altitudes import levels_ft
from analyzer.draft.kept_courses import Radial, radial
from analyzer.draft.missed_and_holds import Beyond, drafted_beyond
from analyzer.draft.trial_charts import LIMIT_NM, diverge, on_the_day
from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.legs.flight import find_flight
from analyzer.legs.reversal import STRAIGHT_IN, Part, Reversal
from analyzer.motion.motion import Motion
from analyzer.physics.units import DEG, NM, bearing_text, wrap
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import ReversalKind
from analyzer.track.track import Track
from analyzer.vocabulary import ShapeName

__all__ = ["Draft", "FixGiven", "draft"]

_KIND: Mapping[ShapeName, ReversalKind] = {
    "45/180": "procedure-turn", "80/260": "procedure-turn", "base-turn": "base-turn", "arc": "arc", "hold-direct": "hold",
    "hold-teardrop": "hold", "hold-parallel": "hold", STRAIGHT_IN: "none",
}  # fmt: skip
_MOST_TRIED = 12  # explanations, the best first, before a flight counts as not recognised
_ANOTHER_RAD = 12.0 * DEG  # between the inbound leg and what follows or precedes it: not the same course
_ROUNDED_RAD = 0.5 * DEG  # by which a course that is drafted to a degree may be off
_CLEAR_NM = 0.1  # of a limit that is set by how far the flight went out


@dataclass(frozen=True)
class Draft:
    """A drafted procedure.

    Attributes
    ----------
    procedure : Procedure
        The procedure.
    remarks : mapping
        The origin of each value by ``table.key``; it begins with ``measured``, ``given`` or ``assumed``.
    flown : str
        The shape that was recognised.
    begun_s : float
        Start of the approach that it was drafted from. [s]
    """

    procedure: Procedure
    remarks: Mapping[str, str]
    flown: str
    begun_s: float


def draft(track: Track, fix: FixGiven) -> Draft:
    """Draft the procedure that the last approach of a flight seems to have been flown by.

    Raises
    ------
    LogError
        No approach to the fix is recognised in the flight.
    ProcedureError
        No magnetic model covers the place or date.
    """
    motion, explanations = explain(track, fix)
    last = explanations[0].reversal
    for explanation in explanations[:_MOST_TRIED]:
        if explanation.reversal.side is None and not _at_once(explanation.reversal, last):
            continue  # an arc or straight-in before the last one was on the way to it
        drafted = _by(motion, fix, explanation)
        if drafted is not None:
            return drafted
    raise LogError(_not_drafted(track, fix, explanations))


def _not_drafted(track: Track, fix: FixGiven, explanations: Sequence[Explanation]) -> str:
    """Why no explanation led to a draft, and what the user can do."""
    place, flown = f"{fix.latitude_deg:g},{fix.longitude_deg:g}", explanations[0].reversal.flown
    if flown == "arc":
        about = "the station of --station" if fix.station_deg is not None else "the fix or any other place"
        return (
            f"{track.file}: no approach to {place} is recognised: the flight comes in by a curve that is no arc about {about}. "
            "If the chart has an arc, is --station LAT,LON its station? Otherwise write the file by the chart: procedure new"
        )
    return (
        f"{track.file}: no approach to {place} is recognised: {flown} comes nearest, but by the courses flown that is not "
        "what the flight was. Is --fix LAT,LON the fix that the reversal began from? "
        "Otherwise write the file by the chart: procedure new"
    )


def _by(motion: Motion, fix: FixGiven, explanation: Explanation) -> Draft | None:
    """The draft by one explanation; None if the draft does not find the flight again."""
    arc = None
    if (part := explanation.reversal.part("arc")) is not None:
        arc = arc_flown(motion, part.end_s, fix)
        if arc is None:
            return None
    table, remarks = _reversal(explanation.motion, explanation.reversal)
    tables: dict[str, Any] = {"title": f"Draft from {motion.track.file}"[:120], "fix": fix.table, "reversal": table}
    if arc is not None:
        tables["arc"], arc_remarks = _arc(arc)
        table["turn"] = side_word(arc.turn)
        remarks |= arc_remarks
    charted = on_the_day(motion.track, Procedure.model_validate(tables))
    by_draft = Motion(replace(motion.curves, charted=charted), motion.states)
    if charted.kind == "base-turn" and not diverge(charted.inbound_true_rad, charted.outbound_true_rad + math.pi):
        return None
    flight = find_flight(by_draft)
    matching = [approach for approach in flight.approaches if _same(approach, explanation.reversal)]
    if not matching or not _comes_in(by_draft, matching[-1]) or not _on_course(by_draft, matching[-1]):
        return None
    beyond = drafted_beyond(by_draft, flight, matching[-1])
    limit_remarks = _limits(by_draft, beyond.approach, table)
    return _put_together(by_draft, tables, beyond, {**_fix_remarks(fix), **remarks, **limit_remarks, **beyond.remarks})


def _comes_in(motion: Motion, flown: Reversal) -> bool:
    """Whether a straight-in keeps its course: passing a place en route is no approach to it."""
    if flown.flown != STRAIGHT_IN:
        return True
    figure = figure_of_course(motion, flown.part("inbound"), motion.charted.inbound_true_rad)
    return figure is not None and figure.fraction < 1.0


def _on_course(motion: Motion, flown: Reversal) -> bool:
    """Whether the inbound course is among the courses flown on the inbound and final legs, more than a mile from the fix."""
    off: list[float] = []
    for part, reciprocal in ((flown.last_part("inbound"), math.pi), (flown.last_part("final"), 0.0)):
        states = motion.states.between(part.start_s, part.end_s) if part is not None else motion.states.between(0.0, -1.0)
        far = states.distance_m > NM
        off += list(wrap(states.bearing_rad[far] + reciprocal - motion.charted.inbound_true_rad))
    return not off or (min(off) <= _ROUNDED_RAD and max(off) >= -_ROUNDED_RAD)


def _put_together(motion: Motion, tables: dict[str, Any], beyond: Beyond, remarks: Mapping[str, str]) -> Draft:
    levels = levels_ft(motion, beyond.approach)
    if "minimum" in beyond.tables:
        levels.pop("final", None)  # a procedure has either
    altitudes = {f"{leg}_ft": feet for leg, feet in levels.items()}
    procedure = Procedure.model_validate({**tables, "altitudes": altitudes, **beyond.tables})
    altitude_remarks = {f"altitudes.{key}": "measured: the hundred below the level flown" for key in altitudes}
    return Draft(procedure, {**remarks, **altitude_remarks}, beyond.approach.flown, beyond.approach.begun_s)


def _same(one: Reversal, other: Reversal) -> bool:
    """Whether two approaches are the same one: of the same kind and side, and overlapping in time; holds by any entry."""
    alike = _KIND[one.flown] == _KIND[other.flown] and one.side == other.side
    if _KIND[other.flown] != "hold":
        alike &= one.flown == other.flown and one.turn == other.turn
    return alike and _at_once(one, other)


def _at_once(one: Reversal, other: Reversal) -> bool:
    return one.begun_s < other.parts[-1].end_s and other.begun_s < one.parts[-1].end_s


def _fix_remarks(fix: FixGiven) -> dict[str, str]:
    remarks = {"title": "given: the log's name; call it what the chart does"}
    remarks["fix.name"] = "given" if fix.name != FixGiven.name else "assumed: a name of your own"
    origin = "given" if fix.kind != FixGiven.kind else "assumed"
    remarks["fix.kind"] = f"{origin}: courses are judged by it; vor, ndb, marker or waypoint"
    return remarks | dict.fromkeys(("fix.latitude_deg", "fix.longitude_deg", "fix.variation_deg_east"), "given")


def _reversal(motion: Motion, reversal: Reversal) -> tuple[dict[str, Any], dict[str, str]]:
    """The table ``[reversal]`` without its limits, and the remarks on it."""
    kind, inbound = _KIND[reversal.flown], _inbound_deg(motion, reversal)
    table: dict[str, Any] = {"kind": kind, "inbound_course_deg": inbound}
    remarks = {"reversal.kind": f"measured: flown as {reversal.flown}", "reversal.inbound_course_deg": "measured, magnetic"}
    variation = motion.charted.variation
    if variation.date is not None:
        east_deg = variation.east_rad / DEG
        assumed = f"{abs(east_deg):.1f}° {'east' if east_deg >= 0.0 else 'west'} by {variation.model}"
        remarks["reversal.inbound_course_deg"] += f"; --variation assumed: {assumed}"
    remarks |= dict.fromkeys(("reversal.side", "reversal.turn"), "measured")
    if kind == "procedure-turn":
        table |= {
            "side": side_word(reversal.side or 1),
            "outbound_course_deg": (inbound + 180.0) % 360.0,
            "within_nm": LIMIT_NM,
        }
        remarks["reversal.outbound_course_deg"] = "measured: the reciprocal of the inbound course"
    elif kind == "base-turn":
        table |= {"turn": side_word(reversal.turn or 1), "outbound_course_deg": _outbound_deg(motion, reversal)}
        remarks["reversal.outbound_course_deg"] = "measured, magnetic"
        remarks["reversal.kind"] += '; a hold entered by teardrop looks the same: "hold" if that is charted'
    elif kind == "hold":
        table |= {"turn": side_word(hold_turn(reversal) or 1), **hold_leg(motion, reversal)[0]}
    return table, remarks


def _limits(motion: Motion, flown: Reversal, table: dict[str, Any]) -> dict[str, str]:
    """Add the limit to the table ``[reversal]``, by how far out the flight went; return the remarks on it."""
    if table["kind"] == "hold":
        leg, remark = hold_leg(motion, flown)
        for key in ("leg_time_s", "leg_length_nm", "leg_by"):
            table.pop(key, None)
        table |= leg
        return {f"reversal.{next(iter(leg))}": remark, "reversal.leg_by": "assumed: along-track or dme"}
    span = flown.reversal_span_s
    if table["kind"] not in ("procedure-turn", "base-turn") or span is None:
        return {}
    farthest = float(motion.states.between(*span).distance_m.max()) / NM
    table["within_nm"] = max(LIMIT_NM, math.ceil(farthest + _CLEAR_NM))
    usual = "the usual limit" if table["within_nm"] == LIMIT_NM else "the next mile, where 10 is usual"
    return {"reversal.within_nm": f"assumed: {usual}; flown to {farthest:.1f} NM"}


def _inbound_deg(motion: Motion, reversal: Reversal) -> float:
    """The inbound course as flown on the inbound leg, magnetic, to a degree.

    If that leg was short or still intercepting the course, the final leg or the outbound leg of a procedure turn is used
    instead, whichever was steadier, unless it is on another course.
    """
    inbound, final = _kept(motion, reversal.last_part("inbound"), False), _kept(motion, reversal.last_part("final"), True)
    out = _kept(motion, reversal.part("outbound"), True) if _KIND[reversal.flown] == "procedure-turn" else None
    charted = motion.charted.inbound_true_rad
    course = inbound.bearing_rad + math.pi if inbound is not None else charted
    if inbound is None or not inbound.steady:
        others = [one for one in (final, out) if one is not None and abs(wrap(one.bearing_rad - course)) < _ANOTHER_RAD]
        best = min(others, key=lambda one: one.spread_rad, default=None)
        course = best.bearing_rad if best is not None and (inbound is None or best.spread_rad < inbound.spread_rad) else course
    return _whole(course - motion.charted.variation.east_rad)


def _outbound_deg(motion: Motion, reversal: Reversal) -> float:
    """The outbound course as flown, magnetic, to a degree."""
    kept = _kept(motion, reversal.part("outbound"), True)
    course = kept.bearing_rad if kept is not None else motion.charted.outbound_true_rad
    return _whole(course - motion.charted.variation.east_rad)


def _kept(motion: Motion, part: Part | None, outward: bool) -> Radial | None:
    """The radial that a part was flown on."""
    return radial(motion.states.between(part.start_s, part.end_s), outward) if part is not None else None


def _whole(angle: float) -> float:
    return float(bearing_text(angle).rstrip("°")) % 360.0


def _arc(arc: ArcFlown) -> tuple[dict[str, float], dict[str, str]]:
    """The table ``[arc]``, and the remarks on it."""
    place = {"latitude_deg": round(arc.latitude_rad / DEG, 6), "longitude_deg": round(arc.longitude_rad / DEG, 6)}
    if arc.given:
        return {**place, "radius_nm": round(2.0 * arc.radius_m / NM) / 2.0}, {
            "arc.latitude_deg": "given",
            "arc.longitude_deg": "given",
            "arc.radius_nm": "measured, to half a mile",
        }
    place = {key: round(value, 3) for key, value in place.items()}
    return {**place, "radius_nm": round(arc.radius_m / NM, 1)}, {
        "arc.latitude_deg": "measured: the middle of the curve flown; --station where the station is",
        "arc.longitude_deg": "measured: the same",
        "arc.radius_nm": "measured about that place",
    }
