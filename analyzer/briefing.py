"""The brief in one call: a procedure and conditions in, the plan with its numbers and chances out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from analyzer.brief.chances import Chances, Errors, fly_many
from analyzer.brief.conditions import Conditions
from analyzer.brief.number import Number
from analyzer.brief.numbers import plan_numbers
from analyzer.brief.plan import Plan, make_plan
from analyzer.brief.track import planned_track
from analyzer.debriefing import Debrief, debrief_charted
from analyzer.errors import BriefError
from analyzer.motion.wind import Wind
from analyzer.physics.units import FT
from analyzer.procedure.charted import Charted

__all__ = ["Brief", "brief"]

_ABOVE_M = 10.0 * FT  # a plan that is flown exactly at its minimums would be too close to call


@dataclass(frozen=True, eq=False)
class Brief:
    """A briefed procedure: its plan, the numbers of it, and how it spreads with errors."""

    charted: Charted
    conditions: Conditions
    plan: Plan
    numbers: tuple[Number, ...]
    chances: Chances

    def flown(self) -> Debrief:
        """The planned path debriefed like a flight, for its pictures and for comparison."""
        track = planned_track(self.plan)
        kept = replace(track, altitude_m=track.altitude_m + _ABOVE_M)
        flown, air = debrief_charted(kept, self.charted), self.conditions.leg(self.charted, "reversal")
        wind = Wind(*air.wind_north_east_mps, sd_mps=0.0, source="as briefed")  # what was asked, not what its path would tell
        # A plan descends steadily over whole legs: where a debrief would see a level left, there is nothing to mark.
        approaches = (replace(a, figures=replace(a.figures, wind=wind, descent=None)) for a in flown.approaches)
        return replace(flown, approaches=tuple(approaches))

    def to_dict(self) -> dict[str, Any]:
        """The brief as JSON values."""
        from analyzer.report.brief_document import brief_document

        return brief_document(self)


def brief(charted: Charted, conditions: Conditions, errors: Errors | None = None) -> Brief:
    """Brief a procedure.

    Parameters
    ----------
    charted : Charted
        As `analyzer.procedure.charted.resolve` gives it for a procedure and a date.
    conditions : Conditions
        Speeds, wind, turns, and what the chart leaves to the pilot.
    errors : Errors, optional
        What the chances are worked out for.

    Raises
    ------
    BriefError
        What was asked cannot be flown; the message gives the nearest that can.
    """
    if charted.kind == "arc" and (conditions.outbound_m is not None or conditions.outbound_s is not None):
        raise BriefError("--outbound means nothing on an arc: leave it out")
    plan = make_plan(charted, conditions)
    return Brief(charted, conditions, plan, plan_numbers(plan), fly_many(plan, errors))
