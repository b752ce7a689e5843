"""The holds of a procedure as racetracks, as flown in still air, for plan views and maps."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from analyzer.physics.quantiles import median
from analyzer.physics.turning import STANDARD_RATE_RADPS
from analyzer.physics.units import FloatArray
from analyzer.procedure.approach import PublishedHold

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData
    from analyzer.procedure.charted import Charted

__all__ = ["charted_holds", "flown_airspeed_mps", "racetrack_m"]

_MINUTE_S = 60.0
_PLACES = 31  # points on each half circle and each leg


def charted_holds(charted: Charted) -> tuple[PublishedHold, ...]:
    """The published holds and the hold in lieu of a procedure turn; for a hold that was flown, only that one."""
    if charted.held is not None:
        return (charted.held,)
    if charted.kind != "hold" or charted.turn is None:
        return charted.holds
    in_lieu = PublishedHold(
        name=charted.procedure.fix.name,
        role="published",
        latitude_rad=charted.fix_latitude_rad,
        longitude_rad=charted.fix_longitude_rad,
        inbound_true_rad=charted.inbound_true_rad,
        turn=charted.turn,
        leg_time_s=charted.leg_time_s,
        leg_length_m=charted.leg_length_m,
        leg_by=None,
        minimum_m=charted.floors_m.get("outbound"),
        maximum_m=charted.ceilings_m.get("outbound"),
        maximum_speed_mps=charted.maximum_speed_mps,
        category=None,
    )
    return (in_lieu, *charted.holds)


def flown_airspeed_mps(debrief: DebriefData) -> float:
    """Median true airspeed of all that was recognised, or of the whole log if nothing was. [m/s]"""
    states = debrief.motion.states
    spans = [(part.start_s, part.end_s) for one in debrief.sections for part in one.approach.reversal.parts]
    flown = states.within(spans) if spans else states
    return median(flown.true_airspeed_mps if len(flown) else states.true_airspeed_mps)


def racetrack_m(hold: PublishedHold, airspeed_mps: float) -> FloatArray:
    """A hold as flown in still air at a true airspeed: a closed line from its fix, along its course and right of it.

    Shape (points, 2), in metres. The legs have the charted length or time, one minute if neither is charted
    (AIM 5-3-8 j.4); the turns are at standard rate.
    """
    length = hold.leg_length_m or (hold.leg_time_s or _MINUTE_S) * airspeed_mps
    radius = airspeed_mps / STANDARD_RATE_RADPS
    angle, share = np.linspace(0.0, math.pi, _PLACES), np.linspace(0.0, 1.0, _PLACES)[1:-1]
    away = np.column_stack([radius * np.sin(angle), radius * (1.0 - np.cos(angle))])
    out = np.column_stack([-length * share, np.full(len(share), 2.0 * radius)])
    back = np.column_stack([-length - radius * np.sin(angle), radius * (1.0 + np.cos(angle))])
    home = np.column_stack([-length * (1.0 - share), np.zeros(len(share))])
    line: FloatArray = np.concatenate([away, out, back, home, away[:1]]) * np.array([1.0, float(hold.turn)])
    return line
