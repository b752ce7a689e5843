"""Contradictions in a procedure file: one function per table, and one fault per pair of keys, naming both."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Literal

from analyzer.frozen import dataclass
from analyzer.procedure.altitude_unit import said

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analyzer.procedure.approach_schema import FixTable, HoldTable, MinimumLine
    from analyzer.procedure.schema import Procedure

__all__ = ["Contradiction", "contradictions"]

_ONCE = ("final-approach-fix", "missed-approach-point")
_ORDER = {"intermediate-fix": 0, "final-approach-fix": 1, "missed-approach-point": 2}


@dataclass(frozen=True)
class Contradiction:
    """A fault at a place in the file; of kind ``needed`` where a key that another one requires is missing."""

    place: tuple[int | str, ...]
    text: str
    kind: Literal["contradiction", "needed"] = "contradiction"


def contradictions(procedure: Procedure) -> tuple[Contradiction, ...]:
    """All contradictions in `procedure`, table by table."""
    checks = (_reversal, _altitudes, _fixes, _order_of_roles, _levels_of_fixes, _minimum, _minimums, _missed, _holds)
    return tuple(itertools.chain.from_iterable(check(procedure) for check in checks))


def _needed(place: tuple[int | str, ...], by: str) -> Contradiction:
    return Contradiction(place, f"missing, and {by} needs it", "needed")


def _reversal(procedure: Procedure) -> Iterator[Contradiction]:
    reversal = procedure.reversal
    if reversal.leg_by is not None and reversal.leg_length_nm is None:
        yield _needed(("reversal", "leg_length_nm"), f'leg_by = "{reversal.leg_by}"')
    if reversal.leg_by == "dme" and not _has_dme(procedure):
        yield _no_station(procedure, ("reversal", "leg_by"))
    if reversal.within_by is not None:
        if reversal.within_nm is None:
            yield _needed(("reversal", "within_nm"), f'within_by = "{reversal.within_by}"')
        if reversal.within_from is not None:
            yield Contradiction(
                ("reversal", "within_by"),
                "given with within_from, but the limit is measured either from the DME station or from that point; "
                "leave one out",
            )
        if not _has_dme(procedure):
            yield _no_station(procedure, ("reversal", "within_by"))
    longest, nominal = reversal.maximum_time_s, reversal.leg_time_s
    if longest is not None and nominal is not None and longest < nominal:
        yield Contradiction(("reversal", "maximum_time_s"), f"less than leg_time_s = {nominal:g}; correct one")


def _has_dme(procedure: Procedure) -> bool:
    return procedure.dme is not None or procedure.fix.kind == "vor"


def _no_station(procedure: Procedure, place: tuple[int | str, ...]) -> Contradiction:
    fix = procedure.fix
    return Contradiction(place, f'no station to read: [fix] kind = "{fix.kind}" is no VOR; give [dme] with its position')


def _altitudes(procedure: Procedure) -> Iterator[Contradiction]:
    unit, floors = procedure.altitude_unit, procedure.altitudes.by_leg()
    for leg, ceiling in procedure.altitudes.ceilings_by_leg().items():
        if leg in floors and ceiling < floors[leg]:
            yield Contradiction(
                ("altitudes", f"{leg}_maximum_ft"), f"below {said(unit, f'{leg}_ft', floors[leg])}; correct one"
            )


def _fixes(procedure: Procedure) -> Iterator[Contradiction]:
    unit = procedure.altitude_unit
    for i, fix in enumerate(procedure.fixes):
        yield from _fix_position(procedure, i, fix)
        yield from _crossed(("fixes", i), fix, unit)
    for role in _ONCE:
        holders = [i for i, fix in enumerate(procedure.fixes) if fix.role == role]
        for other in holders[1:]:
            yield Contradiction(
                ("fixes", other, "role"),
                f"{procedure.fixes[other].name} is the second one: [[fixes]] {holders[0] + 1} "
                f"({procedure.fixes[holders[0]].name}) has that role too; a procedure has one",
            )
    for i, fix in enumerate(procedure.fixes):
        first = next(k for k, other in enumerate(procedure.fixes) if other.name == fix.name)
        if first < i:
            yield Contradiction(("fixes", i, "name"), f"[[fixes]] {first + 1} has that name too; give each fix its own")


def _crossed(place: tuple[int | str, ...], table: FixTable | HoldTable, unit: Literal["ft", "m"]) -> Iterator[Contradiction]:
    if table.minimum_ft is not None and table.maximum_ft is not None and table.minimum_ft > table.maximum_ft:
        yield Contradiction((*place, "minimum_ft"), f"above {said(unit, 'maximum_ft', table.maximum_ft)}; correct one")


def _fix_position(procedure: Procedure, i: int, fix: FixTable) -> Iterator[Contradiction]:
    place = ("fixes", i)
    if (fix.latitude_deg is None) != (fix.longitude_deg is None):
        missing = "longitude_deg" if fix.longitude_deg is None else "latitude_deg"
        yield Contradiction((*place, missing), "missing: latitude_deg and longitude_deg go together", "needed")
        return
    ways = [key for key in ("distance_nm", "latitude_deg", "dme_nm") if getattr(fix, key) is not None]
    if not ways:
        yield Contradiction(
            (*place, "distance_nm"),
            f"missing: {fix.name} has no place; give distance_nm, or latitude_deg and longitude_deg, or dme_nm",
            "needed",
        )
    for way in ways[1:]:
        yield Contradiction(
            (*place, way),
            f"given with {ways[0]} = {getattr(fix, ways[0]):g}; a fix is placed by one of them, leave the other out",
        )
    if fix.dme_nm is not None and not _has_dme(procedure):
        yield _no_station(procedure, (*place, "dme_nm"))


def _order_of_roles(procedure: Procedure) -> Iterator[Contradiction]:
    ranked = [(i, fix) for i, fix in enumerate(procedure.fixes) if fix.role in _ORDER]
    for (_, before), (i, fix) in itertools.pairwise(ranked):
        if _ORDER[fix.role] < _ORDER[before.role]:
            yield Contradiction(
                ("fixes", i, "role"),
                f"{fix.name} comes after {before.name}, the {before.role}; list the fixes in the order passed inbound",
            )


def _levels_of_fixes(procedure: Procedure) -> Iterator[Contradiction]:
    """The limits of a fix against those of its leg; the inbound leg ends at the final approach fix."""
    unit, altitudes = procedure.altitude_unit, procedure.altitudes
    lowest = _lowest_minimum(procedure)
    if altitudes.final_maximum_ft is not None and lowest is not None and altitudes.final_maximum_ft < lowest[1]:
        yield Contradiction(
            ("altitudes", "final_maximum_ft"), f"below {lowest[0]} {said(unit, 'altitude_ft', lowest[1])}; correct one"
        )
    for i, fix in enumerate(procedure.fixes):
        leg = {"final-approach-fix": "inbound", "step-down": "final"}.get(fix.role)
        ceiling = getattr(altitudes, f"{leg}_maximum_ft", None)
        if fix.maximum_ft is not None and lowest is not None and fix.maximum_ft < lowest[1]:
            yield Contradiction(
                ("fixes", i, "maximum_ft"), f"below {lowest[0]} {said(unit, 'altitude_ft', lowest[1])}; correct one"
            )
        if fix.minimum_ft is not None and ceiling is not None and fix.minimum_ft > ceiling:
            yield Contradiction(
                ("fixes", i, "minimum_ft"), f"above [altitudes] {said(unit, f'{leg}_maximum_ft', ceiling)}; correct one"
            )


def _lowest_minimum(procedure: Procedure) -> tuple[str, float] | None:
    """The lowest of the minimums, with the table that it stands in. [ft]"""
    if procedure.minimum is not None:
        return "[minimum]", procedure.minimum.altitude_ft
    lines = [(line.altitude_ft, f"[[minimums]] {i + 1}") for i, line in enumerate(procedure.minimums)]
    return (min(lines)[1], min(lines)[0]) if lines else None


def _minimum(procedure: Procedure) -> Iterator[Contradiction]:
    minimum, unit, final = procedure.minimum, procedure.altitude_unit, procedure.altitudes.final_ft
    if minimum is not None and procedure.minimums:
        yield Contradiction(
            ("minimum", "altitude_ft"),
            f"given with [[minimums]] 1 {said(unit, 'altitude_ft', procedure.minimums[0].altitude_ft)}; a procedure has either "
            "[minimum] or [[minimums]]",
        )
    first = ("[minimum]", minimum) if minimum else ("[[minimums]] 1", procedure.minimums[0]) if procedure.minimums else None
    if final is not None and first is not None:
        yield Contradiction(
            ("altitudes", "final_ft"),
            f"given with {first[0]} {said(unit, 'altitude_ft', first[1].altitude_ft)}, which takes its place; leave one out",
        )
    lines = [(("minimum",), minimum)] if minimum else [(("minimums", i), line) for i, line in enumerate(procedure.minimums)]
    for place, line in lines:
        threshold = procedure.runway.threshold_elevation_ft if procedure.runway else None
        if threshold is not None and line.altitude_ft < threshold:
            yield Contradiction(
                (*place, "altitude_ft"), f"below [runway] {said(unit, 'threshold_elevation_ft', threshold)}; correct one"
            )
        if line.visual_descent_point_nm is not None and procedure.runway is None:
            yield Contradiction(
                (*place, "visual_descent_point_nm"), "counted from the threshold, and there is no [runway]; give [runway]"
            )


def _minimums(procedure: Procedure) -> Iterator[Contradiction]:
    for (i, one), (k, other) in itertools.combinations(enumerate(procedure.minimums), 2):
        if (one.line, one.kind) == (other.line, other.kind) and _same_categories(one, other):
            yield Contradiction(
                ("minimums", k, "altitude_ft"),
                f"[[minimums]] {i + 1} {said(procedure.altitude_unit, 'altitude_ft', one.altitude_ft)} is a {one.line} "
                f"{one.kind} for the same category; give each category one",
            )


def _same_categories(one: MinimumLine, other: MinimumLine) -> bool:
    """Whether two lines apply to one category; a line for all yields to a line for some."""
    if one.category is None or other.category is None:
        return one.category == other.category
    return one.category[0] <= other.category[-1] and other.category[0] <= one.category[-1]


def _missed(procedure: Procedure) -> Iterator[Contradiction]:
    missed, unit = procedure.missed_approach, procedure.altitude_unit
    if missed is None:
        return
    if missed.time_s is not None and missed.time_at_kt is None:
        yield _needed(("missed_approach", "time_at_kt"), f"time_s = {missed.time_s:g}")
    if missed.time_at_kt is not None and missed.time_s is None:
        yield _needed(("missed_approach", "time_s"), f"time_at_kt = {missed.time_at_kt:g}")
    if missed.turn is not None and missed.course_deg is None and missed.to is None:
        yield Contradiction(("missed_approach", "turn"), "where to is missing: give course_deg, or to with a fix or hold")
    if missed.climb_ft is not None and missed.altitude_ft is not None and missed.climb_ft > missed.altitude_ft:
        yield Contradiction(
            ("missed_approach", "climb_ft"), f"above {said(unit, 'altitude_ft', missed.altitude_ft)}; correct one"
        )
    names = [procedure.fix.name, *(fix.name for fix in procedure.fixes), *(hold.name for hold in procedure.holds)]
    if missed.to is not None and missed.to not in names:
        yield Contradiction(
            ("missed_approach", "to"), f"no fix or hold has that name; there are {', '.join(dict.fromkeys(names))}"
        )


def _holds(procedure: Procedure) -> Iterator[Contradiction]:
    names = {procedure.fix.name, *(fix.name for fix in procedure.fixes)}
    for i, hold in enumerate(procedure.holds):
        place = ("holds", i)
        yield from _crossed(place, hold, procedure.altitude_unit)
        if (hold.latitude_deg is None) != (hold.longitude_deg is None):
            missing = "longitude_deg" if hold.longitude_deg is None else "latitude_deg"
            yield Contradiction((*place, missing), "missing: latitude_deg and longitude_deg go together", "needed")
        elif hold.latitude_deg is None and hold.name not in names:
            yield Contradiction(
                (*place, "latitude_deg"),
                f"missing, and no fix is named {hold.name}: give latitude_deg and longitude_deg, or the name of one of "
                f"{', '.join([procedure.fix.name, *(fix.name for fix in procedure.fixes)])}",
            )
        if hold.leg_time_s is not None and hold.leg_length_nm is not None:
            yield Contradiction(
                (*place, "leg_length_nm"), f"given with leg_time_s = {hold.leg_time_s:g}; a hold has one of the two"
            )
        if hold.leg_by is not None and hold.leg_length_nm is None:
            yield _needed((*place, "leg_length_nm"), f'leg_by = "{hold.leg_by}"')
        if hold.leg_by == "dme" and not _has_dme(procedure):
            yield _no_station(procedure, (*place, "leg_by"))
