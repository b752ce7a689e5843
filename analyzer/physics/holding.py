"""Entries into a hold, by the sectors of the 70-degree line, and the usual leg times and maximum airspeeds of holds.

References
----------
.. [1] FAA Aeronautical Information Manual 5-3-8 j.3 and figure 5-3-4: the three entries and the 70-degree line; j.8(d): the
   heading at the fix decides, and either entry is good practice within 5 degrees of a boundary. Maximum airspeeds: j.2 and
   table 5-3-20. Leg times: j.4.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from analyzer.physics.units import DEG, FT

__all__ = ["ENTRIES", "HIGH_LEG_S", "TEARDROP_RAD", "entry_for", "maximum_speed_kt", "sector_margin", "usual_leg_s"]

# Altitude [ft], inclusive, and the maximum airspeed up to it [KIAS]; AIM 5-3-8 j.2.
_SPEEDS_UP_TO: tuple[tuple[float, float], ...] = ((6_000.0, 200.0), (14_000.0, 230.0), (math.inf, 265.0))
_SAME_FT = 0.5  # rounding of feet converted to metres
HIGH_LEG_S = 90.0
_HIGH_M, _LOW_LEG_S = 14_000.0 * FT, 60.0
TEARDROP_RAD = 30.0 * DEG  # angle between the tracks of a teardrop entry and of the outbound leg: AIM 5-3-8 j.3(b)

# Sectors of the heading at the fix: degrees from the inbound course in the direction of the hold's turns. The direct sector
# spans zero.
ENTRIES: Mapping[str, tuple[float, float]] = {"teardrop": (110.0, 180.0), "parallel": (180.0, 290.0), "direct": (290.0, 470.0)}


def _from_inbound_deg(heading_rad: float, inbound_rad: float, turn: int) -> float:
    return (turn * (heading_rad - inbound_rad)) / DEG % 360.0


def entry_for(heading_rad: float, inbound_rad: float, turn: int) -> str:
    """The entry for a heading at the fix: ``direct``, ``teardrop`` or ``parallel``. `turn` is +1 for right turns.

    >>> [entry_for(heading * DEG, 270 * DEG, turn=1) for heading in (270, 140, 60)]
    ['direct', 'parallel', 'teardrop']
    """
    return max(ENTRIES, key=lambda entry: sector_margin(entry, heading_rad, inbound_rad, turn))


def sector_margin(entry: str, heading_rad: float, inbound_rad: float, turn: int) -> float:
    """How far inside the sector of an entry a heading lies, negative outside. [rad]"""
    low, high = ENTRIES[entry]
    off_middle = math.remainder(_from_inbound_deg(heading_rad, inbound_rad, turn) - (low + high) / 2.0, 360.0)
    return ((high - low) / 2.0 - abs(off_middle)) * DEG


def maximum_speed_kt(altitude_m: float) -> float:
    """The maximum airspeed of a hold at an altitude above sea level, where the chart gives none. [KIAS]

    >>> [maximum_speed_kt(feet * FT) for feet in (6_000, 6_100, 15_000)]
    [200.0, 230.0, 265.0]
    """
    feet = altitude_m / FT - _SAME_FT
    return next(speed for up_to, speed in _SPEEDS_UP_TO if feet <= up_to)


def usual_leg_s(altitude_m: float) -> float:
    """The time of a leg where the chart gives neither time nor length: the lower one where the altitude is NaN. [s]

    >>> [usual_leg_s(feet * FT) for feet in (14_000, 14_100)]
    [60.0, 90.0]
    """
    return HIGH_LEG_S if altitude_m > _HIGH_M else _LOW_LEG_S
