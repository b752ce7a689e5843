"""A published hold in the wind, lap by lap: the entry, and the laps that follow it.

A hold is flown as if nothing else were charted, as it is debriefed. The outbound leg of a direct entry and of further laps is
timed from over or abeam the fix, whichever is later; that of a parallel or teardrop entry from over the fix.

References
----------
.. [1] FAA Aeronautical Information Manual 5-3-8 j: entries, timing, drift, maximum speeds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal, TypeAlias

from analyzer.brief.conditions import Conditions, LegAir
from analyzer.brief.hold_pattern import (
    HoldNumbers,
    circuit,
    enter,
    hold_air,
    hold_numbers,
    leg_seconds,
    seconds_to_length,
)
from analyzer.brief.outbound_clock import StraightSeconds, TimedFrom, outbound_timed, straight_seconds
from analyzer.brief.patterns import Pattern
from analyzer.brief.stages import Stage, fly_stages
from analyzer.brief.turn_toward import turn_toward
from analyzer.brief.way_to_runway import CUTS_RAD, to_established
from analyzer.errors import BriefError
from analyzer.frozen import dataclass
from analyzer.legs.held import hold_chart
from analyzer.nominal.fly import Path, Straight, Turn
from analyzer.physics import holding
from analyzer.physics.units import DEG, KT
from analyzer.procedure.approach import PublishedHold
from analyzer.procedure.charted import Charted

__all__ = ["HoldLaps", "Joined", "Lap", "TimedFrom", "hold_laps", "hold_level_m"]

Joined: TypeAlias = Literal["on the course", "by an intercept", "direct to the fix"]

_STEEP_RAD = 45.0 * DEG  # intercept angle of a parallel entry


@dataclass(frozen=True, eq=False)
class Lap:
    """A lap of a hold. Headings are true.

    Attributes
    ----------
    number : int
        1 is the entry.
    turn, turn_back : int
        Directions of the turn at the fix and the turn back, +1 right.
    outbound_heading_rad, back_heading_rad, inbound_heading_rad : float
        Headings outbound, at the end of the turn back, and inbound.
    outbound_s, timed_from
        Time of the outbound leg, and where it is timed from.
    level_s : float
        Time outbound from wings level.
    length_m : float
        Distance of the end of the outbound leg from the fix, over the ground.
    joined : str
        How the inbound course is met.
    inbound_s : float
        Time to the fix from the inbound course, or from where the way direct to it begins.
    path : Path
        The path flown.
    """

    number: int
    turn: int
    outbound_heading_rad: float
    outbound_s: float
    timed_from: TimedFrom
    level_s: float
    length_m: float
    turn_back: int
    back_heading_rad: float
    joined: Joined
    inbound_heading_rad: float
    inbound_s: float
    path: Path


@dataclass(frozen=True, eq=False)
class HoldLaps:
    """A published hold in the wind.

    Attributes
    ----------
    hold : PublishedHold
        The hold.
    chart : Charted
        A chart of the hold alone.
    air : LegAir
        Altitude, airspeed and wind.
    maximum_mps, maximum_source
        Maximum indicated airspeed, and where it comes from.
    arrival_rad : float, optional
        True course on which the fix is reached, if known.
    numbers : HoldNumbers, optional
        Numbers of a circuit; None if no lap can be flown.
    laps : tuple of Lap
        The entry, if the arrival course is known, and one lap that stands for all further ones.
    refused : str, optional
        Why the entry, or any lap, cannot be flown in this wind.
    """

    hold: PublishedHold
    chart: Charted
    air: LegAir
    maximum_mps: float
    maximum_source: str
    arrival_rad: float | None
    numbers: HoldNumbers | None
    laps: tuple[Lap, ...]
    refused: str | None

    @property
    def by_length(self) -> bool:
        """Whether the outbound leg is charted by length."""
        return self.chart.leg_length_m is not None


def hold_level_m(charted: Charted, conditions: Conditions, hold: PublishedHold) -> float:
    """The altitude of a hold: that of the missed approach which leads to it, else the minimum or maximum of the hold. [m]

    Raises
    ------
    BriefError
        None is charted, and none was given.
    """
    missed = charted.missed.altitude_m if charted.missed is not None and hold.role == "missed-approach" else None
    levels = [*charted.levels_m.values()]
    known = (missed, hold.minimum_m, hold.maximum_m, conditions.altitude_m, max(levels, default=None))
    level = next((value for value in known if value is not None), None)
    if level is None:
        raise BriefError(f"no altitude is charted for the hold at {hold.name}: give --altitude FT")
    return level


def hold_laps(charted: Charted, conditions: Conditions, hold: PublishedHold, arrival_rad: float | None) -> HoldLaps:
    """The laps of a published hold. `arrival_rad` is the true course on which its fix is reached, None if not known."""
    level = hold_level_m(charted, conditions, hold)
    chart = replace(hold_chart(charted, hold), floors_m={"hold": level})
    asked = replace(conditions, arrival_rad=arrival_rad, outbound_m=None, outbound_s=None)
    air = hold_air(chart, asked)
    maximum, source = _maximum(hold, level)
    flown = HoldLaps(hold, chart, air, maximum, source, arrival_rad, None, (), None)
    try:
        numbers = hold_numbers(chart, asked)
        steady = _steady(chart, asked, air)
    except BriefError as error:
        return replace(flown, refused=str(error))
    if arrival_rad is None:
        return replace(flown, numbers=numbers, laps=(steady,))
    try:
        entry = _entry(chart, air, numbers)
    except BriefError as error:
        return replace(flown, numbers=numbers, laps=(steady,), refused=str(error))
    return replace(flown, numbers=numbers, laps=(entry, steady))


def _maximum(hold: PublishedHold, level_m: float) -> tuple[float, str]:
    """Maximum indicated airspeed of a hold, and its source. [m/s]"""
    if hold.maximum_speed_mps is not None:
        return hold.maximum_speed_mps, "charted"
    return holding.maximum_speed_kt(level_m) * KT, "AIM 5-3-8 j.2"


def _entry_seconds(chart: Charted, air: LegAir, numbers: HoldNumbers) -> StraightSeconds:
    """How long the entry flies straight on outbound, so that the leg is as long as charted from where its time begins."""
    length = chart.leg_length_m
    if length is None:
        return straight_seconds(air, chart.outbound_true_rad, leg_seconds(chart, air), from_over=numbers.entry != "direct")

    def seconds(turn: Stage, start: float) -> float:
        return seconds_to_length(chart, air, turn, start, length)

    return seconds


def _entry(chart: Charted, air: LegAir, numbers: HoldNumbers) -> Lap:
    pattern = enter(chart, air, numbers, _entry_seconds(chart, air, numbers))
    stages = _established(chart, pattern, numbers.entry)
    if stages is None:
        return _direct_to_fix(chart, air, numbers, pattern)
    joined: Joined = "on the course" if len(stages) == len(pattern.stages) else "by an intercept"
    return _lap(chart, air, 1, stages, numbers.arrival_heading_rad, joined, from_over=numbers.entry != "direct")


def _established(chart: Charted, pattern: Pattern, entry: str) -> tuple[Stage, ...] | None:
    """An entry with its intercept, at a steep angle if need be; None if the course is met only at the fix or beyond."""
    for cuts in ((_STEEP_RAD,), CUTS_RAD) if entry == "parallel" else (CUTS_RAD, (_STEEP_RAD,)):
        try:
            return to_established(chart, pattern, cuts)
        except BriefError:
            continue
    return None


def _direct_to_fix(chart: Charted, air: LegAir, numbers: HoldNumbers, pattern: Pattern) -> Lap:
    """An entry that meets the inbound course only at the fix or beyond: its turn rolls out direct to the fix."""
    back = pattern.stages[-1]
    begun = fly_stages(pattern.stages[:-1], pattern.start_heading_rad)
    place, heading = (float(begun.north_m[-1]), float(begun.east_m[-1])), float(begun.heading_rad[-1])
    way = back.segment.direction if isinstance(back.segment, Turn) else 1
    to = turn_toward(air, heading, place, way, (0.0, 0.0))
    if to is None:
        raise BriefError(f"the {numbers.entry} entry does not come back to {chart.procedure.fix.name} in this wind; use --bank")
    stages = (*pattern.stages[:-1], replace(back, segment=Turn(to, way, air.bank_rad)))
    return _lap(chart, air, 1, stages, numbers.arrival_heading_rad, "direct to the fix", from_over=numbers.entry != "direct")


def _steady(chart: Charted, conditions: Conditions, air: LegAir) -> Lap:
    home = air.hold_course(chart.inbound_true_rad)[0]
    return _lap(chart, air, 2, circuit(chart, conditions), home, "on the course", from_over=False)


def _lap(
    chart: Charted, air: LegAir, number: int, stages: Sequence[Stage], start: float, joined: Joined, *, from_over: bool
) -> Lap:
    """A lap of some stages, completed by the way to the fix."""
    begun = fly_stages(stages, start)
    north, east = float(begun.north_m[-1]), float(begun.east_m[-1])
    bearing = math.atan2(-east, -north) if joined == "direct to the fix" else chart.inbound_true_rad
    away = math.hypot(north, east)
    heading, speed = air.hold_course(bearing)
    path = fly_stages((*stages, Stage("inbound", "hold", Straight(away / speed), air, bearing)), start)
    turned, out = path.ends[0], path.ends[1]
    outbound_s, timed_from = outbound_timed(path, chart.outbound_true_rad, out, from_over=from_over)
    turns = [stage.segment.direction for stage in stages if isinstance(stage.segment, Turn)]
    return Lap(
        number=number,
        turn=turns[0],
        outbound_heading_rad=float(path.heading_rad[out]),
        outbound_s=outbound_s,
        timed_from=timed_from,
        level_s=float(path.time_s[out] - path.time_s[turned]),
        length_m=math.hypot(float(path.north_m[out]), float(path.east_m[out])),
        turn_back=turns[1],
        back_heading_rad=float(path.heading_rad[path.ends[2]]),
        joined=joined,
        inbound_heading_rad=heading,
        inbound_s=away / speed,
        path=path,
    )
