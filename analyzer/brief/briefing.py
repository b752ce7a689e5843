"""The brief in one call: a procedure and conditions in, the plan with its numbers and chances out."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.brief.briefed_number import Number
from analyzer.brief.cautions import cautions
from analyzer.brief.chances import Chances, Errors, fly_many
from analyzer.brief.conditions import Conditions
from analyzer.brief.go_around import parts_before
from analyzer.brief.hold_laps import HoldLaps
from analyzer.brief.missed_and_hold_numbers import lap_numbers, missed_numbers
from analyzer.brief.missed_path import MissedPath, missed_path
from analyzer.brief.parts import PlannedPart
from analyzer.brief.plan import Plan, make_plan
from analyzer.brief.plan_numbers import plan_numbers
from analyzer.brief.planned_track import line_through, planned_line, planned_track
from analyzer.brief.published_holds import after_cautions, planned_missed, published_holds
from analyzer.errors import BriefError
from analyzer.procedure.charted import Charted
from analyzer.track.track import Track

__all__ = ["Brief", "brief"]


@dataclass(frozen=True, eq=False)
class Brief:
    """A briefed procedure: its plan, the numbers of it, and how it spreads with errors.

    `missed` is the missed approach that the plan goes on with, None where it was not asked for, and `holds` are the published
    holds with their laps.
    """

    charted: Charted
    conditions: Conditions
    plan: Plan
    numbers: tuple[Number, ...]
    chances: Chances
    missed: MissedPath | None
    holds: tuple[HoldLaps, ...]

    @property
    def parts(self) -> tuple[PlannedPart, ...]:
        """The parts in order, with those of the missed approach where it is planned, and then without a landing."""
        if self.missed is None:
            return self.plan.parts
        return (*parts_before(self.plan, self.missed.begins), *self.missed.parts)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What a pilot should notice, a sentence each."""
        return (*cautions(self.plan), *after_cautions(self.plan, self.missed, self.holds))

    def track(self) -> Track:
        """The planned path as a log, up to the fix of the hold where it goes on with the missed approach."""
        line = planned_line(self.plan) if self.missed is None else line_through(self.plan, self.missed)
        return planned_track(self.plan, line)


def brief(charted: Charted, conditions: Conditions, errors: Errors | None = None, *, missed: bool = False) -> Brief:
    """Brief a procedure.

    Parameters
    ----------
    charted : Charted
        As `analyzer.procedure.charted.resolve` gives it for a procedure and a date.
    conditions : Conditions
        Speeds, wind, turns, and what the chart leaves to the pilot.
    errors : Errors, optional
        What the chances are worked out for.
    missed : bool
        Whether the plan goes on with the missed approach.

    Raises
    ------
    BriefError
        What was asked cannot be flown; the message gives the nearest that can.

    Examples
    --------
    >>> import datetime
    >>> import analyzer
    >>> from analyzer.brief.conditions import parse_speeds, parse_winds
    >>> from analyzer.procedure.charted import resolve
    >>> charted = resolve(analyzer.read_procedure("sample_tracks/wendle_island_vor24.toml"), datetime.date(2026, 6, 28))
    >>> planned = brief(charted, Conditions(parse_speeds(["110"]), winds=parse_winds(["240/25"])))
    >>> for number in planned.numbers[:3]:
    ...     print(f"{number.name}: {number.value:.1f} {number.unit}")
    greatest distance: 7.7 NM
    margin to the limit: 2.3 NM
    longest outbound leg: 5.8 NM
    """
    if charted.kind == "arc" and (conditions.outbound_m is not None or conditions.outbound_s is not None):
        raise BriefError("--outbound means nothing on an arc: leave it out")
    plan = make_plan(charted, conditions)
    planned = missed_path(plan) if missed else planned_missed(plan)
    holds = published_holds(plan, planned)
    shown = planned if missed else None
    return Brief(charted, conditions, plan, _numbers(plan, shown, holds), fly_many(plan, errors), shown, holds)


def _numbers(plan: Plan, missed: MissedPath | None, holds: tuple[HoldLaps, ...]) -> tuple[Number, ...]:
    after = missed_numbers(missed) if missed is not None else ()
    of_holds = (number for laps in holds for number in lap_numbers(laps, _title(laps, holds)))
    return (*plan_numbers(plan), *after, *of_holds)


def _title(laps: HoldLaps, holds: tuple[HoldLaps, ...]) -> str:
    """What a hold is called: its categories too where several are of one name."""
    hold = laps.hold
    several = sum(other.hold.name == hold.name for other in holds) > 1
    return f"hold at {hold.name}{f' ({hold.category})' if several and hold.category is not None else ''}"
