"""The stages of a hold: the entry for the arrival course, the triple-drift rule and the exact wind correction.

References
----------
.. [1] FAA Aeronautical Information Manual 5-3-8 j: entries, timing, and three times the inbound drift outbound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from analyzer.brief.conditions import Conditions, LegAir
from analyzer.brief.leg_length import leg_read, read_words
from analyzer.brief.outbound_clock import StraightSeconds, outbound_timed, straight_seconds
from analyzer.brief.patterns import Pattern
from analyzer.brief.stages import Stage, fly_stages
from analyzer.brief.turn_toward import shorter
from analyzer.errors import BriefError
from analyzer.frozen import dataclass
from analyzer.nominal.circuit import Circuit
from analyzer.nominal.fly import Air, Straight, Turn
from analyzer.nominal.solve import solve
from analyzer.physics import holding
from analyzer.physics.units import DEG, NM, wrap
from analyzer.procedure.charted import Charted

__all__ = [
    "HoldNumbers",
    "circuit",
    "enter",
    "hold",
    "hold_air",
    "hold_numbers",
    "leg_seconds",
    "seconds_to_length",
]

_LONGEST_LEG_S = 900.0
_PARALLEL_CUT_RAD, _WIDEST_RAD = 45.0 * DEG, 45.0 * DEG


@dataclass(frozen=True)
class HoldNumbers:
    """The numbers of a circuit, solved in the wind and by the triple-drift rule.

    Attributes
    ----------
    entry, neighbours
        The entry for the heading at the fix, and other entries within 5 degrees of it.
    arrival_heading_rad : float
        True heading at the fix.
    inbound_s : float
        Time inbound: the standard one, or the one that results from a charted length.
    outbound_heading_rad, outbound_s : float
        True heading outbound and time on it from wings level, after which the turn rolls out on the inbound course.
    outbound_timed_s : float
        The same time from over or abeam the fix, whichever is later.
    drift_rad : float
        Drift inbound, positive to the right.
    triple_heading_rad : float
        True outbound heading by the rule.
    triple_off_m : float
        Distance right of the inbound course at the roll-out, by the rule and the standard time or charted length.
    """

    entry: str
    neighbours: tuple[str, ...]
    arrival_heading_rad: float
    inbound_s: float
    outbound_heading_rad: float
    outbound_s: float
    outbound_timed_s: float
    drift_rad: float
    triple_heading_rad: float
    triple_off_m: float


def hold_air(charted: Charted, conditions: Conditions) -> LegAir:
    """The air of a hold: for a published hold that of its leg, for one in lieu of a procedure turn that of the outbound leg."""
    return conditions.leg(charted, "hold" if charted.held is not None else "outbound")


def _turn(charted: Charted) -> int:
    if charted.turn is None:
        raise BriefError("the procedure does not chart the direction of turns of its hold")
    return charted.turn


def leg_seconds(charted: Charted, air: LegAir) -> float:
    """Time of a leg, as charted or by the altitude; for a charted length, its time inbound. [s]"""
    if charted.leg_time_s is not None:
        return charted.leg_time_s
    if charted.leg_length_m is not None:
        return charted.leg_length_m / air.hold_course(charted.inbound_true_rad)[1]
    return holding.usual_leg_s(air.altitude_m)


def _circuit(charted: Charted, air: LegAir, heading: float, seconds: float) -> tuple[Stage, ...]:
    home = air.hold_course(charted.inbound_true_rad)[0]
    turn = _turn(charted)
    return (
        Stage("entry_turn", "outbound", Turn(heading, turn, air.bank_rad), air),
        Stage("outbound", "outbound", Straight(seconds), air),
        Stage("reversal_turn", "reversal", Turn(home, turn, air.bank_rad), air),
    )


def seconds_to_length(charted: Charted, air: LegAir, first: Stage, start: float, length_m: float) -> float:
    """Time outbound after the first turn, flown from a heading at the fix, until the leg reads a length. [s]"""

    def short(seconds: float) -> float:
        end = _end((first, Stage("outbound", "outbound", Straight(seconds), air)), start)
        return leg_read(charted, *end, air.altitude_m) - length_m

    seconds = solve(short, 0.0, _LONGEST_LEG_S)
    if seconds is None:
        raise BriefError(
            f"the outbound leg does not come to {length_m / NM:.1f} NM {read_words(charted)} after its turn; fly slower, "
            "or use --bank"
        )
    return seconds


def circuit(charted: Charted, conditions: Conditions) -> tuple[Stage, ...]:
    """A circuit from the fix to the end of its turn inbound, with the outbound heading and time solved in the wind."""
    numbers = hold_numbers(charted, conditions)
    return _circuit(charted, hold_air(charted, conditions), numbers.outbound_heading_rad, numbers.outbound_s)


def hold_numbers(charted: Charted, conditions: Conditions) -> HoldNumbers:
    """The numbers of a circuit, and the entry for the arrival course (if none is given, for the inbound course)."""
    air = hold_air(charted, conditions)
    home, speed = air.hold_course(charted.inbound_true_rad)
    drift = float(wrap(charted.inbound_true_rad - home))
    outbound = charted.inbound_true_rad + math.pi
    triple = outbound + 3.0 * drift
    away = Stage("entry_turn", "outbound", Turn(triple, _turn(charted), air.bank_rad), air)
    if charted.leg_length_m is None:
        wanted = leg_seconds(charted, air)
        heading, seconds = _closing(charted, air, wanted)
        by_rule = straight_seconds(air, outbound, wanted, from_over=False)(away, home)
    else:
        heading, seconds, inbound_m = _by_length(charted, air, charted.leg_length_m)
        wanted = inbound_m / speed
        by_rule = seconds_to_length(charted, air, away, home, charted.leg_length_m)
    off = fly_stages(_circuit(charted, air, triple, by_rule), home).across_m(charted.inbound_true_rad)[-1]
    arrival = conditions.arrival_rad if conditions.arrival_rad is not None else charted.inbound_true_rad
    at_fix = air.hold_course(arrival)[0]
    margins = {e: holding.sector_margin(e, at_fix, charted.inbound_true_rad, _turn(charted)) for e in holding.ENTRIES}
    entry = max(margins, key=lambda name: margins[name])
    near = tuple(name for name, margin in margins.items() if name != entry and margin > -5.0 * DEG)
    path = fly_stages(_circuit(charted, air, heading, seconds), home)
    timed, _ = outbound_timed(path, outbound, path.ends[1], from_over=False)
    return HoldNumbers(entry, near, at_fix, wanted, heading, seconds, timed, drift, triple, float(off))


def _by_length(charted: Charted, air: LegAir, length_m: float) -> tuple[float, float, float]:
    """Heading and time outbound of a circuit by length, and the distance before the fix at its roll-out. [rad, s, m]"""
    course, home = charted.inbound_true_rad, air.hold_course(charted.inbound_true_rad)[0]
    outbound = course + math.pi

    def seconds(heading: float) -> float:
        first = Stage("entry_turn", "outbound", Turn(heading, _turn(charted), air.bank_rad), air)
        return seconds_to_length(charted, air, first, home, length_m)

    def across(heading: float) -> float:
        return float(fly_stages(_circuit(charted, air, heading, seconds(heading)), home).across_m(course)[-1])

    heading = solve(across, outbound - _WIDEST_RAD, outbound + _WIDEST_RAD)
    if heading is None:
        raise BriefError(
            f"no outbound heading brings a circuit of {length_m / NM:.1f} NM legs back onto the inbound course in this wind; "
            "fly faster, or give less --wind"
        )
    path = fly_stages(_circuit(charted, air, heading, seconds(heading)), home)
    before = -(float(path.north_m[-1]) * math.cos(course) + float(path.east_m[-1]) * math.sin(course))
    return heading, seconds(heading), before


def _closing(charted: Charted, air: LegAir, wanted_s: float) -> tuple[float, float]:
    """Heading and time outbound from which the circuit rolls out at the beginning of its inbound leg. [rad, s]"""
    home, _ = air.hold_course(charted.inbound_true_rad)
    flown_in = Air(air.true_airspeed_mps, *air.wind_north_east_mps)
    solution = Circuit(charted.inbound_true_rad, home, _turn(charted), air.bank_rad, air.bank_rad, flown_in).closing(wanted_s)
    if solution is None:
        raise BriefError(
            f"no outbound leg makes an inbound leg of {wanted_s:.0f} s in this wind: the wind carries the turns alone too far; "
            "fly faster, or give less --wind"
        )
    return solution


def hold(charted: Charted, conditions: Conditions, outbound_m: float) -> Pattern:
    """The entry of a hold, up to the end of the turn inbound.

    A leg charted by length is flown until it reads `outbound_m`, unless a time is asked for; other legs are flown for their
    time by the clock, which a debrief starts at the same instant.
    """
    numbers, air = hold_numbers(charted, conditions), hold_air(charted, conditions)
    if conditions.outbound_m is not None:
        raise BriefError("--outbound in miles does not apply to a hold, whose leg is charted; give seconds, such as 60s")
    timed = conditions.outbound_s if conditions.outbound_s is not None else leg_seconds(charted, air)
    if charted.leg_length_m is None or conditions.outbound_s is not None:
        outbound = charted.inbound_true_rad + math.pi
        return enter(charted, air, numbers, straight_seconds(air, outbound, timed, from_over=numbers.entry != "direct"))

    def to_length(entry: Stage, start: float) -> float:
        return seconds_to_length(charted, air, entry, start, outbound_m)

    return enter(charted, air, numbers, to_length)


def enter(charted: Charted, air: LegAir, numbers: HoldNumbers, straight: StraightSeconds) -> Pattern:
    """An entry up to the end of the turn inbound; `straight` gives the time outbound after the first turn.

    A direct entry is flown on the heading from which the turn rolls out on the inbound course, if there is one within 45
    degrees of outbound; a teardrop entry on a track 30 degrees into the hold; a parallel entry on the outbound track.
    """
    home, _ = air.hold_course(charted.inbound_true_rad)
    start, turn = numbers.arrival_heading_rad, _turn(charted)
    outbound = charted.inbound_true_rad + math.pi

    def stages(out: float) -> tuple[Stage, ...]:
        if numbers.entry == "direct":
            first, back, to = turn, turn, home
        elif numbers.entry == "teardrop":
            first, back, to = shorter(start, out), turn, home
        else:
            first, back, to = shorter(start, out), -turn, home - turn * _PARALLEL_CUT_RAD
        entry = Stage("entry_turn", "outbound", Turn(out, first, air.bank_rad), air)
        return (
            entry,
            Stage("outbound", "outbound", Straight(straight(entry, start)), air),
            Stage("reversal_turn", "reversal", Turn(to, back, air.bank_rad), air),
        )

    def across(out: float) -> float:
        return float(fly_stages(stages(out), start).across_m(charted.inbound_true_rad)[-1])

    out, solved = air.hold_course(outbound)[0], None
    if numbers.entry == "direct":
        heading = solve(across, outbound - _WIDEST_RAD, outbound + _WIDEST_RAD)
        out, solved = (heading, "outbound heading") if heading is not None else (out, None)
    elif numbers.entry == "teardrop":
        out = air.hold_course(outbound - turn * holding.TEARDROP_RAD)[0]
    return Pattern(f"hold-{numbers.entry}", stages(out), start, solved, across(out))


def _end(stages: Sequence[Stage], heading: float) -> tuple[float, float]:
    """End of some stages, north and east of the fix. [m]"""
    path = fly_stages(stages, heading)
    return float(path.north_m[-1]), float(path.east_m[-1])
