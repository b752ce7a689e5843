"""The cost of an explanation of a flight: courses not kept, and what it leaves unexplained."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.course_deviation import figure_of_course
from analyzer.legs.reversal import STRAIGHT_IN, Reversal
from analyzer.motion.motion import Motion
from analyzer.physics import holding
from analyzer.physics.units import DEG, unwrapped

__all__ = ["cost_rad", "hold_turn"]

_ARRIVED_S = 15.0  # before the fix: the heading of arrival
# Costs in addition to the deviation from the courses [rad]: a course that was hardly kept; a straight-in; a hold; and the
# shares that count of an angle outside the sector of the entry, and of a turn back beyond the course.
_NOT_HELD_RAD, _SAYS_LITTLE_RAD, _HOLD_RAD, _OFF_SECTOR_SHARE, _TURNED_BEYOND_SHARE = (
    5.0 * DEG,
    30.0 * DEG,
    2.0 * DEG,
    0.2,
    0.1,
)


def cost_rad(motion: Motion, reversal: Reversal) -> float:
    """How badly an explanation fits: courses not kept, and an entry that the heading did not call for. [rad]"""
    figure = figure_of_course(motion, reversal.last_part("inbound"), motion.charted.inbound_true_rad)
    cost = figure.rms_rad if figure is not None else _NOT_HELD_RAD
    if reversal.flown == STRAIGHT_IN:
        cost += _SAYS_LITTLE_RAD
    elif reversal.flown.startswith("hold"):
        cost += _off_sector(motion, reversal)
    elif reversal.flown != "arc":
        out = figure_of_course(motion, reversal.part("outbound"), motion.charted.outbound_true_rad)
        cost += out.rms_rad if out is not None else _NOT_HELD_RAD
    return cost


def _off_sector(motion: Motion, reversal: Reversal) -> float:
    """Cost of a hold: a constant, as its outbound leg keeps no course, and more the farther outside its entry's sector."""
    passage, turn = reversal.passage("outbound"), hold_turn(reversal)
    if passage is None or turn is None:
        return _NOT_HELD_RAD
    heading = float(
        motion.curves.at(np.array([max(passage.time_s - _ARRIVED_S, float(motion.states.time_s[0]))])).heading_rad[0]
    )
    entry = reversal.flown.removeprefix("hold-")
    margin = holding.sector_margin(entry, heading, motion.charted.inbound_true_rad, turn)
    circuits = sum(part.name == "entry_turn" for part in reversal.parts)
    as_base_turn = entry == "teardrop" and circuits == 1
    # the turn back of a direct entry rolls out on the course, that of a parallel entry continues through it
    beyond = max(0.0, _turned_back(motion, reversal) - math.pi) if entry == "direct" and circuits == 1 else 0.0
    return (
        beyond * _TURNED_BEYOND_SHARE + _HOLD_RAD + max(0.0, -margin) * _OFF_SECTOR_SHARE + (_HOLD_RAD if as_base_turn else 0.0)
    )


def _turned_back(motion: Motion, reversal: Reversal) -> float:
    """The angle of the turn back to the inbound course. [rad]"""
    part = reversal.part("reversal_turn")
    if part is None:
        return 0.0
    track = unwrapped(motion.states.between(part.start_s, part.end_s).track_rad)
    return abs(float(track[-1] - track[0])) if len(track) else 0.0


def hold_turn(reversal: Reversal) -> int | None:
    """Direction of the turns in the circuits of a hold; a parallel entry turns back the other way."""
    if reversal.turn is None:
        return None
    return -reversal.turn if reversal.flown == "hold-parallel" else reversal.turn
