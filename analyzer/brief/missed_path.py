"""The path of the missed approach: straight ahead to the altitude of its turn, the turn, and on to its hold, climbing.

Places are in metres north and east of the reversal fix. What the chart leaves open is flown the simplest way: a turn charted
without an altitude begins at the missed approach point, and a course that does not lead to the hold is flown until the altitude
is reached.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analyzer.brief.climb import Climb
from analyzer.brief.conditions import LegAir
from analyzer.brief.go_around import GoAround, go_around
from analyzer.brief.parts import PlannedPart, planned_parts
from analyzer.brief.plan import Plan
from analyzer.brief.stages import Stage, fly_stages
from analyzer.brief.turn_toward import shorter, shorter_toward, turn_toward
from analyzer.errors import BriefError
from analyzer.frozen import dataclass
from analyzer.nominal.fly import Path, Straight, Turn
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, FloatArray, wrap
from analyzer.procedure.approach import MissedApproach, PublishedHold
from analyzer.procedure.charted import Charted
from analyzer.procedure.resolve_minimums import category_within

__all__ = ["FirstTurn", "MissedPath", "hold_of_missed", "missed_path", "place_of"]

_LEADS_RAD = 30.0 * DEG  # a course within this of the bearing of the hold's fix leads to it
_ON_STEP_S, _ON_MOST_S = 10.0, 300.0  # flown on if the turn cannot roll out toward its place yet
_SHOWN_S = 60.0  # of a last course that no altitude ends
_OVER_M = 0.05 * NM


@dataclass(frozen=True)
class FirstTurn:
    """The beginning of the first turn.

    Attributes
    ----------
    number : int
        Which stage it is.
    seconds, length_m, altitude_m : float
        Time and distance from the missed approach point, and altitude.
    waited_s : float
        How much later than charted it begins, because an earlier turn cannot roll out toward its place.
    """

    number: int
    seconds: float
    length_m: float
    altitude_m: float
    waited_s: float


@dataclass(frozen=True, eq=False)
class MissedPath:
    """The missed approach as planned.

    Attributes
    ----------
    charted : Charted
        The procedure.
    begins : GoAround
        Where it begins.
    climb : Climb
        Its rate or gradient.
    stages, path, altitude_m
        The stages, the path, and the altitude at each node.
    level_m : float, optional
        Altitude of the level-off, if one is charted.
    turn : FirstTurn, optional
        Where the first turn begins, if there is one.
    to : str, optional
        Name of the fix that it leads to, if one is charted.
    hold : PublishedHold, optional
        The hold there.
    """

    charted: Charted
    begins: GoAround
    climb: Climb
    stages: tuple[Stage, ...]
    path: Path
    altitude_m: FloatArray
    level_m: float | None
    turn: FirstTurn | None
    to: str | None
    hold: PublishedHold | None

    @property
    def parts(self) -> tuple[PlannedPart, ...]:
        """Its parts."""
        return planned_parts(self.charted, self.stages, self.path, self.altitude_m)

    @property
    def arrival_rad(self) -> float | None:
        """True course on which the fix of its hold is reached; None without a hold. [rad]"""
        return self.stages[-1].course_rad if self.hold is not None else None

    @property
    def levelled_s(self) -> float | None:
        """Time from the point to its altitude; None if none is charted, or it is not reached. [s]"""
        if self.level_m is None:
            return None
        there = np.flatnonzero(self.altitude_m >= self.level_m - 0.1)
        return float(self.path.time_s[there[0]]) if len(there) else None


def hold_of_missed(charted: Charted) -> PublishedHold | None:
    """The hold that the missed approach leads to, for the category: by the name of its fix, else by the role of the hold."""
    missed, category = charted.missed, charted.procedure.category
    fit = [
        hold for hold in charted.holds if hold.category is None or category is None or category_within(category, hold.category)
    ]
    fit.sort(key=lambda hold: hold.role != "missed-approach")
    if missed is not None and missed.to is not None:
        return next((hold for hold in fit if hold.name == missed.to), None)
    return next((hold for hold in fit if hold.role == "missed-approach"), None)


def place_of(charted: Charted, latitude_rad: float, longitude_rad: float) -> tuple[float, float]:
    """Place north and east of the reversal fix. [m]"""
    distance, bearing = geodesy.inverse(charted.fix_latitude_rad, charted.fix_longitude_rad, latitude_rad, longitude_rad)
    return float(distance * np.cos(bearing)), float(distance * np.sin(bearing))


def missed_path(plan: Plan) -> MissedPath:
    """The missed approach of a plan.

    Raises
    ------
    BriefError
        None is charted, the altitude where its climb begins is not known, or a turn cannot be flown.
    """
    missed = plan.charted.missed
    if missed is None:
        raise BriefError("--missed: the procedure charts no missed approach; leave it out, or chart a [missed_approach]")
    begins = go_around(plan)
    if not math.isfinite(begins.altitude_m):
        raise BriefError("--missed: the procedure charts no altitude that the climb could begin at; chart its minimum")
    asked = _Asked(plan, missed, begins, Climb(plan.conditions.climb_mps), hold_of_missed(plan.charted))
    stages, turn = _stages(asked)
    path, altitude = _flown(asked, stages)
    return MissedPath(
        charted=plan.charted,
        begins=begins,
        climb=asked.climb,
        stages=stages,
        path=path,
        altitude_m=altitude,
        level_m=missed.altitude_m,
        turn=turn,
        to=missed.to if missed.to is not None else asked.hold.name if asked.hold is not None else None,
        hold=asked.hold,
    )


@dataclass(frozen=True, eq=False)
class _Asked:
    """What a missed approach is planned from: the plan before it, the chart, its beginning, its climb, and its hold."""

    plan: Plan
    missed: MissedApproach
    begins: GoAround
    climb: Climb
    hold: PublishedHold | None

    @property
    def level_m(self) -> float:
        """Altitude of the level-off. [m]"""
        known = (self.missed.altitude_m, self.missed.climb_m, self.begins.altitude_m)
        return next(value for value in known if value is not None)

    @property
    def target_m(self) -> tuple[float, float] | None:
        """The place that it leads to: the fix of its hold, or the fix named. [m]"""
        charted, to = self.plan.charted, self.missed.to
        if self.hold is not None:
            return place_of(charted, self.hold.latitude_rad, self.hold.longitude_rad)
        if to is None:
            return None
        fix = next((fix for fix in charted.fixes if fix.name == to), None)
        return place_of(charted, fix.latitude_rad, fix.longitude_rad) if fix is not None else (0.0, 0.0)

    def air(self, height_m: float, to_m: float) -> LegAir:
        """The air halfway up a climb."""
        return self.plan.conditions.aloft(self.plan.charted, "missed", (height_m + max(height_m, to_m)) / 2.0)


def _flown(asked: _Asked, stages: Sequence[Stage]) -> tuple[Path, FloatArray]:
    """The path of some stages from the point, and the altitude at its nodes."""
    begins = asked.begins
    path = fly_stages(stages, begins.heading_rad, (begins.north_m, begins.east_m))
    return path, asked.climb.heights_m(path, begins.altitude_m, asked.level_m)


def _end(asked: _Asked, stages: Sequence[Stage]) -> tuple[float, tuple[float, float], float]:
    """Heading, place and altitude at the end of some stages."""
    path, altitude = _flown(asked, stages)
    return float(path.heading_rad[-1]), (float(path.north_m[-1]), float(path.east_m[-1])), float(altitude[-1])


def _stages(asked: _Asked) -> tuple[tuple[Stage, ...], FirstTurn | None]:
    missed = asked.missed
    no_turn = missed.turn is None and missed.course_true_rad is None and missed.to is None
    ahead = _ahead(asked, asked.level_m if no_turn else missed.climb_m)
    if no_turn and asked.target_m is None:
        return (ahead,), None
    begun, turn = _first_turn(asked, ahead)
    return (*begun, *_on(asked, begun)), turn


def _ahead(asked: _Asked, to_m: float | None) -> Stage:
    """Straight ahead on the final course, climbing to an altitude; of zero length if none is charted."""
    here, course = asked.begins.altitude_m, asked.begins.course_rad
    goal = here if to_m is None else to_m
    air = asked.air(here, goal)
    seconds = asked.climb.seconds(goal - here, air.hold_course(course)[1])
    return Stage("missed", "missed", Straight(seconds), air, course)


def _first_turn(asked: _Asked, ahead: Stage) -> tuple[tuple[Stage, Stage], FirstTurn]:
    """Straight ahead, and the first turn; later if it cannot roll out toward its place yet."""
    seconds = ahead.segment.seconds if isinstance(ahead.segment, Straight) else 0.0
    for waited in np.arange(0.0, _ON_MOST_S, _ON_STEP_S):
        longer = replace(ahead, segment=Straight(seconds + float(waited)))
        turn = _turn(asked, longer)
        if turn is not None:
            path, altitude = _flown(asked, (longer,))
            length = float(np.hypot(np.diff(path.north_m), np.diff(path.east_m)).sum())
            return (longer, turn), FirstTurn(1, seconds + float(waited), length, float(altitude[-1]), float(waited))
    raise BriefError(f"--missed: no turn rolls out toward {_named(asked)} in this wind; fly slower, or use --bank")


def _named(asked: _Asked) -> str:
    return asked.missed.to or (asked.hold.name if asked.hold is not None else "its hold")


def _turn(asked: _Asked, ahead: Stage) -> Stage | None:
    """The first turn; None if it cannot roll out toward its place."""
    missed, target = asked.missed, asked.target_m
    heading, place, height = _end(asked, (ahead,))
    air = asked.air(height, asked.level_m)
    if missed.course_true_rad is not None:
        to = air.hold_course(missed.course_true_rad)[0]
        way = missed.turn if missed.turn is not None else shorter(heading, to)
        return Stage("missed", "missed", Turn(to, way, air.bank_rad), air)
    if target is None:
        raise BriefError("--missed: a turn is charted, but no course and no fix that it leads to; chart course_deg or to")
    if missed.turn is None:
        either = shorter_toward(air, heading, place, target)
        return Stage("missed", "missed", Turn(either[1], either[0], air.bank_rad), air) if either is not None else None
    rollout = turn_toward(air, heading, place, missed.turn, target)
    return Stage("missed", "missed", Turn(rollout, missed.turn, air.bank_rad), air) if rollout is not None else None


def _on(asked: _Asked, begun: tuple[Stage, ...]) -> tuple[Stage, ...]:
    """After the first turn: its course up to the altitude, unless it leads to the place, and the way to the place."""
    target, course = asked.target_m, asked.missed.course_true_rad
    stages: tuple[Stage, ...] = ()
    _, place, height = _end(asked, begun)
    if course is not None and not _leads(course, place, target):
        air = asked.air(height, asked.level_m)
        seconds = asked.climb.seconds(asked.level_m - height, air.hold_course(course)[1])
        shown = _SHOWN_S if target is None else 0.0
        stages = (Stage("missed", "missed", Straight(max(seconds, shown)), air, course),)
    if target is None:
        return stages
    if course is not None:
        heading, place, height = _end(asked, (*begun, *stages))
        air = asked.air(height, asked.level_m)
        turn = shorter_toward(air, heading, place, target)
        if turn is None:
            raise BriefError(f"--missed: no turn rolls out toward {_named(asked)} in this wind; fly slower, or use --bank")
        stages = (*stages, Stage("missed", "missed", Turn(turn[1], turn[0], air.bank_rad), air))
    _, place, height = _end(asked, (*begun, *stages))
    away = math.hypot(target[0] - place[0], target[1] - place[1])
    if away <= _OVER_M:
        return stages
    bearing, air = math.atan2(target[1] - place[1], target[0] - place[0]), asked.air(height, asked.level_m)
    return (*stages, Stage("missed", "missed", Straight(away / air.hold_course(bearing)[1]), air, bearing))


def _leads(course_rad: float, place: tuple[float, float], target: tuple[float, float] | None) -> bool:
    """Whether a course leads from one place to another."""
    if target is None:
        return False
    bearing = math.atan2(target[1] - place[1], target[0] - place[0])
    return abs(float(wrap(bearing - course_rad))) <= _LEADS_RAD
