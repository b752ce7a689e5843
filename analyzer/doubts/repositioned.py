"""Flights that begin where a simulator set the aircraft elsewhere, told so that nobody takes them for one."""

from __future__ import annotations

from collections.abc import Iterator

from analyzer.checks.phrases import clock
from analyzer.doubts.doubt import Doubt
from analyzer.motion.motion import Motion

__all__ = ["repositioned"]

_MOST_NAMED = 5


def repositioned(motion: Motion) -> Iterator[Doubt]:
    """What is said of a log that holds more than one flight: where each begins, and that it is debriefed by itself."""
    jumps = motion.curves.repositions
    if not jumps:
        return
    times = [clock(jump.start_s) for jump in jumps[:_MOST_NAMED]]
    more = len(jumps) - len(times)
    listed = [*times, f"{more} times more"] if more else times
    when = listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} and {listed[-1]}"
    yield Doubt(
        f"The aircraft was set elsewhere at {when}, so this log holds {len(jumps) + 1} flights. "
        "Each is debriefed by itself, as if the log began and ended with it.",
        spans=tuple((jump.start_s, jump.end_s) for jump in jumps),
        mark="set elsewhere",
    )
