"""Whether what looks like a reversal never came to the inbound course: the fix was crossed at an angle, and left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyzer.checks.phrases import clock
from analyzer.doubts.doubt import Doubt
from analyzer.legs.reversal import STRAIGHT_IN, Reversal
from analyzer.motion.motion import Motion

__all__ = ["crossed"]

_AT_ONCE_S = 10.0  # an aircraft that flies the course inbound stays within 45° of it for longer


def crossed(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A doubt for each reversal that ends by crossing the fix far off the inbound course, on the way to somewhere else.

    Lines that happen to lead out, round and across the course look like a reversal until there; only the inbound course shows
    that one was meant.
    """
    for one in flown:
        home = one.passage_home
        if one.flown == STRAIGHT_IN or home is None or one.established_s is not None or one.ending != "turned away":
            continue
        if one.parts[-1].end_s - home.time_s > _AT_ONCE_S:
            continue
        yield Doubt(
            f"At {clock(home.time_s)} the flight crosses {motion.charted.procedure.fix.name} far off the inbound course and "
            "goes elsewhere: the inbound course was never flown, so this may not have been an approach at all.",
            "all",
            "the inbound course was crossed and never flown",
            ((one.parts[0].start_s, one.parts[-1].end_s),),
        )
