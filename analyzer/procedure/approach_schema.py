"""The tables of a procedure file outside the reversal: fixes, minimums, missed approach, holds, arrivals, speeds, DME.

Each checks its own keys; combinations of keys are checked by `contradictions`.
"""

from typing import Annotated, Literal

from pydantic import Field

from analyzer.procedure.values import (
    AltitudeUnit,
    Categories,
    Course,
    Direction,
    Elevation,
    FixRole,
    Floor,
    Latitude,
    LegLength,
    LegTime,
    Line,
    Longitude,
    MinimumKind,
    Speed,
    Table,
    Text,
    VariationEast,
)

__all__ = [
    "ArrivalTable",
    "DmeTable",
    "FixTable",
    "HoldTable",
    "MinimumLine",
    "MinimumTable",
    "MissedApproachTable",
    "Speeds",
    "Units",
]


class Units(Table):
    """``units``: the unit that altitudes, elevations and heights are written in."""

    altitude: AltitudeUnit = "ft"


class FixTable(Table):
    """``[[fixes]]``: a fix along the final course, at a distance, a position or a DME reading."""

    name: Text
    role: FixRole
    distance_nm: Annotated[float, Field(ge=-50, le=50, description="nautical miles from -50 to 50")] | None = None
    latitude_deg: Latitude | None = None
    longitude_deg: Longitude | None = None
    dme_nm: Annotated[float, Field(ge=0, le=200, description="nautical miles from 0 to 200")] | None = None
    course_deg: Course | None = None
    minimum_ft: Floor | None = None
    maximum_ft: Floor | None = None


class MinimumTable(Table):
    """``[minimum]``: the one minimum of the procedure."""

    kind: MinimumKind
    altitude_ft: Floor
    visual_descent_point_nm: (
        Annotated[float, Field(ge=0.1, le=10, description="nautical miles before the threshold, from 0.1 to 10")] | None
    ) = None


class MinimumLine(MinimumTable):
    """``[[minimums]]``: one of several lines of minimums."""

    line: Line = "straight-in"
    category: Categories | None = None


class MissedApproachTable(Table):
    """``[missed_approach]``: where it begins, the climb, the turn, and where it leads."""

    time_s: Annotated[float, Field(ge=10, le=900, description="seconds from 10 to 900")] | None = None
    time_at_kt: Annotated[float, Field(ge=40, le=400, description="knots from 40 to 400")] | None = None
    climb_ft: Floor | None = None
    turn: Direction | None = None
    course_deg: Course | None = None
    to: Text | None = None
    altitude_ft: Floor | None = None


class HoldTable(Table):
    """``[[holds]]``: a published hold; without a position it is at the fix of its name."""

    name: Text
    role: Literal["missed-approach", "published"] = "published"
    latitude_deg: Latitude | None = None
    longitude_deg: Longitude | None = None
    inbound_course_deg: Course
    turn: Direction
    leg_time_s: LegTime | None = None
    leg_length_nm: LegLength | None = None
    leg_by: Literal["dme", "along-track"] | None = None
    minimum_ft: Floor | None = None
    maximum_ft: Floor | None = None
    maximum_speed_kias: Speed | None = None
    category: Categories | None = None
    variation_deg_east: VariationEast | None = None


class Speeds(Table):
    """``[speeds]``: target speeds by leg, knots indicated."""

    arrival: Speed | None = None
    outbound: Speed | None = None
    reversal: Speed | None = None
    inbound: Speed | None = None
    final: Speed | None = None
    missed: Speed | None = None
    hold: Speed | None = None


class DmeTable(Table):
    """``[dme]``: a station apart from the fix that distances are read from."""

    name: Text
    latitude_deg: Latitude
    longitude_deg: Longitude
    elevation_ft: Elevation = 0.0


class ArrivalTable(Table):
    """``[[arrivals]]``: a route to the reversal fix; without `reversal` it is charted NoPT."""

    name: Text
    course_deg: Course
    minimum_ft: Floor | None = None
    reversal: bool = True
