"""The parts of a plan: each stage with its figures on the path."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from analyzer.brief.conditions import LegAir
from analyzer.brief.stages import Stage
from analyzer.frozen import dataclass
from analyzer.nominal.fly import Path, Straight, Turn
from analyzer.physics.units import FloatArray
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import Leg, PartName

__all__ = ["PlannedPart", "planned_parts"]


@dataclass(frozen=True)
class PlannedPart:
    """A part as planned. Angles are true; `bank_rad` and `turn` (+1 right) are None in a straight part."""

    part: PartName
    leg: Leg
    heading_rad: float
    course_rad: float | None
    air: LegAir
    ground_speed_mps: float
    seconds: float
    length_m: float
    bank_rad: float | None
    turn: int | None
    altitude_start_m: float
    altitude_end_m: float
    end_distance_m: float
    end_slant_m: float

    @property
    def descent_mps(self) -> float:
        """Mean rate of descent. [m/s]"""
        return (self.altitude_start_m - self.altitude_end_m) / self.seconds if self.seconds > 0.0 else 0.0


def planned_parts(charted: Charted, stages: Sequence[Stage], path: Path, altitude_m: FloatArray) -> tuple[PlannedPart, ...]:
    """The parts of some stages, from their path and the altitude at each of its nodes."""
    parts, first = [], 0
    for stage, end in zip(stages, path.ends, strict=True):
        seconds = float(path.time_s[end] - path.time_s[first])
        steps = np.hypot(np.diff(path.north_m[first : end + 1]), np.diff(path.east_m[first : end + 1]))
        distance = float(np.hypot(path.north_m[end], path.east_m[end]))
        height = float(altitude_m[end]) - charted.fix_elevation_m
        north, east = (float(v[end] - v[first]) for v in (path.north_m, path.east_m))
        straight, heading = isinstance(stage.segment, Straight), float(path.heading_rad[end])
        parts.append(
            PlannedPart(
                part=stage.part,
                leg=stage.leg,
                heading_rad=heading,
                course_rad=math.atan2(east, north) if straight and seconds > 0.0 else None,
                air=stage.air,
                ground_speed_mps=float(steps.sum()) / seconds if seconds > 0.0 else _ground_speed(stage.air, heading),
                seconds=seconds,
                length_m=float(steps.sum()),
                bank_rad=stage.segment.bank_rad if isinstance(stage.segment, Turn) else None,
                turn=stage.segment.direction if isinstance(stage.segment, Turn) else None,
                altitude_start_m=float(altitude_m[first]),
                altitude_end_m=float(altitude_m[end]),
                end_distance_m=distance,
                end_slant_m=math.hypot(distance, height) if math.isfinite(height) else math.nan,
            )
        )
        first = end
    return tuple(parts)


def _ground_speed(air: LegAir, heading_rad: float) -> float:
    """The ground speed on a heading, for a part of no length, as an offset leg that the wind leaves no time for. [m/s]"""
    along = air.true_airspeed_mps - air.wind_mps * math.cos(air.wind_from_rad - heading_rad)
    return math.hypot(along, air.wind_mps * math.sin(air.wind_from_rad - heading_rad))
