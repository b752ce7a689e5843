"""How steep a turn was at least, by the positions alone.

Where positions are seconds apart, a curve through them may show a bank that was not flown: it overshoots where the aircraft
rolls, and flattens what is over too soon. But the direction of a step is that of the mean velocity in it. From one step to the
next it changes by no more than the greatest rate of turn times the time from the middle of one to the middle of the other, and
the aircraft flew no slower than the longer of the two steps is in a straight line.
"""

from __future__ import annotations

import numpy as np

from analyzer.frozen import dataclass
from analyzer.motion.motion import Motion
from analyzer.physics import turning
from analyzer.physics.units import wrap

__all__ = ["LeastBank", "least_bank"]

_SURE_SD = 2.0


@dataclass(frozen=True)
class LeastBank:
    """The least that the peak bank of a turn was, unsigned, and the standard deviation of that. [rad]"""

    bank_rad: float
    sd_rad: float


def least_bank(motion: Motion, start_s: float, end_s: float, direction: int) -> LeastBank | None:
    """The least peak bank of a turn to a side (+1 right) by the positions in it; None where it holds fewer than three."""
    time_s = motion.track.time_s
    inside = slice(int(np.searchsorted(time_s, start_s)), int(np.searchsorted(time_s, end_s, side="right")))
    time_s, north_east = time_s[inside], motion.curves.sample_north_east_m[inside]
    if len(time_s) < 3:
        return None
    took = np.diff(time_s)
    moved = np.diff(north_east, axis=0)
    if motion.wind is not None:
        moved = moved - np.column_stack(motion.wind.at(0.5 * (time_s[1:] + time_s[:-1]))) * took[:, None]
    length = np.maximum(np.hypot(*moved.T), 1e-3)
    turned = direction * wrap(np.diff(np.arctan2(moved[:, 1], moved[:, 0])))
    between = 0.5 * (took[1:] + took[:-1])
    speed = np.maximum((length / took)[1:], (length / took)[:-1])
    bank = turning.bank_for_rate(speed, np.maximum(turned, 0.0) / between)
    # the position that two steps share moves both
    before, after = 1.0 / length[:-1], 1.0 / length[1:]
    turned_sd = motion.path.noise_sd * np.sqrt(before**2 + after**2 + (before + after) ** 2)
    sd = bank - turning.bank_for_rate(speed, (np.maximum(turned, 0.0) - turned_sd) / between)
    surest = int(np.argmax(bank - _SURE_SD * sd))
    return LeastBank(float(bank[surest]), float(sd[surest]))
