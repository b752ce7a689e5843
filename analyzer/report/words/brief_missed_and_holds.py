"""The missed approach of a brief in words, part by part, and its published holds, lap by lap."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyzer.brief.gates import missed_point
from analyzer.brief.planned_track import START_S
from analyzer.checks.phrases import height_unit, side_word
from analyzer.physics import holding
from analyzer.physics.units import DEG, FPM, KT, NM, bearing_text
from analyzer.report.words.layout import shown_name
from analyzer.report.words.procedure_words import altitude_range, altitude_text

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief
    from analyzer.brief.hold_laps import HoldLaps, Lap
    from analyzer.brief.missed_path import MissedPath
    from analyzer.brief.parts import PlannedPart

__all__ = [
    "HOLD_HEADINGS",
    "hold_name",
    "hold_note",
    "hold_rows",
    "hold_sentence",
    "missed_headings",
    "missed_marks",
    "missed_note",
    "missed_rows",
    "named_missed_parts",
]

HOLD_HEADINGS = ("lap", "turn to", "timed from", "out s", "NM", "back to", "inbound", "in s")
_LAP_NOTE = (
    "Headings are magnetic. Turn to: L or R at the fix, and the outbound heading. NM: from the fix to the end of the leg. Back "
    "to: the turn at its end. Inbound: the heading to the fix. In s: seconds on the inbound course, to the fix."
)
_SHORTEST_S = 0.5
_SIDE = {1: "R", -1: "L", None: ""}


def missed_headings(brief: Brief) -> tuple[str, ...]:
    """The headings of the missed approach, altitudes in the chart's unit."""
    return (
        "missed approach",
        "heading",
        "course",
        "GS kt",
        "s",
        "total s",
        "NM",
        f"altitude {brief.charted.altitude_unit}",
        "ft/min",
    )


def missed_rows(brief: Brief) -> Iterator[tuple[str, ...]]:
    """The rows of the planned missed approach."""
    missed = brief.missed
    if missed is None:
        return
    east, unit, total = brief.charted.variation.east_rad, height_unit(brief.charted.altitude_unit), 0.0
    for name, part in named_missed_parts(missed):
        total += part.seconds
        yield (
            name,
            f"{_SIDE[part.turn]} {bearing_text(part.heading_rad - east)}".strip(),
            bearing_text(part.course_rad - east) if part.course_rad is not None else "",
            f"{part.ground_speed_mps / KT:.0f}",
            f"{part.seconds:.0f}",
            f"{total:.0f}",
            f"{part.length_m / NM:.1f}",
            unit.ends(part.altitude_start_m, part.altitude_end_m),
            _climb(part),
        )


def named_missed_parts(missed: MissedPath) -> Iterator[tuple[str, PlannedPart]]:
    """The parts of a missed approach that are long enough to be flown, each with its name."""
    for number, part in enumerate(missed.parts):
        if part.seconds >= _SHORTEST_S:
            yield _label(missed, number, part), part


def missed_marks(brief: Brief) -> list[tuple[float, str]]:
    """The marks of the missed approach in a profile, by time: its beginning, its first turn, and level at its altitude."""
    missed, height = brief.missed, height_unit(brief.charted.altitude_unit)
    if missed is None:
        return []
    begins = START_S + missed.begins.time_s
    point, where = missed_point(brief.charted), missed.begins.where
    marks = [(begins, shown_name(where) if point is not None and where == point.name else where)]
    if missed.turn is not None:
        marks.append((begins + missed.turn.seconds, f"first turn {height.text(missed.turn.altitude_m)}"))
    if missed.levelled_s is not None and missed.level_m is not None:
        marks.append((begins + missed.levelled_s, height.text(missed.level_m)))
    return marks


def _climb(part: PlannedPart) -> str:
    rate = -part.descent_mps / FPM
    return f"{rate:.0f}" if rate > 1.0 else "level"


def _label(missed: MissedPath, number: int, part: PlannedPart) -> str:
    if number == 0:
        return "straight ahead"
    if part.turn is not None:
        return "turn"
    last = number == len(missed.stages) - 1 and missed.to is not None
    return f"to {missed.to}" if last else "on course"


def missed_note(brief: Brief) -> str:
    """The note under the missed approach: where it begins, its climb, and what the columns mean."""
    missed = brief.missed
    if missed is None:
        return ""
    height = height_unit(brief.charted.altitude_unit)
    return (
        f"From {missed.begins.where}, at {height.text(missed.begins.altitude_m)}. Climb: {missed.climb.words}. Magnetic. For "
        "a turn: L or R, and the roll-out heading. Total: seconds from the point to the end of the part."
    )


def hold_name(laps: HoldLaps) -> str:
    """The name of a hold: ``Hold at WND of the missed approach, category A``."""
    of = " of the missed approach" if laps.hold.role == "missed-approach" else ""
    category = f", category {laps.hold.category}" if laps.hold.category is not None else ""
    return f"Hold at {laps.hold.name}{of}{category}"


def hold_sentence(brief: Brief, laps: HoldLaps) -> str:
    """A hold as charted, its maximum airspeed, and its entry; the sectors of all entries if the arrival is not known."""
    hold, chart = laps.hold, laps.chart
    words = [f"inbound {bearing_text(hold.inbound_true_rad - _east(brief, laps))}", f"{side_word(hold.turn)} turns"]
    if hold.leg_length_m is not None:
        words.append(f"legs of {hold.leg_length_m / NM:g} NM")
    else:
        words.append(f"legs of {hold.leg_time_s:.0f} s" if hold.leg_time_s is not None else "legs by altitude")
    words.append(f"briefed at {altitude_text(laps.air.altitude_m, chart.altitude_unit)}")
    charted = altitude_range(hold.minimum_m, hold.maximum_m, chart.altitude_unit)
    words.append(f"charted {charted}" if charted else "")
    words.append(f"at most {laps.maximum_mps / KT:.0f} kt ({laps.maximum_source})")
    return f"{', '.join(filter(None, words))}. {_entry(brief, laps)}".rstrip()


def _east(brief: Brief, laps: HoldLaps) -> float:
    """The variation of a hold's charted course: its own if the file gives one, else the procedure's. [rad]"""
    for row, hold in zip(brief.charted.procedure.holds, brief.charted.holds, strict=True):
        if hold == laps.hold and row.variation_deg_east is not None:
            return math.radians(row.variation_deg_east)
    return brief.charted.variation.east_rad


def _entry(brief: Brief, laps: HoldLaps) -> str:
    numbers, east = laps.numbers, brief.charted.variation.east_rad
    if laps.arrival_rad is None or numbers is None:
        return f"Entry by the heading at the fix: {_sectors(laps, east)}." if numbers is not None else ""
    heading, course = (bearing_text(angle - east) for angle in (numbers.arrival_heading_rad, laps.arrival_rad))
    near = f" A {' or '.join(numbers.neighbours)} entry is as good, within 5° of its sector." if numbers.neighbours else ""
    return f"Reached on course {course}: heading {heading} at the fix calls for a {numbers.entry} entry.{near}"


def _sectors(laps: HoldLaps, east: float) -> str:
    """Each entry with the headings that call for it, magnetic, clockwise."""
    words = []
    for entry, sector in holding.ENTRIES.items():
        ends = [laps.hold.inbound_true_rad + laps.hold.turn * degrees * DEG - east for degrees in sector]
        words.append(f"{entry} {' to '.join(bearing_text(end) for end in ends[:: laps.hold.turn])}")
    return ", ".join(words)


def hold_rows(brief: Brief, laps: HoldLaps) -> Iterator[tuple[str, ...]]:
    """One row per lap: the entry, if it is known, and the lap that all others repeat."""
    east = brief.charted.variation.east_rad
    for lap in laps.laps:
        yield (
            _lap_name(laps, lap),
            f"{_SIDE[lap.turn]} {bearing_text(lap.outbound_heading_rad - east)}",
            lap.timed_from.removesuffix(" the fix"),
            f"{lap.outbound_s:.0f}",
            f"{lap.length_m / NM:.1f}",
            f"{_SIDE[lap.turn_back]} {bearing_text(lap.back_heading_rad - east)}",
            bearing_text(lap.inbound_heading_rad - east),
            f"{lap.inbound_s:.0f}",
        )


def _lap_name(laps: HoldLaps, lap: Lap) -> str:
    entry = laps.numbers.entry if laps.numbers is not None else ""
    return f"1, {entry} entry" if lap.number == 1 else "2 and on"


def hold_note(laps: HoldLaps) -> str:
    """The note under the laps: what the columns mean, and how the entry joins the inbound course."""
    entry = next((lap for lap in laps.laps if lap.number == 1), None)
    joined = ""
    if entry is not None and entry.joined == "by an intercept":
        joined = " The entry intercepts the inbound course on the roll-out heading of its turn back."
    elif entry is not None and entry.joined == "direct to the fix":
        joined = " The entry returns direct to the fix, which its inbound seconds count."
    return _LAP_NOTE + joined
