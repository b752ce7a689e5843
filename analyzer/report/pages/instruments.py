"""What the pilot's instruments would have shown second by second, for the replay: needle, distance, minimum and clocks.

The needle is set as it is to fly a reversal: to the outbound course until the turn back begins, to the inbound course from
there on. On a localizer and in a hold it shows the inbound course throughout. What it was set to before that is not known.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from analyzer.checks.phrases import clock
from analyzer.frozen import dataclass
from analyzer.legs.course_lines import CourseLine, flown_lines
from analyzer.legs.guidance import needle
from analyzer.motion.states import seen_from
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, FloatArray, wrap
from analyzer.procedure.charted import Charted
from analyzer.report.pictures.minimum_lines import minimum_lines
from analyzer.report.pictures.subject import Subject
from analyzer.vocabulary import PartName

__all__ = ["Instruments", "Station", "instruments_of"]

_SET_OUTBOUND: frozenset[PartName] = frozenset({"outbound_turn", "outbound", "offset_turn", "offset_leg"})
_LONG_HOLE_S = 5.0  # without a position, what is shown between is drawn and not measured
_HOLES_NAMED = 3
_NEEDLES: Mapping[str, str] = {"vor": "VOR", "localizer": "LOC", "gps": "GPS", "ndb": "NDB"}


@dataclass(frozen=True)
class Station:
    """A station by its place in the plan, east and north of the fix, and its elevation; `by_dme` says that range is slant."""

    name: str
    east_nm: float
    north_nm: float
    elevation_ft: float
    by_dme: bool


@dataclass(frozen=True, eq=False)
class Instruments:
    """Readings of one approach at every second shown; NaN where there is none.

    Attributes
    ----------
    course_deg : array
        The course that the needle is set to, magnetic. [deg]
    share : array
        How far right of the course the aircraft is, as a share of full scale; the needle stands as far to the other side.
    toward : array
        1 with the station ahead along the course set (to), -1 with it behind (from); NaN where the guidance has no such flag.
    relative_deg : array
        How far right of the nose the station lies. [deg]
    minimum_ft : array
        The minimum altitude that holds. [ft]
    passed_s, level_s : tuple of float
        The instants of each passage of the fix and of each roll-out from a turn, from which the pilot's clock runs. [s]
    needle, full_scale : str
        What the needle is driven by, and what full deflection to one side is worth.
    station : Station
        What distance and bearing are read of.
    fix : str
        The fix that the clock runs from.
    notes : tuple of str
        What is drawn between positions and not measured.
    """

    course_deg: FloatArray
    share: FloatArray
    toward: FloatArray
    relative_deg: FloatArray
    minimum_ft: FloatArray
    passed_s: tuple[float, ...]
    level_s: tuple[float, ...]
    needle: str
    full_scale: str
    station: Station
    fix: str
    notes: tuple[str, ...]


def instruments_of(subject: Subject) -> Instruments:
    """The readings of what is shown of an approach, or of a whole flight in which none was recognised."""
    charted, states = subject.debrief.motion.charted, subject.states
    course, share, toward = _needle(subject)
    station, place = _station(subject)
    _, from_station = seen_from(charted, *place, states)
    return Instruments(
        course_deg=np.mod((course - charted.variation.east_rad) / DEG, 360.0),
        share=share,
        toward=toward,
        relative_deg=wrap(from_station + np.pi - states.heading_rad) / DEG,
        minimum_ft=_minimum_ft(subject),
        passed_s=subject.passages,
        level_s=tuple(part.end_s for part in subject.parts if part.turn is not None),
        needle=_NEEDLES[charted.guidance.kind],
        full_scale=_full_scale(charted),
        station=station,
        fix=charted.procedure.fix.name,
        notes=_notes(subject),
    )


def _station(subject: Subject) -> tuple[Station, tuple[float, float]]:
    """What distance and bearing are read of, the charted DME or else the fix, and its latitude and longitude. [rad]"""
    motion = subject.debrief.motion
    charted = motion.charted
    dme, fix = charted.dme, charted.procedure.fix
    by_dme = motion.has_altitude and (dme is not None or fix.kind == "vor")
    at_fix = charted.fix_latitude_rad, charted.fix_longitude_rad
    if dme is None:
        return Station(fix.name, 0.0, 0.0, charted.fix_elevation_m / FT, by_dme), at_fix
    place = dme.latitude_rad, dme.longitude_rad
    distance_m, bearing_rad = (float(value) for value in geodesy.inverse(*at_fix, *place))
    east_nm, north_nm = distance_m * math.sin(bearing_rad) / NM, distance_m * math.cos(bearing_rad) / NM
    return Station(dme.name, east_nm, north_nm, dme.elevation_m / FT, by_dme), place


def _needle(subject: Subject) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The course set [rad, true], the share of full scale right of it, and whether the station is ahead."""
    states, charted = subject.states, subject.debrief.motion.charted
    lines: list[CourseLine | None] = [CourseLine(charted.inbound_true_rad), None]  # none of them: no course is known
    number, final = np.zeros(len(states), dtype=int), np.zeros(len(states), dtype=bool)
    sets_outbound = charted.guidance.kind != "localizer" and not subject.held
    for part in subject.parts:
        inside = (states.time_s >= part.start_s) & (states.time_s < part.end_s)
        if part.name == "arrival" and charted.guidance.kind != "localizer":
            number[inside] = 1
        elif part.name in _SET_OUTBOUND and sets_outbound:
            number[inside] = len(lines)
            lines.append(CourseLine(charted.outbound_true_rad))
        elif part.leg in ("inbound", "final"):
            final |= inside & (part.leg == "final")
            for flown, along in flown_lines(states.where(inside), charted, part.leg):
                number[np.flatnonzero(inside)[along]] = len(lines)
                lines.append(flown)
    guidance, share, toward = charted.guidance, np.full(len(states), np.nan), np.full(len(states), np.nan)
    course, known = np.full(len(states), np.nan), number != 1
    for k, line in enumerate(lines):
        here = number == k
        if line is None or not here.any():
            continue
        course[here] = line.course_rad
        scale_m = guidance.full_scale_final_m if final[here].any() else None
        share[here] = needle(states.where(here), charted, line.course_rad, scale_m, line.through).fraction
    if guidance.kind in ("vor", "gps"):  # neither a localizer nor a beacon says on which side of it the aircraft is
        _, bearing = seen_from(charted, guidance.latitude_rad, guidance.longitude_rad, states)
        toward = np.where(known, np.where(np.cos(bearing + np.pi - course) >= 0.0, 1.0, -1.0), np.nan)
    return course, share, toward


def _minimum_ft(subject: Subject) -> FloatArray:
    """The highest of the minimums that hold at each second. [ft]"""
    time_s = subject.states.time_s
    minimum = np.full(len(time_s), np.nan)
    for line in minimum_lines(subject.debrief, subject.approach) if subject.approach is not None else ():
        inside = (time_s >= line.start_s) & (time_s < line.end_s)
        minimum[inside] = np.fmax(minimum[inside], line.altitude_m / FT)
    return minimum


def _full_scale(charted: Charted) -> str:
    """What full deflection to one side is worth, in words."""
    guidance = charted.guidance
    if guidance.full_scale_rad is not None:
        return f"full scale {guidance.full_scale_rad / DEG:.3g}°"
    metres = guidance.full_scale_m
    if metres is None:
        return ""
    final = guidance.full_scale_final_m
    later = f", {final / NM:.2g} NM on final" if final is not None and final != metres else ""
    return f"full scale {metres / NM:.2g} NM{later}"


def _notes(subject: Subject) -> tuple[str, ...]:
    """What the replay cannot show truly, in sentences."""
    motion = subject.debrief.motion
    notes: list[str] = []
    if motion.track.filled_in:
        every = motion.track.fixes_every_s
        apart = f" every {every:g} s" if every is not None else ""
        notes.append(f"The log was filled in between fixes{apart}: what moves between them is drawn, not measured.")
    elif motion.track.interval_s > _LONG_HOLE_S:
        notes.append(f"The log has a position every {motion.track.interval_s:g} s: what moves between is drawn, not measured.")
    first, last = float(subject.states.time_s[0]), float(subject.states.time_s[-1])
    holes = motion.holes_between(first, last, _LONG_HOLE_S)
    if holes and not notes:
        listed = ", ".join(f"{clock(begin)} to {clock(end)}" for begin, end in holes[:_HOLES_NAMED])
        more = f" and in {len(holes) - _HOLES_NAMED} more holes" if len(holes) > _HOLES_NAMED else ""
        notes.append(f"The log has no position from {listed}{more}: what moves there is drawn, not measured.")
    if motion.track.turns_hidden:
        notes.append("Bank is not known from such a log.")
    return tuple(notes)
