"""Findings, their verdicts, and the context that checks work from."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import field

from analyzer.checks.excuse import Excused
from analyzer.checks.figures import Figures
from analyzer.checks.limits import Standard
from analyzer.checks.phrases import HEIGHT_UNITS, HeightUnit, shape_words
from analyzer.frozen import dataclass
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.motion import Motion
from analyzer.procedure.approach import PublishedHold
from analyzer.vocabulary import CheckName, Leg, PartName, Verdict

__all__ = [
    "ALTITUDE_MISSING",
    "BREAKS_OFF",
    "CLOSE",
    "CLOSE_SD",
    "GAP",
    "INSIDE",
    "NOT_ASSESSED",
    "NO_ALTITUDE",
    "OUTSIDE",
    "TOO_LITTLE",
    "Context",
    "Finding",
    "Lesson",
    "Place",
    "judge",
]

INSIDE: Verdict = "inside"
OUTSIDE: Verdict = "outside"
CLOSE: Verdict = "too close to call"
NOT_ASSESSED: Verdict = "not assessed"

# Reasons for missing data, recognised by `checks/missing_data.py`.
GAP = "the log has a gap in this stretch"
NO_ALTITUDE = "the log has no altitude"
ALTITUDE_MISSING = "altitude is missing from part of it"
TOO_LITTLE = "the log holds too little of it"
BREAKS_OFF = "the log breaks off on the final leg"

_LEGS_OF_ARC: Mapping[Leg, str] = {"outbound": "the arc", "reversal": "the turn off the arc"}
CLOSE_SD = 2.0  # a margin within this many standard deviations of zero is too close to call


@dataclass(frozen=True)
class Place:
    """When and where something happened."""

    time_s: float
    latitude_rad: float
    longitude_rad: float


@dataclass(frozen=True)
class Lesson:
    """The cause of a finding and what to try, a sentence each; at least one of the two is known."""

    cause: str | None
    advice: str | None


@dataclass(frozen=True)
class Finding:
    """The result of one check on one leg or part.

    Attributes
    ----------
    measured, limit : float or str, optional
        What was flown and what it is compared with, in `unit`, or as words.
    unit : str
        The unit pilots use: ft or m, NM, kt, deg, s, fpm.
    tolerance : float
        What the standard allows beyond the limit, in `unit`.
    margin : float, optional
        Distance to the limit including the tolerance, positive inside, in `unit`.
    sd : float, optional
        Standard deviation of `measured`, in `unit`.
    basis : str
        What the value was derived from: ``positions``, ``altitude``, ``recorded`` or ``estimate``.
    reason : str, optional
        Why there is no verdict.
    details : mapping
        Further figures, with their units in the keys.
    fix : str, optional
        The charted fix that the finding is about.
    lap : int, optional
        The lap of a hold that the finding is about, from 1.
    unexplained : bool
        Whether the aircraft was below a minimum and nothing in the log explains it: the approach then does not pass, though
        there is no verdict.
    withdrawn : bool
        Whether a doubt about the flight or the procedure withdrew the verdict.
    excused : Excused, optional
        An instructor's excuse; the finding is then not assessed and counts neither for nor against the flight.
    """

    check: CheckName
    leg: Leg
    part: PartName | None
    sentence: str
    verdict: Verdict
    measured: float | str | None = None
    limit: float | str | None = None
    unit: str = ""
    tolerance: float = 0.0
    margin: float | None = None
    sd: float | None = None
    place: Place | None = None
    source: str = ""
    basis: str = "positions"
    reason: str | None = None
    details: Mapping[str, float] = field(default_factory=dict)
    lesson: Lesson | None = None
    fix: str | None = None
    lap: int | None = None
    unexplained: bool = False
    withdrawn: bool = False
    excused: Excused | None = None


@dataclass(frozen=True, eq=False)
class Context:
    """What a check works from: the flight, the approach in it, its figures, and the standard."""

    motion: Motion
    reversal: Reversal
    figures: Figures
    standard: Standard

    @property
    def hold(self) -> PublishedHold | None:
        """The published hold, where a hold is debriefed instead of an approach; the reversal then consists of its laps."""
        return self.motion.charted.held

    @property
    def outbound_leg(self) -> Leg:
        """The leg that findings on the outbound part belong to: in a published hold everything is the hold."""
        return "hold" if self.hold is not None else "outbound"

    @property
    def height(self) -> HeightUnit:
        """The unit that altitudes are reported in, as in the procedure file."""
        return HEIGHT_UNITS[self.motion.charted.altitude_unit]

    def minimum_words(self, leg: Leg, altitude_m: float) -> str:
        """The lowest altitude of a leg in words: ``the minimum of 2,100 ft``, or its assigned or mandatory altitude."""
        mandatory = self.motion.charted.ceilings_m.get(leg) == altitude_m
        name = "assigned altitude" if self.motion.charted.assigned(leg) else "mandatory altitude" if mandatory else "minimum"
        return f"the {name} of {self.height.text(altitude_m)}"

    def minimum_source(self, leg: Leg) -> str:
        """Where the lowest altitude of a leg comes from: ``charted``, or ``assigned, 14 CFR 91.123(a)``."""
        return "assigned, 14 CFR 91.123(a)" if self.motion.charted.assigned(leg) else "charted"

    @property
    def flown_words(self) -> str:
        """The shape flown, in words."""
        return shape_words(self.reversal.flown, self.motion.charted.kind)

    def leg_words(self, leg: Leg) -> str:
        """A leg in words: ``the inbound leg``; on an arc, ``the arc`` instead of the outbound leg."""
        if self.reversal.flown == "arc" and leg in _LEGS_OF_ARC:
            return _LEGS_OF_ARC[leg]
        return f"the {leg} leg"

    def place(self, time_s: float) -> Place:
        """Position of the aircraft at an instant."""
        return Place(time_s, *self.motion.position_at(time_s))

    def incomplete(self, start_s: float, end_s: float, leg_or_part: Leg | PartName | None = None) -> str | None:
        """Why the log of a stretch is incomplete; None where it is complete. `leg_or_part` names the stretch."""
        if self.motion.gaps_between(start_s, end_s) or self.motion.holes_between(start_s, end_s, LONG_HOLE_S):
            return GAP
        last = self.reversal.parts[-1]
        unfinished = last.name != "final" and self.reversal.passage("inbound") is None
        if unfinished and self._log_ends_in_it and leg_or_part in (last.leg, last.name):
            return "the log ends in it"
        return None

    @property
    def _log_ends_in_it(self) -> bool:
        """Whether the log ends during the approach; otherwise the aircraft discontinued it."""
        return self.reversal.parts[-1].end_s > float(self.motion.states.time_s[-1]) - 1.0

    def altitude_missing(self, spans: Iterable[tuple[float, float]]) -> bool:
        """Whether altitudes are missing for longer than the smoothing can bridge."""
        holes = self.motion.altitude_holes
        return any(begin < end and stop > start for start, end in spans for begin, stop in holes)

    def altitudes_incomplete(self, start_s: float, end_s: float) -> str | None:
        """Why the altitudes of a stretch are incomplete, by a gap or altitudes missing; None where they are complete."""
        missing = ALTITUDE_MISSING if self.altitude_missing([(start_s, end_s)]) else None
        return self.incomplete(start_s, end_s) or missing

    def incomplete_turn(self, part: Part) -> str | None:
        """Why the log of a turn is incomplete; a shorter gap is enough to hide the peak bank."""
        if self.motion.holes_between(part.start_s, part.end_s):
            return GAP
        return self.incomplete(part.start_s, part.end_s, part.name)

    @property
    def not_established(self) -> str | None:
        """Why the aircraft was not established inbound; None where it was."""
        if self.reversal.established_s is not None:
            return None
        if not self.reversal.came_home:
            ended = "the log ends" if self._log_ends_in_it else "it was left"
            return f"{ended} before the aircraft was established inbound"
        return "the aircraft was never established inbound"


def judge(margin: float, sd: float, incomplete: str | None = None) -> tuple[Verdict, str | None]:
    """The verdict on a margin, and the reason where it is not assessed.

    Parameters
    ----------
    margin : float
        Distance to the limit, positive inside.
    sd : float
        Standard deviation of the margin, in the same unit.
    incomplete : str, optional
        Why the log of the measured stretch is incomplete. The true extreme can only lie beyond the measured one, so outside
        remains outside, and inside is not assessed.

    >>> judge(0.5, sd=0.1), judge(-0.1, sd=0.1), judge(-0.5, sd=0.1)
    (('inside', None), ('too close to call', None), ('outside', None))
    >>> judge(0.5, sd=0.1, incomplete=GAP)
    ('not assessed', 'the log has a gap in this stretch')
    """
    if not math.isfinite(margin):
        return NOT_ASSESSED, "the log lacks the data it needs"
    if abs(margin) < CLOSE_SD * sd:
        return CLOSE, None
    if margin < 0.0:
        return OUTSIDE, None
    if incomplete is not None:
        return NOT_ASSESSED, incomplete
    return INSIDE, None
