"""Whether what looks like an approach never came to the inbound course: the fix was crossed at an angle, or an arc was left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from analyzer.checks.phrases import clock
from analyzer.doubts.doubt import Doubt
from analyzer.legs.features import from_arc_centre
from analyzer.legs.reversal import STRAIGHT_IN, Reversal
from analyzer.motion.motion import Motion
from analyzer.physics.units import DEG, FT, wrap

__all__ = ["crossed"]

_SHORT_ARC_RAD = 60.0 * DEG  # many a turn goes round a point so far
_GOES_ON_S = 120.0  # a log may end in the turn off an arc
_AT_ONCE_S = 10.0  # an aircraft that flies the course inbound stays within 45° of it for longer
# One that flies an approach badly may turn away for a missed approach as soon as this; but it has descended.
_SOON_S, _DESCENDED_M = 30.0, 300.0 * FT


def crossed(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A doubt for each reversal that ends by crossing the fix far off the inbound course, on the way to somewhere else.

    Lines that happen to lead out, round and across the course look like a reversal until there; only the inbound course shows
    that one was meant. So it is with a short arc that leads nowhere.
    """
    for one in flown:
        yield from _leads_nowhere(motion, one)
        home = one.passage_home
        if one.flown == STRAIGHT_IN or home is None or one.established_s is not None or one.ending != "turned away":
            continue
        if one.parts[-1].end_s - home.time_s > (_SOON_S if _level(motion, one) else _AT_ONCE_S):
            continue
        yield Doubt(
            f"At {clock(home.time_s)} the flight crosses {motion.charted.procedure.fix.name} far off the inbound course and "
            "goes elsewhere: the inbound course was never flown, so this may not have been an approach at all.",
            "all",
            "the inbound course was crossed and never flown",
            ((one.parts[0].start_s, one.parts[-1].end_s),),
        )


def _level(motion: Motion, one: Reversal) -> bool:
    """Whether the flight came back to the fix at the height at which it left it, as far as that is known."""
    out, home = one.passage("outbound"), one.passage_home
    if out is None or home is None:
        return False
    return motion.altitude_at(out.time_s) - motion.altitude_at(home.time_s) < _DESCENDED_M


def _leads_nowhere(motion: Motion, one: Reversal) -> Iterator[Doubt]:
    """The doubt about a short arc after which the flight goes on for long, and not to the inbound course."""
    last, states = one.parts[-1], motion.states
    if one.only_named or last.name != "arc" or float(states.time_s[-1]) - last.end_s < _GOES_ON_S:
        return
    flown = states.between(last.start_s, last.end_s)
    # straight flight before and after it goes round its middle, too, and does not turn
    round_rad = from_arc_centre(flown, motion.charted)[1], flown.track_rad
    if min(abs(float(np.sum(wrap(np.diff(angle_rad))))) for angle_rad in round_rad) > _SHORT_ARC_RAD:
        return
    yield Doubt(
        f"At {clock(last.end_s)} the flight leaves the arc, of which it has flown little, and goes elsewhere: the inbound "
        "course was never flown, so this may not have been an approach at all.",
        "all",
        "little of the arc and nothing of the inbound course was flown",
        ((one.parts[0].start_s, last.end_s),),
    )
