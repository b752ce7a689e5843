"""The altitudes of a plan: each leg's minimum is made steadily over the leg, at no more than a normal rate of descent.

A minimum is at or above: what a leg is too short for is left to the next one, and said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.brief.stages import Stage
from analyzer.nominal.fly import Path
from analyzer.physics.units import FPM, FT, FloatArray
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import Leg

__all__ = ["NORMAL_MPS", "Profile", "Short", "descend", "over_threshold"]

NORMAL_MPS = 1000.0 * FPM  # FAA-H-8083-16B ch. 4, of the last thousand feet; taken for all legs here
_CROSSING_M = 50.0 * FT
_MADE_M = 1.0


@dataclass(frozen=True)
class Short:
    """A leg that is too short for its descent: what it would have to lose, in how long, and what is left at its end.

    `steadily` tells that the final leg takes the rest, in one steady descent from established to the threshold.
    """

    leg: Leg
    seconds: float
    fall_m: float
    left_m: float
    steadily: bool = False


@dataclass(frozen=True, eq=False)
class Profile:
    """Altitude at every node of a path, NaN where none is charted, and the legs that are too short for their descent."""

    altitude_m: FloatArray
    shorts: tuple[Short, ...] = ()


@dataclass(frozen=True)
class _Run:
    """Stages of one leg that follow one another: seconds, the node that they end at, and whether a further circuit follows."""

    leg: Leg
    seconds: float
    end: int
    rounds: bool


def descend(charted: Charted, stages: Sequence[Stage], path: Path) -> Profile:
    """The altitudes of a path. Before a further circuit nothing goes below the minimum of its outbound leg."""
    floors = charted.levels_m
    if not floors:
        return Profile(np.full(len(path.time_s), np.nan))
    now = floors.get("arrival", floors.get("outbound", floors.get("reversal", next(iter(floors.values())))))
    nodes, heights, shorts = [0], [now], []
    runs = _runs(stages, path)
    for run, follows in zip(runs, [*runs[1:], None], strict=True):
        wanted = _wanted(charted, run, now)
        reached, steadily = max(wanted, now - NORMAL_MPS * run.seconds), False
        if reached > wanted + _MADE_M:
            if run.leg == "inbound" and follows is not None and follows.leg == "final":
                rate = (now - over_threshold(charted)) / (run.seconds + follows.seconds)
                steadily = rate <= NORMAL_MPS
                reached = now - rate * run.seconds if steadily else reached
            shorts.append(Short(run.leg, run.seconds, now - wanted, reached - wanted, steadily))
        now = reached
        if run.end > nodes[-1]:
            nodes.append(run.end)
            heights.append(now)
    altitude: FloatArray = np.interp(path.time_s, path.time_s[nodes], heights)
    return Profile(altitude, tuple(shorts))


def _wanted(charted: Charted, run: _Run, now: float) -> float:
    if run.leg == "final":
        return min(now, over_threshold(charted))
    floor = charted.levels_m.get("outbound" if run.rounds else run.leg, now)
    return min(now, floor)


def _runs(stages: Sequence[Stage], path: Path) -> list[_Run]:
    runs: list[_Run] = []
    begun, legs = 0, [stage.leg for stage in stages]
    for k, (leg, end) in enumerate(zip(legs, path.ends, strict=True)):
        if legs[k + 1 : k + 2] != [leg]:
            rounds = leg in ("reversal", "inbound") and "outbound" in legs[k + 1 :]
            runs.append(_Run(leg, float(path.time_s[end] - path.time_s[begun]), end, rounds))
            begun = end
    return runs


def over_threshold(charted: Charted) -> float:
    """Altitude over the threshold: the charted crossing height, else 50 ft."""
    if charted.runway is None:
        raise ValueError("a threshold is asked for, and no runway is charted")
    crossing = charted.threshold_crossing_height_m
    return charted.runway.elevation_m + (crossing if crossing is not None else _CROSSING_M)
