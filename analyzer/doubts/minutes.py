"""Whether coordinates are degrees and minutes that were read as decimal degrees, both in the log and in the procedure.

Then 48°35.1' is read as 48.351: no decimals reach 0.60, and all distances are 0.6 times what they were. Speeds are lower and
descents steeper by the same factor.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analyzer.doubts.doubt import Doubt
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FPM, KT

__all__ = ["minutes"]

_MINUTES = 0.6  # sixty minutes written as decimals of a degree
_SLOW_MPS = 60.0 * KT  # common practice, no source: few aircraft fly instrument approaches slower
_STEEP_RAD = 4.6 * DEG  # common practice, no source: final approaches are charted at about 3°
_DESCENDING_MPS = 300.0 * FPM
_LEAST_S = 60
_WRITTEN_DEG = 1e-6  # to which a converted coordinate is written


def minutes(motion: Motion) -> Iterator[Doubt]:
    """A doubt if no coordinate has decimals of 0.60 or more, and the flight as read is too slow or too steep.

    None where the fix is known to have been converted: typed in degrees and minutes, it is a whole number of hundredths of a
    minute.
    """
    states, charted = motion.states, motion.charted
    if motion.recorded("ground_speed_mps", states) is not None:
        return  # a recorded ground speed that agrees with the positions shows that they are to scale
    for logged, fix in ((states.latitude_rad, charted.fix_latitude_rad), (states.longitude_rad, charted.fix_longitude_rad)):
        if float(np.mod(np.abs(np.append(logged, fix)) / DEG, 1.0).max()) >= _MINUTES:
            return
    if any(_whole_minutes(fix) for fix in (charted.fix_latitude_rad, charted.fix_longitude_rad)):
        return  # the fix was converted from degrees and minutes, and the flight, which passes it, is to the same scale
    speed, angle = median(states.true_airspeed_mps), _descent_rad(states)
    slow = f"the flight is slow ({speed / KT:.0f} kt)" if speed < _SLOW_MPS else ""
    steep = f"its descents are steep ({angle / DEG:.1f}° on average)" if angle > _STEEP_RAD else ""
    if not slow and not steep:
        return
    yield Doubt(
        f"No coordinate has decimals of 0.60 or more, and {' and '.join(filter(None, (slow, steep)))}: are they degrees and "
        f"minutes written as decimals (48°35.1' as 48.351)? Then distances and speeds are {_MINUTES:g} times what they were."
    )


def _whole_minutes(angle_rad: float) -> bool:
    """Whether a coordinate is whole hundredths of a minute, but no number of four decimals that a chart of degrees may print.

    A number of degrees taken at random is so in one case of a hundred.
    """
    degrees = abs(angle_rad) / DEG
    off_minutes, off_degrees = (abs(degrees * per - round(degrees * per)) / per for per in (6000.0, 10_000.0))
    return off_minutes < _WRITTEN_DEG < off_degrees


def _descent_rad(states: States) -> float:
    """The mean angle of all descents; 0 where there are hardly any. [rad]"""
    down = states.vertical_speed_mps < -_DESCENDING_MPS
    if int(down.sum()) < _LEAST_S:
        return 0.0
    return float(np.arctan2(-states.vertical_speed_mps[down].sum(), states.ground_speed_mps[down].sum()))
