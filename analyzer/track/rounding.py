"""The last digit that the positions of a log were rounded to, as the log shows it."""

from __future__ import annotations

import numpy as np

from analyzer.physics.units import FloatArray

__all__ = ["COMPUTED_RAD", "last_digit_rad"]

COMPUTED_RAD = 1e-12  # smaller differences of angles are rounding of a computer


def last_digit_rad(angle_rad: FloatArray) -> float:
    """The unit that angles are rounded to, of which their second differences are whole multiples; 0 where none shows. [rad]"""
    second = np.abs(np.diff(angle_rad, n=2))
    second = second[second > COMPUTED_RAD]
    return float(second.min()) if len(second) else 0.0
