"""Flights that begin where a simulator set the aircraft elsewhere, told so that nobody takes them for one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyzer.checks.phrases import clock
from analyzer.doubts.doubt import Doubt
from analyzer.motion.jumps import Jump
from analyzer.motion.motion import Motion
from analyzer.track.track import counted

__all__ = ["repositioned"]

_MOST_NAMED = 5


def repositioned(motion: Motion) -> Iterator[Doubt]:
    """What is said of a log that holds more than one flight: where each begins, and that it is debriefed by itself."""
    begins_s, jumps = motion.track.begins_s, motion.curves.repositions
    if not jumps:
        return
    again = [jump for jump in jumps if jump.end_s in begins_s]
    elsewhere = [jump for jump in jumps if jump.end_s not in begins_s]
    if elsewhere:
        yield _said("The aircraft was set elsewhere", elsewhere, len(motion.flights), "set elsewhere")
    if again:
        yield _said("The log's clock begins again, and the positions with it,", again, len(motion.flights), "another flight")


def _said(what: str, jumps: Sequence[Jump], flights: int, mark: str) -> Doubt:
    """The sentence on flights that begin in one way, of so many in the log."""
    times = [clock(jump.start_s) for jump in jumps[:_MOST_NAMED]]
    more = len(jumps) - len(times)
    listed = [*times, f"{more} times more"] if more else times
    when = listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} and {listed[-1]}"
    each = "It is debriefed" if flights == 1 else "Each is debriefed by itself"
    return Doubt(
        f"{what} at {when}, so this log holds {counted(flights, 'flight')}. {each}, as if the log began and ended with it.",
        spans=tuple((jump.start_s, jump.end_s) for jump in jumps),
        mark=mark,
    )
