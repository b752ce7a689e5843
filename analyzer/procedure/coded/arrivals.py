"""Routes to the fix of a reversal as tables of the procedure file: those that lead into the reversal, and those NoPT."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from analyzer.procedure.coded.approach import Route
from analyzer.procedure.coded.frame import Frame
from analyzer.procedure.coded.leg import Leg
from analyzer.procedure.coded.reversals import reversals

__all__ = ["arrival_floor_ft", "arrival_tables"]


def arrival_tables(frame: Frame) -> tuple[list[dict[str, Any]], list[str]]:
    """The tables of ``[[arrivals]]``, and what is left out of the routes, one sentence each."""
    tables: list[dict[str, Any]] = []
    left_out: list[str] = []
    if frame.reversal.kind == "arc":
        return tables, left_out
    into = {one.route: one.before for one in frame.same}
    elsewhere = {one.route for one in reversals(frame.approach) if one.kind != "arc"} - set(into)
    for route in frame.approach.transitions:
        if route.name in elsewhere:
            left_out.append(f"the route from {route.name} has a reversal of its own and is left out")
            continue
        legs = into.get(route.name)
        way = legs if legs is not None else _to_fix(frame, route)
        if way is None:
            left_out.append(f"the route from {route.name} does not lead over {frame.fix.ident} and is left out")
        elif len(way) > 1:
            table = _table(frame, route, way, reversal=legs is not None)
            if table is None:
                left_out.append(f"the route from {route.name} is left out, since {_why(frame, way)}")
            else:
                tables.append(table)
                left_out += _ceiling(route, way)
    return tables, left_out


def _ceiling(route: Route, way: Sequence[Leg]) -> list[str]:
    """The maximum altitude at the end of a route, for which an arrival has no key."""
    last = way[-1]
    most = last.levels.maximum_ft
    if most is None or last.fix is None or last not in route.legs:
        return []
    return [f"the altitude of {most:g} ft at most, at which the route from {route.name} comes to {last.fix.ident}, is left out"]


def _to_fix(frame: Frame, route: Route) -> Sequence[Leg] | None:
    """The legs of a route without a reversal, up to the fix of the reversal; None if it does not lead there."""
    final = frame.approach.final.legs
    last = next((leg.fix for leg in reversed(route.legs) if leg.fix is not None), None)
    joined = next((i for i, leg in enumerate(final) if leg.fix == last), None)
    legs = (*route.legs, *(final[joined + 1 :] if joined is not None else ()))
    there = next((i for i, leg in enumerate(legs) if leg.fix == frame.reversal.fix), None)
    return None if there is None else legs[: there + 1]


def _table(frame: Frame, route: Route, way: Sequence[Leg], *, reversal: bool) -> dict[str, Any] | None:
    last = way[-1]
    if last.path not in ("CF", "TF", "DF"):
        return None
    course = frame.by_fix(last, frame.last_fix([leg for leg in way[:-1] if leg.fix != last.fix]))
    if course is None:
        return None
    # a route that joins the final course before the fix is an arrival up to there; from there the inbound minimum applies
    own = last if last in route.legs else route.legs[-1]
    table = {"name": route.name, "course_deg": course, "minimum_ft": own.levels.minimum_ft}
    return {key: value for key, value in table.items() if value is not None} | ({} if reversal else {"reversal": False})


def _why(frame: Frame, way: Sequence[Leg]) -> str:
    """Why the course of the last leg of a route is not known."""
    if way[-1].path not in ("CF", "TF", "DF"):
        return f"it does not come to {frame.fix.ident} on a course"
    missing = next((str(leg.fix) for leg in way[-2::-1] if leg.fix is not None and frame.at.find(leg.fix) is None), None)
    return f"the file does not hold {missing or 'its course'}"


def arrival_floor_ft(frame: Frame, tables: Sequence[dict[str, Any]]) -> float | None:
    """The minimum for all arrivals: the lowest of them, else that of the reversal. [ft]"""
    floors = [table["minimum_ft"] for table in tables if "minimum_ft" in table]
    return min(floors) if floors else frame.reversal.leg.levels.minimum_ft
