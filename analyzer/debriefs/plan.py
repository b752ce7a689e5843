"""The debrief of a planned path, from which the pictures of a brief are drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from analyzer.brief.conditions import LegAir
from analyzer.brief.hold_laps import HoldLaps
from analyzer.brief.hold_pattern import hold_air
from analyzer.brief.planned_track import line_through, planned_line, planned_track
from analyzer.debriefs.data import DebriefData
from analyzer.debriefs.judging import judge_charted
from analyzer.motion.wind import Wind
from analyzer.physics.units import FT

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief

__all__ = ["debrief_of_plan"]

_ABOVE_M = 10.0 * FT  # flown exactly at its minimums, a plan would be too close to call


def debrief_of_plan(brief: Brief) -> DebriefData:
    """Debrief the planned path, with the missed approach and the holds where the plan includes them."""
    plan, missed = brief.plan, brief.missed
    line = planned_line(plan) if missed is None else line_through(plan, missed, brief.holds)
    track = planned_track(plan, line)
    raised = replace(track, altitude_m=track.altitude_m + _ABOVE_M)
    flown = judge_charted(raised, brief.charted)
    holds = tuple(_as_briefed(hold, hold_air(laps.chart, brief.conditions)) for hold, laps in _with_laps(flown, brief.holds))
    return replace(_as_briefed(flown, brief.conditions.leg(brief.charted, "reversal")), holds=holds)


def _with_laps(flown: DebriefData, briefed: tuple[HoldLaps, ...]) -> Iterator[tuple[DebriefData, HoldLaps]]:
    """The holds recognised on the planned path, each with its briefed laps."""
    for hold in flown.holds:
        laps = next((laps for laps in briefed if laps.hold == hold.motion.charted.held), None)
        if laps is not None:
            yield hold, laps


def _as_briefed(flown: DebriefData, air: LegAir) -> DebriefData:
    """The debrief with the wind of the brief instead of an estimate from the path.

    A plan descends steadily over whole legs, so it has no level-off to mark.
    """
    wind = Wind(*air.wind_north_east_mps, sd_mps=0.0, source="as briefed")
    approaches = (replace(a, figures=replace(a.figures, wind=wind, descent=None)) for a in flown.approaches)
    return replace(flown, approaches=tuple(approaches))
