"""A chart whose final course misses its runway, where the flight did not follow that course: the chart may well be wrong."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from analyzer.doubts.doubt import Doubt
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, NM
from analyzer.procedure.positions import beside_runway_nm

__all__ = ["beside_runway"]

_FOLLOWED_RAD, _FOLLOWED_M = 2.5 * DEG, 0.2 * NM  # off the course for half of the way: it was followed


def beside_runway(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A doubt about each approach that comes back otherwise than along a course that cannot be the chart's."""
    charted = motion.charted
    aside_nm = beside_runway_nm(charted.procedure, charted.inbound_true_rad)
    if aside_nm is None:
        return
    for reversal in flown:
        spans = [*reversal.leg_spans("inbound"), *reversal.leg_spans("final")]
        if not spans:
            continue
        back = motion.states.within(spans)
        off_m = np.abs(back.cross_track_m(charted.outbound_true_rad))
        if median(off_m) < _FOLLOWED_M or median(off_m / np.maximum(back.distance_m, 1.0)) < math.sin(_FOLLOWED_RAD):
            continue
        side = "right" if aside_nm > 0.0 else "left"
        yield Doubt(
            f"The charted inbound course passes {abs(aside_nm):.1f} NM to the {side} of the threshold, and the flight does not "
            "follow it: check the course, the variation and the positions of fix and threshold in the procedure file.",
            "all",
            "course, fix and runway of the procedure file do not fit together",
            ((reversal.parts[0].start_s, reversal.parts[-1].end_s),),
        )
