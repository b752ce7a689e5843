"""The plan: every part of the approach as it is to be flown, the whole path, and its greatest distance."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from analyzer.brief.arc_path import arc
from analyzer.brief.barb_patterns import USUAL_OUTBOUND_S, racetrack, refuse_roundabout, teardrop
from analyzer.brief.conditions import LEAST_OUTBOUND_M, Conditions
from analyzer.brief.descent import Profile, Short, descend
from analyzer.brief.hold_pattern import hold, leg_seconds
from analyzer.brief.joining import Begun, begin
from analyzer.brief.parts import PlannedPart, planned_parts
from analyzer.brief.patterns import Pattern, base_turn, eighty, forty_five, shapes_of
from analyzer.brief.stages import Stage, fly_stages
from analyzer.brief.way_to_runway import to_established, to_runway
from analyzer.errors import BriefError
from analyzer.frozen import dataclass
from analyzer.nominal.fly import Path
from analyzer.nominal.solve import solve
from analyzer.physics import geodesy
from analyzer.physics.units import NM, FloatArray
from analyzer.procedure.charted import Charted

__all__ = ["Plan", "limit_centre", "make_plan"]

_Maker = Callable[[Charted, Conditions, float], Pattern]
_USUAL_OUTBOUND_M = 4.5 * NM  # before a 45-degree turn; common practice, no source
_LONGER = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0)  # factors of a hold entry's leg, tried until the course is met before the fix
_LEAST_INBOUND_S = 30.0  # for beginning a descent; common practice, no source
_UNDER_A_BARB = ("45/180", "80/260", "racetrack", "teardrop")
_MAKERS: Mapping[str, _Maker] = {
    "45/180": forty_five,
    "80/260": eighty,
    "racetrack": racetrack,
    "teardrop": teardrop,
    "base-turn": base_turn,
    "hold": hold,
    "arc": arc,
}


@dataclass(frozen=True, eq=False)
class Plan:
    """An approach as planned.

    Attributes
    ----------
    charted, conditions
        What it was planned from.
    pattern : Pattern
        The reversal up to the end of the reversing turn.
    stages, parts, path
        The whole approach.
    farthest_m : float
        Greatest distance from the point that the limit is measured from.
    longest_outbound_m : float, optional
        Longest outbound leg that keeps the margin to the limit; None without a limit, or if no leg does.
    lead_m : float, optional
        Distance before the fix at which the turn onto the outbound course begins; None if it is not led.
    rounds : int
        Number of further circuits of a hold.
    profile : Profile
        The altitudes.
    entry_short : Short, optional
        The leg that was too short for its descent, for which a further circuit was added.
    """

    charted: Charted
    conditions: Conditions
    pattern: Pattern
    stages: tuple[Stage, ...]
    parts: tuple[PlannedPart, ...]
    path: Path
    farthest_m: float
    longest_outbound_m: float | None
    lead_m: float | None
    rounds: int
    profile: Profile
    entry_short: Short | None

    @property
    def altitude_m(self) -> FloatArray:
        """Altitude at every node of the path, NaN where none is charted."""
        return self.profile.altitude_m

    @property
    def farthest_place_m(self) -> tuple[float, float]:
        """Where the farthest point of the reversal lies, metres north and east of the fix."""
        away = self.path.up_to(self.path.ends[_last_of_reversal(self.stages)]).distance_m(*limit_centre(self.charted))
        node = int(np.argmin(np.abs(away - self.farthest_m)))
        return float(self.path.north_m[node]), float(self.path.east_m[node])

    @property
    def shorts(self) -> tuple[Short, ...]:
        """The legs that are too short for their descent."""
        return self.profile.shorts


def make_plan(charted: Charted, conditions: Conditions) -> Plan:
    """Plan a procedure.

    Raises
    ------
    BriefError
        The plan asked for cannot be flown; the message gives the nearest one that can.
    """
    shape = _shape(charted, conditions)
    maker = _MAKERS[shape]
    longest = _longest(charted, conditions, maker) if shape in _UNDER_A_BARB else None
    pattern = _pattern(charted, conditions, maker, longest)
    refuse_roundabout(charted, conditions, pattern)
    flown, rounds, short = _flown(charted, conditions, pattern, 0), 0, None
    missed = _missed(flown.profile)
    if charted.kind == "hold" and missed is not None:
        again = _flown(charted, conditions, pattern, 1)
        if _missed(again.profile) is None:
            flown, rounds, short = again, 1, missed
    return Plan(
        charted=charted,
        conditions=conditions,
        pattern=pattern,
        stages=flown.begun.stages,
        parts=planned_parts(charted, flown.begun.stages, flown.path, flown.profile.altitude_m),
        path=flown.path,
        farthest_m=_farthest(charted, _until_inbound(flown) if rounds else pattern.fly()),
        longest_outbound_m=longest,
        lead_m=flown.begun.lead_m,
        rounds=rounds,
        profile=flown.profile,
        entry_short=short,
    )


@dataclass(frozen=True, eq=False)
class _Flown:
    """A pattern flown to the end of the approach: its beginning with all stages, its path and its altitudes."""

    begun: Begun
    path: Path
    profile: Profile


def _flown(charted: Charted, conditions: Conditions, pattern: Pattern, rounds: int) -> _Flown:
    begun = begin(charted, conditions, pattern, to_runway(charted, conditions, pattern, rounds))
    path = fly_stages(begun.stages, begun.heading_rad, begun.start_m)
    return _Flown(begun, path, descend(charted, begun.stages, path))


def _until_inbound(flown: _Flown) -> Path:
    """The path up to the end of the last reversing turn: on the way home it comes no farther."""
    return flown.path.up_to(flown.path.ends[_last_of_reversal(flown.begun.stages)])


def _last_of_reversal(stages: Sequence[Stage]) -> int:
    return max(number for number, stage in enumerate(stages) if stage.leg in ("outbound", "reversal"))


def _missed(profile: Profile) -> Short | None:
    """The first leg after established too short for a normal descent, unless a steady descent on final makes up for it."""
    for short in profile.shorts:
        made_up = short.steadily and short.seconds >= _LEAST_INBOUND_S
        if short.leg in ("inbound", "final") and not made_up:
            return short
    return None


def _pattern(charted: Charted, conditions: Conditions, maker: _Maker, longest: float | None) -> Pattern:
    """The pattern to fly, with the outbound leg asked for or the usual one."""
    if maker is hold and conditions.outbound_s is None:
        return _hold(charted, conditions)
    metres = _outbound(charted, conditions, maker, longest)
    if maker in (racetrack, teardrop) and conditions.outbound_m is None and conditions.outbound_s is None:
        timed = maker(charted, replace(conditions, outbound_s=USUAL_OUTBOUND_S), metres)
        if charted.limit_m is None or _farthest(charted, timed.fly()) <= charted.limit_m - conditions.keep_m:
            return timed
        metres = longest if longest is not None else metres
    return maker(charted, conditions, metres)


def _hold(charted: Charted, conditions: Conditions) -> Pattern:
    """The entry of a hold, its outbound leg lengthened until the inbound course is met before the fix."""
    leg = leg_seconds(charted, conditions.leg(charted, "outbound"))
    refusal = BriefError("")
    for times in _LONGER:
        if charted.leg_length_m is not None:
            pattern = hold(charted, conditions, times * charted.leg_length_m)
        else:
            pattern = hold(charted, replace(conditions, outbound_s=times * leg), 0.0)
        try:
            to_established(charted, pattern)
        except BriefError as error:
            refusal = error
        else:
            return pattern
    raise refusal


def _shape(charted: Charted, conditions: Conditions) -> str:
    shapes = shapes_of(charted)
    if not shapes:
        raise BriefError("the procedure charts no reversal: there is nothing to brief")
    if conditions.shape is None or conditions.shape in shapes:
        return conditions.shape or shapes[0]
    choice = f"leaves the choice of {', '.join(shapes[:-1])} or {shapes[-1]}"
    if len(shapes) == 1:
        choice = f"leaves no choice: {shapes[0]}"
        if charted.procedure.reversal.depicted_track:
            choice = f"has a track that must be flown as drawn (AIM 5-4-9 a.1), {shapes[0]}; leave --shape out"
    raise BriefError(f"--shape {conditions.shape}: this chart {choice}")


def limit_centre(charted: Charted) -> tuple[float, float]:
    """The point that the limit is measured from, north and east of the fix. [m]"""
    distance, bearing = geodesy.inverse(
        charted.fix_latitude_rad, charted.fix_longitude_rad, charted.limit_latitude_rad, charted.limit_longitude_rad
    )
    return float(distance * np.cos(bearing)), float(distance * np.sin(bearing))


def _farthest(charted: Charted, path: Path) -> float:
    return float(path.distance_m(*limit_centre(charted)).max())


def _longest(charted: Charted, conditions: Conditions, maker: _Maker) -> float | None:
    """The longest outbound leg that keeps the margin to the limit. [m]"""
    if charted.limit_m is None:
        return None
    free, wanted = replace(conditions, outbound_m=None, outbound_s=None), charted.limit_m - conditions.keep_m
    return solve(lambda metres: _farthest(charted, maker(charted, free, metres).fly()) - wanted, 100.0, charted.limit_m)


def _outbound(
    charted: Charted,
    conditions: Conditions,
    maker: _Maker,
    longest: float | None,
) -> float:
    """Length of the outbound leg: the usual one, or the longest that keeps the margin. [m] Raises `BriefError`."""
    limit = charted.limit_m
    asked = conditions.outbound_m is not None or conditions.outbound_s is not None
    if asked and limit is not None:
        reached = _farthest(charted, maker(charted, conditions, 0.0).fly())
        if reached > limit:
            nearest = ""
            if longest is not None and longest >= LEAST_OUTBOUND_M:
                nearest = f"; --outbound {longest / NM:.1f} keeps {conditions.keep_m / NM:.1f} NM inside"
            raise BriefError(
                f"with this outbound leg the reversal reaches {reached / NM:.1f} NM, beyond the limit of {limit / NM:g} NM"
                f"{nearest}"
            )
    if not asked and limit is not None and longest is None and charted.kind == "procedure-turn":
        raise BriefError(
            f"no outbound leg keeps {conditions.keep_m / NM:.1f} NM inside the limit of {limit / NM:g} NM at this speed and "
            "bank; fly slower, or ask for less with --keep"
        )
    return min(_USUAL_OUTBOUND_M, longest) if longest is not None else _USUAL_OUTBOUND_M
