"""Whether the altitudes of a log agree with the runway that it lands on."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analyzer.checks.finding import CLOSE_SD
from analyzer.checks.phrases import height_unit
from analyzer.doubts.doubt import Doubt
from analyzer.motion.motion import Motion
from analyzer.physics import geodesy
from analyzer.physics.quantiles import median
from analyzer.physics.units import FT, KT
from analyzer.track.references import REFERENCES

__all__ = ["ground"]

# Common practice, no source: slower than any aircraft flies an approach, on a runway, and level.
_ROLLING_MPS, _LEVEL_MPS, _LEAST_S = 45.0 * KT, 1.0, 5
_BESIDE_M, _ALONG_M = 60.0, 3000.0
_AGREES_M, _SLOPE = 60.0 * FT, 0.01  # height of the antenna and error of the receiver; of a runway, beyond its threshold
_FAR_M = 1000.0 * FT  # more than air pressure explains: it is not the charted runway
_REASON = "on the runway the altitudes of the log are wrong by enough to decide this"


def ground(motion: Motion) -> Iterator[Doubt]:
    """A doubt if the log ends in a landing roll at another altitude than that of the charted threshold.

    It concerns the whole flight: an altimeter setting or a reference that is wrong on the ground is so in the air. An altitude
    whose reference explains as much, as pressure altitude does, raises none: its error is known already.
    """
    runway, states = motion.charted.runway, motion.states
    if runway is None or not motion.has_altitude or float(states.ground_speed_mps[-1]) > _ROLLING_MPS:
        return
    distance, bearing = geodesy.inverse_near(
        runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad
    )
    along, beside = distance * np.cos(bearing - runway.heading_rad), distance * np.sin(bearing - runway.heading_rad)
    rolls = (along > 0.0) & (along < _ALONG_M) & (np.abs(beside) < _BESIDE_M)
    rolls &= np.abs(states.vertical_speed_mps) < _LEVEL_MPS
    flown = np.flatnonzero(~rolls)
    roll = slice(int(flown[-1]) + 1 if len(flown) else 0, len(rolls))
    if len(rolls) - roll.start < _LEAST_S or not np.isfinite(states.altitude_m[roll]).all():
        return
    off = median(states.altitude_m[roll]) - runway.elevation_m
    explained = CLOSE_SD * REFERENCES[motion.track.altitude_reference].offset_sd_m
    if not _AGREES_M + _SLOPE * median(along[roll]) + explained < abs(off) < _FAR_M:
        return
    height = height_unit(motion.charted.altitude_unit)
    yield Doubt(
        f"The log ends in a landing roll {height.text(abs(off))} {'above' if off > 0.0 else 'below'} the threshold of runway "
        f"{runway.name}, so all its altitudes may be as far off; what that decides is not judged. Check the elevation in the "
        "procedure file, and what the altitudes count from (--altitude-from, --qnh).",
        "altitudes",
        _REASON,
        off_m=off,
    )
