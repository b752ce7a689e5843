"""The brief as a card of plain text, 80 columns: conditions, parts, numbers with their rules of thumb, chances."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from analyzer.brief.cautions import cautions
from analyzer.brief.holds import hold_numbers
from analyzer.physics.units import DEG, FPM, FT, KT, NM, FloatArray, bearing_text
from analyzer.report.document import CAUTION

if TYPE_CHECKING:
    from analyzer.brief.number import Number
    from analyzer.briefing import Brief

__all__ = [
    "PART_HEADINGS",
    "brief_text",
    "chances_sentence",
    "conditions_sentence",
    "entry_sentence",
    "number_text",
    "part_rows",
    "rule_text",
]

_WIDTH = 80
_FEW = 0.001
_TABLE_NOTE = "Headings and courses magnetic; of a turn, left or right and the heading it ends on. From fix: NM at the end."
PART_HEADINGS = ("part", "heading", "course", "GS kt", "s", "NM", "altitude ft", "ft/min", "from fix")


def brief_text(brief: Brief) -> str:
    """The card, ready to print."""
    title = f"{brief.charted.procedure.title} | {brief.plan.pattern.shape} | brief"
    lines = [*textwrap.wrap(title, _WIDTH), ""]
    lines += [*textwrap.wrap(conditions_sentence(brief), _WIDTH), ""]
    for caution in cautions(brief.plan):
        lines += [*textwrap.wrap(f"Note: {caution}", _WIDTH), ""]
    rows = [PART_HEADINGS, *part_rows(brief)]
    if len(rows) > 1:
        widths = [max(len(row[k]) for row in rows) for k in range(len(PART_HEADINGS))]
        cells = [[row[0].ljust(widths[0]), *(c.rjust(w) for c, w in zip(row[1:], widths[1:], strict=True))] for row in rows]
        table = ["  ".join(row).rstrip() for row in cells]
        lines += [table[0], "-" * len(table[0]), *table[1:]]
        lines += textwrap.wrap(_TABLE_NOTE, _WIDTH)
    entry = entry_sentence(brief)
    if entry:
        lines += ["", *textwrap.wrap(entry, _WIDTH)]
    group = ""
    for number in brief.numbers:
        if number.group != group:
            group = number.group
            lines += ["", group.capitalize()]
        lines += _number_lines(number)
    lines += ["", *textwrap.wrap(chances_sentence(brief), _WIDTH)]
    for warning in brief.charted.warnings:
        lines += ["", *textwrap.wrap(f"About the procedure: {warning}", _WIDTH)]
    return "\n".join([*lines, "", *textwrap.wrap(CAUTION, _WIDTH)]) + "\n"


def entry_sentence(brief: Brief) -> str:
    """Which entry into a hold the heading at the fix calls for, and which others lie within 5 degrees of it."""
    if brief.charted.kind != "hold":
        return ""
    numbers = hold_numbers(brief.charted, brief.conditions)
    heading = bearing_text(numbers.arrival_heading_rad - brief.charted.variation.east_rad)
    near = f"; {' and '.join(numbers.neighbours)} within 5° of it" if numbers.neighbours else ""
    return f"Heading {heading} at the fix calls for a {numbers.entry} entry{near}."


def conditions_sentence(brief: Brief) -> str:
    """What the brief was made for."""
    conditions = brief.conditions
    kind = "true" if conditions.speeds_are_true else "indicated"
    speeds = ", ".join(
        f"{value / KT:.0f} kt" if leg == "all" else f"{leg} {value / KT:.0f} kt" for leg, value in conditions.speeds_mps.items()
    )
    winds = ", ".join(
        f"{bearing_text(w.from_true_rad)} true {w.speed_mps / KT:.0f} kt"
        + (f" at {w.altitude_m / FT:,.0f} ft" if w.altitude_m is not None else "")
        for w in conditions.winds
    )
    turns = (
        f"turns at {conditions.bank_rad / DEG:.0f}° of bank"
        if conditions.bank_rad is not None
        else f"turns at {conditions.rate_rad_s / DEG:g}°/s, 30° of bank at most"
    )
    return f"Speed {speeds} {kind}; wind {winds or 'calm'}; {turns}."


def part_rows(brief: Brief) -> Iterator[tuple[str, ...]]:
    """The parts in words."""
    east = brief.charted.variation.east_rad
    before = None
    for part in brief.plan.parts:
        known, name = math.isfinite(part.altitude_start_m), part.part.replace("_", " ")
        in_it, before = part.part == before and part.bank_rad is not None, part.part
        yield (
            f"{name}, turn" if in_it else name,  # within a part of that name: onto the course that was closed with
            {1: "R ", -1: "L ", None: ""}[part.turn] + bearing_text(part.heading_rad - east),
            bearing_text(part.course_rad - east) if part.course_rad is not None else "",
            f"{part.ground_speed_mps / KT:.0f}",
            f"{part.seconds:.0f}",
            f"{part.length_m / NM:.1f}",
            f"{part.altitude_start_m / FT:.0f}-{part.altitude_end_m / FT:.0f}" if known else "",
            f"{part.descent_mps / FPM:.0f}" if known and part.descent_mps > 1.0 * FPM else "",
            f"{part.end_distance_m / NM:.1f}",
        )


def number_text(number: Number) -> str:
    """Value and unit: ``39.7 s``."""
    decimals = {"NM": 2, "s": 0, "ft/min": 0, "° mag": 0}.get(number.unit, 1)
    gap = "" if number.unit.startswith("°") else " "
    if number.unit == "° mag":
        return f"{bearing_text(number.value * DEG)} mag"
    return f"{number.value:,.{decimals}f}{gap}{number.unit}"


def rule_text(number: Number) -> str:
    """The rule of thumb with what it gives, and by how much that is off."""
    if number.rule is None:
        return ""
    decimals = {"NM": 2, "s": 0, "ft/min": 0, "° mag": 0}.get(number.unit, 1)
    off = number.rule.value - number.value
    if number.unit == "° mag":
        off = math.remainder(off, 360.0)
    value = f"{number.rule.value:,.{decimals}f}" if number.unit != "° mag" else bearing_text(number.rule.value * DEG)
    return f"{number.rule.words}: {value}, off by {round(off, decimals) + 0.0:+,.{decimals}f}"


def _number_lines(number: Number) -> list[str]:
    beside = number.how if number.rule is None else f"{number.how}; rule {rule_text(number)}"
    first = f"  {number.name:<36}{number_text(number):>12}"
    return [first, *textwrap.wrap(beside, _WIDTH, initial_indent="    ", subsequent_indent="    ")]


def chances_sentence(brief: Brief) -> str:
    """How far the reversal reaches under errors, where it comes out, and how likely it leaves the limit."""
    chances, errors = brief.chances, brief.chances.errors
    out = f"{_aside(chances.rolled_out_m, 5)} to {_aside(chances.rolled_out_m, 95)} of the inbound course"
    if chances.joined_m is not None:
        where = f"come onto the arc at {_between(chances.joined_m)}, and as many off it {out}"
    else:
        where = f"reach {_between(chances.farthest_m)}, and as many come out {out}"
    beyond = "" if chances.beyond is None else f"; beyond the limit: {_share(chances.beyond, len(chances.farthest_m))}"
    return (
        f"Of {len(chances.farthest_m):,} flights with errors of wind ({errors.wind_mps / KT:.0f} kt), headings "
        f"({errors.heading_rad / DEG:.0f}°), timing ({errors.timing_s:.0f} s) and speed ({errors.speed_mps / KT:.0f} kt), two "
        f"standard deviations each, nine in ten {where}{beyond}."
    )


def _between(metres: FloatArray) -> str:
    low, high = (float(np.percentile(metres, share)) / NM for share in (5, 95))
    return f"{low:.1f} to {high:.1f} NM"


def _aside(right_m: FloatArray, share: float) -> str:
    """A percentile of distances right of a course: ``0.4 NM left``."""
    off = float(np.percentile(right_m, share)) / NM
    return f"{abs(off):.1f} NM {'left' if off < 0.0 else 'right'}"


def _share(share: float, flights: int) -> str:
    """A share of the flights: how many where they are few, so that none reads as nought."""
    if share <= 0.0:
        return "none"
    return f"{round(share * flights)} of them" if share < _FEW else f"{100.0 * share:.1f} %"
