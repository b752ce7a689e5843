"""Which of several procedures a flight flew: the one that it fits best, and how certain that is.

The flight is smoothed once. For each procedure whose fix or hold it comes near, its approaches, or else its holds, are found.
The misfit of an approach is a sum of squares: half a mile at the passage of the fix, 10° of track on the inbound leg and 15° on
the outbound leg each count 1; another kind of reversal than charted, or the other side, counts 10. A hold in the flight that
another procedure publishes, and this one does not, counts 1. The least misfit wins; procedures within 9 of it are its rivals,
and which of them was flown is not decided. These scales are this project's own choice.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from functools import lru_cache

from analyzer.errors import FlownError, ProcedureError
from analyzer.frozen import dataclass
from analyzer.gradebook.settings import Candidate
from analyzer.legs.flight import Flight, find_flight
from analyzer.legs.grammar import SHAPES_AS_CHARTED
from analyzer.legs.named import Named
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion, see_against
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, FloatArray, circular_mean, wrap
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.cleared import clear
from analyzer.procedure.schema import Procedure
from analyzer.track.track import Track

__all__ = ["SURE_GAP", "Fit", "Pick", "Seen", "pick_procedure", "rank_procedures", "see"]

_NEAR_M = 5.0 * NM  # from the fix or a hold; a flight that passes no closer does not fly the procedure
_STEP_S = 10.0  # between the instants at which the distance is checked
_PASSAGE_M, _INBOUND_RAD, _OUTBOUND_RAD = 0.5 * NM, 10.0 * DEG, 15.0 * DEG
_OTHER_SHAPE, _HOLD_MISSING = 10.0, 1.0  # more than the gap below, so that it decides alone
_MOST_MISFIT = 36.0  # such as a track 60° off the inbound course; a larger misfit is no fit
SURE_GAP = 9.0


@dataclass(frozen=True, eq=False)
class Seen:
    """A flight relative to a candidate: its motion, with the procedure resolved for the day, and what was recognised in it."""

    candidate: Candidate
    motion: Motion
    flight: Flight


@dataclass(frozen=True, eq=False)
class Pick:
    """The flight relative to the procedure that fits best; `gap` is to the next best (None if no other fits at all).

    `rivals` are the others that fit nearly as well, the best first; which of them was flown is not decided.
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
        """The names of the best and its rivals: ``a``, ``a or b``, ``a, b or c``."""
        *others, last = (seen.candidate.name for seen in (self.best, *self.rivals))
        return f"{', '.join(others)} or {last}" if others else last


@lru_cache(maxsize=4096)
def _charted_on(candidate: Candidate, date: dt.date) -> Charted:
    """The procedure as cleared, resolved for a day, cached per process. Raises as `resolve`."""
    return clear(resolve(candidate.procedure, date, candidate.line), candidate.cleared)


def see(track: Track, candidate: Candidate, date: dt.date, named: Sequence[Named]) -> Seen:
    """The flight relative to one candidate; `named` is what the user says was flown. Raises as `debrief`."""
    motion = analyse_motion(track, _charted_on(candidate, date))
    return Seen(candidate, motion, find_flight(motion, named))


@dataclass(frozen=True, eq=False)
class Fit:
    """How well a flight fits a candidate: the smaller the misfit, the better."""

    misfit: float
    seen: Seen


def pick_procedure(track: Track, candidates: Sequence[Candidate], date: dt.date, named: Sequence[Named] = ()) -> Pick | None:
    """The procedure that a flight fits best, or None if it fits none.

    `named` is what the user says was flown; a procedure by which that cannot be does not fit.

    Raises
    ------
    LogError
        The log is too short to be analysed.
    """
    fits = rank_procedures(track, candidates, date, named)
    if not fits:
        return None
    best, *others = fits
    if not others:
        return Pick(best.seen, best.misfit, None, None)
    rivals = tuple(fit.seen for fit in others if fit.misfit - best.misfit < SURE_GAP)
    return Pick(best.seen, best.misfit, others[0].misfit - best.misfit, others[0].seen.candidate.name, rivals)


def rank_procedures(
    track: Track, candidates: Sequence[Candidate], date: dt.date, named: Sequence[Named] = ()
) -> tuple[Fit, ...]:
    """The procedures that a flight fits, flown as `named` says if it says anything, the best first.

    Raises
    ------
    LogError
        The log is too short to be analysed.
    """
    step = max(1, round(_STEP_S / track.interval_s))
    latitude, longitude = track.latitude_rad[::step], track.longitude_rad[::step]
    motion: Motion | None = None
    fitting: list[tuple[float, Seen]] = []
    for candidate in candidates:
        if not _comes_near(candidate.procedure, latitude, longitude):
            continue
        try:
            charted = _charted_on(candidate, date)
        except ProcedureError:  # the declination of that day is not known, so the procedure cannot be used
            continue
        motion = analyse_motion(track, charted) if motion is None else see_against(motion, charted)
        try:
            flight = find_flight(motion, named)
        except FlownError:  # what is named cannot have been flown here
            continue
        misfits = [_misfit(motion, approach) for approach in flight.approaches]
        misfits = misfits or [_misfit(held.motion, held.flown) for held in flight.holds]
        if misfits and min(misfits) <= _MOST_MISFIT:
            fitting.append((min(misfits), Seen(candidate, motion, flight)))
    # procedures of an airport often share the hold of the missed approach, which decides nothing if an approach was flown
    fitting = [(misfit, seen) for misfit, seen in fitting if seen.flight.approaches] or fitting
    # a procedure that publishes the hold that was flown explains more than one that differs only in lacking it
    most = max((len(seen.flight.holds) for _, seen in fitting), default=0)
    fits = [Fit(misfit + _HOLD_MISSING * (most - len(seen.flight.holds)), seen) for misfit, seen in fitting]
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
    """The angle between the mean track of a part and a course. [rad]"""
    track = motion.states.between(part.start_s, part.end_s).track_rad
    if not len(track):
        return 0.0
    return abs(float(wrap(circular_mean(track) - course_rad)))
