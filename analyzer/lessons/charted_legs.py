"""How much longer than charted an outbound leg was flown, so that no lesson contradicts the chart."""

from __future__ import annotations

from analyzer.checks.finding import Context
from analyzer.checks.hold_timing import leg_time_s
from analyzer.checks.outbound_legs import leg_reading, length_read_by, timed_from

__all__ = ["beyond_charted_s"]


def beyond_charted_s(context: Context) -> float | None:
    """Seconds that the outbound leg was flown beyond its charted time or length, negative if shorter; None without either.

    A hold without a charted leg has the standard time. A length is converted at the ground speed at the end of the leg.
    """
    charted, outbound = context.motion.charted, context.reversal.part("outbound")
    if outbound is None:
        return None
    if charted.leg_length_m is not None:
        speed = context.motion.states.between(outbound.end_s - 5.0, outbound.end_s).ground_speed_mps
        if not len(speed) or not speed.mean() > 0.0:
            return None
        flown = leg_reading(context.motion, outbound.end_s, length_read_by(charted)).length_m
        return float((flown - charted.leg_length_m) / speed.mean())
    times = [one for one in (charted.leg_time_s, charted.maximum_time_s) if one is not None]
    if charted.kind == "hold":
        times = [leg_time_s(context, outbound)]
    if not times:
        return None
    return outbound.end_s - timed_from(context.motion, context.reversal, outbound).time_s - min(times)
