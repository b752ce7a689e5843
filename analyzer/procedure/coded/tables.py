"""The tables of a procedure file that come from single records: the runway, the guidance, the glide path, the altitudes."""

from __future__ import annotations

import math
from typing import Any

from analyzer.procedure.coded.closure import bearing_and_distance
from analyzer.procedure.coded.facilities import Facility, Runway
from analyzer.procedure.coded.final_course import inbound_legs, is_final_fix, level_at_fix, on_slope
from analyzer.procedure.coded.frame import Frame
from analyzer.procedure.coded.names import runway_of

__all__ = ["altitudes_table", "glide_path_table", "guidance_table", "runway_of_approach", "runway_table"]

_OTHER_SIDE = {"L": "R", "R": "L"}
_GUIDANCE_OF_FIX = {"vor": "vor", "ndb": "ndb", "waypoint": "gps", "marker": "gps"}
_SAME_DEG = 0.05
_ON_FIELD_NM = 1.0


def runway_of_approach(frame: Frame) -> Runway | None:
    """The runway at the missed approach point, or in the name of the approach; None for circling, or without its record."""
    ends = [leg.fix.ident for leg in reversed(frame.approach.final.legs) if leg.fix is not None and leg.fix.section == "PG"]
    ident = ends[0] if ends else runway_of(frame.approach.ident)
    return frame.at.runway(ident) if ident is not None else None


def runway_table(frame: Frame, runway: Runway | None) -> dict[str, Any] | None:
    """The table ``[runway]``. The heading is that to the threshold of the other end, if that has a record."""
    heading = _heading(frame, runway) if runway is not None else None
    if runway is None or heading is None or runway.elevation_ft is None:
        return None
    table = {
        "name": runway.ident.removeprefix("RW"),
        "threshold_latitude_deg": round(runway.latitude_deg, 6),
        "threshold_longitude_deg": round(runway.longitude_deg, 6),
        "threshold_elevation_ft": runway.elevation_ft,
        "true_heading_deg": round(heading, 1) % 360.0,
        "length_ft": runway.length_ft,
    }
    return {key: value for key, value in table.items() if value is not None}


def _heading(frame: Frame, runway: Runway) -> float | None:
    number, side = runway.ident[2:4], runway.ident[4:]
    other = None
    if number.isdigit():
        other = frame.at.runway(f"RW{(int(number) + 17) % 36 + 1:02d}{_OTHER_SIDE.get(side, side)}")
    if other is not None and (other.latitude_deg, other.longitude_deg) != (runway.latitude_deg, runway.longitude_deg):
        return bearing_and_distance(_place(runway), _place(other))[0]
    if runway.bearing_deg is None or runway.bearing_is_true:
        return runway.bearing_deg
    airport = frame.at.airport
    variation = airport.variation_deg_east if airport is not None else frame.by.variation_deg_east
    return None if variation is None else (runway.bearing_deg + variation) % 360.0


def _place(runway: Runway) -> Facility:
    return Facility(runway.ident, "waypoint", runway.latitude_deg, runway.longitude_deg)


def guidance_table(frame: Frame, *, placed_by_runway: bool) -> dict[str, Any] | None:
    """The table ``[guidance]``; None if the fix gives the course itself.

    `placed_by_runway` says whether a runway is known: a localizer without a position is assumed beyond its end.
    """
    by, fix = frame.by, frame.fix
    # without a position, the angle at a localizer or station would be measured at the fix; a distance off course needs none
    placed = by.kind == "gps" or by.localizer is not None or by.station is not None
    placed = placed or by.kind == fix.kind or (by.kind == "localizer" and placed_by_runway)
    table: dict[str, Any] = {"kind": by.kind if placed else "gps"}
    if by.localizer is not None:
        antenna = by.localizer
        table |= {"latitude_deg": round(antenna.latitude_deg, 6), "longitude_deg": round(antenna.longitude_deg, 6)}
        if antenna.width_deg:
            table["full_scale_deg"] = round(antenna.width_deg / 2.0, 3)
    elif by.station is not None and by.station != fix:
        table |= {"latitude_deg": round(by.station.latitude_deg, 6), "longitude_deg": round(by.station.longitude_deg, 6)}
    own, of_fix = by.variation_deg_east, frame.fix_variation_deg_east
    if own is not None and (of_fix is None or abs(own - of_fix) > _SAME_DEG):
        table["variation_deg_east"] = own
    return None if table == {"kind": _GUIDANCE_OF_FIX[fix.kind]} else table


def glide_path_table(frame: Frame, runway: Runway | None) -> dict[str, Any] | None:
    """The table ``[glide_path]`` of an approach with an electronic glide path."""
    antenna = frame.by.localizer
    if frame.approach.kind != "I" or antenna is None or not antenna.slope_deg:
        return None
    crossing = (runway.crossing_height_ft if runway is not None else None) or antenna.crossing_height_ft
    return {"angle_deg": antenna.slope_deg} | ({"threshold_crossing_height_ft": crossing} if crossing else {})


def altitudes_table(frame: Frame, arrival_ft: float | None, runway: Runway | None) -> tuple[dict[str, Any], list[str]]:
    """The table ``[altitudes]``, and what is left out of it, one sentence each."""
    level, left_out = frame.reversal.leg.levels, []
    table: dict[str, float | None] = {
        "arrival_ft": arrival_ft,
        "outbound_ft": level.minimum_ft,
        "reversal_ft": level.minimum_ft,
        "inbound_ft": _inbound_ft(frame),
        "outbound_maximum_ft": level.maximum_ft,
        "reversal_maximum_ft": level.maximum_ft,
    }
    coded_faf = any(leg.role == "F" for leg in inbound_legs(frame))
    if not coded_faf and runway is not None and _on_field(frame, runway) and table["inbound_ft"] is not None:
        # on the field, the altitude of the inbound leg would be read as the minimum of the approach
        table["inbound_ft"] = None
        left_out.append(
            "no altitude is coded for the final approach, which the fix of the reversal on the field leaves to the chart"
        )
    return {key: value for key, value in table.items() if value is not None}, left_out


def _inbound_ft(frame: Frame) -> float | None:
    """The minimum of the inbound leg, up to the final approach fix. [ft]"""
    if frame.reversal.kind != "arc" and is_final_fix(frame):
        return level_at_fix(frame).minimum_ft
    final = next((leg for leg in inbound_legs(frame) if leg.role == "F"), None)
    return on_slope(frame, final.levels).minimum_ft if final is not None else level_at_fix(frame).minimum_ft


def _on_field(frame: Frame, runway: Runway) -> bool:
    """Whether the runway lies within 1 NM of the fix, or before it inbound."""
    bearing, distance = bearing_and_distance(frame.fix, _place(runway))
    inbound = frame.inbound_true_deg
    course = frame.inbound_deg if inbound is None else inbound
    return distance <= _ON_FIELD_NM or math.cos(math.radians(bearing - course)) < 0.0
