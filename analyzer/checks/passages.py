"""Check of the fix passages, for information: how far abeam, and how the course changed in the cone of ambiguity."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import NOT_ASSESSED, Context, Finding
from analyzer.checks.phrases import clock, degrees, miles
from analyzer.legs.reversal import Passage
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, unwrapped

__all__ = ["CHECKS", "station_passage"]

_FOR_INFORMATION = "for information only: the cone is a chart design tolerance"
_LANDING_M = 150.0 * FT  # above the fix; lower, the aircraft is landing on a runway next to the station
_AROUND_S = 60.0  # to either side of a passage, long enough to cross the cone


def station_passage(context: Context) -> tuple[Finding, ...]:
    """Distance abeam the fix at each passage, the radius of the cone of ambiguity there, and the course change inside it.

    No verdict: the cone is a tolerance of chart design, not a limit on flying. Passages on the ground or about to land are left
    out, as there is no cone.
    """
    return tuple(_finding(context, passage) for passage in context.reversal.passages if not _landing(context, passage))


def _landing(context: Context, passage: Passage) -> bool:
    """Whether the aircraft passed the fix at the height of a landing."""
    return context.motion.altitude_at(passage.time_s) - context.motion.charted.fix_elevation_m < _LANDING_M


def _finding(context: Context, passage: Passage) -> Finding:
    motion, charted = context.motion, context.motion.charted
    fix, limit = charted.procedure.fix, context.standard["station_passage"]
    height = motion.altitude_at(passage.time_s) - charted.fix_elevation_m
    cone = float(geodesy.cone_radius(max(height, 0.0), fix.kind)) if math.isfinite(height) else 0.0
    change = _course_change(context, passage, cone)
    word = "outbound" if passage.direction == "outbound" else "inbound"
    sentence = f"Passed {fix.name} {word} at {clock(passage.time_s)}, {miles(passage.distance_m)} abeam"
    sentence += f"; the cone of ambiguity reaches {miles(cone)} there" if cone > 0.0 else ""
    sentence += f", and the course changed by {degrees(abs(change), 0)} inside it." if change is not None else "."
    part = context.reversal.part_at(passage.time_s)
    return Finding(
        check="station_passage",
        leg="outbound" if passage.direction == "outbound" else part.leg if part is not None else "final",
        part=part.name if part is not None else None,
        sentence=sentence,
        verdict=NOT_ASSESSED,
        measured=passage.distance_m / NM,
        limit=limit.value * cone / NM if cone > 0.0 else None,
        unit="NM",
        sd=context.motion.position_sd_m / NM,
        source=limit.source,
        reason=_FOR_INFORMATION,
        details={} if change is None else {"course_change_deg": change / DEG},
        place=context.place(passage.time_s),
    )


def _course_change(context: Context, passage: Passage, cone: float) -> float | None:
    """Change of track from entering the cone to leaving it; None if it is not crossed. [rad]"""
    states = context.motion.states.between(passage.time_s - _AROUND_S, passage.time_s + _AROUND_S)
    inside = np.flatnonzero(states.distance_m < cone)
    if len(inside) < 2:
        return None
    track = unwrapped(states.track_rad[inside[0] : inside[-1] + 1])
    return float(track[-1] - track[0])


CHECKS = (
    Check(
        "station_passage",
        station_passage,
        "Distance abeam the fix at each passage, and the change of track inside the cone of ambiguity.",
        "Radius of the cone = height above the station times tan 50° for a VOR, tan 40° for an NDB.",
        limits={"station_passage": ("of the cone",)},
    ),
)
