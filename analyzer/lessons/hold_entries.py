"""Lessons on the entry into a hold and the direction of its turns.

References
----------
.. [1] FAA Aeronautical Information Manual 5-3-8 j.3: the entries; j.8(c): outbound, three times the inbound correction.
"""

from __future__ import annotations

import math

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.hold_entries import ArrivalHeading, arrival_heading
from analyzer.checks.hold_wrong_round import wrong_round
from analyzer.checks.phrases import clock, degrees, side_word
from analyzer.lessons.headings import course_words, steered
from analyzer.physics import holding
from analyzer.physics.units import DEG, bearing_text

__all__ = ["learn_entry", "learn_hold_turn"]

_TRIPLE = 3.0


def learn_entry(context: Context, finding: Finding) -> Lesson | None:
    """How far inside its sector the heading at the fix was, and how to fly the entry for that sector."""
    expected, arrived, charted = finding.limit, arrival_heading(context), context.motion.charted
    if charted.turn is None or not isinstance(expected, str) or expected not in holding.ENTRIES:
        return None
    cause = None
    if arrived is not None:
        inside = holding.sector_margin(expected, arrived.heading_rad, charted.inbound_true_rad, charted.turn)
        heading = bearing_text(arrived.heading_rad - charted.variation.east_rad)
        cause = f"Heading {heading} lies {degrees(inside, 0)} inside the {expected} sector." if inside >= 1.0 * DEG else None
    return Lesson(cause, f"{_entry_words(context, expected, charted.turn, arrived)}.")


def learn_hold_turn(context: Context, finding: Finding) -> Lesson | None:
    """When the first turn went the wrong way, and the entry for the heading at the fix with the charted turns."""
    charted, arrived = context.motion.charted, arrival_heading(context)
    first = next((part for part in context.reversal.parts if part.turn is not None and part.lap is not None), None)
    if charted.turn is None:
        return None
    before = wrong_round(context) if finding.part == "arrival" else None
    if before is not None:
        again, heading = side_word(charted.turn), bearing_text(before.heading_rad - charted.variation.east_rad)
        return Lesson(
            f"The turn back to the fix, after {clock(before.passed_s)}, went {side_word(before.turn)}.",
            f"Heading {heading} calls for a direct entry: at the fix turn {again} outbound, then {again} again inbound.",
        )
    if arrived is None:
        return Lesson(None, f"Make every turn of the hold to the {side_word(charted.turn)}.")
    entry = holding.entry_for(arrived.heading_rad, charted.inbound_true_rad, charted.turn)
    heading = bearing_text(arrived.heading_rad - charted.variation.east_rad)
    cause = f"The first turn, at {clock(first.start_s)}, went {side_word(first.turn or 0)}." if first is not None else None
    words = _entry_words(context, entry, charted.turn, arrived)
    return Lesson(
        cause,
        f"With {side_word(charted.turn)} turns, heading {heading} calls for a {entry} entry: {words[:1].lower()}{words[1:]}.",
    )


def _entry_words(context: Context, entry: str, turn: int, arrived: ArrivalHeading | None) -> str:
    """How to fly an entry, with the heading of its outbound leg in the wind, in words."""
    out, way = context.motion.charted.outbound_true_rad, side_word(turn)
    if entry == "teardrop":
        aside = _track(context, out - turn * holding.TEARDROP_RAD, arrived)
        return f"From the fix fly outbound on {aside}, then turn {way} inbound"
    if entry == "parallel":
        return f"From the fix fly outbound on {_track(context, out, arrived)}, then turn {side_word(-turn)} back to the course"
    return f"At the fix turn {way} to {_direct(context, out, arrived)} outbound, then {way} again inbound"


def _track(context: Context, course_rad: float, arrived: ArrivalHeading | None) -> str:
    """A magnetic course and the heading that holds it, in words."""
    needed = steered(course_rad, arrived.true_airspeed_mps, context.figures.wind) if arrived is not None else None
    return course_words(context, course_rad, needed)


def _direct(context: Context, out_rad: float, arrived: ArrivalHeading | None) -> str:
    """The magnetic outbound heading of a direct entry, with three times the wind correction inbound, in words."""
    home = None
    if arrived is not None:
        home = steered(out_rad + math.pi, arrived.true_airspeed_mps, context.figures.wind)
    correction = home.correction_rad if home is not None else 0.0
    return f"heading {bearing_text(out_rad - _TRIPLE * correction - context.motion.charted.variation.east_rad)}"
