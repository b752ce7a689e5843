"""Reversals in words, and the comment at the head of a procedure file converted from coded records."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from analyzer.physics.units import bearing_text
from analyzer.procedure.coded.approach import CodedApproach
from analyzer.procedure.coded.convert import Converted
from analyzer.procedure.coded.courses import inbound_course
from analyzer.procedure.coded.fields import Course
from analyzer.procedure.coded.lookup import Lookup
from analyzer.procedure.coded.names import approach_name, cycle_text
from analyzer.procedure.coded.reversals import CodedReversal

__all__ = ["enumeration", "head_text", "reversal_text", "route_text"]

_WIDTH = 110
_NOT_CODED = (
    "Not coded, to be added by the chart: minimums ([minimum] or [[minimums]]) and circling, visual descent points, the time "
    "to the missed approach point, the category, and what is in notes, such as where a limit is measured from."
)


def enumeration(names: Sequence[str], last: str = "and") -> str:
    """Names as a list in words: ``A, B and C``."""
    return f" {last} ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def route_text(name: str) -> str:
    """A route by its first fix; the final route has no name."""
    return name or "the final route"


def reversal_text(approach: CodedApproach, reversal: CodedReversal) -> str:
    """A reversal as a chart describes it: ``procedure turn at LICOL, left of the outbound course 043°, within 10 NM``."""
    leg, fix = reversal.leg, reversal.fix.ident
    inbound = inbound_course(approach, reversal)
    if reversal.kind == "arc":
        return f"{leg.rho_nm:g} NM arc about {leg.navaid.ident if leg.navaid else fix} to {fix}, to the {reversal.turn}"
    if reversal.kind == "base-turn":
        return f"teardrop at {fix}, outbound {_course(leg.course)}, {reversal.turn} turn, inbound {_course(inbound)}"
    if reversal.kind == "hold":
        length = f"{leg.time_s / 60.0:g} min legs" if leg.time_s is not None else f"{leg.distance_nm or 0.0:g} NM legs"
        return f"hold in lieu at {fix}, {reversal.turn} turns, inbound {_course(inbound)}, {length}"
    outbound = Course(inbound.degrees + 180.0, inbound.true) if inbound is not None else None
    limit = f", within {leg.distance_nm:g} NM" if leg.distance_nm is not None else ""
    return f"procedure turn at {fix}, {reversal.side} of the outbound course {_course(outbound)}{limit}"


def _course(course: Course | None) -> str:
    if course is None:
        return "not coded"
    return f"{bearing_text(math.radians(course.degrees))}{' true' if course.true else ''}"


def head_text(made: Converted, at: Lookup) -> str:
    """The comment at the head of the file: its source, what to take from the chart, and what to check."""
    approach, airport = made.approach, at.airport
    place = f", {airport.name}" if airport is not None and airport.name else ""
    name, routes = f"{approach.airport} {approach_name(approach.ident)} (coded {approach.ident})", made.procedure.arrivals
    paragraphs = [
        f"{name}{place}: {reversal_text(approach, made.reversal)}.",
        f"Made of coded records in {at.file.name}, {_cycles(at.file.cycle, approach)}.",
        "Coded data, check against the chart in force. Training aid, never for navigation.",
        _NOT_CODED,
    ]
    if made.angles:
        paragraphs.append(
            f"Descent angle, coded for advice: {enumeration(made.angles)}. Where you fly it as a glide path, add [glide_path]."
        )
    if made.procedure.reversal.within_nm is None and made.procedure.reversal.kind == "base-turn":
        paragraphs.append("No distance to remain within is coded: add within_nm where the chart has one.")
    if not routes and made.procedure.reversal.kind != "arc":
        paragraphs.append("No route to the fix is coded with a course: add [[arrivals]] where the chart has some.")
    paragraphs += [f"Check: {words}." for words in made.odd]
    paragraphs += [f"Left out: {words}." for words in made.left_out]
    return "\n".join(line for words in paragraphs for line in textwrap.wrap(words, _WIDTH, break_on_hyphens=False))


def _cycles(file_cycle: str | None, approach: CodedApproach) -> str:
    if file_cycle is not None:
        return f"cycle {cycle_text(file_cycle)}"
    cycles = approach.cycles
    if not cycles:
        return "of a cycle that neither the file nor its records state"
    return f"whose cycle it does not state; the records of this approach were last changed in cycle {cycle_text(cycles[-1])}"
