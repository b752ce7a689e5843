"""Explaining the approaches of a flight without a chart: the courses kept are tried as charts of every kind.

Each passage of the fix is examined separately, as a reversal from it can only have the courses kept between it and its
neighbours. So the work grows with the length of the flight, not with its square.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from analyzer.draft.arc_flown import arc_flown
from analyzer.draft.cost import cost_rad
from analyzer.draft.fix import FixGiven
from analyzer.draft.kept_courses import Kept, circular_median, kept_courses, unlike
from analyzer.draft.trial_charts import barbed, on_the_day, reversals_by, round_arc
from analyzer.draft.way_back import is_way_back
from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.legs.find import find_reversals
from analyzer.legs.passages import Abeam, find_passages
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.motion.states import States
from analyzer.physics.units import DEG, NM, unwrapped
from analyzer.procedure.schema import Procedure
from analyzer.track.track import Track

__all__ = ["Explanation", "explain"]

_ARRIVAL_S, _AFTERWARDS_S = 240.0, 300.0  # before the passage that begins a reversal, and after the one that ends it
_AWAY_M = 1.1 * NM  # from the fix: a stretch that begins nearer would begin with a passage
_TURNED_BACK_RAD = 120.0 * DEG  # between two passages: some reversal
_FARTHEST_M = 20.0 * NM  # that a reversal goes out; the longest charted limit is about 15: AIM 5-4-9 a.1
_MOST_COURSES = 4  # of one stretch: inbound, on final, on arrival, outbound
_CROSSING_S, _CROSSED_M = 5.0, 0.5 * NM
_TURNS_S, _LEG_S = 120.0, (60.0, 600.0)  # of a lap: its turns at standard rate, and the charted times of its legs
_SAME_S = 2.0
_LEFT_OVER_RAD = 10.0 * DEG  # cost of an explanation that leaves the whole flight after it unexplained


@dataclass(frozen=True, eq=False)
class Explanation:
    """An approach as explained by a trial chart, the stretch of the flight it was tried on, and its cost. [rad]"""

    motion: Motion
    reversal: Reversal
    cost_rad: float


def explain(track: Track, fix: FixGiven) -> tuple[Motion, tuple[Explanation, ...]]:
    """The motion of a flight relative to a fix, and the explanations of its approaches, the best first.

    Raises
    ------
    LogError
        No approach to the fix is recognised in the flight.
    ProcedureError
        No magnetic model covers the place or date.
    """
    motion = analyse_motion(track, on_the_day(track, barbed(fix, 0.0)))
    passages = find_passages(motion.states)
    kept = kept_courses(motion.states)
    numbers = range(len(passages))
    explanations = [one for number in numbers for one in _from(motion, fix, passages, number, kept)]
    explanations += [one for number in numbers for one in _by_arc(motion, fix, passages, number, kept)]
    explanations = explanations or [one for number in numbers for one in _straight_in(motion, fix, passages, number, kept)]
    if not explanations:
        nearest = float(motion.states.distance_m.min()) / NM
        raise LogError(
            f"{track.file}: no approach to {fix.latitude_deg:g},{fix.longitude_deg:g} is recognised, which the flight passes "
            f"at {nearest:.1f} NM; is --fix LAT,LON the fix that the reversal began from?"
        )
    return motion, tuple(sorted(explanations, key=lambda one: round(one.cost_rad, 9)))


def _from(
    motion: Motion, fix: FixGiven, passages: tuple[Abeam, ...], number: int, kept: tuple[Kept, ...]
) -> Iterator[Explanation]:
    """Explanations by a reversal that begins with a passage."""
    passage, home_s = passages[number], _passed_s(motion, passages, number + 1)
    if not _turned_back(motion.states.between(passage.time_s, home_s)) or is_way_back(motion.states, passage.time_s, home_s):
        return
    before = [one for one in kept if _within(one, _passed_s(motion, passages, number - 1), passage.time_s)]
    between = [one for one in kept if _within(one, passage.time_s, home_s)]
    after = [one for one in kept if _within(one, home_s, _passed_s(motion, passages, number + 2))]
    out, back = [one for one in between if one.outward], [one for one in between if not one.outward]
    finals, arrivals = [one for one in after if one.outward], [one for one in before if not one.outward]
    courses = [one.inbound_rad for one in (*back[:2], *finals[:1], *arrivals[:1], *out[:1])]
    # the inbound leg of a hold may be too short to count as kept
    courses += [] if back else _crossed(motion, home_s)
    inbound = unlike(courses)[:_MOST_COURSES]
    outward = unlike(one.inbound_rad for one in out[:2])
    start = max(passage.time_s - _ARRIVAL_S, _left_s(motion, passages, number - 1))
    end = min(home_s + _AFTERWARDS_S, max(_come_to_s(motion, passages, number + 2), home_s))
    states, east = motion.states.between(start, end), motion.charted.variation.east_rad
    leg_s = min(max((home_s - passage.time_s - _TURNS_S) / 2.0, _LEG_S[0]), _LEG_S[1])
    for course in inbound:
        for procedure in reversals_by(fix, course, outward, east, leg_s):
            at = Motion(replace(motion.curves, charted=on_the_day(motion.track, procedure)), states)
            for reversal in find_reversals(at):
                begun = reversal.passage("outbound")
                if begun is not None and abs(begun.time_s - passage.time_s) < _SAME_S and _flown_so(at, reversal):
                    yield Explanation(at, reversal, cost_rad(at, reversal) + _left_over(motion, reversal))


def _crossed(motion: Motion, home_s: float) -> list[float]:
    """The course on which the fix was crossed, if it was. [rad]"""
    states = motion.states.between(home_s - _CROSSING_S, home_s)
    return [circular_median(states.track_rad)] if len(states) and float(states.distance_m[-1]) < _CROSSED_M else []


def _by_arc(
    motion: Motion, fix: FixGiven, passages: tuple[Abeam, ...], number: int, kept: tuple[Kept, ...]
) -> Iterator[Explanation]:
    """Explanations by an arc that leads to a passage."""
    for one in _led_in(motion, passages, number, kept):
        arc = arc_flown(motion, one.start_s, fix)
        if arc is not None:
            yield from _up_to(motion, passages, number, round_arc(fix, _magnetic_deg(motion, one), arc))


def _straight_in(
    motion: Motion, fix: FixGiven, passages: tuple[Abeam, ...], number: int, kept: tuple[Kept, ...]
) -> Iterator[Explanation]:
    """Explanations by a straight-in that leads to a passage."""
    for one in _led_in(motion, passages, number, kept):
        yield from _up_to(motion, passages, number, barbed(fix, _magnetic_deg(motion, one)))


def _led_in(motion: Motion, passages: tuple[Abeam, ...], number: int, kept: tuple[Kept, ...]) -> list[Kept]:
    """The courses kept towards the fix before a passage, longest first; none on the way back from a missed approach."""
    passage_s = passages[number].time_s
    if number and is_way_back(motion.states, passages[number - 1].time_s, passage_s):
        return []
    begin = _left_s(motion, passages, number - 1)
    return [one for one in kept if not one.outward and _within(one, begin, passage_s)][:2]


def _magnetic_deg(motion: Motion, kept: Kept) -> float:
    return (kept.inbound_rad - motion.charted.variation.east_rad) / DEG


def _up_to(motion: Motion, passages: tuple[Abeam, ...], number: int, procedure: Procedure) -> Iterator[Explanation]:
    """Explanations by a chart without a reversal, of approaches that end with a passage."""
    passage_s, begin = passages[number].time_s, _left_s(motion, passages, number - 1)
    end = min(passage_s + _AFTERWARDS_S, max(_come_to_s(motion, passages, number + 1), passage_s))
    charted = on_the_day(motion.track, procedure)
    at = Motion(replace(motion.curves, charted=charted), motion.states.between(begin, end))
    for reversal in find_reversals(at):
        home = reversal.passage_home
        if reversal.side is None and home is not None and abs(home.time_s - passage_s) < _SAME_S:
            yield Explanation(at, reversal, cost_rad(at, reversal) + _left_over(motion, reversal))


def _passed_s(motion: Motion, passages: tuple[Abeam, ...], number: int) -> float:
    """The time of a passage, or the beginning or end of the log where there is none of that number. [s]"""
    if number < 0:
        return float(motion.states.time_s[0])
    return passages[number].time_s if number < len(passages) else float(motion.states.time_s[-1])


def _left_s(motion: Motion, passages: tuple[Abeam, ...], number: int) -> float:
    """When the aircraft was first away from the fix after a passage, or when the log begins. [s]"""
    if number < 0:
        return float(motion.states.time_s[0])
    after = motion.states.between(passages[number].time_s, _passed_s(motion, passages, number + 1))
    away = np.flatnonzero(after.distance_m > _AWAY_M)
    return float(after.time_s[away[0]]) if len(away) else float(after.time_s[-1])


def _come_to_s(motion: Motion, passages: tuple[Abeam, ...], number: int) -> float:
    """When the aircraft was last away from the fix before a passage, or when the log ends. [s]"""
    if number >= len(passages):
        return float(motion.states.time_s[-1])
    before = motion.states.between(_passed_s(motion, passages, number - 1), passages[number].time_s)
    away = np.flatnonzero(before.distance_m > _AWAY_M)
    return float(before.time_s[away[-1]]) if len(away) else float(before.time_s[0])


def _within(kept: Kept, start_s: float, end_s: float) -> bool:
    """Whether most of a kept course lies in a stretch."""
    return min(kept.end_s, end_s) - max(kept.start_s, start_s) > 0.5 * kept.seconds


def _turned_back(states: States) -> bool:
    return len(states) > 1 and float(np.ptp(unwrapped(states.track_rad))) > _TURNED_BACK_RAD


def _flown_so(motion: Motion, reversal: Reversal) -> bool:
    """Whether a reversal stayed within a plausible distance, and a hold came in on its course."""
    if reversal.flown.startswith("hold") and reversal.came_home and reversal.part("inbound") is None:
        return False
    span = reversal.reversal_span_s
    states = motion.states.between(*span) if span is not None else motion.states
    return span is None or not len(states) or float(states.distance_m.max()) < _FARTHEST_M


def _left_over(motion: Motion, reversal: Reversal) -> float:
    begin, end = (float(motion.states.time_s[k]) for k in (0, -1))
    return _LEFT_OVER_RAD * (end - reversal.parts[-1].end_s) / max(end - begin, 1.0)
