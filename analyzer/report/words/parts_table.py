"""The table of the parts flown: when each began, how long and how far it was, its course, speed, altitudes and bank."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from analyzer.checks.phrases import HeightUnit, clock, height_unit, part_words, side_word
from analyzer.physics.units import DEG, KT, NM, bearing_text
from analyzer.report.words.parts_shown import parts_shown

if TYPE_CHECKING:
    from analyzer.checks.figures import Figures, PartFigures
    from analyzer.legs.reversal import Part
    from analyzer.motion.motion import Motion

__all__ = ["ON_FIELD", "PARTS_NOTE", "part_headings", "part_row", "parts_table"]

ON_FIELD = "final to fix"  # the inbound part of the final leg, where the facility is on the field
PARTS_NOTE = "Courses are ground tracks, magnetic. Bank in degrees, mean/peak."
_ALTITUDE = 6  # its place among the columns


def parts_table(motion: Motion, figures: Figures) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """The headings, and a row for each part that is shown; without the altitudes where the log has none."""
    charted = motion.charted
    height, variation = height_unit(charted.altitude_unit), charted.variation.east_rad
    rows = (part_headings(height), *(part_row(part, variation, height) for part in parts_shown(figures)))
    headings, *others = rows if motion.has_altitude else (row[:_ALTITUDE] + row[_ALTITUDE + 1 :] for row in rows)
    return headings, tuple(others)


def part_row(figures: PartFigures, variation_rad: float, height: HeightUnit) -> tuple[str, ...]:
    """The cells of a part: name, start, seconds, length, course, ground speed, altitudes in `height`, bank."""
    part, turn = figures.part, figures.turn
    known = math.isfinite(figures.altitude_start_m) and math.isfinite(figures.altitude_end_m)
    ends = figures.altitude_start_m, figures.altitude_end_m
    altitude = "-".join(str(round(end / height.metres)) for end in ends) if known else "-"
    course = bearing_text(figures.course_rad - variation_rad) if figures.course_rad is not None else ""
    bank = f"{side_word(turn.direction)} {turn.bank_mean_rad / DEG:.0f}/{turn.bank_peak_rad / DEG:.0f}" if turn else ""
    bank = "-" if part.turn is not None and turn is None else bank
    return (
        _part_name(part),
        clock(part.start_s),
        f"{part.duration_s:.0f}",
        f"{figures.length_m / NM:.1f}" if math.isfinite(figures.length_m) else "-",
        course,
        f"{figures.ground_speed_mps / KT:.0f}" if math.isfinite(figures.ground_speed_mps) else "-",
        altitude,
        bank,
    )


def part_headings(height: HeightUnit) -> tuple[str, ...]:
    """The headings of the table of parts, altitudes in a unit of height."""
    return ("part", "from UTC", "s", "NM", "course", "GS kt", f"altitude {height.name}", "bank mean/peak")


def _part_name(part: Part) -> str:
    """The name of a part, with the number of the lap in a hold."""
    if part.leg == "final" and part.name == "inbound":
        return ON_FIELD
    return f"{part_words(part.name, part.lap)}{f' {part.lap}' if part.lap is not None else ''}"
