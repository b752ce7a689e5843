"""Orbits flown off the inbound or final course, which is not judged there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyzer.checks.phrases import clock
from analyzer.doubts.doubt import Doubt
from analyzer.legs.course_left import orbiting
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.physics.runs import true_runs

__all__ = ["orbits"]


def orbits(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A remark on each orbit, which withdraws nothing. What is flown off the final course to land by circling is none."""
    course_rad, minimum = motion.charted.inbound_true_rad, motion.charted.minimum
    circling = minimum is not None and minimum.line == "circling"
    held = ("inbound",) if circling else ("inbound", "final")
    for one in flown:
        for part in one.parts:
            if part.name not in held:
                continue
            states = motion.states.between(part.start_s, part.end_s)
            for begin, end in true_runs(orbiting(states, course_rad)):
                span = float(states.time_s[begin]), float(states.time_s[end - 1])
                yield Doubt(
                    f"From {clock(span[0])} to {clock(span[1])} the flight circles off the {part.name} course, "
                    "which is not judged there.",
                    spans=(span,),
                    mark="orbit",
                )
