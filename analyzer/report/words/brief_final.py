"""The inbound and final segments of a brief as a table, fix to fix, and the missed approach in a sentence."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyzer.brief.gates import missed_point
from analyzer.brief.missed_timing import MISSED_TIME, begins_at
from analyzer.brief.segments import Segment, segments
from analyzer.checks.phrases import height_unit, side_word
from analyzer.physics.units import DEG, FPM, KT, NM, bearing_text, wrap
from analyzer.procedure.approach import PublishedHold
from analyzer.report.words.layout import clipped
from analyzer.report.words.procedure_words import altitude_text

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief

__all__ = ["missed_sentence", "named_segments", "segment_headings", "segment_note", "segment_rows"]

_NOTE = "Headings magnetic. Not below: to the end of the segment. Visual: only with the runway in sight; without it,"
_DESCENT_NOTE = f"{_NOTE} stay at the minimum to the missed approach point."
_DECISION_NOTE = f"{_NOTE} go around."
_NAME_WIDTH = 19
_SHORTEST_S = 1.0


def segment_headings(brief: Brief) -> tuple[str, ...]:
    """The headings of the segments, altitudes in the chart's unit."""
    unit = brief.charted.altitude_unit
    return ("segment", "heading", "GS kt", "s", "NM", f"altitude {unit}", "ft/min", f"not below {unit}")


def segment_rows(brief: Brief) -> Iterator[tuple[str, ...]]:
    """The rows of the segments."""
    east, unit = brief.charted.variation.east_rad, height_unit(brief.charted.altitude_unit)
    for name, segment in named_segments(brief):
        yield (
            clipped(name, _NAME_WIDTH),
            bearing_text(segment.heading_rad - east),
            f"{segment.ground_speed_mps / KT:.0f}",
            f"{segment.seconds:.0f}",
            f"{segment.length_m / NM:.1f}",
            unit.ends(segment.altitude_start_m, segment.altitude_end_m),
            "level" if segment.level else f"{segment.descent_mps / FPM:.0f}",
            "" if segment.least_m is None else f"{segment.least_m / unit.metres:.0f}",
        )


def named_segments(brief: Brief) -> Iterator[tuple[str, Segment]]:
    """The segments that are long enough to be flown, each with its name."""
    for segment in segments(brief.plan):
        if segment.seconds >= _SHORTEST_S:
            to = {"visual descent point": "VDP"}.get(segment.to, segment.to)
            yield f"{'visual' if segment.visual else segment.leg} to {to}", segment


def segment_note(brief: Brief) -> str:
    """The note under the segments: what the columns mean, and the maximum altitudes charted at the fixes."""
    minimum = brief.charted.minimum
    note = _DECISION_NOTE if minimum is not None and minimum.kind == "da" else _DESCENT_NOTE
    height = height_unit(brief.charted.altitude_unit)
    most = [f"{s.to} at or below {height.text(s.most_m)}" for s in segments(brief.plan) if s.most_m is not None]
    return f"{note} Pass {', '.join(most)}." if most else note


def missed_sentence(brief: Brief) -> str:
    """The missed approach in a sentence: where it begins, the climb, the first turn, where it leads, and its altitude."""
    charted, missed, unit = brief.charted, brief.charted.missed, brief.charted.altitude_unit
    if missed is None:
        return ""
    point, minimum = missed_point(charted), charted.minimum
    timed = next((number for number in brief.numbers if number.name == MISSED_TIME), None)
    where = f" at {point.name}" if point is not None else ""
    if point is None and timed is not None:
        where = f" {timed.value:.0f} s after {begins_at(brief.plan)}"
    if minimum is not None and minimum.kind == "da":
        where = f" at the decision altitude of {altitude_text(minimum.altitude_m, unit)}"
    steps = []
    if missed.climb_m is not None:
        steps.append(f"climb on the final course to {altitude_text(missed.climb_m, unit)}")
    elif missed.turn is None and missed.altitude_m is not None and missed.course_true_rad is None and missed.to is None:
        steps.append(f"climb straight ahead to {altitude_text(missed.altitude_m, unit)}")
    way = _way(brief)
    if way:
        steps.append(f"{way}{_climbing(brief)}")
    hold = next((hold for hold in charted.holds if hold.name == missed.to), None)
    if hold is not None:
        steps.append(f"hold at {hold.name}, {_hold(brief, hold)}")
    return f"Missed approach{where}: {', then '.join(steps)}. {_first_turn(brief)}"


def _way(brief: Brief) -> str:
    missed, east = brief.charted.missed, brief.charted.variation.east_rad
    if missed is None:
        return ""
    words = [f"turn {side_word(missed.turn)}"] if missed.turn is not None else []
    if missed.course_true_rad is not None:
        words.append(f"{'onto' if words else 'on'} course {bearing_text(missed.course_true_rad - east)}")
    if missed.to is not None:
        words.append(f"to {missed.to}" if missed.course_true_rad is not None else f"direct to {missed.to}")
    return " ".join(words)


def _climbing(brief: Brief) -> str:
    missed = brief.charted.missed
    if missed is None or missed.altitude_m is None:
        return ""
    return f", climbing to {altitude_text(missed.altitude_m, brief.charted.altitude_unit)}"


def _hold(brief: Brief, hold: PublishedHold) -> str:
    row = next(row for row in brief.charted.procedure.holds if row.name == hold.name)
    return f"inbound {bearing_text(math.radians(row.inbound_course_deg))}, {side_word(hold.turn)} turns"


def _first_turn(brief: Brief) -> str:
    """The first turn: its direction, its angle onto a course, and the altitude before which it must not begin."""
    charted, missed = brief.charted, brief.charted.missed
    if missed is None or missed.turn is None:
        return "No turn is charted." if missed is not None else ""
    after = f", not before {altitude_text(missed.climb_m, charted.altitude_unit)}" if missed.climb_m is not None else ""
    point = " and the missed approach point" if after else ", not before the missed approach point"
    angle = ""
    if missed.course_true_rad is not None:
        final = charted.fixes[-1].course_true_rad if charted.fixes else charted.inbound_true_rad
        by = (missed.turn * float(wrap(missed.course_true_rad - final))) % math.tau
        angle = f" by {by / DEG:.0f}°"
    return f"First turn: {side_word(missed.turn)}{angle}{after}{point}."
