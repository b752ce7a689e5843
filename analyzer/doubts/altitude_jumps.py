"""Altitudes that jump by more than any aircraft climbs or sinks, and stay: another source, unit or setting from there on."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analyzer.checks.phrases import clock, height_unit
from analyzer.doubts.doubt import Doubt
from analyzer.motion.motion import Motion
from analyzer.track.altitude_steps import altitude_steps

__all__ = ["altitude_jumps"]


def altitude_jumps(motion: Motion) -> Iterator[Doubt]:
    """A doubt about the altitudes, if any of them jumps: which side of it is right does not show."""
    known = np.isfinite(motion.track.altitude_m)
    time, altitude = motion.track.time_s[known], motion.track.altitude_m[known]
    places = np.flatnonzero(altitude_steps(time, altitude))
    if not len(places):
        return
    height = height_unit(motion.charted.altitude_unit)
    first = int(places[0])
    step = float(altitude[first + 1] - altitude[first])
    again = {1: "", 2: ", and once more"}.get(len(places), f", and {len(places) - 1} times more")
    way, took_s = "up" if step > 0.0 else "down", float(time[first + 1] - time[first])
    yield Doubt(
        f"At {clock(float(time[first]))} the altitude jumps {way} by {height.text(abs(step))} within {took_s:.0f} s{again}: "
        "from there it is of another source, unit or altimeter setting. The altitudes are not judged.",
        "altitudes",
        "the altitude jumps in this log",
        (),
        "altitude jumps",
    )
