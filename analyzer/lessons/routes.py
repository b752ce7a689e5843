"""Lessons on the arrival and the shape of the reversal: entry sector, routes without a reversal, depicted turns."""

from __future__ import annotations

from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.phrases import degrees, side_word
from analyzer.checks.routes import arrival_flown
from analyzer.checks.shapes import binding_shapes
from analyzer.physics.units import DEG, bearing_text

__all__ = ["learn_route", "learn_sector", "learn_shape"]


def learn_sector(context: Context, finding: Finding) -> Lesson | None:
    """How far the track of arrival was outside the sector, and the tracks to cross the fix on."""
    charted, limit, measured = context.motion.charted, finding.limit, finding.measured
    if not isinstance(limit, float) or not isinstance(measured, float) or measured <= limit:
        return None
    out = charted.outbound_true_rad - charted.variation.east_rad
    tracks = bearing_text(out - limit * DEG), bearing_text(out + limit * DEG)
    return Lesson(
        f"The track of arrival lies {degrees((measured - limit) * DEG, 0)} outside the sector.",
        f"Cross the fix on a track from {tracks[0]} to {tracks[1]}, using a charted hold if there is one.",
    )


def learn_route(context: Context, finding: Finding) -> Lesson | None:
    """How to continue inbound after a clearance or on a route without a reversal."""
    arrival, charted = arrival_flown(context), context.motion.charted
    inbound = bearing_text(charted.inbound_true_rad - charted.variation.east_rad)
    if charted.cleared.way is not None:
        return Lesson(None, f"Continue inbound on {inbound}; to fly the reversal, ask for a clearance first.")
    if arrival is None or arrival.reversal or finding.limit != "none":
        return None
    minimum = f", at {context.height.text(arrival.minimum_m)} or above until the fix" if arrival.minimum_m is not None else ""
    return Lesson(None, f"From {arrival.name} continue inbound on {inbound}{minimum}.")


def learn_shape(context: Context, finding: Finding) -> Lesson | None:  # noqa: ARG001 (one signature for all)
    """The headings of the depicted turn."""
    charted, binding = context.motion.charted, binding_shapes(context.motion.charted)
    if charted.side is None or charted.turn is None:
        return None
    east = charted.variation.east_rad
    if "45/180" in binding and charted.offset_true_rad is not None:
        first, offset = side_word(charted.side), bearing_text(charted.offset_true_rad - east)
        return Lesson(None, f"Fly the outbound course, turn {first} to {offset}, then {side_word(charted.turn)} inbound.")
    if "base-turn" in binding:
        out = bearing_text(charted.outbound_true_rad - east)
        return Lesson(None, f"Leave the fix on {out}, and turn {side_word(charted.turn)} inbound at the end of that leg.")
    return None
