"""What is charted besides the reversal, resolved: guidance, runway, fixes, minimums, missed approach, holds, arrivals, DME.

Values only, in SI and true radians; None where nothing is charted. `charted.Charted` holds them.
"""

from typing import Literal

from analyzer.frozen import dataclass
from analyzer.procedure.values import FixRole, Line, MinimumKind

__all__ = [
    "ChartedArrival",
    "ChartedFix",
    "Dme",
    "Guidance",
    "Minimum",
    "MissedApproach",
    "PublishedHold",
    "Runway",
]


@dataclass(frozen=True)
class Guidance:
    """What the course is flown by.

    Angular kinds (``vor``, ``localizer``, ``ndb``) have `full_scale_rad`, measured at the position; ``gps`` has `full_scale_m`,
    and on the final leg `full_scale_final_m`. All are full deflection to one side.
    """

    kind: str
    latitude_rad: float
    longitude_rad: float
    full_scale_rad: float | None = None
    full_scale_m: float | None = None
    full_scale_final_m: float | None = None


@dataclass(frozen=True)
class Runway:
    """The landing runway, by its threshold; `heading_rad` is true."""

    name: str
    latitude_rad: float
    longitude_rad: float
    elevation_m: float
    heading_rad: float
    length_m: float | None = None


@dataclass(frozen=True)
class ChartedFix:
    """A fix along the final course.

    `along_m` is its place along the inbound course from the reversal fix, positive inbound: negative before it. The course is
    that of the segment that leads to the fix. The aircraft stays at or above `minimum_m` until the fix is passed, and passes
    it at or below `maximum_m`. `assigned` says that the minimum is an altitude that was assigned.
    """

    name: str
    role: FixRole
    latitude_rad: float
    longitude_rad: float
    along_m: float
    course_true_rad: float
    minimum_m: float | None
    maximum_m: float | None
    assigned: bool = False


@dataclass(frozen=True)
class Minimum:
    """A minimum of the approach; `category` as charted, None where it holds for all.

    `visual_descent_point_m` is its distance before the threshold.
    """

    kind: MinimumKind
    altitude_m: float
    line: Line
    category: str | None
    visual_descent_point_m: float | None


@dataclass(frozen=True)
class MissedApproach:
    """The missed approach: when it begins by time, at `time_at_mps` of ground speed; its climb before a turn; where it leads.

    `turn` is +1 to the right and -1 to the left, None straight ahead. It leads on a course, or direct to the fix or hold `to`.
    """

    time_s: float | None
    time_at_mps: float | None
    climb_m: float | None
    turn: int | None
    course_true_rad: float | None
    to: str | None
    altitude_m: float | None


@dataclass(frozen=True)
class PublishedHold:
    """A published hold, for all categories where `category` is None; `turn` is +1 to the right and -1 to the left."""

    name: str
    role: Literal["missed-approach", "published"]
    latitude_rad: float
    longitude_rad: float
    inbound_true_rad: float
    turn: int
    leg_time_s: float | None
    leg_length_m: float | None
    leg_by: Literal["dme", "along-track"] | None
    minimum_m: float | None
    maximum_m: float | None
    maximum_speed_mps: float | None
    category: str | None


@dataclass(frozen=True)
class Dme:
    """The station that distances are read from."""

    name: str
    latitude_rad: float
    longitude_rad: float
    elevation_m: float


@dataclass(frozen=True)
class ChartedArrival:
    """A route to the reversal fix; `reversal` is False where it is charted NoPT."""

    name: str
    course_true_rad: float
    minimum_m: float | None
    reversal: bool
