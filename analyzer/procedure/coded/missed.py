"""The missed approach and the holds of a coded approach, as tables of the procedure file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from analyzer.procedure.coded.closure import bearing_and_distance
from analyzer.procedure.coded.facilities import Facility
from analyzer.procedure.coded.frame import Frame, apart, rounded
from analyzer.procedure.coded.leg import Leg
from analyzer.procedure.coded.lengths import leg_length
from analyzer.procedure.values import Direction

__all__ = ["hold_tables", "missed_table"]

_TO_ALTITUDE = ("CA", "VA", "FA")
_HOLDS = ("HM", "HA", "HF")
_STRAIGHT_DEG = 20.0  # a course closer to the final course is straight ahead
_EITHER_WAY_DEG = 165.0  # a greater turn may be meant either way


def hold_tables(frame: Frame) -> tuple[list[dict[str, Any]], list[str]]:
    """The tables of the holds that the missed approach leads to, and what is left out, one sentence each."""
    tables: list[dict[str, Any]] = []
    left_out: list[str] = []
    for before, leg in _with_before(frame.approach.missed):
        if leg.path in _HOLDS and leg.fix is not None:
            place = frame.at.find(leg.fix)
            if place is None:
                left_out.append(
                    f"the hold of the missed approach is at {leg.fix}, which the file does not hold, and is left out"
                )
            else:
                tables.append(_hold(frame, leg, place, before))
    return tables, left_out


def _with_before(legs: Sequence[Leg]) -> list[tuple[Leg | None, Leg]]:
    return list(zip([None, *legs[:-1]], legs, strict=True)) if legs else []


def _hold(frame: Frame, leg: Leg, place: Facility, before: Leg | None) -> dict[str, Any]:
    if leg.course is None or leg.turn is None:
        raise frame.fail(f"the hold of the missed approach at {place.ident} has no course or no turn")
    # a hold on a radial is coded without its station, but the leg to it names it
    by = leg if leg.navaid is not None or before is None or before.fix != leg.fix else _by_navaid_of(before, leg)
    course = frame.by_fix(by)
    levels = leg.levels
    table: dict[str, Any] = {
        "name": place.ident,
        "role": "missed-approach",
        "latitude_deg": round(place.latitude_deg, 6),
        "longitude_deg": round(place.longitude_deg, 6),
        "inbound_course_deg": leg.course.degrees if course is None else course,
        "turn": leg.turn,
        **leg_length(frame, leg),
        "minimum_ft": levels.minimum_ft,
        "maximum_ft": levels.maximum_ft if levels.maximum_ft != levels.minimum_ft else None,
        "maximum_speed_kias": leg.speed_kt if leg.speed_is != "least" else None,
    }
    return {key: value for key, value in table.items() if value is not None}


def _by_navaid_of(before: Leg, leg: Leg) -> Leg:
    """The leg with the recommended navaid of the leg before it."""
    return replace(leg, navaid=before.navaid)


def missed_table(frame: Frame) -> tuple[dict[str, Any] | None, list[str]]:
    """The table ``[missed_approach]``, None if none is coded; and what is unusual, one sentence each."""
    legs = [leg for leg in frame.approach.missed if leg.path not in _HOLDS]
    holds = [leg for leg in frame.approach.missed if leg.path in _HOLDS and leg.fix is not None]
    if not legs:
        return None, []
    odd: list[str] = []
    climb = legs[0] if len(legs) > 1 and legs[0].path in _TO_ALTITUDE and _ahead(frame, legs[0]) else None
    rest = legs[1:] if climb is not None else legs
    lead = next((leg for leg in rest if leg.path in ("CF", "DF", "TF", "CR", "CD", "CI")), rest[0])
    to, course_deg = _destination(frame, lead, holds)
    turn = next((leg.turn for leg in rest if leg.turn is not None), None)
    if turn is None:
        turn = _shorter_turn(frame, lead, course_deg, odd)
    levels = [leg.levels.minimum_ft for leg in (*legs, *holds) if leg.levels.minimum_ft is not None and leg is not climb]
    table: dict[str, Any] = {
        "climb_ft": climb.levels.minimum_ft if climb is not None else None,
        "turn": turn,
        "course_deg": course_deg if to is None and turn is not None else None,
        "to": to,
        "altitude_ft": levels[-1] if levels else None,
    }
    if table["turn"] is not None and table["course_deg"] is None and table["to"] is None:
        table["turn"] = None
        odd.append("the turn of the missed approach has neither a course nor a fix that the file holds, and is left out")
    if table["climb_ft"] is not None and table["altitude_ft"] is not None and table["climb_ft"] > table["altitude_ft"]:
        table["climb_ft"] = None
    made = {key: value for key, value in table.items() if value is not None}
    return made or None, odd


def _ahead(frame: Frame, leg: Leg) -> bool:
    course = frame.by_guidance(leg)
    return leg.turn is None and (course is None or abs(apart(frame.inbound_deg, course)) < _STRAIGHT_DEG)


def _destination(frame: Frame, lead: Leg, holds: Sequence[Leg]) -> tuple[str | None, float | None]:
    """Where the missed approach leads: direct to the fix of its hold, or on a course."""
    if lead.path == "DF" and lead.fix is not None and any(hold.fix == lead.fix for hold in holds) and frame.at.find(lead.fix):
        return lead.fix.ident, None
    if lead.course is not None or not lead.fix:
        return None, frame.by_guidance(lead)
    start, end = frame.last_fix(frame.approach.final.legs), frame.at.find(lead.fix)
    by = frame.by.variation_deg_east
    if start is None or end is None or start == end or by is None:
        return None, None
    return None, rounded(bearing_and_distance(start, end)[0] - by)


def _shorter_turn(frame: Frame, lead: Leg, course_deg: float | None, odd: list[str]) -> Direction | None:
    """The direction of a turn coded without one: the shorter way from the final course."""
    if course_deg is None and lead.fix is not None and frame.by.variation_deg_east is not None:
        start, end = frame.last_fix(frame.approach.final.legs), frame.at.find(lead.fix)
        if start is not None and end is not None and start != end:
            course_deg = bearing_and_distance(start, end)[0] - frame.by.variation_deg_east
    if course_deg is None:
        return None
    turn = apart(frame.inbound_deg, course_deg)
    if abs(turn) < _STRAIGHT_DEG:
        return None
    way: Direction = "right" if turn > 0.0 else "left"
    if abs(turn) > _EITHER_WAY_DEG:
        odd.append(f"no direction is coded for the turn of the missed approach; {way} is the shorter one by a little")
    return way
