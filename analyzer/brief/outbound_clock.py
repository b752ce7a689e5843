"""The clock of a hold's outbound leg: when it starts, and how long the leg then goes straight on.

References
----------
.. [1] FAA Aeronautical Information Manual 5-3-8 j.4: outbound timing begins over or abeam the fix, whichever is later.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal, TypeAlias

import numpy as np

from analyzer.brief.conditions import LegAir
from analyzer.brief.stages import Stage, fly_stages
from analyzer.nominal.fly import Path, Straight

__all__ = ["StraightSeconds", "TimedFrom", "clock_starts", "outbound_timed", "straight_seconds"]

# Time straight on after the first turn of an entry, from that turn and the heading that it begins on. [s]
StraightSeconds: TypeAlias = Callable[[Stage, float], float]
TimedFrom: TypeAlias = Literal["over the fix", "abeam the fix"]

_ABEAM_S = 0.5  # after passing over the fix


def clock_starts(path: Path, outbound_rad: float, last: int) -> float | None:
    """When the path last came abeam the fix, up to a node; None if the fix is still ahead, 0 if it never was. [s]"""
    along = path.north_m[: last + 1] * math.cos(outbound_rad) + path.east_m[: last + 1] * math.sin(outbound_rad)
    behind = np.flatnonzero(along < 0.0)
    if not len(behind):
        return 0.0
    k = int(behind[-1])
    if k == last:
        return None
    share = float(along[k] / (along[k] - along[k + 1]))
    return float(path.time_s[k] + share * (path.time_s[k + 1] - path.time_s[k]))


def outbound_timed(path: Path, outbound_rad: float, last: int, *, from_over: bool) -> tuple[float, TimedFrom]:
    """Time of an outbound leg that ends at a node, and where its clock starts; a path begins over the fix. [s]

    The leg of a parallel or teardrop entry is timed from over the fix.
    """
    clock = 0.0 if from_over else clock_starts(path, outbound_rad, last)
    starts = clock if clock is not None else float(path.time_s[last])
    return float(path.time_s[last]) - starts, "abeam the fix" if starts > _ABEAM_S else "over the fix"


def straight_seconds(air: LegAir, outbound_rad: float, timed_s: float, *, from_over: bool) -> StraightSeconds:
    """How long an entry flies straight on outbound, so that its leg takes `timed_s` by the clock."""

    def seconds(turn: Stage, start: float) -> float:
        path = fly_stages((turn,), start)
        turned = float(path.time_s[-1])
        if from_over:
            return max(0.0, timed_s - turned)
        abeam = clock_starts(path, outbound_rad, len(path.time_s) - 1)
        if abeam is not None:
            return max(0.0, timed_s - (turned - abeam))
        ahead = math.cos(outbound_rad), math.sin(outbound_rad)
        short = -(float(path.north_m[-1]) * ahead[0] + float(path.east_m[-1]) * ahead[1])
        after = fly_stages((turn, Stage("outbound", "outbound", Straight(1.0), air)), start)
        north, east = float(after.north_m[-1] - path.north_m[-1]), float(after.east_m[-1] - path.east_m[-1])
        return timed_s + short / (north * ahead[0] + east * ahead[1])

    return seconds
