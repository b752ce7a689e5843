"""The leg of a hold as it was flown: its time to five seconds, or its length to half a mile."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from analyzer.checks.outbound_legs import leg_reading, timed_from, wings_level_s
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.motion import Motion
from analyzer.physics import holding
from analyzer.physics.quantiles import median
from analyzer.physics.units import NM

__all__ = ["hold_leg"]

_NEAR_S = 10.0  # within this of a usual time, that time was meant
_ROUND_S, _LEAST_S = 5.0, 10.0
_LONG_S = 30.0  # beyond the usual time: legs by distance
_LEAST_NM = 1.0


def hold_leg(motion: Motion, flown: Reversal) -> tuple[dict[str, Any], str]:
    """``leg_time_s``, or ``leg_length_nm`` with ``leg_by`` where legs were long, and the remark on it.

    Times are measured as the debrief judges them: the outbound leg of the entry from over or abeam the fix, the inbound legs of
    further laps from wings level.
    """
    outbound = [part for part in flown.parts if part.name == "outbound" and _whole(motion, part)]
    inbound = [part for part in flown.parts if part.name == "inbound"][1:]
    entry = flown.part("outbound")
    times = [part.end_s - wings_level_s(motion, part) for part in inbound if _whole(motion, part)]
    if entry is not None and entry in outbound:
        times.insert(0, entry.end_s - timed_from(motion, flown, entry).time_s)
    usual = holding.usual_leg_s(motion.altitude_at(entry.start_s) if entry is not None and motion.has_altitude else math.nan)
    words = "the usual above 14,000 ft" if usual == holding.HIGH_LEG_S else "the usual minute"
    if not times:
        return {"leg_time_s": usual}, f"assumed: {words}, as no whole leg was flown; leg_length_nm where the chart has miles"
    seconds = median(np.array(times))
    listed = " and ".join(f"{time:.0f}" for time in times)
    if abs(seconds - usual) <= _NEAR_S:
        return {"leg_time_s": usual}, f"measured: {listed} s, taken for {words}; leg_length_nm where the chart has miles"
    if entry is not None and seconds - usual > _LONG_S:
        miles = max(leg_reading(motion, part.end_s, "along-track").length_m for part in outbound or [entry]) / NM
        if miles >= _LEAST_NM:
            return (
                {"leg_length_nm": round(2.0 * miles) / 2.0, "leg_by": "along-track"},
                f"measured, to half a mile: the outbound leg took {times[0]:.0f} s; leg_time_s where the chart has minutes",
            )
    return (
        {"leg_time_s": max(round(seconds / _ROUND_S) * _ROUND_S, _LEAST_S)},
        f"measured: {listed} s; charts have 60, 90 above 14,000 ft, or miles (leg_length_nm)",
    )


def _whole(motion: Motion, part: Part) -> bool:
    """Whether a leg ends before the log does, and has no gap in it."""
    return part.end_s < float(motion.track.time_s[-1]) - 1.0 and not motion.gaps_between(part.start_s, part.end_s)
