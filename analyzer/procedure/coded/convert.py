"""Conversion of one reversal of a coded approach to a procedure, with what remains to be taken from the chart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.procedure.coded.approach import CodedApproach
from analyzer.procedure.coded.arrivals import arrival_floor_ft, arrival_tables
from analyzer.procedure.coded.borrowed import FIX_OFF_DEG, VOR_OFF_DEG
from analyzer.procedure.coded.closure import bearing_and_distance, closures
from analyzer.procedure.coded.courses import inbound_course, offset_error_deg
from analyzer.procedure.coded.facilities import Facility
from analyzer.procedure.coded.final_course import final_fixes, on_slope
from analyzer.procedure.coded.frame import Frame, rounded
from analyzer.procedure.coded.guidance import course_by
from analyzer.procedure.coded.lengths import dme_station, leg_length
from analyzer.procedure.coded.lookup import Lookup
from analyzer.procedure.coded.missed import hold_tables, missed_table
from analyzer.procedure.coded.names import approach_name
from analyzer.procedure.coded.reversals import CodedReversal
from analyzer.procedure.coded.tables import (
    altitudes_table,
    glide_path_table,
    guidance_table,
    runway_of_approach,
    runway_table,
)
from analyzer.procedure.faults import fault_text
from analyzer.procedure.schema import Procedure

__all__ = ["Converted", "converted"]

_OFFSET_DEG = 1.0  # a 45° leg that differs by more does not belong to the course
_PASSES_FIX_NM = 0.5  # a course that passes the fix by more makes approaches hard to recognise


@dataclass(frozen=True)
class Converted:
    """A procedure converted from coded records.

    Attributes
    ----------
    approach, reversal
        What it was converted from.
    procedure : Procedure
        The procedure.
    odd, left_out, angles : tuple of str
        What is missing, damaged or inconsistent; what is coded but has no place in a procedure file; and the descent angles
        coded for advice. One sentence each, without a full stop.
    """

    approach: CodedApproach
    reversal: CodedReversal
    procedure: Procedure
    odd: tuple[str, ...]
    left_out: tuple[str, ...]
    angles: tuple[str, ...]


def converted(approach: CodedApproach, at: Lookup, same: Sequence[CodedReversal], *, named: bool) -> Converted:
    """Convert a reversal, which several routes may share, to a procedure.

    Parameters
    ----------
    approach : CodedApproach
        The approach.
    at : Lookup
        The records it refers to.
    same : sequence of CodedReversal
        The reversal, of each route that has it.
    named : bool
        Whether the title names the route.

    Raises
    ------
    ProcedureError
        A required fix or station is not in the file, or the records do not make a procedure.
    """
    reversal, odd, left_out = same[0], list(approach.odd), list[str]()
    frame = _frame(approach, at, same)
    runway = runway_of_approach(frame)
    landing = runway_table(frame, runway)
    fixes, left = final_fixes(frame)
    arrivals, elsewhere = arrival_tables(frame)
    missed, of_missed = missed_table(frame)
    holds, of_holds = hold_tables(frame)
    altitudes, of_altitudes = altitudes_table(frame, arrival_floor_ft(frame, arrivals), runway)
    if frame.reversal.kind == "procedure-turn" and (off := offset_error_deg(reversal, frame.inbound_deg)) > _OFFSET_DEG:
        odd.append(
            f"the 45° leg of the procedure turn is {off:.1f}° off 45° from the inbound course {frame.inbound_deg:05.1f}°"
        )
    # by the declinations of the file itself, not by substitutes
    odd += [str(one) for one in closures(approach, at, course_by(approach, at, reversal.fix)) if not one.closes]
    odd += [
        *_of_declination(frame),
        *_of_teardrop(frame),
        *_of_slope(frame),
        *left,
        *of_missed,
        *of_holds,
        *of_altitudes,
        *_of_guidance(frame),
    ]
    left_out += elsewhere
    if runway is None and any(leg.fix is not None and leg.fix.section == "PG" for leg in approach.final.legs):
        odd.append("the record of the runway is not in the file")
    tables: dict[str, Any] = {
        "title": _title(approach, reversal, named=named),
        "fix": _fix_table(frame),
        "reversal": _reversal_table(frame),
        "arc": _arc_table(frame),
        "guidance": guidance_table(frame, placed_by_runway=landing is not None),
        "glide_path": glide_path_table(frame, runway),
        "altitudes": altitudes,
        "runway": landing,
        "missed_approach": missed,
        "dme": _dme_table(frame),
        "fixes": fixes,
        "holds": holds,
        "arrivals": arrivals,
    }
    try:
        procedure = Procedure.model_validate({key: value for key, value in tables.items() if value not in (None, [], {})})
    except ValidationError as error:
        faults = "; ".join(fault_text(fault, "ft") for fault in error.errors(include_url=False))
        raise frame.fail(f"its records make no procedure: {faults}") from None
    return Converted(approach, reversal, procedure, tuple(odd), tuple(left_out), _angles(frame))


def _frame(approach: CodedApproach, at: Lookup, same: Sequence[CodedReversal]) -> Frame:
    reversal = same[0]
    by = course_by(approach, at, reversal.fix)
    course = inbound_course(approach, reversal)
    place = at.fix(reversal.fix, f"{approach.ident}: the fix of the reversal")
    if reversal.kind == "arc":
        place = _final_fix(approach, at) or place
    if course is None:
        raise ProcedureError(
            f"{at.file.name}: {approach.airport} {approach.ident}: the records that hold its inbound course are missing"
        )
    airport = at.airport.variation_deg_east if at.airport is not None else None
    near_by = by.borrowed.variation_deg_east if by.borrowed is not None else None
    at_fix = _first_known(place.variation_deg_east, airport, by.variation_deg_east, near_by, place.place_variation_deg_east)
    by = replace(by, variation_deg_east=_first_known(by.variation_deg_east, near_by, at_fix))
    if course.true:  # then the whole approach is charted by true north
        by, at_fix = replace(by, variation_deg_east=0.0), 0.0
    return Frame(approach, at, by, reversal, tuple(same), place, at_fix, course.degrees)


def _first_known(*values: float | None) -> float | None:
    return next((value for value in values if value is not None), None)


def _final_fix(approach: CodedApproach, at: Lookup) -> Facility | None:
    """The final approach fix. The coded end of an arc is not flown over, since the last turn is led."""
    return next((at.find(leg.fix) for leg in approach.final.legs if leg.role == "F" and leg.fix is not None), None)


def _title(approach: CodedApproach, reversal: CodedReversal, *, named: bool) -> str:
    route = f" from {reversal.route}" if named and reversal.route else ""
    return f"{approach.airport} {approach_name(approach.ident)}{route}"


def _fix_table(frame: Frame) -> dict[str, Any]:
    fix = frame.fix
    table: dict[str, Any] = {
        "name": fix.ident,
        "kind": fix.kind,
        "latitude_deg": round(fix.latitude_deg, 6),
        "longitude_deg": round(fix.longitude_deg, 6),
        "elevation_ft": fix.elevation_ft,
    }
    if frame.fix_variation_deg_east is not None:
        table["variation_deg_east"] = frame.fix_variation_deg_east
    return table


def _reversal_table(frame: Frame) -> dict[str, Any]:
    reversal, leg = frame.reversal, frame.reversal.leg
    table: dict[str, Any] = {"kind": reversal.kind, "inbound_course_deg": frame.inbound_deg}
    if reversal.kind == "procedure-turn":
        outbound = rounded(frame.inbound_deg + 180.0)
        table |= {"side": reversal.side, "outbound_course_deg": outbound, "within_nm": leg.distance_nm}
        if leg.course is not None and offset_error_deg(reversal, frame.inbound_deg) <= _OFFSET_DEG:
            table["offset_course_deg"] = leg.course.degrees
    else:
        table["turn"] = reversal.turn
    if reversal.kind == "base-turn":
        table["outbound_course_deg"] = frame.by_fix(leg)
    if reversal.kind in ("base-turn", "hold"):
        table |= leg_length(frame, leg)
    if leg.speed_kt is not None and leg.speed_is != "least":
        table["maximum_speed_kias"] = leg.speed_kt
    return {key: value for key, value in table.items() if value is not None}


def _arc_table(frame: Frame) -> dict[str, Any] | None:
    leg = frame.reversal.leg
    if frame.reversal.kind != "arc" or leg.navaid is None or leg.rho_nm is None:
        return None
    centre = frame.at.fix(leg.navaid, f"{frame.approach.ident}: the centre of the arc")
    return {
        "latitude_deg": round(centre.latitude_deg, 6),
        "longitude_deg": round(centre.longitude_deg, 6),
        "radius_nm": leg.rho_nm,
    }


def _dme_table(frame: Frame) -> dict[str, Any] | None:
    station = dme_station(frame)
    if station is None or (station == frame.fix and station.kind == "vor"):
        return None
    return {
        "name": station.ident,
        "latitude_deg": round(station.latitude_deg, 6),
        "longitude_deg": round(station.longitude_deg, 6),
        "elevation_ft": station.elevation_ft,
    }


def _of_declination(frame: Frame) -> list[str]:
    """A remark on the declination of the inbound course if neither the airport's nor that of a VOR or beacon is known."""
    by, fix, airport, course = frame.by, frame.fix, frame.at.airport, inbound_course(frame.approach, frame.reversal)
    station_gives_it = by.kind in ("vor", "ndb") and by.station is not None
    known = airport is not None and airport.variation_deg_east is not None
    if known or station_gives_it or (course is not None and course.true):
        return []
    without = "the airport's record is not in the file" if airport is None else "the airport's record has no variation"
    antenna, east = by.localizer, by.variation_deg_east
    off = f"true ones may be several degrees off, up to {FIX_OFF_DEG:g}°"
    if east is None:
        return [f"{without}; courses are by a model of the magnetic field, and {off}"]
    if antenna is not None and antenna.variation_deg_east is not None:
        return [f"{without}; courses are by the declination of the localizer {antenna.ident}, {_east(east)}"]
    if by.borrowed is not None:
        source, off = by.borrowed.source, f"true ones may be {by.borrowed.off_deg:g}° off"
    elif fix.variation_deg_east is not None:
        source, off = f"{fix.ident}, the fix of the reversal", f"true ones may be {VOR_OFF_DEG:g}° off"
    else:
        return [f"{without}; courses are by the magnetic variation at {fix.ident}, {_east(east)}, and {off}"]
    return [f"{without}; courses are by the declination of {source}, {_east(east)}, and {off}"]


def _east(degrees: float) -> str:
    return f"{abs(degrees):.1f}° {'east' if degrees >= 0.0 else 'west'}"


def _of_guidance(frame: Frame) -> list[str]:
    by = frame.by
    if by.kind == "localizer" and by.localizer is None:
        words = "the record of the localizer is not in the file"
        if by.station is not None:
            return [f"{words}; its antenna is placed by the bearing and the distance of a fix from it"]
        return [f"{words}, nor a fix that places it; without a runway, deviations are measured as if flown by satellite"]
    if by.kind in ("vor", "ndb") and by.station is None:
        words = f"the {by.kind.upper()} that gives the final course is not in the file"
        return [words if by.kind == frame.fix.kind else f"{words}; deviations are measured as if flown by satellite"]
    return []


def _of_teardrop(frame: Frame) -> list[str]:
    """A remark if the inbound course of a teardrop does not lead over the fix where it began."""
    back, inbound = frame.reversal.inbound, frame.inbound_true_deg
    place = frame.at.find(back.fix) if back is not None and back.fix is not None else None
    if place is None or inbound is None or place == frame.fix:
        return []
    bearing, distance = bearing_and_distance(place, frame.fix)
    off = abs(distance * math.sin(math.radians(bearing - inbound)))
    return [f"the inbound course passes {off:.1f} NM from {frame.fix.ident}"] if off > _PASSES_FIX_NM else []


def _of_slope(frame: Frame) -> list[str]:
    """A remark for each fix where the glide slope passes below the coded minimum."""
    legs = [leg for leg in frame.approach.final.legs if on_slope(frame, leg.levels) != leg.levels]
    return [
        f"the glide slope passes {leg.fix.ident if leg.fix is not None else 'a fix'} at {leg.levels.slope_ft:g} ft, below the "
        f"{leg.levels.minimum_ft:g} ft that are coded there; the minimum before it is that of the slope"
        for leg in legs
    ]


def _angles(frame: Frame) -> tuple[str, ...]:
    """The descent angles of an approach without an electronic glide path, each with its fix."""
    if frame.approach.kind == "I":
        return ()
    coded = ((leg.fix, leg.angle_deg) for leg in frame.approach.final.legs)
    return tuple(f"{abs(angle):.2f}° to {fix.ident}" for fix, angle in coded if angle and fix is not None)
