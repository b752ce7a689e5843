"""Which of several procedures a flight was flown by: the one that it fits best, and how sure that is.

The flight is smoothed once; for each procedure whose fix or hold it comes near, the approaches in it are found, or where there
are none its holds. The misfit of an approach is a sum of squares: passage of the fix by half a mile, the inbound leg's track by
10° and the outbound leg's by 15°, each counts one, another kind of reversal than charted, or the other side, ten. A hold that
was flown as another of the procedures publishes it, and this one does not, counts one. The least misfit wins; those within nine
of it are its rivals, between which and it nothing is decided. These scales are this project's own choice.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from analyzer.errors import ProcedureError
from analyzer.gradebook.settings import Candidate
from analyzer.legs.flight import Flight, find_flight
from analyzer.legs.grammar import SHAPES_AS_CHARTED
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion, see_against
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, FloatArray, wrap
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.cleared import clear
from analyzer.procedure.schema import Procedure
from analyzer.track.track import Track

__all__ = ["Fit", "Pick", "Seen", "pick_procedure", "rank_procedures", "see"]

_NEAR_M = 5.0 * NM  # of the fix or a hold; who passes no closer does not fly the procedure
_STEP_S = 10.0  # between the instants at which that is looked at
_PASSAGE_M, _INBOUND_RAD, _OUTBOUND_RAD = 0.5 * NM, 10.0 * DEG, 15.0 * DEG
_OTHER_SHAPE, _HOLD_UNTOLD = 10.0, 1.0  # that alone is more than the gap below, so that it decides
_MOST_MISFIT = 36.0  # such as a track 60° off the inbound course; beyond it nothing fits
_SURE_GAP = 9.0


@dataclass(frozen=True, eq=False)
class Seen:
    """A flight seen against a candidate: its motion, which holds the procedure as resolved for the day, and what is in it."""

    candidate: Candidate
    motion: Motion
    flight: Flight


@dataclass(frozen=True, eq=False)
class Pick:
    """The flight seen against the procedure that fits best; `gap` to the next best (None where no other fits at all).

    `rivals` are the others that fit nearly as well, the best first: which of them was flown is not decided.
    """

    best: Seen
    misfit: float
    gap: float | None
    next_best: str | None
    rivals: tuple[Seen, ...] = ()

    @property
    def candidate(self) -> Candidate:
        """The procedure that fits best."""
        return self.best.candidate

    @property
    def sure(self) -> bool:
        """Whether no other fits nearly as well."""
        return not self.rivals

    @property
    def names(self) -> str:
        """The best and its rivals by their names: ``a``, ``a or b``, ``a, b or c``."""
        *others, last = (seen.candidate.name for seen in (self.best, *self.rivals))
        return f"{', '.join(others)} or {last}" if others else last


@lru_cache(maxsize=4096)
def _charted_on(candidate: Candidate, date: dt.date) -> Charted:
    """The procedure as cleared, resolved for a day, worked out once in a process. Raises as `resolve`."""
    return clear(resolve(candidate.procedure, date, candidate.line), candidate.cleared)


def see(track: Track, candidate: Candidate, date: dt.date) -> Seen:
    """The flight seen against one candidate. Raises as `debrief`."""
    motion = analyse_motion(track, _charted_on(candidate, date))
    return Seen(candidate, motion, find_flight(motion))


@dataclass(frozen=True, eq=False)
class Fit:
    """How well a flight fits a candidate: the misfit, the less the better."""

    misfit: float
    seen: Seen


def pick_procedure(track: Track, candidates: Sequence[Candidate], date: dt.date) -> Pick | None:
    """The procedure that a flight fits best, None where it fits none.

    Raises
    ------
    LogError
        The log is too short to say anything of.
    """
    fits = rank_procedures(track, candidates, date)
    if not fits:
        return None
    best, *others = fits
    if not others:
        return Pick(best.seen, best.misfit, None, None)
    rivals = tuple(fit.seen for fit in others if fit.misfit - best.misfit < _SURE_GAP)
    return Pick(best.seen, best.misfit, others[0].misfit - best.misfit, others[0].seen.candidate.name, rivals)


def rank_procedures(track: Track, candidates: Sequence[Candidate], date: dt.date) -> tuple[Fit, ...]:
    """All procedures that a flight fits, the best first; those that it does not fit are left out.

    Raises
    ------
    LogError
        The log is too short to say anything of.
    """
    step = max(1, round(_STEP_S / track.interval_s))
    latitude, longitude = track.latitude_rad[::step], track.longitude_rad[::step]
    motion: Motion | None = None
    found: list[tuple[float, Seen]] = []
    for candidate in candidates:
        if not _comes_near(candidate.procedure, latitude, longitude):
            continue
        try:
            charted = _charted_on(candidate, date)
        except ProcedureError:  # no declination can be told for that day: it cannot be judged by
            continue
        motion = analyse_motion(track, charted) if motion is None else see_against(motion, charted)
        flight = find_flight(motion)
        misfits = [_misfit(motion, approach) for approach in flight.approaches]
        misfits = misfits or [_misfit(held.motion, held.flown) for held in flight.holds]
        if misfits and min(misfits) <= _MOST_MISFIT:
            found.append((min(misfits), Seen(candidate, motion, flight)))
    # procedures of one airport share the hold of a missed approach, which says nothing where one of their approaches was flown
    found = [one for one in found if one[1].flight.approaches] or found
    # what one procedure tells to be its hold is left untold by another that is alike but for the hold
    most = max((len(seen.flight.holds) for _, seen in found), default=0)
    fits = [Fit(misfit + _HOLD_UNTOLD * (most - len(seen.flight.holds)), seen) for misfit, seen in found]
    return tuple(sorted(fits, key=lambda fit: (fit.misfit, fit.seen.candidate.name)))


def _comes_near(procedure: Procedure, latitude_rad: FloatArray, longitude_rad: FloatArray) -> bool:
    """Whether a flight comes near the fix, or a hold with a position of its own."""
    holds = [(hold.latitude_deg, hold.longitude_deg) for hold in procedure.holds]
    for latitude, longitude in ((procedure.fix.latitude_deg, procedure.fix.longitude_deg), *holds):
        if latitude is not None and longitude is not None:
            distance, _ = geodesy.inverse_near(latitude * DEG, longitude * DEG, latitude_rad, longitude_rad)
            if float(distance.min()) <= _NEAR_M:
                return True
    return False


def _misfit(motion: Motion, reversal: Reversal) -> float:
    charted = motion.charted
    misfit = min(passage.distance_m for passage in reversal.passages) / _PASSAGE_M if reversal.passages else 0.0
    total = misfit**2
    for part, course, scale in (
        (reversal.last_part("inbound"), charted.inbound_true_rad, _INBOUND_RAD),
        (reversal.part("outbound"), charted.outbound_true_rad, _OUTBOUND_RAD),
    ):
        if part is not None:
            total += (_off_course(motion, part, course) / scale) ** 2
    if reversal.flown not in SHAPES_AS_CHARTED[charted.kind]:
        total += _OTHER_SHAPE
    if None not in (reversal.side, charted.side) and reversal.side != charted.side:
        total += _OTHER_SHAPE
    return total


def _off_course(motion: Motion, part: Part, course_rad: float) -> float:
    """By how much the mean track of a part differs from a course."""
    track = motion.states.between(part.start_s, part.end_s).track_rad
    if not len(track):
        return 0.0
    mean = math.atan2(float(np.sin(track).mean()), float(np.cos(track).mean()))
    return abs(float(wrap(mean - course_rad)))
