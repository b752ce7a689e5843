"""Stages: the parts of a pattern with the air of their leg, and the path they make one after the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.brief.conditions import LegAir
from analyzer.brief.gates import Gate
from analyzer.frozen import dataclass
from analyzer.nominal.arc import Arc, fly_arc
from analyzer.nominal.fly import Air, Path, Straight, Turn, fly
from analyzer.vocabulary import Leg, PartName

__all__ = ["Stage", "fly_stages"]


@dataclass(frozen=True)
class Stage:
    """A part to be flown: its name and leg, the manoeuvre, and its air.

    `course_rad` is the true course of a straight part, if it holds one. `gate` is the gate that a part after established leads
    to.
    """

    part: PartName
    leg: Leg
    segment: Straight | Turn | Arc
    air: LegAir
    course_rad: float | None = None
    gate: Gate | None = None


def fly_stages(stages: Sequence[Stage], heading_rad: float, start_m: tuple[float, float] = (0.0, 0.0)) -> Path:
    """The path of some stages; its `ends` has one node for each. Headings step between straight parts in different air."""
    times, norths, easts, headings, ends = [np.zeros(1)], [np.array([start_m[0]])], [np.array([start_m[1]])], [], []
    now, place, clock, nodes = heading_rad, start_m, 0.0, 1
    headings.append(np.array([heading_rad]))
    for stage in stages:
        air = Air(stage.air.true_airspeed_mps, *stage.air.wind_north_east_mps)
        if isinstance(stage.segment, Straight) and stage.course_rad is not None:
            now, _ = stage.air.hold_course(stage.course_rad)
        segment = stage.segment
        path = fly_arc(segment, air, place) if isinstance(segment, Arc) else fly([segment], air, now, place)
        times.append(clock + path.time_s[1:])
        norths.append(path.north_m[1:])
        easts.append(path.east_m[1:])
        headings.append(path.heading_rad[1:])
        now, clock = float(path.heading_rad[-1]), clock + float(path.time_s[-1])
        place = float(path.north_m[-1]), float(path.east_m[-1])
        nodes += len(path.time_s) - 1
        ends.append(nodes - 1)
    return Path(np.concatenate(times), np.concatenate(norths), np.concatenate(easts), np.concatenate(headings), tuple(ends))
