"""From a flight to its debrief: smooth it, find approaches and holds, judge them, and add lessons."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from analyzer.checks.altitude_remark import altitude_remark, off_runway_m
from analyzer.checks.excuse import Excuse
from analyzer.checks.figures import measure
from analyzer.checks.finding import Context
from analyzer.checks.limits import Standard
from analyzer.checks.phrases import clock
from analyzer.checks.run import run_checks
from analyzer.checks.standard import DEFAULT_STANDARD, read_standard
from analyzer.debriefs.against_brief import compare_with_brief, same_procedure
from analyzer.debriefs.data import Approach, DebriefData
from analyzer.debriefs.excusing import excuse_findings
from analyzer.doubts.doubt import Doubt
from analyzer.doubts.find import find_doubts
from analyzer.doubts.pace import clock_shown
from analyzer.doubts.repositioned import repositioned
from analyzer.doubts.withdraw import withdraw, withdraw_named
from analyzer.legs.flight import Flight, find_flight
from analyzer.legs.named import Named
from analyzer.legs.reversal import Reversal
from analyzer.lessons.teach import teach
from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import Charted
from analyzer.track.track import Track

if TYPE_CHECKING:
    from analyzer.brief.brief_file import Card

__all__ = ["doubted_too", "judge", "judge_charted", "taught"]


def judge_charted(
    track: Track,
    charted: Charted,
    standard: Standard | str = DEFAULT_STANDARD,
    card: Card | None = None,
    named: Sequence[Named] = (),
    excuses: Sequence[Excuse] = (),
) -> DebriefData:
    """Debrief a flight by a procedure resolved for its date; `named` is what the user says was flown.

    `excuses` are those for findings of this flight.

    Raises `AnalyzerError` as `analyzer.debrief` does.
    """
    if card is not None:
        same_procedure(card, charted)
    motion = analyse_motion(track, charted)
    general = standard if isinstance(standard, Standard) else read_standard(standard)
    return taught(excuse_findings(judge(motion, find_flight(motion, named), general, card), excuses))


def judge(motion: Motion, flight: Flight, standard: Standard, card: Card | None = None) -> DebriefData:
    """Debrief a flight that is already smoothed and segmented, without lessons, which take longer than the judging.

    Parameters
    ----------
    motion : Motion
        The smoothed flight.
    flight : Flight
        What `find_flight` finds in `motion`.
    standard : Standard
        The standard to judge by; limits of the procedure's category are chosen here.
    card : Card, optional
        A brief of the same procedure to compare with.
    """
    judged_by = standard.for_category(motion.charted.procedure.category)
    each = [_flown_in(one, flight, judged_by, card) for one in motion.flights]
    return DebriefData(
        motion,
        judged_by,
        tuple(approach for one in each for approach in one.approaches),
        (*repositioned(motion), *_doubts_of(each)),
        tuple(hold for one in each for hold in one.holds),
    )


def _doubts_of(flights: Sequence[DebriefData]) -> Iterator[Doubt]:
    """The doubts of all flights of a log, each once; those that are not of all of them say which they are of."""
    for doubt in dict.fromkeys(doubt for one in flights for doubt in one.doubted):
        of = [clock(float(one.motion.states.time_s[0])) for one in flights if doubt in one.doubted]
        every = len(of) == len(flights)
        yield doubt if every else replace(doubt, text=f"In the flight from {' and '.join(of)} on: {doubt.text}")


def _flown_in(motion: Motion, flight: Flight, standard: Standard, card: Card | None) -> DebriefData:
    """Debrief one flight of a log, given what was flown in all of them."""
    begins_s, ends_s = float(motion.states.time_s[0]), float(motion.states.time_s[-1])
    reversals = [one for one in flight.approaches if begins_s <= one.begun_s <= ends_s]
    held = [one for one in flight.holds if begins_s <= one.start_s <= ends_s]
    doubted = find_doubts(motion, (*reversals, *(hold.flown for hold in held)))
    off_m = off_runway_m(motion)
    approaches = tuple(_judged(motion, reversal, standard, card, doubted, off_m) for reversal in reversals)
    holds = tuple(
        DebriefData(hold.motion, standard, (_judged(hold.motion, hold.flown, standard, None, doubted, off_m),), doubted)
        for hold in held
    )
    return DebriefData(motion, standard, approaches, doubted, holds)


def doubted_too(judged: DebriefData, doubt: Doubt) -> DebriefData:
    """Add a doubt from outside the flight to a debrief: it is listed first, and withdraws the verdicts it touches."""
    approaches = tuple(
        replace(approach, findings=withdraw(approach.findings, approach.reversal, (doubt,))) for approach in judged.approaches
    )
    holds = tuple(replace(doubted_too(hold, doubt), doubted=hold.doubted) for hold in judged.holds)
    return replace(judged, approaches=approaches, holds=holds, doubted=(doubt, *judged.doubted))


def taught(judged: DebriefData) -> DebriefData:
    """Add lessons to the findings of a debrief."""
    approaches = tuple(
        replace(
            approach,
            findings=teach(_context(judged, approach), approach.findings),
        )
        for approach in judged.approaches
    )
    return replace(judged, approaches=approaches, holds=tuple(taught(hold) for hold in judged.holds))


def _context(judged: DebriefData, approach: Approach) -> Context:
    """What the checks of an approach know: the flight of the log in which it was flown."""
    motion = judged.motion.flight_at(approach.reversal.begun_s)
    return Context(motion, approach.reversal, approach.figures, judged.standard)


def _judged(
    motion: Motion,
    reversal: Reversal,
    standard: Standard,
    card: Card | None,
    doubted: Sequence[Doubt],
    off_m: float | None,
) -> Approach:
    """Measure and judge an approach, or the laps of a hold, and compare it with its brief.

    `off_m` is the error of the logged altitude on the runway, as `off_runway_m` gives it.
    """
    figures = measure(motion, reversal)
    comparison = compare_with_brief(card, motion, figures) if card is not None else None
    measured = run_checks(Context(motion, reversal, figures, standard))
    findings = withdraw(withdraw_named(measured, reversal), reversal, doubted)
    said = any(doubt.off_m is not None for doubt in doubted)  # with the runway, as the remark would
    remark = "" if said else altitude_remark(motion, findings, off_m)
    return Approach(reversal, figures, findings, comparison, clock_shown(motion, reversal), remark)
