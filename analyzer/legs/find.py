"""Finding the approaches in a flight: the reversals that passages of the fix begin, and arcs and straight-ins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analyzer.legs.arcs_left import arcs_left
from analyzer.legs.bounds import approach_reach_m, beyond_all_m, came_in_reach_s
from analyzer.legs.circuits import is_further_circuit, join_circuit
from analyzer.legs.entries import entry_before
from analyzer.legs.final_leg import with_final_leg
from analyzer.legs.find_named import NOTHING_NAMED, AtPassage, led_as_named, reversed_as_named
from analyzer.legs.given_up import as_far_as_flown, given_up
from analyzer.legs.joined_at_fix import joined_at_fix
from analyzer.legs.match import best_approach
from analyzer.legs.named import begins_at_fix
from analyzer.legs.outbound_orbits import without_orbits
from analyzer.legs.passages import Abeam, find_passages
from analyzer.legs.reversal import NamedAs, Reversal
from analyzer.legs.segments import straight_segments
from analyzer.legs.survey import find_surveys
from analyzer.legs.windows import window_from, window_to
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.units import DEG, FT, NM, unwrapped

__all__ = ["find_reversals"]

_INBOUND_LEAST_M = 1.0 * NM  # on the inbound course before the fix, of an approach without a reversal at it
_TURNED_BACK_RAD = 150.0 * DEG  # since passing the fix: a reversal of some shape, not a straight-in
# A straight-in that is neither all that the log holds nor its end: so far on the course, and coming down so much.
_ON_COURSE_M, _CAME_DOWN_M = 3.0 * NM, 300.0 * FT
_HIGH_ABOVE_M = 1500.0 * FT  # above the highest charted minimum, where no approach is flown; no source
# One that does not come down so much for so long before the inbound course and after the fix, or goes so far on, is none.
_LEVEL_S, _FAR_BEYOND_M = 360.0, 15.0 * NM


def find_reversals(motion: Motion, named: AtPassage = NOTHING_NAMED) -> tuple[Reversal, ...]:
    """The approaches of a flight in order: every course reversal about the fix, and the arcs and straight-ins between them.

    A further circuit of a hold belongs to the reversal before it. The result for an approach does not depend on what the log
    holds hours before or after it. `named` are approaches that the user names, by the instant of their passage, as
    `analyzer.legs.find_named.placed` gives them: they are fitted as they are named, and the rest is searched about them.
    Raises `FlownError` where one cannot have been flown.
    """
    passages = find_passages(motion.states)
    approaches = _reversals(motion, passages, named)
    approaches += _led(motion, passages, approaches, named)
    approaches += _between(motion, passages, approaches)
    approaches += arcs_left(motion, approaches)
    low_enough = [one for one in approaches if not _high_above(motion, one)]
    found = tuple(sorted(_without_surveys(motion, low_enough), key=lambda one: one.begun_s))
    if not named:
        return found
    by_itself = find_reversals(motion)
    return tuple(one if one.named is None else _with_recognised(one, one.named, by_itself) for one in found)


def _with_recognised(approach: Reversal, named: NamedAs, by_itself: Sequence[Reversal]) -> Reversal:
    """An approach that is named, with the shape of the one that recognition by itself finds at the same passage."""
    at = approach.passages[0]
    same = (one.flown for one in by_itself if (at.time_s, at.direction) in ((p.time_s, p.direction) for p in one.passages))
    return replace(approach, named=replace(named, recognised=next(same, None)))


def _without_surveys(motion: Motion, approaches: list[Reversal]) -> list[Reversal]:
    """The approaches that are not part of a survey: those between its lines do not count unless they end on the runway."""
    surveys = find_surveys(straight_segments(motion)) if approaches else ()
    return [
        one
        for one in approaches
        if one.named is not None
        or one.ending == "reached the runway"
        or not any(survey.holds(at_s) for survey in surveys for at_s in _flown_at_s(one))
    ]


def _high_above(motion: Motion, approach: Reversal) -> bool:
    """Whether the fix is crossed en route, and crossed again: high above all that is charted, and not established before it."""
    floors = motion.charted.floors_m.values()
    ended = approach.ending in ("reached the runway", "climbed away")
    if approach.flown == "arc" or approach.named is not None or ended or not floors:
        return False
    if approach.established_s is not None and motion.distance_at(approach.established_s) > _INBOUND_LEAST_M:
        return False
    crossed_m = [motion.altitude_at(passage.time_s) for passage in approach.passages]
    return len(crossed_m) > 1 and all(altitude > max(floors) + _HIGH_ABOVE_M for altitude in crossed_m)


def _flown_at_s(approach: Reversal) -> tuple[float, ...]:
    """The middles of its way out, turn back and way in, or of its arc, or else when it passes the fix. [s]"""
    parts = [approach.part(name) for name in ("outbound", "reversal_turn", "arc", "inbound")]
    return tuple(0.5 * (part.start_s + part.end_s) for part in parts if part is not None) or (approach.passages[0].time_s,)


def _reversals(motion: Motion, passages: tuple[Abeam, ...], named: AtPassage) -> list[Reversal]:
    approaches: list[Reversal] = []
    free_from = came_back = float(motion.states.time_s[0])
    home = [time_s for time_s, one in named.items() if not begins_at_fix(one.shapes)]
    for number, passage in enumerate(passages):
        if approaches and passage.time_s < approaches[-1].passages[-1].time_s:
            continue  # one that was named leads over it
        after = passages[number + 1] if number + 1 < len(passages) else None
        before = approaches[-1] if approaches and approaches[-1].passages[-1].time_s == passage.time_s else None
        said = named.get(passage.time_s)
        if said is not None and begins_at_fix(said.shapes):
            approaches.append(with_final_leg(motion, reversed_as_named(motion, came_back, free_from, passages[number:], said)))
            free_from, came_back = approaches[-1].parts[-1].end_s, approaches[-1].passages[-1].time_s
            continue
        reversal = _reversal_from(motion, came_back, free_from, passage, after)
        if reversal is None or reversal.passages[-1].time_s in home:
            continue
        if before is not None and is_further_circuit(before, reversal):
            # its first turn may begin before the last circuit's final leg would have ended
            inbound = before.last_part("inbound")
            since = inbound.start_s if inbound is not None else passage.time_s
            approaches[-1] = join_circuit(before, _reversal_from(motion, came_back, since, passage, after) or reversal)
        elif (entry := entry_before(motion, approaches, passages[: number + 1], reversal)) is not None:
            if before is not None:
                approaches.pop()  # the same stretch, taken for a round of the mirrored hold
            approaches.append(join_circuit(entry, reversal))
        else:
            if approaches:
                approaches[-1] = _until(approaches[-1], reversal.parts[0].start_s)
            approaches.append(reversal)
        approaches[-1] = with_final_leg(motion, approaches[-1])
        free_from, came_back = approaches[-1].parts[-1].end_s, reversal.passages[-1].time_s
    return approaches


def _until(approach: Reversal, time_s: float) -> Reversal:
    """An approach up to where another begins."""
    if approach.parts[-1].end_s <= time_s:
        return approach
    kept = [part for part in approach.parts if part.start_s < time_s] or [approach.parts[0]]
    parts = (*kept[:-1], replace(kept[-1], end_s=min(kept[-1].end_s, time_s)))
    return replace(approach, parts=parts, ending="turned away" if approach.ending is not None else None)


def _reversal_from(motion: Motion, came_back: float, free_from: float, passage: Abeam, after: Abeam | None) -> Reversal | None:
    """The reversal that begins with a passage, where one does; `came_back` is when the one before last passed the fix."""
    window = window_from(motion, came_back, free_from, passage, after)
    if window is None:
        return None
    if float(window.states.time_s[-1]) <= free_from:
        window = replace(window, free_from_s=passage.time_s)  # from within a final leg that went on after an orbit
    straight_out = without_orbits(window.states, motion.charted.outbound_true_rad, passage.time_s)
    approach = best_approach(motion, replace(window, states=straight_out)) if straight_out is not None else None
    if approach is None:
        approach = best_approach(motion, window)
    if approach is None and window.end != "last step, any second":
        approach = given_up(motion, window)
    return as_far_as_flown(motion, approach) if approach is not None else None


def _led(motion: Motion, passages: tuple[Abeam, ...], reversals: list[Reversal], named: AtPassage) -> list[Reversal]:
    """The arcs and straight-ins that are named."""
    led: list[Reversal] = []
    for number, passage in enumerate(passages):
        said = named.get(passage.time_s)
        if said is None or begins_at_fix(said.shapes):
            continue
        before = passages[number - 1] if number else None
        done = [one.parts[-1].end_s for one in reversals if one.begun_s < passage.time_s]
        free_from = max(done, default=float(motion.states.time_s[0]))
        if before is not None and free_from >= passage.time_s:
            free_from = before.time_s
        led.append(with_final_leg(motion, led_as_named(motion, free_from, before, passage, said)))
    return led


def _between(motion: Motion, passages: tuple[Abeam, ...], reversals: list[Reversal]) -> list[Reversal]:
    """The arcs and straight-ins that lead to a passage, where no reversal is flown.

    A charted arc counts. Any other path there counts if it descended and was not abandoned; otherwise it was merely en route,
    except for the last one of a flight without any approach.
    """
    approaches: list[Reversal] = []
    last: Reversal | None = None
    begins = {one.passages[0].time_s for one in reversals}
    before: Abeam | None = None
    for passage in passages:
        done = [one for one in (*reversals, *approaches) if one.begun_s < passage.time_s]
        ends = max((one.parts[-1].end_s for one in done), default=float(motion.states.time_s[0]))
        if ends < passage.time_s and passage.time_s not in begins:
            approach = _approach_to(motion, before, passage, ends)
            if approach is None:
                at_fix = joined_at_fix(motion, before, passage, ends)
                approaches += [at_fix] if at_fix is not None else []
            else:
                last = approach
                if (approach.flown == "arc" and motion.charted.kind == "arc") or _came_down(motion, approach):
                    approaches.append(approach)
        before = passage
    return approaches or ([last] if last is not None and not reversals else [])


def _approach_to(motion: Motion, before: Abeam | None, passage: Abeam, free_from: float) -> Reversal | None:
    """The arc or straight-in that leads to a passage from the one before, where one does."""
    window = window_to(motion, before, passage, free_from)
    if window is None:
        return None
    approach = best_approach(motion, window)
    if approach is not None:
        approach = as_far_as_flown(motion, approach)
    inbound = approach.part("inbound") if approach is not None else None
    if approach is None or inbound is None or motion.distance_at(inbound.start_s) <= _INBOUND_LEAST_M:
        return None
    # an arc may be joined from its centre, and then turns back
    came_in = came_in_reach_s(window.states, approach_reach_m(motion.charted))
    passed = before is not None and came_in is None and free_from <= before.time_s and motion.charted.kind != "none"
    if approach.flown != "arc" and passed and _turned_rad(window.states) > _TURNED_BACK_RAD:
        return None
    whole = with_final_leg(motion, approach)
    return None if whole.flown != "arc" and _passes_over(motion, whole, passage.time_s) else whole


def _passes_over(motion: Motion, approach: Reversal, passage_s: float) -> bool:
    """Whether a flight over the fix along the inbound course goes on: level for minutes before and after it, or far beyond."""
    inbound, end_s = approach.part("inbound"), approach.parts[-1].end_s
    if inbound is None or approach.ending in ("reached the runway", "climbed away"):
        return False
    beyond_m = motion.distance_at(end_s) - beyond_all_m(motion.charted)
    if beyond_m > _FAR_BEYOND_M:
        return True
    altitude = motion.states.between(inbound.start_s - _LEVEL_S, end_s).altitude_m
    if beyond_m < 0.0 or end_s - passage_s < _LEVEL_S or not np.isfinite(altitude).any():
        return False
    return float(np.nanmax(altitude) - np.nanmin(altitude)) < _CAME_DOWN_M


def _came_down(motion: Motion, approach: Reversal) -> bool:
    """Whether a straight-in came down along the course and then landed or went around, or the log ends in it."""
    inbound, final = approach.part("inbound"), approach.last_part("final")
    if inbound is None or approach.ending in (None, "turned away"):
        return False
    end_s = final.end_s if final is not None else inbound.end_s
    far = motion.distance_at(inbound.start_s) >= _ON_COURSE_M
    return far and motion.altitude_at(inbound.start_s) - motion.altitude_at(end_s) >= _CAME_DOWN_M


def _turned_rad(states: States) -> float:
    """Range of the heading over a stretch."""
    return float(np.ptp(unwrapped(states.heading_rad)))
