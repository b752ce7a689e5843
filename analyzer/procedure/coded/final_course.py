"""The fixes of the final course, from the reversal to the missed approach point, as tables of the procedure file."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from analyzer.procedure.coded.closure import bearing_and_distance
from analyzer.procedure.coded.facilities import Facility
from analyzer.procedure.coded.fields import Levels
from analyzer.procedure.coded.frame import Frame, apart
from analyzer.procedure.coded.leg import Leg
from analyzer.procedure.values import FixRole

__all__ = ["final_fixes", "inbound_legs", "is_final_fix", "level_at_fix", "on_slope"]

_BENT_DEG = 1.0  # with less difference a segment is on the inbound course, which is charted to the whole degree
_BEHIND_NM = 0.05


def inbound_legs(frame: Frame) -> tuple[Leg, ...]:
    """The legs from the reversal to the missed approach point: the rest of its route, then the final route from there."""
    rest, final = frame.reversal.after, frame.approach.final.legs
    if not frame.reversal.route:
        return rest
    last = next((leg.fix for leg in reversed((frame.reversal.leg, *rest)) if leg.fix is not None), None)
    if frame.reversal.kind == "base-turn" and frame.reversal.inbound is not None:
        last = next((leg.fix for leg in reversed(rest) if leg.fix is not None), frame.reversal.inbound.fix)
        rest = (frame.reversal.inbound, *rest)
    joined = next((i for i, leg in enumerate(final) if leg.fix == last), None)
    # a fix at the end of the final route is a facility on the field, where the approach ends after the reversal
    if joined is None or (joined == len(final) - 1 and joined > 0 and final[joined].role == "M" and last == frame.reversal.fix):
        return (*rest, *final)
    return (*rest, *final[joined:])


def is_final_fix(frame: Frame) -> bool:
    """Whether the fix of the reversal is the final approach fix, or none lies beyond it."""
    return all(leg.role != "F" or leg.fix == frame.reversal.fix for leg in inbound_legs(frame))


def level_at_fix(frame: Frame) -> Levels:
    """Altitudes required at the fix of the reversal inbound, by the leg back to it, else by the reversal itself."""
    back = [leg for leg in inbound_legs(frame) if leg.fix == frame.reversal.fix and leg.levels != Levels() and leg.role != "M"]
    return on_slope(frame, back[0].levels) if back else frame.reversal.leg.levels


def on_slope(frame: Frame, levels: Levels) -> Levels:
    """The altitudes at the final approach fix of an approach with a glide slope.

    If the slope passes the fix below the altitude coded there, it is met before the fix, and its altitude is the minimum.
    """
    lowest = levels.minimum_ft
    if frame.approach.kind != "I" or levels.slope_ft is None or lowest is None or levels.slope_ft >= lowest:
        return levels
    return replace(levels, minimum_ft=levels.slope_ft)


def final_fixes(frame: Frame) -> tuple[list[dict[str, Any]], list[str]]:
    """The tables of ``[[fixes]]`` in the order passed inbound, and what is left out, one sentence each."""
    tables: list[dict[str, Any]] = []
    left_out: list[str] = []
    level = level_at_fix(frame)
    if frame.reversal.kind != "arc" and not is_final_fix(frame) and not _is_before(frame) and level != Levels():
        tables.append(_table(frame.fix, "intermediate-fix", level, None))
    if frame.reversal.kind != "arc" and is_final_fix(frame) and level.maximum_ft is not None and _is_coded_final(frame):
        # a maximum applies at the fix only, and the file has no other key for it
        tables.append(_table(frame.fix, "final-approach-fix", level, None))
    for leg, place, role, course_deg in _rows(frame, left_out):
        if all(place.ident != table["name"] for table in tables):
            levels = Levels() if role == "missed-approach-point" else on_slope(frame, leg.levels)
            if role == "step-down" and not levels.described:
                # by the standard it is the altitude to fly, but charts have minimums at step-down fixes
                levels = Levels(minimum_ft=levels.minimum_ft)
                left_out.append(f"the altitude at {place.ident} is coded without a description, and is read as a minimum")
            tables.append(_table(place, role, levels, course_deg))
    return _in_order(frame, tables, left_out), left_out


def _rows(frame: Frame, left_out: list[str]) -> Iterator[tuple[Leg, Facility, FixRole, float | None]]:
    before = frame.fix
    for leg in inbound_legs(frame):
        if leg.fix is None or (leg.fix == frame.reversal.fix and leg.role != "M"):
            continue
        place = frame.at.find(leg.fix)
        if place is None:
            left_out.append(f"{leg.fix}, which the file does not hold, is left out")
            continue
        if place == frame.fix and leg.role != "M":
            continue
        course_deg = frame.by_guidance(leg, before)
        bent = course_deg is not None and abs(apart(frame.inbound_deg, course_deg)) >= _BENT_DEG and leg.path != "IF"
        yield leg, place, _role(leg), course_deg if bent else None
        before = place


def _role(leg: Leg) -> FixRole:
    if leg.role == "F":
        return "final-approach-fix"
    if leg.role == "M":
        return "missed-approach-point"
    return "step-down" if leg.is_step_down else "intermediate-fix"


def _table(place: Facility, role: FixRole, levels: Levels, course_deg: float | None) -> dict[str, Any]:
    table: dict[str, Any] = {
        "name": place.ident,
        "role": role,
        "latitude_deg": round(place.latitude_deg, 6),
        "longitude_deg": round(place.longitude_deg, 6),
        "course_deg": course_deg,
        "minimum_ft": levels.minimum_ft,
        "maximum_ft": levels.maximum_ft,
    }
    return {key: value for key, value in table.items() if value is not None}


def _along_nm(frame: Frame, table: dict[str, Any]) -> float:
    """Distance of a fix from the reversal fix along the inbound course. [NM]"""
    place = Facility(table["name"], "waypoint", table["latitude_deg"], table["longitude_deg"])
    bearing, distance = bearing_and_distance(frame.fix, place)
    inbound = frame.inbound_true_deg
    return distance * math.cos(math.radians(bearing - (frame.inbound_deg if inbound is None else inbound)))


def _is_coded_final(frame: Frame) -> bool:
    return any(leg.role == "F" and leg.fix == frame.reversal.fix for leg in inbound_legs(frame))


def _is_before(frame: Frame) -> bool:
    """Whether the final course is before the fix of the reversal, because that is a facility on the field."""
    final = next((frame.at.find(leg.fix) for leg in inbound_legs(frame) if leg.role == "F" and leg.fix is not None), None)
    if final is None or frame.reversal.kind == "arc":
        return False
    return _along_nm(frame, _table(final, "final-approach-fix", Levels(), None)) < -_BEHIND_NM


def _in_order(frame: Frame, tables: list[dict[str, Any]], left_out: list[str]) -> list[dict[str, Any]]:
    """The tables of fixes that each lie beyond the one before; others are added to `left_out`."""
    kept: list[dict[str, Any]] = []
    on_field = _is_before(frame)
    for table in tables:
        along = _along_nm(frame, table)
        if not on_field and frame.reversal.kind != "arc" and along < -_BEHIND_NM:
            left_out.append(f"{table['name']} lies {-along:.1f} NM before the fix of the reversal and is left out")
        elif kept and along <= _along_nm(frame, kept[-1]):
            left_out.append(f"{table['name']} is not beyond {kept[-1]['name']} inbound and is left out")
        else:
            kept.append(table)
    return kept
