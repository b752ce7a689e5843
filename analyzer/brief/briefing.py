"""Briefing in one call: a procedure and conditions in, the plan with its numbers and chances out."""

from __future__ import annotations

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
from analyzer.frozen import dataclass
from analyzer.procedure.charted import Charted
from analyzer.track.track import Track

__all__ = ["Brief", "brief"]


@dataclass(frozen=True, eq=False)
class Brief:
    """A briefed procedure.

    Attributes
    ----------
    charted : Charted
        The procedure.
    conditions : Conditions
        What it was briefed for.
    plan : Plan
        The path to fly, with its altitudes.
    numbers : tuple of Number
        The numbers to fly by.
    chances : Chances
        The spread of the path under errors.
    missed : MissedPath, optional
        The missed approach, if it was asked for.
    holds : tuple of HoldLaps
        The published holds with their laps.
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
        """The parts in order; with the missed approach instead of the landing where that is planned."""
        if self.missed is None:
            return self.plan.parts
        return (*parts_before(self.plan, self.missed.begins), *self.missed.parts)

    @property
    def cautions(self) -> tuple[str, ...]:
        """The cautions, a sentence each."""
        return (*cautions(self.plan), *after_cautions(self.plan, self.missed, self.holds))

    def track(self) -> Track:
        """The planned path as a log; with the missed approach, up to the fix of its hold."""
        line = planned_line(self.plan) if self.missed is None else line_through(self.plan, self.missed)
        return planned_track(self.plan, line)


def brief(charted: Charted, conditions: Conditions, errors: Errors | None = None, *, missed: bool = False) -> Brief:
    """Brief a procedure.

    Parameters
    ----------
    charted : Charted
        The procedure on a date, from `analyzer.procedure.charted.resolve`.
    conditions : Conditions
        Speeds, wind, turns, and the choices that the chart leaves to the pilot.
    errors : Errors, optional
        The errors to compute the chances for.
    missed : bool
        Whether the plan continues with the missed approach.

    Raises
    ------
    BriefError
        The brief asked for cannot be flown; the message gives the nearest one that can.

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
        raise BriefError("--outbound does not apply to an arc: leave it out")
    plan = make_plan(charted, conditions)
    planned = missed_path(plan) if missed else planned_missed(plan)
    holds = published_holds(plan, planned)
    shown = planned if missed else None
    return Brief(charted, conditions, plan, _numbers(plan, shown, holds), fly_many(plan, errors or Errors()), shown, holds)


def _numbers(plan: Plan, missed: MissedPath | None, holds: tuple[HoldLaps, ...]) -> tuple[Number, ...]:
    after = missed_numbers(missed) if missed is not None else ()
    of_holds = (number for laps in holds for number in lap_numbers(laps, _title(laps, holds)))
    return (*plan_numbers(plan), *after, *of_holds)


def _title(laps: HoldLaps, holds: tuple[HoldLaps, ...]) -> str:
    """The title of a hold, with its category where several have the same name."""
    hold = laps.hold
    several = sum(other.hold.name == hold.name for other in holds) > 1
    return f"hold at {hold.name}{f' ({hold.category})' if several and hold.category is not None else ''}"
