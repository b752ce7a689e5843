"""Holds flown apart from the reversal, recognised by two laps or more about one place."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from analyzer.draft.kept_courses import circular_median
from analyzer.draft.stretches import Turned, turns_of
from analyzer.legs.held import Held, find_holds, laps_of
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, wrap
from analyzer.procedure.approach import PublishedHold

__all__ = ["held_away"]

_LEAST_RAD, _MOST_RAD = 140.0 * DEG, 230.0 * DEG  # of a turn from one leg of a hold to the other
_LEAST_LEG_S, _MOST_LEG_S = 15.0, 300.0
_ALIKE_M, _ALIKE_RAD = 0.6 * NM, 10.0 * DEG  # of laps about one fix, on one course
_SAME_M, _SAME_RAD = 0.1 * NM, 3.0 * DEG  # between holds that laps cannot distinguish
_AWAY_M, _OTHER_RAD = 2.0 * NM, 30.0 * DEG  # from the reversal's fix and course: nearer to both, it may belong to the reversal
_OVER_M = 0.4 * NM  # of the fix, when it is first reached
_LEAST_LAPS = 2  # one lap may be anything that turned twice
_USUAL_S = 60.0


def held_away(motion: Motion, approach: Reversal) -> tuple[Held, ...]:
    """The holds of a flight apart from the reversal, in order, each with the fix, course and turns of its laps."""
    flown_holds = [
        held
        for hold in _candidates(motion)
        for held in find_holds(Motion(replace(motion.curves, charted=replace(motion.charted, holds=(hold,))), motion.states),
                               (approach,))[0]
        if len(laps_of(held.flown)) >= _LEAST_LAPS and held.flown.side == -hold.turn and _comes_over(held)
    ]  # fmt: skip
    # a racetrack looks the same from both ends, and the aircraft comes to the fix first
    kept: list[Held] = []
    for held in sorted(flown_holds, key=lambda held: (held.start_s, -held.end_s)):
        if all(held.start_s >= other.end_s for other in kept):
            kept.append(held)
    return tuple(kept)


def _comes_over(held: Held) -> bool:
    """Whether the hold begins over its fix; a racetrack seen from its other end begins next to it."""
    first = held.flown.passage("outbound")
    return first is not None and first.distance_m < _OVER_M


def _candidates(motion: Motion) -> tuple[PublishedHold, ...]:
    """Possible holds: turns of about 180° one way, every other of which begins at the same place after the same course."""
    holds: list[PublishedHold] = []
    for chain in _chains(turns_of(motion.states)):
        # a turn on the way to the hold may precede those of its laps, and the leg from it is on another course
        for begin in range(len(chain) - _LEAST_LAPS):
            hold = _hold(motion, chain[begin::2], list(pairwise(chain[begin:])), 1 if chain[0].by_rad > 0.0 else -1)
            holds += [hold] if hold is not None else []
    return _unlike(holds)


def _unlike(holds: list[PublishedHold]) -> tuple[PublishedHold, ...]:
    """Holds without near duplicates of an earlier one, so that a hold flown again and again is searched once."""
    kept: list[PublishedHold] = []
    for hold in holds:
        if not any(_as_good(hold, other) for other in kept):
            kept.append(hold)
    return tuple(kept)


def _as_good(one: PublishedHold, other: PublishedHold) -> bool:
    apart, _ = geodesy.inverse(one.latitude_rad, one.longitude_rad, other.latitude_rad, other.longitude_rad)
    turned = abs(float(wrap(one.inbound_true_rad - other.inbound_true_rad)))
    return one.turn == other.turn and float(apart) < _SAME_M and turned < _SAME_RAD


def _chains(turns: tuple[Turned, ...]) -> list[list[Turned]]:
    """Chains of at least three turns of about 180° the same way, with the legs of a hold between them."""
    chains: list[list[Turned]] = []
    for turn in turns:
        if not _LEAST_RAD < abs(turn.by_rad) < _MOST_RAD:
            chains.append([])
            continue
        before = chains[-1][-1] if chains and chains[-1] else None
        follows = before is not None and before.by_rad * turn.by_rad > 0.0
        if before is not None and follows and _LEAST_LEG_S < turn.start_s - before.end_s < _MOST_LEG_S:
            chains[-1].append(turn)
        else:
            chains.append([turn])
    return [chain for chain in chains if len(chain) > _LEAST_LAPS]


def _hold(motion: Motion, turns: list[Turned], legs: list[tuple[Turned, Turned]], turn: int) -> PublishedHold | None:
    """The hold with these outbound turns; None if they do not begin at one place, or may belong to the reversal."""
    charted = motion.charted
    courses = [
        circular_median(motion.states.between(before.end_s, after.start_s).track_rad)
        for before, after in legs
        if after in turns
    ]
    places = np.array([motion.position_at(one.start_s) for one in turns])
    latitude, longitude = (float(value) for value in np.median(places, axis=0))
    apart, _ = geodesy.inverse_near(latitude, longitude, places[:, 0], places[:, 1])
    away, _ = geodesy.inverse(latitude, longitude, charted.fix_latitude_rad, charted.fix_longitude_rad)
    if len(turns) < _LEAST_LAPS or not courses or float(apart.max()) > _ALIKE_M:
        return None
    course = circular_median(np.array(courses))
    if float(away) < _AWAY_M and abs(float(wrap(course - charted.inbound_true_rad))) < _OTHER_RAD:
        return None
    if float(np.abs(wrap(np.array(courses) - course)).max()) > _ALIKE_RAD:
        return None
    return PublishedHold(
        name="HOLD", role="published", latitude_rad=latitude, longitude_rad=longitude, inbound_true_rad=course, turn=turn,
        leg_time_s=_USUAL_S, leg_length_m=None, leg_by=None, minimum_m=None, maximum_m=None, maximum_speed_mps=None,
        category=None,
    )  # fmt: skip
