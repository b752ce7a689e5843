"""Which entry into a hold a heading calls for, by the sectors of the 70-degree line.

References
----------
.. [1] FAA Aeronautical Information Manual 5-3-8 j.3 and figure 5-3-4: the three entries and the 70-degree line; j.8(d): the
   heading at the fix decides, and either entry is good practice within 5 degrees of a boundary.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from analyzer.physics.units import DEG

__all__ = ["ENTRIES", "entry_for", "sector_margin"]

# Sectors of the heading at the fix, degrees from the inbound course, in the direction of the hold's turns. The direct one goes
# through zero.
ENTRIES: Mapping[str, tuple[float, float]] = {"teardrop": (110.0, 180.0), "parallel": (180.0, 290.0), "direct": (290.0, 470.0)}


def _from_inbound_deg(heading_rad: float, inbound_rad: float, turn: int) -> float:
    return (turn * (heading_rad - inbound_rad)) / DEG % 360.0


def entry_for(heading_rad: float, inbound_rad: float, turn: int) -> str:
    """The entry for a heading at the fix: ``direct``, ``teardrop`` or ``parallel``. `turn` is the hold's, +1 right."""
    return max(ENTRIES, key=lambda entry: sector_margin(entry, heading_rad, inbound_rad, turn))


def sector_margin(entry: str, heading_rad: float, inbound_rad: float, turn: int) -> float:
    """How far inside the sector of an entry a heading lies, negative outside. [rad]"""
    low, high = ENTRIES[entry]
    off_middle = math.remainder(_from_inbound_deg(heading_rad, inbound_rad, turn) - (low + high) / 2.0, 360.0)
    return ((high - low) / 2.0 - abs(off_middle)) * DEG
