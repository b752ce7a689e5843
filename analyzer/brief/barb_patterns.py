"""The racetrack and the teardrop under a barb, where the kind of turn is the pilot's choice (AIM 5-4-9 a.1).

Both lie on the charted side of the outbound course and turn back the same way as the procedure turn. They are solved for the
outbound heading from which the turn back rolls out on the inbound course.
"""

from __future__ import annotations

import math

from analyzer.brief.conditions import Conditions, LegAir
from analyzer.brief.patterns import Pattern
from analyzer.brief.stages import Stage, fly_stages
from analyzer.errors import BriefError
from analyzer.frozen import dataclass
from analyzer.nominal.fly import Straight, Turn
from analyzer.nominal.solve import solve
from analyzer.physics import holding
from analyzer.physics.units import DEG, bearing_text, wrap
from analyzer.procedure.charted import Charted

__all__ = ["USUAL_OUTBOUND_S", "TeardropRule", "racetrack", "refuse_roundabout", "teardrop", "teardrop_rule"]

USUAL_OUTBOUND_S = 120.0  # one to three minutes are flown (ICAO Doc 8168 Vol II, I-4-3 3.4.4; FAA-H-8083-15B ch. 7)
_WIDEST_RAD = 45.0 * DEG  # between the outbound heading of a racetrack and the outbound course, for the wind
_NARROWEST_OFF_RAD, _WIDEST_OFF_RAD = 3.0 * DEG, 60.0 * DEG  # between a teardrop's outbound track and the outbound course
_RULE_S = (60.0, 180.0)  # outbound times for which the handbook gives an angle
_NO_TURN_RAD = 0.5 * DEG
_EITHER_WAY_RAD = 150.0 * DEG  # a turn over the fix of more may lead either way round
_USUAL_OFF_RAD = 30.0 * DEG


@dataclass(frozen=True)
class TeardropRule:
    """A teardrop by the handbook's angle off the outbound course, without correction for the wind.

    `off_m` is the distance right of the inbound course at which its turn back rolls out.

    References
    ----------
    .. [1] FAA-H-8083-15B ch. 7: 30 degrees off for 1 minute, 20 for 2, 10 for 3.
    """

    angle_rad: float
    heading_rad: float
    off_m: float


def racetrack(charted: Charted, conditions: Conditions, outbound_m: float) -> Pattern:
    """A racetrack: a turn over the fix onto the outbound heading, out for a time or a length, and a turn back the same way.

    Without an arrival course the fix is reached on the inbound course.

    Raises
    ------
    BriefError
        The arrival is from a direction in which the entry of a hold would not be direct.
    """
    air, around, turn = conditions.leg(charted, "outbound"), conditions.leg(charted, "reversal"), _turn(charted)
    inbound, outbound = charted.inbound_true_rad, charted.outbound_true_rad
    arrival = conditions.arrival_rad if conditions.arrival_rad is not None else inbound
    start = air.hold_course(arrival)[0]
    entry = holding.entry_for(start, inbound, turn)
    if entry != "direct":
        course = bearing_text(arrival - charted.variation.east_rad)
        raise BriefError(
            f"--shape racetrack: from course {course} no turn over the fix leads onto its outbound leg; fly --shape "
            f"{'teardrop' if entry == 'teardrop' else '45/180'}"
        )
    home = around.hold_course(inbound)[0]

    def stages(heading: float) -> tuple[Stage, ...]:
        return (
            Stage("entry_turn", "outbound", Turn(heading, turn, air.bank_rad), air),
            Stage("outbound", "outbound", Straight(_seconds(conditions, air, heading, outbound_m)), air),
            Stage("reversal_turn", "reversal", Turn(home, turn, around.bank_rad), around),
        )

    def across(heading: float) -> float:
        return float(fly_stages(stages(heading), start).across_m(inbound)[-1])

    solution = solve(across, outbound - _WIDEST_RAD, outbound + _WIDEST_RAD)
    heading = solution if solution is not None else air.hold_course(outbound)[0]
    solved = "outbound heading" if solution is not None else None
    return Pattern("racetrack", stages(heading), start, solved, across(heading))


def teardrop(charted: Charted, conditions: Conditions, outbound_m: float) -> Pattern:
    """A teardrop: out on a heading off the outbound course, on the charted side, and a turn back onto the inbound course.

    With an arrival course, a turn onto that heading begins over the fix, the shorter way.
    """
    air, side = conditions.leg(charted, "outbound"), -_turn(charted)

    def heading_for(angle: float) -> float:
        return air.hold_course(charted.outbound_true_rad + side * angle)[0]

    def across(angle: float) -> float:
        stages, start = _teardrop_stages(charted, conditions, outbound_m, heading_for(angle))
        return float(fly_stages(stages, start).across_m(charted.inbound_true_rad)[-1])

    solution = solve(across, _NARROWEST_OFF_RAD, _WIDEST_OFF_RAD)
    angle = solution if solution is not None else _USUAL_OFF_RAD
    stages, start = _teardrop_stages(charted, conditions, outbound_m, heading_for(angle))
    return Pattern("teardrop", stages, start, "outbound heading" if solution is not None else None, across(angle))


def refuse_roundabout(charted: Charted, conditions: Conditions, pattern: Pattern) -> None:
    """Raise `BriefError` for a teardrop from an arrival course whose turn over the fix leads out along a racetrack."""
    arrival = conditions.arrival_rad
    if pattern.shape != "teardrop" or pattern.solved is not None or arrival is None:
        return
    air = conditions.leg(charted, "outbound")
    if holding.entry_for(air.hold_course(arrival)[0], charted.inbound_true_rad, _turn(charted)) == "direct":
        course = bearing_text(arrival - charted.variation.east_rad)
        raise BriefError(
            f"--shape teardrop: from course {course} the turn over the fix leads too far off the outbound course; fly --shape "
            "racetrack"
        )


def teardrop_rule(charted: Charted, conditions: Conditions, outbound_s: float) -> TeardropRule | None:
    """The handbook's teardrop for an outbound time, interpolated between minutes; None outside one to three minutes."""
    if not _RULE_S[0] <= round(outbound_s, 1) <= _RULE_S[1]:  # a minute found by a search may be a hair off
        return None
    angle = (40.0 - 10.0 * outbound_s / 60.0) * DEG
    heading = charted.outbound_true_rad - _turn(charted) * angle
    stages, start = _teardrop_stages(charted, conditions, 0.0, heading, outbound_s)
    off = float(fly_stages(stages, start).across_m(charted.inbound_true_rad)[-1])
    return TeardropRule(angle, heading, off)


def _teardrop_stages(
    charted: Charted, conditions: Conditions, outbound_m: float, heading: float, seconds: float | None = None
) -> tuple[tuple[Stage, ...], float]:
    """The stages of a teardrop out on a heading, and the heading at the fix."""
    air, around = conditions.leg(charted, "outbound"), conditions.leg(charted, "reversal")
    home, turn = around.hold_course(charted.inbound_true_rad)[0], _turn(charted)
    if seconds is None:
        seconds = _seconds(conditions, air, heading, outbound_m)
    stages: tuple[Stage, ...] = (
        Stage("outbound", "outbound", Straight(seconds), air),
        Stage("reversal_turn", "reversal", Turn(home, turn, around.bank_rad), around),
    )
    if conditions.arrival_rad is None:
        return stages, heading
    start = air.hold_course(conditions.arrival_rad)[0]
    change = float(wrap(heading - start))
    if abs(change) < _NO_TURN_RAD:
        return stages, heading
    if abs(change) > _EITHER_WAY_RAD:  # as at the usual angle, so that the search for another meets no jump at half a circle
        usual = charted.outbound_true_rad - turn * _USUAL_OFF_RAD
        change = float(wrap(air.hold_course(usual)[0] - start))
    onto = Stage("outbound_turn", "outbound", Turn(heading, 1 if change > 0.0 else -1, air.bank_rad), air)
    return (onto, *stages), start


def _seconds(conditions: Conditions, air: LegAir, heading: float, outbound_m: float) -> float:
    """Time outbound on a heading: as asked for, or for a length over the ground."""
    if conditions.outbound_s is not None:
        return conditions.outbound_s
    north, east = air.wind_north_east_mps
    speed = math.hypot(air.true_airspeed_mps * math.cos(heading) + north, air.true_airspeed_mps * math.sin(heading) + east)
    return (conditions.outbound_m if conditions.outbound_m is not None else outbound_m) / speed


def _turn(charted: Charted) -> int:
    """Direction of the turn back: to the left if it is on the right of the outbound course, and vice versa."""
    if charted.turn is None:
        raise BriefError("the procedure charts no side to manoeuvre on")
    return charted.turn
