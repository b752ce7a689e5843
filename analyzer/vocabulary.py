"""The names that the program goes by: legs, parts, shapes, checks and verdicts, one table each.

They stand in files, JSON and reports, and are typed, so that a name that is misspelt does not pass the type check.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, TypeAlias, get_args

__all__ = [
    "CHECK_NAMES",
    "FLOWN_LEGS",
    "LEGS",
    "LEG_OF_PART",
    "SHAPE_NAMES",
    "AltitudeReference",
    "CheckName",
    "Ending",
    "Entry",
    "Leg",
    "PartName",
    "ShapeName",
    "Verdict",
]

# Legs in the order flown, and those of them that a chart gives altitudes and speeds for.
Leg: TypeAlias = Literal["arrival", "outbound", "reversal", "inbound", "final", "missed", "hold"]
FLOWN_LEGS: tuple[Leg, ...] = get_args(Leg)
LEGS: tuple[Leg, ...] = ("arrival", "outbound", "reversal", "inbound", "final")

PartName: TypeAlias = Literal[
    "arrival",
    "outbound_turn",
    "entry_turn",
    "outbound",
    "offset_turn",
    "offset_leg",
    "reversal_turn",
    "intercept",
    "arc_turn",
    "arc",
    "inbound",
    "final",
    "missed",
    "turn_inbound",
]
LEG_OF_PART: Mapping[PartName, Leg] = {
    "arrival": "arrival",
    "outbound_turn": "outbound",
    "entry_turn": "outbound",
    "outbound": "outbound",
    "offset_turn": "reversal",
    "offset_leg": "reversal",
    "reversal_turn": "reversal",
    "intercept": "reversal",
    "arc_turn": "outbound",
    "arc": "outbound",
    "inbound": "inbound",
    "final": "final",
    "missed": "missed",
    "turn_inbound": "hold",
}

ShapeName: TypeAlias = Literal[
    "45/180", "80/260", "base-turn", "hold-direct", "hold-teardrop", "hold-parallel", "arc", "straight-in"
]
SHAPE_NAMES: tuple[ShapeName, ...] = get_args(ShapeName)

# What the altitudes of a log count from.
AltitudeReference: TypeAlias = Literal[
    "mean sea level",
    "pressure altitude",
    "pressure altitude, QNH applied",
    "indicated altitude",
    "ellipsoid",
    "unknown",
]

# What a debrief has entries of.
Entry: TypeAlias = Literal["approach", "hold"]

# What the final leg ends in.
Ending: TypeAlias = Literal["reached the runway", "climbed away", "turned away", "log breaks off", "log ends"]

Verdict: TypeAlias = Literal["inside", "outside", "too close to call", "not assessed"]

# Checks in the order that they are reported.
CheckName: TypeAlias = Literal[
    "distance_limit",
    "reversal_side",
    "no_reversal",
    "reversal_shape",
    "entry_sector",
    "established",
    "minimum_altitude",
    "step_down",
    "altitude_floor",
    "maximum_altitude",
    "missed_point",
    "missed_climb",
    "missed_turn",
    "missed_course",
    "missed_altitude",
    "descent_timing",
    "altitude_hold",
    "outbound_course",
    "inbound_course",
    "final_course",
    "outbound_length",
    "leg_limit",
    "descent_rate",
    "offset_heading",
    "offset_time",
    "turn_bank",
    "average_bank",
    "turn_rate",
    "intercept",
    "speed_limit",
    "target_speed",
    "station_passage",
    "hold_entry",
    "hold_timing",
    "hold_turn",
    "hold_course",
    "hold_altitude",
    "hold_drift",
    "arc_radius",
    "final_alignment",
    "glide_path",
    "stabilised_descent",
]
CHECK_NAMES: tuple[CheckName, ...] = get_args(CheckName)
