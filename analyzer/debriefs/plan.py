"""The planned path of a brief debriefed like a flight, for its pictures."""

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

_ABOVE_M = 10.0 * FT  # a plan that is flown exactly at its minimums would be too close to call


def debrief_of_plan(brief: Brief) -> DebriefData:
    """Debrief the planned path, with the missed approach and the holds where the plan goes on with them."""
    plan, missed = brief.plan, brief.missed
    line = planned_line(plan) if missed is None else line_through(plan, missed, brief.holds)
    track = planned_track(plan, line)
    kept = replace(track, altitude_m=track.altitude_m + _ABOVE_M)
    flown = judge_charted(kept, brief.charted)
    holds = tuple(_as_briefed(hold, hold_air(laps.chart, brief.conditions)) for hold, laps in _drawn(flown, brief.holds))
    return replace(_as_briefed(flown, brief.conditions.leg(brief.charted, "reversal")), holds=holds)


def _drawn(flown: DebriefData, briefed: tuple[HoldLaps, ...]) -> Iterator[tuple[DebriefData, HoldLaps]]:
    """The holds that were recognised on the planned path, with what is briefed of them."""
    for hold in flown.holds:
        laps = next((laps for laps in briefed if laps.hold == hold.motion.charted.held), None)
        if laps is not None:
            yield hold, laps


def _as_briefed(flown: DebriefData, air: LegAir) -> DebriefData:
    """A debrief with the wind that was asked for, not the one that its path would tell.

    A plan descends steadily over whole legs: where a debrief would see a level left, there is nothing to mark.
    """
    wind = Wind(*air.wind_north_east_mps, sd_mps=0.0, source="as briefed")
    approaches = (replace(a, figures=replace(a.figures, wind=wind, descent=None)) for a in flown.approaches)
    return replace(flown, approaches=tuple(approaches))
