"""The brief as plain text, 80 columns: conditions, parts, numbers with their rules of thumb, and chances."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from analyzer.brief.hold_pattern import hold_numbers
from analyzer.brief.segments import covered
from analyzer.checks.phrases import height_unit, side_word
from analyzer.physics.units import DEG, FPM, KT, NM, FloatArray, bearing_text
from analyzer.report.words.brief_final import missed_sentence, segment_headings, segment_note, segment_rows
from analyzer.report.words.brief_missed_and_holds import (
    HOLD_HEADINGS,
    hold_name,
    hold_note,
    hold_rows,
    hold_sentence,
    missed_headings,
    missed_note,
    missed_rows,
)
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.clearance_text import minimum_sentence
from analyzer.report.words.layout import WIDTH, fitted, table, wrapped
from analyzer.report.words.procedure_words import capital

if TYPE_CHECKING:
    from analyzer.brief.briefed_number import Number
    from analyzer.brief.briefing import Brief

__all__ = [
    "TABLE_NOTE",
    "brief_text",
    "chances_sentence",
    "conditions_sentence",
    "entry_sentence",
    "number_text",
    "part_headings",
    "part_rows",
    "pattern_words",
    "rule_text",
]

_FEW = 0.001
TABLE_NOTE = "Magnetic. For a turn: L or R, and the roll-out heading. From fix: NM at the end of the part."


def brief_text(brief: Brief, width: int = WIDTH) -> str:
    """The card, ready to print, in lines of so many columns."""
    lines = [line for whole in _lines(brief, width) for line in fitted(whole, width)]
    return "\n".join(lines) + "\n"


def _lines(brief: Brief, width: int) -> list[str]:
    wrap = partial(wrapped, width=width)
    title = f"{brief.charted.procedure.title} | {pattern_words(brief.plan.pattern.shape)} | brief"
    lines = [*wrap(title), ""]
    lines += [*wrap(conditions_sentence(brief)), ""]
    minimum = minimum_sentence(brief.charted)
    lines += [*wrap(minimum), ""] if minimum else []
    for caution in brief.cautions:
        lines += [*wrap(f"Note: {caution}"), ""]
    lines += _table(width, part_headings(brief), part_rows(brief), TABLE_NOTE)
    way_in = list(segment_rows(brief))
    if way_in:
        lines += ["", *_table(width, segment_headings(brief), way_in, segment_note(brief))]
    entry = entry_sentence(brief)
    if entry:
        lines += ["", *wrap(entry)]
    group = ""
    for number in brief.numbers:
        if number.group != group:
            group = number.group
            lines += ["", capital(group)]
        lines += _number_lines(number, width)
    missed = missed_sentence(brief)
    if missed:
        lines += ["", *wrap(missed)]
    lines += list(_after(brief, width))
    lines += ["", *wrap(chances_sentence(brief))]
    for warning in brief.charted.warnings:
        lines += ["", *wrap(f"About the procedure: {warning}")]
    return [*lines, "", *wrap(CAUTION)]


def _after(brief: Brief, width: int) -> Iterator[str]:
    """The missed approach where it is planned, and the holds."""
    wrap = partial(wrapped, width=width)
    if brief.missed is not None:
        yield from ("", *_table(width, missed_headings(brief), missed_rows(brief), missed_note(brief)))
    for laps in brief.holds:
        yield from ("", *wrap(f"{hold_name(laps)}: {hold_sentence(brief, laps)}"))
        if laps.laps:
            yield from ("", *_table(width, HOLD_HEADINGS, hold_rows(brief, laps), hold_note(laps)))


def _table(width: int, headings: tuple[str, ...], body: Iterable[tuple[str, ...]], note: str) -> list[str]:
    return [*table([headings, *body], width=width), *wrapped(note, width=width)]


def entry_sentence(brief: Brief) -> str:
    """The turns of a hold, racetrack or teardrop; for a hold also its entry, and the entries within 5 degrees of it."""
    charted, shape = brief.charted, brief.plan.pattern.shape
    turns, side = (side_word(sign) for sign in (charted.turn or 1, charted.side or 1))
    if shape == "racetrack":
        return f"Racetrack with {turns} turns, {side} of the outbound course as charted."
    if shape == "teardrop":
        return f"Teardrop {side} of the outbound course as charted; the turn back is to the {turns}."
    if charted.kind != "hold":
        return ""
    numbers = hold_numbers(charted, brief.conditions)
    heading = bearing_text(numbers.arrival_heading_rad - charted.variation.east_rad)
    near = f" A {' or '.join(numbers.neighbours)} entry is as good, within 5° of its sector." if numbers.neighbours else ""
    return f"Hold with {turns} turns. Heading {heading} at the fix calls for a {numbers.entry} entry.{near}"


def conditions_sentence(brief: Brief) -> str:
    """The conditions of the brief: speeds, winds and turns."""
    conditions, height = brief.conditions, height_unit(brief.charted.altitude_unit)
    kind = "true" if conditions.speeds_are_true else "indicated"
    speeds = ", ".join(
        f"{value / KT:.0f} kt" if leg == "all" else f"{leg} {value / KT:.0f} kt" for leg, value in conditions.speeds_mps.items()
    )
    winds = ", ".join(
        f"{bearing_text(w.from_true_rad)} true {w.speed_mps / KT:.0f} kt"
        + (f" at {height.text(w.altitude_m)}" if w.altitude_m is not None else "")
        for w in conditions.winds
    )
    turns = (
        f"turns at {conditions.bank_rad / DEG:.0f}° of bank"
        if conditions.bank_rad is not None
        else f"turns at {conditions.rate_rad_s / DEG:g}°/s, 30° of bank at most"
    )
    return f"Speed {speeds} {kind}; wind {winds or 'calm'}; {turns}."


def part_headings(brief: Brief) -> tuple[str, ...]:
    """The headings of the parts, altitudes in the chart's unit."""
    return ("part", "heading", "course", "GS kt", "s", "NM", f"altitude {brief.charted.altitude_unit}", "ft/min", "from fix")


def part_rows(brief: Brief) -> Iterator[tuple[str, ...]]:
    """The rows of the parts, up to the last turn inbound if segments cover the rest."""
    east = brief.charted.variation.east_rad
    unit, before = height_unit(brief.charted.altitude_unit), None
    for part in brief.plan.parts[: len(brief.plan.parts) - covered(brief.plan)]:
        known, name = math.isfinite(part.altitude_start_m), part.part.replace("_", " ")
        second_turn, before = part.part == before and part.bank_rad is not None, part.part
        yield (
            f"{name}, turn" if second_turn else name,  # the turn onto an intercepted course, within the part of that name
            {1: "R ", -1: "L ", None: ""}[part.turn] + bearing_text(part.heading_rad - east),
            bearing_text(part.course_rad - east) if part.course_rad is not None else "",
            f"{part.ground_speed_mps / KT:.0f}",
            f"{part.seconds:.0f}",
            f"{part.length_m / NM:.1f}",
            unit.ends(part.altitude_start_m, part.altitude_end_m) if known else "",
            f"{part.descent_mps / FPM:.0f}" if known and part.descent_mps > 1.0 * FPM else "",
            f"{part.end_distance_m / NM:.1f}",
        )


def pattern_words(name: str) -> str:
    """A shape in words: ``hold, direct entry``, ``base turn``."""
    return f"hold, {name.removeprefix('hold-')} entry" if name.startswith("hold-") else name.replace("-", " ")


def number_text(number: Number) -> str:
    """Value and unit: ``39.7 s``, ``9.1° left``."""
    if number.unit == "° mag":
        return f"{bearing_text(number.value * DEG)} mag"
    gap, unit = "" if number.unit.startswith("°") else " ", number.unit
    if not round(number.value, _decimals(number)):
        unit = unit.removesuffix(" left").removesuffix(" right")  # zero has no side
    return f"{number.value:,.{_decimals(number)}f}{gap}{unit}"


def _decimals(number: Number) -> int:
    return {"NM": 2, "s": 0, "ft/min": 0}.get(number.unit.split()[0], 1)


def rule_text(number: Number) -> str:
    """The rule of thumb with its result and the error of that."""
    if number.rule is None:
        return ""
    off = number.rule.value - number.value
    if number.unit == "° mag":
        off = round(math.remainder(off, 360.0))
        apart = f"{abs(off)}° to the {'left' if off < 0 else 'right'}" if off else "the same"
        return f"{number.rule.words}: {bearing_text(number.rule.value * DEG)}, {apart}"
    decimals = _decimals(number)
    apart = f"{abs(off):,.{decimals}f} too {'low' if off < 0.0 else 'high'}" if round(off, decimals) else "the same"
    return f"{number.rule.words}: {number.rule.value:,.{decimals}f}, {apart}"


def _number_lines(number: Number, width: int) -> list[str]:
    explained = number.how if number.rule is None else f"{number.how}; rule of thumb {rule_text(number)}"
    first = f"  {number.name:<36}{number_text(number):>14}"
    if len(first) > width:  # closer together, so that the unit stays with its number
        first = f"  {number.name}  {number_text(number):>{max(0, width - len(number.name) - 4)}}"
    return [first, *wrapped(explained, "    ", width=width)]


def chances_sentence(brief: Brief) -> str:
    """How far the simulated flights reach, where they roll out, and how many go beyond the limit."""
    chances, errors = brief.chances, brief.chances.errors
    left, right = (_aside(chances.rolled_out_m, share) for share in (5, 95))
    out = f"nine in ten roll out between {left} and {right} of the inbound course"
    if chances.joined_m is not None:
        where = f"join the arc at {_between(chances.joined_m)}"
    else:
        where = f"reach {_between(chances.farthest_m)}"
    beyond = "" if chances.beyond is None else f"; {_share(chances.beyond, len(chances.farthest_m))} beyond the limit"
    entry = " of the entry" if brief.plan.rounds else ""
    return (
        f"Of {len(chances.farthest_m):,} simulated flights{entry} with errors in wind ({errors.wind_mps / KT:.0f} kt), heading "
        f"({errors.heading_rad / DEG:.0f}°), timing ({errors.timing_s:.0f} s) and airspeed ({errors.speed_mps / KT:.0f} kt), "
        f"two standard deviations each, nine in ten {where}, and {out}{beyond}."
    )


def _between(metres: FloatArray) -> str:
    low, high = (float(np.percentile(metres, share)) / NM for share in (5, 95))
    return f"{low:.1f} to {high:.1f} NM"


def _aside(right_m: FloatArray, share: float) -> str:
    """A percentile of the distances right of a course: ``0.4 NM left``."""
    off = float(np.percentile(right_m, share)) / NM
    return f"{abs(off):.1f} NM {'left' if off < 0.0 else 'right'}"


def _share(share: float, flights: int) -> str:
    """A share of the flights in percent, or their number if they are few, so that one in ten thousand is not 0.0%."""
    number = round(share * flights)
    if number == 0:
        return "none goes"
    if share >= _FEW:
        return f"{100.0 * share:.1f}% go"
    return f"{number} {'goes' if number == 1 else 'go'}"
