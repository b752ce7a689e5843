"""Jumps in the position within a flight: the aircraft was moved, or put back to where it had been."""

from __future__ import annotations

from collections.abc import Iterator

from analyzer.checks.phrases import clock
from analyzer.doubts.doubt import Doubt
from analyzer.motion.motion import Motion
from analyzer.physics.quantiles import median
from analyzer.physics.units import NM

__all__ = ["jumps"]


def jumps(motion: Motion) -> Iterator[Doubt]:
    """A doubt for every jump within a flight, and what it looks like; one that begins another flight is none."""
    first_s, last_s = float(motion.track.time_s[0]), float(motion.track.time_s[-1])
    for jump in motion.curves.jumps:
        if jump.start_s < first_s or jump.end_s > last_s:
            continue
        if jump.seen_at_s is not None:
            back_s = jump.start_s - jump.seen_at_s
            text = (
                f"At {clock(jump.start_s)} the flight is back where it was {back_s:.0f} s before: a saved situation was "
                "reloaded, and what lies between was flown twice. Log one attempt, or cut out the first."
            )
        else:
            took = jump.end_s - jump.start_s
            usual = median(motion.states.ground_speed_mps) * took
            what = (
                f"jumps by {jump.moved_m / NM:.2f} NM"
                if jump.moved_m > usual
                else f"goes on by {jump.moved_m / NM:.2f} NM only"
            )
            text = (
                f"At {clock(jump.start_s)} the position {what} within {took:.0f} s, where the flight would have covered "
                f"{usual / NM:.2f} NM: the aircraft was moved, or the positions are broken."
            )
        mark = "jump" if jump.seen_at_s is None else "loaded again"
        spans = ((jump.start_s, jump.end_s),)
        yield Doubt(text, "all", "the position jumps in it, so it is not one flight", spans, mark)
