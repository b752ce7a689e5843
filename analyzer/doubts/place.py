"""Whether log and procedure fit together: exchanged coordinates, a wrong sign, radians, true instead of magnetic courses.

Nothing is corrected: each doubt says what would fit, for the user to check against the log and the chart.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np

from analyzer.doubts.doubt import Doubt
from analyzer.doubts.lines import lines
from analyzer.legs.segments import Segment
from analyzer.motion.motion import Motion
from analyzer.physics import geodesy
from analyzer.physics.units import NM

__all__ = ["place"]

_NOWHERE_NEAR_M = 3.0 * NM
_PASSED_M = 1.5 * NM  # a place this near the track would fit
_EXCHANGED = "latitude and longitude exchanged"


def place(motion: Motion, segments: Sequence[Segment]) -> Iterator[Doubt]:
    """The doubts about the places of fix and courses, by the straight segments of the flight."""
    if float(motion.states.distance_m.min()) > _NOWHERE_NEAR_M:
        yield from (Doubt(text) for text in _elsewhere(motion))
    else:
        yield from lines(motion, segments)


def _elsewhere(motion: Motion) -> Iterator[str]:
    """The doubt if the flight would pass the fix with positions in radians, exchanged coordinates or another sign."""
    charted, states = motion.charted, motion.states
    fix = charted.fix_latitude_rad, charted.fix_longitude_rad
    in_radians = np.degrees(states.latitude_rad), np.degrees(states.longitude_rad)
    if float(np.abs(in_radians[0]).max()) <= math.pi / 2.0:
        distance, _ = geodesy.inverse(*fix, *in_radians)
        if float(np.min(distance)) < _PASSED_M:
            yield (
                f"With positions in radians the flight would pass {float(np.min(distance)) / NM:.1f} NM from "
                f"{charted.procedure.fix.name}. Say so: --unit latitude=rad, --unit longitude=rad."
            )
            return
    for exchanged, turned in itertools.product((False, True), ((1, 1), (1, -1), (-1, 1), (-1, -1))):
        place = fix[::-1] if exchanged else fix
        latitude, longitude = turned[0] * place[0], turned[1] * place[1]
        if (latitude, longitude) == fix or abs(latitude) > math.pi / 2.0:
            continue
        distance, _ = geodesy.inverse(latitude, longitude, states.latitude_rad, states.longitude_rad)
        nearest = float(np.min(distance))
        if nearest < _PASSED_M:
            named = zip(("latitude", "longitude"), turned, strict=True)
            signs = [f"the sign of the {name} turned" for name, sign in named if sign < 0]
            what = " and ".join([*([_EXCHANGED] if exchanged else []), *signs])
            yield (
                f"With {what} the flight would pass {nearest / NM:.1f} NM from {charted.procedure.fix.name}: look at the "
                "positions in the log and in the procedure file."
            )
            return
