"""A straight-in that comes to the fix from aside and joins the final course there, on to the runway."""

from __future__ import annotations

import numpy as np

from analyzer.legs.boundaries import established_at
from analyzer.legs.final_leg import with_final_leg
from analyzer.legs.passages import Abeam
from analyzer.legs.reversal import STRAIGHT_IN, Part, Passage, Reversal
from analyzer.legs.windows import window_to
from analyzer.motion.motion import Motion
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, wrap

__all__ = ["joined_at_fix"]

_OVER_FIX_M = 1.0 * NM
_MOST_TURN_RAD = 90.0 * DEG  # onto the course at the fix; who turns more has turned back
_ALONG_RAD = 30.0 * DEG  # off the course, at most, of who flies it straight in beside it
_ARRIVES_S = 30.0  # before the passage, which may lie in the turn
_JOINED_S = 120.0  # within so long of passing the fix
_FROM_RUNWAY_M = 3.0 * NM  # from a fix nearer to it a circuit of the aerodrome leads to the runway as well
_CAME_DOWN_M = 300.0 * FT


def joined_at_fix(motion: Motion, before: Abeam | None, passage: Abeam, free_from_s: float) -> Reversal | None:
    """The straight-in that joins the final course at a passage of the fix, where it leads to the runway; else None.

    Nothing of it but the landing shows that it was an approach, so without one it is none; where no reversal is charted, going
    around shows it too, if the aircraft came along the course, be it beside it and never established.
    """
    charted, window = motion.charted, window_to(motion, before, passage, free_from_s)
    if charted.runway is None or window is None:
        return None
    to_runway, _ = geodesy.inverse(
        charted.fix_latitude_rad, charted.fix_longitude_rad, charted.runway.latitude_rad, charted.runway.longitude_rad
    )
    arriving = window.states.between(passage.time_s - _ARRIVES_S, passage.time_s)
    off = np.abs(wrap(arriving.track_rad - charted.inbound_true_rad))
    if float(to_runway) < _FROM_RUNWAY_M or not (off <= _MOST_TURN_RAD).all():
        return None
    after = motion.states.between(passage.time_s, float(motion.states.time_s[-1]))
    joined_s = established_at(after, charted, passage.time_s, passage.time_s + _JOINED_S)
    beside = charted.kind == "none" and bool((off <= _ALONG_RAD).all())
    joined = joined_s is not None and passage.distance_m <= _OVER_FIX_M
    if not joined and not beside:
        return None
    arrival = Part("arrival", float(window.states.time_s[0]), passage.time_s)
    came_in = Passage(passage.time_s, passage.distance_m, "inbound")
    approach = with_final_leg(motion, Reversal(STRAIGHT_IN, None, None, None, (came_in,), (arrival,), joined_s))
    down_m = motion.altitude_at(passage.time_s) - motion.altitude_at(approach.parts[-1].end_s)
    ended = approach.ending == "reached the runway" or (beside and approach.ending == "climbed away")
    return approach if ended and down_m >= _CAME_DOWN_M else None
