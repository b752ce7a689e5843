"""What a flight's last approach was, where no chart is at hand: courses that were kept are tried as charts of every kind."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

import numpy as np
from pydantic import ValidationError

from analyzer.checks.course import figure_of_course
from analyzer.draft.courses import inbound_courses
from analyzer.errors import LogError, ProcedureError
from analyzer.legs.find import find_reversals
from analyzer.legs.model import STRAIGHT_IN, Reversal
from analyzer.motion.model import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.physics import holding
from analyzer.physics.units import DEG, NM, wrap
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.faults import accepted_text
from analyzer.procedure.schema import Fix, Procedure
from analyzer.track.model import Track

__all__ = ["LIMIT_NM", "FixGiven", "explain", "fix_given", "hold_turn"]

LIMIT_NM = 10.0  # the common one; a log cannot tell it
_LEAST_DIVERGENCE_RAD, _MOST_DIVERGENCE_RAD = 8.0 * DEG, 50.0 * DEG  # of a base turn's courses
_ARRIVED_S = 15.0  # before the fix: the heading of arrival
_OPTION = {
    "latitude_deg": "--fix",
    "longitude_deg": "--fix",
    "name": "--name",
    "kind": "--kind",
    "variation_deg_east": "--variation",
}
# What explanations cost, beside how far they stray from the courses [rad]: a course that was hardly kept; a straight-in; a
# hold; each degree outside the sector of its entry; of a turn back beyond the course; a whole flight flown after.
_NOT_HELD_RAD, _SAYS_LITTLE_RAD, _HOLD_RAD, _OFF_SECTOR_SHARE, _TURNED_BEYOND_SHARE, _LEFT_OVER_RAD = (
    5.0 * DEG,
    30.0 * DEG,
    2.0 * DEG,
    0.2,
    0.1,
    10.0 * DEG,
)


@dataclass(frozen=True)
class FixGiven:
    """The fix as the user gives it; without a variation the magnetic model's is used."""

    latitude_deg: float
    longitude_deg: float
    name: str = "FIX"
    kind: str = "waypoint"
    variation_deg_east: float | None = None

    @property
    def table(self) -> dict[str, Any]:
        """``[fix]`` of a procedure file."""
        variation = {} if self.variation_deg_east is None else {"variation_deg_east": self.variation_deg_east}
        place = {"latitude_deg": self.latitude_deg, "longitude_deg": self.longitude_deg}
        return {"name": self.name, "kind": self.kind, **place, **variation}


def fix_given(place: str, name: str, kind: str, variation_deg_east: float | None) -> FixGiven:
    """The fix as it is given on the command line, the place as ``48.35,-24.7``. Raises `ProcedureError`."""
    latitude, comma, longitude = place.partition(",")
    try:
        fix = FixGiven(float(latitude), float(longitude), name, kind, variation_deg_east)
    except ValueError:
        fix = None
    if fix is None or not comma:
        raise ProcedureError(f"--fix {place}: must be latitude and longitude in decimal degrees, such as 48.35,-24.7")
    try:
        Fix.model_validate(fix.table)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        key = str(first["loc"][0])
        raise ProcedureError(f"{_OPTION[key]} {first['input']}: accepted: {accepted_text('fix', key)}") from None
    return fix


def explain(track: Track, fix: FixGiven) -> tuple[Motion, Reversal]:
    """The last approach of a flight to a fix, and the motion with the chart that explains it best.

    Raises
    ------
    LogError
        The flight flies no approach to the fix that is recognised.
    ProcedureError
        No magnetic model covers the place or date.
    """
    motion = analyse_motion(track, _on_the_day(track, _provisional(fix, 0.0, "procedure-turn")))
    courses = inbound_courses(motion.states)
    found = [pair for inbound in courses for pair in _explanations(motion, fix, inbound, courses)]
    if not found:
        nearest = float(motion.states.distance_m.min()) / NM
        raise LogError(
            f"{track.file}: no approach to {fix.latitude_deg:g},{fix.longitude_deg:g} is recognised, which the flight passes "
            f"at {nearest:.1f} NM; is --fix LAT,LON the fix that the reversal began from?"
        )
    return min(found, key=lambda pair: round(_cost(*pair), 9))


def _provisional(fix: FixGiven, inbound_deg: float, kind: str, turn: str = "right", outbound_deg: float = 0.0) -> Procedure:
    reversal: dict[str, Any] = {"kind": kind, "inbound_course_deg": inbound_deg % 360.0}
    if kind == "procedure-turn":
        reversal |= {"side": "left", "outbound_course_deg": (inbound_deg + 180.0) % 360.0, "within_nm": LIMIT_NM}
    elif kind == "hold":
        reversal |= {"turn": turn, "leg_time_s": 60.0}
    else:
        reversal |= {"turn": turn, "outbound_course_deg": outbound_deg % 360.0}
    return Procedure.model_validate({"title": "Draft", "fix": fix.table, "reversal": reversal})


def _explanations(
    motion: Motion, fix: FixGiven, inbound: float, courses: tuple[float, ...]
) -> Iterator[tuple[Motion, Reversal]]:
    """What the flight's last approach was, if this was the inbound course, by each kind of chart that it may have had."""
    east = motion.charted.variation.east_rad
    inbound_deg = (inbound - east) / DEG
    charts = [_provisional(fix, inbound_deg, "procedure-turn")]
    charts += [_provisional(fix, inbound_deg, "hold", turn) for turn in ("right", "left")]
    for other in courses:
        apart = float(wrap(other - inbound))  # of the outbound course from the reciprocal of the inbound one
        if _LEAST_DIVERGENCE_RAD < abs(apart) < _MOST_DIVERGENCE_RAD:
            turn = "left" if apart > 0.0 else "right"
            charts.append(_provisional(fix, inbound_deg, "base-turn", turn, (other - east) / DEG + 180.0))
    for procedure in charts:
        at = Motion(replace(motion.curves, charted=_on_the_day(motion.track, procedure)), motion.states)
        yield from ((at, reversal) for reversal in find_reversals(at)[-1:])


def _on_the_day(track: Track, procedure: Procedure) -> Charted:
    return resolve(procedure, datetime.fromtimestamp(float(track.time_s[0]), tz=UTC).date())


def _cost(motion: Motion, reversal: Reversal) -> float:
    """How badly an explanation fits: courses not kept, an entry that the heading did not call for, flight left unexplained."""
    held = figure_of_course(motion, reversal.last_part("inbound"), motion.charted.inbound_true_rad)
    cost = held.rms_rad if held is not None else _NOT_HELD_RAD
    if reversal.flown == STRAIGHT_IN:
        cost += _SAYS_LITTLE_RAD
    elif reversal.flown.startswith("hold"):
        cost += _off_sector(motion, reversal)
    elif reversal.flown != "arc":
        out = figure_of_course(motion, reversal.part("outbound"), motion.charted.outbound_true_rad)
        cost += out.rms_rad if out is not None else _NOT_HELD_RAD
    states = motion.states
    left_over = (float(states.time_s[-1]) - reversal.parts[-1].end_s) / float(states.time_s[-1] - states.time_s[0])
    return cost + _LEFT_OVER_RAD * left_over


def _off_sector(motion: Motion, reversal: Reversal) -> float:
    """What a hold costs: something, as its outbound leg keeps no course; the more the farther outside its entry's sector."""
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
    # the turn back from a parallel entry goes on through the course, which that of a direct entry comes out on
    beyond = max(0.0, _turned_back(motion, reversal) - math.pi) if entry == "direct" and circuits == 1 else 0.0
    return (
        beyond * _TURNED_BEYOND_SHARE + _HOLD_RAD + max(0.0, -margin) * _OFF_SECTOR_SHARE + (_HOLD_RAD if as_base_turn else 0.0)
    )


def _turned_back(motion: Motion, reversal: Reversal) -> float:
    """How far the turn back to the inbound course went. [rad]"""
    part = reversal.part("reversal_turn")
    if part is None:
        return 0.0
    track = np.unwrap(motion.states.between(part.start_s, part.end_s).track_rad)
    return abs(float(track[-1] - track[0])) if len(track) else 0.0


def hold_turn(reversal: Reversal) -> int | None:
    """Direction of the turns of a hold: that of its circuits, against which a parallel entry turns back."""
    if reversal.turn is None:
        return None
    return -reversal.turn if reversal.flown == "hold-parallel" else reversal.turn
