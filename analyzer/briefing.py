"""The brief in one call: a procedure and conditions in, the plan with its numbers and chances out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from analyzer.brief.chances import Chances, Errors, fly_many
from analyzer.brief.conditions import Conditions
from analyzer.brief.numbers import Number, arc_numbers, plan_numbers
from analyzer.brief.plan import Plan, make_plan
from analyzer.brief.track import planned_track
from analyzer.debriefing import Debrief, debrief_charted
from analyzer.errors import BriefError
from analyzer.procedure.charted import Charted

__all__ = ["Brief", "brief"]


@dataclass(frozen=True, eq=False)
class Brief:
    """A briefed procedure. `plan` and `chances` are None for an arc, whose leads and radials are in `numbers`."""

    charted: Charted
    conditions: Conditions
    plan: Plan | None
    numbers: tuple[Number, ...]
    chances: Chances | None

    def flown(self) -> Debrief | None:
        """The planned path debriefed like a flight, for its pictures and for comparison; None without a plan."""
        if self.plan is None:
            return None
        return debrief_charted(planned_track(self.plan), self.charted)

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
    if charted.kind == "none":
        raise BriefError("the procedure charts no reversal: there is nothing to brief")
    if charted.kind == "arc":
        if conditions.shape is not None or conditions.outbound_m is not None or conditions.outbound_s is not None:
            raise BriefError("--shape and --outbound mean nothing on an arc: leave them out")
        return Brief(charted, conditions, None, arc_numbers(charted, conditions), None)
    plan = make_plan(charted, conditions)
    return Brief(charted, conditions, plan, plan_numbers(plan), fly_many(plan, errors))
