"""A procedure drafted from a flight in one call: a track and a fix in, the procedure it seems to have been flown by out.

A draft is for the user to correct by the chart. Courses are rounded to a degree, altitudes to a hundred feet; what a log cannot
tell (names, kinds of station, limits) is filled in plainly and said to be so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from analyzer.draft.beyond import drafted_beyond
from analyzer.draft.courses import radial
from analyzer.draft.explain import LIMIT_NM, FixGiven, explain, hold_turn
from analyzer.draft.floors import levels_ft
from analyzer.errors import LogError
from analyzer.legs.arcs import arcs_about
from analyzer.legs.model import STRAIGHT_IN, Part, Reversal
from analyzer.motion.model import Motion
from analyzer.physics.units import DEG, NM, bearing_text
from analyzer.procedure.schema import Procedure
from analyzer.track.model import Track

__all__ = ["Draft", "FixGiven", "draft"]

_USUAL_S, _NEAR_USUAL_S = 60.0, 30.0  # AIM 5-3-8 j.4; within this, wind and pilot explain the outbound leg of a minute hold
_WORD = {1: "right", -1: "left"}
_KIND = {"45/180": "procedure-turn", "80/260": "procedure-turn", "base-turn": "base-turn", "arc": "arc", STRAIGHT_IN: "none"}


@dataclass(frozen=True)
class Draft:
    """A drafted procedure; `remarks` says by ``table.key`` where a value comes from; `flown` what the flight was taken for."""

    procedure: Procedure
    remarks: Mapping[str, str]
    flown: str


def draft(track: Track, fix: FixGiven) -> Draft:
    """Draft the procedure that the last approach of a flight seems to have been flown by.

    Raises
    ------
    LogError
        The flight flies no approach to the fix that is recognised.
    ProcedureError
        No magnetic model covers the place or date.
    """
    motion, reversal = explain(track, fix)
    levels = levels_ft(motion, reversal)
    table, remarks = _reversal(motion, reversal)
    tables: dict[str, Any] = {}
    if table["kind"] == "arc":
        tables["arc"], table["turn"] = _arc(motion, fix)
        remarks["arc.radius_nm"] = "about the fix, as flown, to half a mile"
    beyond = drafted_beyond(motion, reversal)
    tables |= beyond.tables
    if "minimum" in tables:
        levels.pop("final", None)  # a procedure has either
    procedure = Procedure.model_validate(
        {
            "title": f"Draft from {track.file}"[:120],
            "fix": fix.table,
            "reversal": table,
            "altitudes": {f"{leg}_ft": feet for leg, feet in levels.items()},
            **tables,
        }
    )
    remarks |= {f"altitudes.{leg}_ft": "the hundred below the level flown" for leg in levels}
    return Draft(procedure, {**_fix_remarks(motion, fix), **remarks, **beyond.remarks}, reversal.flown)


def _fix_remarks(motion: Motion, fix: FixGiven) -> dict[str, str]:
    variation = motion.charted.variation
    told = {"title": "a name of your own", "fix.kind": "vor, ndb, marker or waypoint: decides how deviation is measured"}
    if fix.variation_deg_east is None:
        told["fix.longitude_deg"] = f"courses are magnetic by {variation.model}: {variation.east_rad / DEG:+.1f} east here"
    return told


def _reversal(motion: Motion, reversal: Reversal) -> tuple[dict[str, Any], dict[str, str]]:
    """``[reversal]``, and where its values come from."""
    kind, inbound = _KIND.get(reversal.flown, "hold"), _inbound_deg(motion, reversal)
    table: dict[str, Any] = {"kind": kind, "inbound_course_deg": inbound}
    remarks = {"reversal.kind": f"flown as {reversal.flown}", "reversal.inbound_course_deg": "magnetic, as flown"}
    if kind == "procedure-turn":
        table |= {"side": _WORD[reversal.side or 1], "outbound_course_deg": (inbound + 180.0) % 360.0, "within_nm": LIMIT_NM}
        remarks["reversal.outbound_course_deg"] = "the reciprocal"
    elif kind == "base-turn":
        outbound = _outbound_deg(motion, reversal)
        table |= {"turn": _WORD[reversal.turn or 1], "outbound_course_deg": outbound, "within_nm": LIMIT_NM}
        remarks["reversal.outbound_course_deg"] = "magnetic, as flown"
        remarks["reversal.kind"] += '; a hold entered by teardrop looks the same: "hold" if that is charted'
    elif kind == "hold":
        leg, said = _leg(motion, reversal)
        table |= {"turn": _WORD[hold_turn(reversal) or 1], **leg}
        remarks |= said
    if "within_nm" in table:
        remarks["reversal.within_nm"] = "the usual; a log cannot tell it"
    return table, remarks


def _leg(motion: Motion, reversal: Reversal) -> tuple[dict[str, Any], dict[str, str]]:
    """The leg of a hold: the usual minute, or the length flown where the outbound leg took no time that a minute explains."""
    part, passage = reversal.part("outbound"), reversal.passage("outbound")
    if part is not None and passage is not None:
        # a parallel or teardrop entry is timed from over the fix, and of a direct one the turn leads abeam it
        begun = part.start_s if reversal.flown == "hold-direct" else passage.time_s
        seconds = part.end_s - begun
        end = motion.states.between(part.end_s - 1.0, part.end_s)
        if len(end) and abs(seconds - _USUAL_S) > _NEAR_USUAL_S:
            out = motion.charted.inbound_true_rad + math.pi
            length = float(end.distance_m[-1]) * math.cos(float(end.bearing_rad[-1]) - out) / NM
            rounded = round(2.0 * length) / 2.0
            if rounded >= 1.0:
                why = f"as flown, to half a mile: the outbound leg took {seconds:.0f} s; or leg_time_s"
                return {"leg_length_nm": rounded, "leg_by": "along-track"}, {"reversal.leg_length_nm": why}
    return {"leg_time_s": _USUAL_S}, {"reversal.leg_time_s": "the usual; or leg_length_nm"}


def _inbound_deg(motion: Motion, reversal: Reversal) -> float:
    """The inbound course as flown, magnetic, to a degree: by the longer of the inbound leg and the way on from the fix."""
    inbound, final = _kept(motion, reversal.last_part("inbound")), _kept(motion, reversal.part("final"))
    course = motion.charted.inbound_true_rad
    if inbound is not None and (final is None or inbound[1] >= final[1]):
        course = inbound[0] + math.pi
    elif final is not None:
        course = final[0]
    return _whole(course - motion.charted.variation.east_rad)


def _outbound_deg(motion: Motion, reversal: Reversal) -> float:
    """The outbound course as flown, magnetic, to a degree."""
    kept = _kept(motion, reversal.part("outbound"))
    return _whole((kept[0] if kept is not None else motion.charted.outbound_true_rad) - motion.charted.variation.east_rad)


def _kept(motion: Motion, part: Part | None) -> tuple[float, int] | None:
    """The radial that a part was flown on, and for how long."""
    return radial(motion.states.between(part.start_s, part.end_s)) if part is not None else None


def _whole(angle: float) -> float:
    return float(bearing_text(angle).rstrip("°")) % 360.0


def _arc(motion: Motion, fix: FixGiven) -> tuple[dict[str, float], str]:
    charted = motion.charted
    found = arcs_about(motion, charted.fix_latitude_rad, charted.fix_longitude_rad)
    if not found:
        raise LogError(
            f"{motion.track.file}: comes in by an arc that is not about {fix.latitude_deg:g},{fix.longitude_deg:g}; "
            "is --fix LAT,LON the station that the arc is about? Otherwise write the file by the chart: procedure new"
        )
    last = found[-1]
    radius = round(2.0 * last.radius_m / NM) / 2.0
    return (
        {"latitude_deg": fix.latitude_deg, "longitude_deg": fix.longitude_deg, "radius_nm": radius},
        _WORD[1 if last.swept_rad > 0.0 else -1],
    )
