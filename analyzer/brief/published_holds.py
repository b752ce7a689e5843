"""After the final leg: the published holds as far as they can be briefed, and the cautions on them."""

from __future__ import annotations

from collections.abc import Iterator

from analyzer.brief.hold_laps import HoldLaps, hold_laps
from analyzer.brief.missed_path import MissedPath, missed_path, place_of
from analyzer.brief.plan import Plan
from analyzer.checks.phrases import height_unit
from analyzer.errors import BriefError
from analyzer.physics.units import KT
from analyzer.procedure.approach import PublishedHold
from analyzer.procedure.resolve_minimums import category_within

__all__ = ["after_cautions", "planned_missed", "published_holds"]

_FASTER_KT = 0.5
_SAME_FIX_M = 370.0  # 0.2 NM
_SHORT_M = 3.0  # short of the altitude: within rounding


def planned_missed(plan: Plan) -> MissedPath | None:
    """The missed approach of a plan, if it can be flown; it gives the arrival course of its hold."""
    if plan.charted.missed is None:
        return None
    try:
        return missed_path(plan)
    except BriefError:
        return None


def published_holds(plan: Plan, missed: MissedPath | None) -> tuple[HoldLaps, ...]:
    """The laps of every published hold for the category, in charted order."""
    charted, category = plan.charted, plan.charted.procedure.category
    return tuple(
        hold_laps(charted, plan.conditions, hold, _arrival(plan, missed, hold))
        for hold in dict.fromkeys(charted.holds)
        if hold.category is None or category is None or category_within(category, hold.category)
    )


def _arrival(plan: Plan, missed: MissedPath | None, hold: PublishedHold) -> float | None:
    """True course on which a hold's fix is reached: from the missed approach, or on arrival if it is the reversal fix. [rad]"""
    if missed is not None and missed.hold == hold:
        return missed.arrival_rad
    north, east = place_of(plan.charted, hold.latitude_rad, hold.longitude_rad)
    here = hold.role == "published" and north**2 + east**2 < _SAME_FIX_M**2
    return plan.conditions.arrival_rad if here else None


def after_cautions(plan: Plan, missed: MissedPath | None, holds: tuple[HoldLaps, ...]) -> Iterator[str]:
    """Cautions on the holds, and on the missed approach if it is planned; a sentence each."""
    if missed is not None:
        yield from _missed(plan, missed)
    for laps in holds:
        name = f"The hold at {laps.hold.name}"
        if laps.refused is not None:
            yield f"{name} has no {'entry' if laps.laps else 'laps'} to brief: {laps.refused}."
        speed = plan.conditions.indicated_mps(laps.chart, "hold") / KT
        limit = laps.maximum_mps / KT
        if speed > limit + _FASTER_KT:
            source = "charted" if laps.maximum_source == "charted" else f"allowed there ({laps.maximum_source})"
            yield f"{name}: {speed:.0f} kt indicated is faster than the {limit:.0f} kt {source}."
        if any(lap.joined == "direct to the fix" for lap in laps.laps):
            yield f"{name}: its entry meets the inbound course only at the fix or beyond; the plan returns direct to it."


def _missed(plan: Plan, missed: MissedPath) -> Iterator[str]:
    height = height_unit(plan.charted.altitude_unit)
    if missed.turn is not None and missed.turn.waited_s > 0.0:
        yield (
            f"The first turn of the missed approach begins {missed.turn.waited_s:.0f} s later than it may: any sooner, it "
            f"could not roll out toward {missed.to or 'its fix'}."
        )
    level, reached = missed.level_m, float(missed.altitude_m[-1])
    if level is not None and reached < level - _SHORT_M:
        where = f"over {missed.to}" if missed.to is not None else "at its end"
        yield (
            f"At this climb the missed approach is at {height.text(reached)} {where}, {height.text(level - reached)} short of "
            f"its {height.text(level)}: keep climbing{' in the hold' if missed.hold is not None else ''}."
        )
