"""Possible values beyond the reversal, so unusual that a typing error is likelier: minimums, holds, routes, speeds."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

from analyzer.procedure.altitude_unit import said

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analyzer.procedure.approach_schema import MinimumLine, MinimumTable
    from analyzer.procedure.schema import Procedure

__all__ = ["approach_warnings"]

_NO_REVERSAL_DEG = 120.0  # a route joins the inbound course at less, else the turn is a reversal: FAA IPH ch. 4, of arcs
_SAME_ROUTE_DEG = 5.0  # within which the route flown is recognised


def approach_warnings(procedure: Procedure) -> tuple[str, ...]:
    """Everything odd in the tables of `procedure` outside the reversal, in the order of the file."""
    checks = (_inbound_floor, _step_downs, _minimum, _lines, _missed, _missed_hold, _hold_legs, _arrivals, _speeds)
    return tuple(itertools.chain.from_iterable(check(procedure) for check in checks))


def _all_lines(procedure: Procedure) -> list[tuple[str, MinimumTable]]:
    """Each line of minimums with the table that it stands in."""
    if procedure.minimum is not None:
        return [("[minimum]", procedure.minimum)]
    return [(f"[[minimums]] {i + 1}", line) for i, line in enumerate(procedure.minimums)]


def _inbound_floor(procedure: Procedure) -> Iterator[str]:
    """The minimum of the inbound leg holds up to the final approach fix: one that is meant for before it only is too high."""
    unit, floor = procedure.altitude_unit, procedure.altitudes.inbound_ft
    for i, fix in enumerate(procedure.fixes):
        if fix.role == "final-approach-fix" and fix.maximum_ft is not None and floor is not None and fix.maximum_ft < floor:
            yield (
                f"[[fixes]] {i + 1} ({fix.name}) {said(unit, 'maximum_ft', fix.maximum_ft)} is below [altitudes] "
                f"{said(unit, 'inbound_ft', floor)}, which holds until it: no altitude there keeps both; correct one."
            )


def _step_downs(procedure: Procedure) -> Iterator[str]:
    """Minimums of fixes fall inbound, and none is below the minimum of the approach."""
    unit = procedure.altitude_unit
    charted = [(i, fix.name, fix.minimum_ft) for i, fix in enumerate(procedure.fixes) if fix.minimum_ft is not None]
    for (before, higher_name, higher), (i, name, lower) in itertools.pairwise(charted):
        if lower > higher:
            yield (
                f"[[fixes]] {i + 1} ({name}) {said(unit, 'minimum_ft', lower)} is above [[fixes]] {before + 1} ({higher_name}) "
                f"{said(unit, 'minimum_ft', higher)}: an approach is not flown uphill."
            )
    lowest = min(((line.altitude_ft, place) for place, line in _all_lines(procedure) if line.kind == "mda"), default=None)
    for i, name, minimum in charted:
        if lowest is not None and minimum < lowest[0]:
            yield (
                f"[[fixes]] {i + 1} ({name}) {said(unit, 'minimum_ft', minimum)} is below {lowest[1]} "
                f"{said(unit, 'altitude_ft', lowest[0])}, which holds there all the same."
            )


def _minimum(procedure: Procedure) -> Iterator[str]:
    unit, final, runway = procedure.altitude_unit, procedure.altitudes.final_ft, procedure.runway
    if final is not None and runway is not None and final < runway.threshold_elevation_ft:
        yield (
            f"[altitudes] {said(unit, 'final_ft', final)} is below [runway] "
            f"{said(unit, 'threshold_elevation_ft', runway.threshold_elevation_ft)}."
        )
    for place, line in _all_lines(procedure):
        if line.kind == "da" and line.visual_descent_point_nm is not None:
            yield (
                f"{place} visual_descent_point_nm = {line.visual_descent_point_nm:g} is ignored: a decision altitude has no "
                "visual descent point."
            )


def _lines(procedure: Procedure) -> Iterator[str]:
    """Circling is not lower than straight in, nor a faster category lower than a slower one."""
    for (i, one), (k, other) in itertools.permutations(enumerate(procedure.minimums), 2):
        if one.kind != "mda" or other.kind != "mda" or other.altitude_ft >= one.altitude_ft:
            continue
        words = f"{_line_words(procedure, k, other)} is below {_line_words(procedure, i, one)}"
        if (one.line, other.line) == ("straight-in", "circling") and _overlap(one, other):
            yield f"{words}: circling is never lower than straight in; correct one."
        if one.line == other.line and one.category and other.category and one.category[-1] < other.category[0]:
            yield f"{words}: a faster category has no lower minimum; correct one."


def _line_words(procedure: Procedure, i: int, line: MinimumLine) -> str:
    categories = f" {line.category}" if line.category else ""
    return f"[[minimums]] {i + 1} ({line.line}{categories}) {said(procedure.altitude_unit, 'altitude_ft', line.altitude_ft)}"


def _overlap(one: MinimumLine, other: MinimumLine) -> bool:
    """Whether two lines hold for one category."""
    if one.category is None or other.category is None:
        return True
    return one.category[0] <= other.category[-1] and other.category[0] <= one.category[-1]


def _missed(procedure: Procedure) -> Iterator[str]:
    missed, unit = procedure.missed_approach, procedure.altitude_unit
    if missed is None:
        return
    if missed.course_deg is not None and missed.to is not None:
        yield (
            f'[missed_approach] course_deg = {missed.course_deg:g} and to = "{missed.to}" are both given: the course is flown, '
            "and leads there."
        )
    lowest = min(((line.altitude_ft, place) for place, line in _all_lines(procedure)), default=None)
    altitudes = [("altitude_ft", missed.altitude_ft), ("climb_ft", missed.climb_ft)]
    low = next(((key, value) for key, value in altitudes if value is not None and lowest and value < lowest[0]), None)
    if low is not None and lowest is not None:
        yield (
            f"[missed_approach] {said(unit, *low)} is below the minimum, {lowest[1]} "
            f"{said(unit, 'altitude_ft', lowest[0])}: a missed approach climbs."
        )
    decided = [place for place, line in _all_lines(procedure) if line.kind == "da"]
    if missed.time_s is not None and decided and len(decided) == len(_all_lines(procedure)):
        yield (
            f'[missed_approach] time_s = {missed.time_s:g} is ignored: {decided[0]} kind = "da" begins the missed approach at '
            'the decision altitude; a time belongs to kind = "mda".'
        )


def _missed_hold(procedure: Procedure) -> Iterator[str]:
    """The missed approach leads to its hold, at an altitude that the hold has."""
    missed, unit = procedure.missed_approach, procedure.altitude_unit
    own = [(i, hold) for i, hold in enumerate(procedure.holds) if hold.role == "missed-approach"]
    if missed is None:
        return
    if missed.to is not None and own and all(hold.name != missed.to for _, hold in own):
        i, hold = own[0]
        yield (
            f'[missed_approach] to = "{missed.to}" does not lead to [[holds]] {i + 1} name = "{hold.name}", whose role is '
            '"missed-approach": correct one.'
        )
    for i, hold in own:
        words = f"[missed_approach] {said(unit, 'altitude_ft', missed.altitude_ft)}" if missed.altitude_ft is not None else ""
        if missed.altitude_ft is not None and hold.minimum_ft is not None and missed.altitude_ft < hold.minimum_ft:
            yield f"{words} is below [[holds]] {i + 1} ({hold.name}) {said(unit, 'minimum_ft', hold.minimum_ft)}: correct one."
        if missed.altitude_ft is not None and hold.maximum_ft is not None and missed.altitude_ft > hold.maximum_ft:
            yield f"{words} is above [[holds]] {i + 1} ({hold.name}) {said(unit, 'maximum_ft', hold.maximum_ft)}: correct one."


def _hold_legs(procedure: Procedure) -> Iterator[str]:
    for i, hold in enumerate(procedure.holds):
        if hold.leg_time_s is None and hold.leg_length_nm is None:
            yield (
                f"[[holds]] {i + 1} ({hold.name}) has neither leg_time_s nor leg_length_nm: its legs are not judged. Where a "
                "chart prints neither, they take 60 s up to 14,000 ft and 90 s above (AIM 5-3-8 j.4)."
            )


def _arrivals(procedure: Procedure) -> Iterator[str]:
    """Arrivals keep the altitude of their leg, differ from each other, and need no reversal only where they turn little."""
    unit, floor, inbound = procedure.altitude_unit, procedure.altitudes.arrival_ft, procedure.reversal.inbound_course_deg
    for i, route in enumerate(procedure.arrivals):
        where = f"[[arrivals]] {i + 1} ({route.name})"
        if route.minimum_ft is not None and floor is not None and route.minimum_ft < floor:
            yield (
                f"{where} {said(unit, 'minimum_ft', route.minimum_ft)} is below [altitudes] {said(unit, 'arrival_ft', floor)}, "
                "which holds for every arrival."
            )
        turn = abs(math.remainder(route.course_deg - inbound, 360.0))
        if not route.reversal and turn > _NO_REVERSAL_DEG:
            yield (
                f"{where} course_deg = {route.course_deg:g} with reversal = false is {turn:.0f}° off [reversal] "
                f"inbound_course_deg = {inbound:g}: so large a turn is a reversal; correct one."
            )
    for (i, one), (k, other) in itertools.combinations(enumerate(procedure.arrivals), 2):
        apart = abs(math.remainder(one.course_deg - other.course_deg, 360.0))
        if apart <= _SAME_ROUTE_DEG and one.reversal != other.reversal:
            yield (
                f"[[arrivals]] {i + 1} ({one.name}) course_deg = {one.course_deg:g} and [[arrivals]] {k + 1} ({other.name}) "
                f"course_deg = {other.course_deg:g} cannot be told apart, and only one has reversal = false."
            )


def _speeds(procedure: Procedure) -> Iterator[str]:
    """Target speeds keep the charted maximums."""
    speeds, reversal = procedure.speeds, procedure.reversal
    if speeds is None:
        return
    most = [(leg, "[reversal]", reversal.maximum_speed_kias) for leg in ("outbound", "reversal")]
    most += [("hold", f"[[holds]] {i + 1} ({hold.name})", hold.maximum_speed_kias) for i, hold in enumerate(procedure.holds)]
    yield from (_too_fast(leg, place, getattr(speeds, leg), limit) for leg, place, limit in most
                if limit is not None and (getattr(speeds, leg) or 0.0) > limit)  # fmt: skip


def _too_fast(leg: str, place: str, target: float, limit: float) -> str:
    return f"[speeds] {leg} = {target:g} is above {place} maximum_speed_kias = {limit:g}; correct one."
