"""Holds apart from the reversal: the laps flown about each published hold, found by the shapes that fly a hold in lieu.

A hold is looked for as if nothing else were charted, with its own fix, course and turns. Its laps are the circuits of that
shape: the entry is the first. Stretches that belong to approaches are left alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby, zip_longest

from analyzer.frozen import dataclass
from analyzer.legs.find import find_reversals
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, wrap
from analyzer.procedure.approach import PublishedHold
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import PartName

__all__ = ["Held", "find_holds", "hold_chart", "laps_of"]

_PASSED_M = 2.0 * NM  # a fix not approached this closely is not held at
_BACK_M = 1.0 * NM  # from the fix, at most, an entry ends that returned to it
_SAME_FIX_M = 0.2 * NM
_SAME_COURSE_RAD = 30.0 * DEG  # a hold whose course differs by less is taken for the other at first
_LEAST_FREE_S = 120.0  # a shorter stretch holds no lap
_GOES_ON_S = 10.0  # between a lap that came in and the next that begins over the fix, with a roll from one bank to the other
_FINAL_LEAST_M = 1.5 * NM  # a hold in lieu that is followed by a final leg of less was a hold


@dataclass(frozen=True, eq=False)
class Held:
    """A hold as it was flown: which one is charted, the flight seen against it, and its laps as the circuits of a hold."""

    hold: PublishedHold
    motion: Motion
    flown: Reversal

    @property
    def start_s(self) -> float:
        """When its fix was first reached."""
        return self.flown.begun_s

    @property
    def end_s(self) -> float:
        """When its last lap ended."""
        return self.flown.parts[-1].end_s


def hold_chart(charted: Charted, hold: PublishedHold) -> Charted:
    """The procedure as if it charted only this hold."""
    fix = charted.procedure.fix
    at_fix = _apart(charted, hold) < _SAME_FIX_M
    kind = fix.kind if at_fix else "waypoint"
    if not at_fix and hold.leg_by == "dme":
        kind = "vor"  # a hold by DME stands at a station or on a radial of one
    place = {"latitude_deg": hold.latitude_rad / DEG, "longitude_deg": hold.longitude_rad / DEG}
    named = fix.model_copy(update={"name": hold.name, "kind": kind, **place})
    return replace(
        charted,
        procedure=charted.procedure.model_copy(update={"fix": named}),
        fix_latitude_rad=hold.latitude_rad,
        fix_longitude_rad=hold.longitude_rad,
        fix_elevation_m=charted.fix_elevation_m if at_fix else 0.0,
        kind="hold",
        outbound_true_rad=(hold.inbound_true_rad + math.pi) % math.tau,
        inbound_true_rad=hold.inbound_true_rad,
        side=-hold.turn,
        turn=hold.turn,
        offset_true_rad=None,
        limit_m=None,
        limit_latitude_rad=hold.latitude_rad,
        limit_longitude_rad=hold.longitude_rad,
        within_by_dme=False,
        maximum_speed_mps=hold.maximum_speed_mps,
        floors_m={"hold": hold.minimum_m} if hold.minimum_m is not None else {},
        ceilings_m={"hold": hold.maximum_m} if hold.maximum_m is not None else {},
        target_speeds_mps={leg: speed for leg, speed in charted.target_speeds_mps.items() if leg == "hold"},
        leg_time_s=hold.leg_time_s,
        leg_length_m=hold.leg_length_m,
        leg_by=hold.leg_by,
        maximum_time_s=None,
        minimum=None,
        fixes=(),
        arrivals=(),
        runway=None,
        on_field=False,
        glide_path_rad=None,
        warnings=(),
        holds=(),
        missed=None,
        held=hold,
    )


def _apart(charted: Charted, hold: PublishedHold) -> float:
    distance, _ = geodesy.inverse(charted.fix_latitude_rad, charted.fix_longitude_rad, hold.latitude_rad, hold.longitude_rad)
    return float(distance)


def find_holds(motion: Motion, approaches: Sequence[Reversal]) -> tuple[tuple[Held, ...], tuple[Reversal, ...]]:
    """The holds of a flight in order, and the approaches without those that were holds."""
    kept = [approach for approach in approaches if not _was_a_hold(motion, approach)]
    then = [*approaches[1:], None][: len(approaches)]
    entries = [
        one for one, after in zip(approaches, then, strict=True) if one in kept and _may_have_entered(motion, one, after)
    ]
    if entries:
        without = [one for one in kept if one not in entries]
        found = _held_between(motion, without)
        # what begins no hold after all is an approach
        kept = [
            one for one in kept if one not in entries or not any(held.start_s <= one.begun_s < held.end_s for held in found)
        ]
    found = _held_between(motion, kept)
    return tuple(sorted(_best_apart(found), key=lambda held: held.start_s)), tuple(kept)


def _held_between(motion: Motion, approaches: Sequence[Reversal]) -> list[Held]:
    """The holds in the stretches that some approaches leave free, which may overlap."""
    stretches = _free(motion, approaches)
    return [
        held for hold in dict.fromkeys(motion.charted.holds) for span in stretches for held in _held_in(motion, hold, *span)
    ]


def _was_a_hold(motion: Motion, approach: Reversal) -> bool:
    """Whether what was taken for a reversal was flown at a published hold, with no final leg after it."""
    if not approach.flown.startswith("hold-") or approach.named is not None:
        return False
    charted = motion.charted
    return _without_final(motion, approach) and any(
        _apart(charted, hold) < _SAME_FIX_M
        and abs(float(wrap(hold.inbound_true_rad - charted.inbound_true_rad))) < _SAME_COURSE_RAD
        for hold in charted.holds
    )


def _may_have_entered(motion: Motion, approach: Reversal, after: Reversal | None) -> bool:
    """Whether what was taken for a reversal by one turn back may be the teardrop entry into a published hold at the fix.

    It lies on the holding side, and a lap follows at once, or that is not the side on which the chart has the reversal flown.
    """
    if approach.flown != "base-turn" or approach.named is not None or not _without_final(motion, approach):
        return False
    charted, end_s = motion.charted, approach.parts[-1].end_s
    lap = after is not None and after.flown == "hold-direct" and after.side == approach.side
    follows = lap and after is not None and after.begun_s - end_s < _GOES_ON_S
    holds = (hold for hold in charted.holds if _apart(charted, hold) < _SAME_FIX_M and -hold.turn == approach.side)
    here = any(abs(float(wrap(hold.inbound_true_rad - charted.inbound_true_rad))) < _SAME_COURSE_RAD for hold in holds)
    return here and (follows or approach.side != charted.side)


def _without_final(motion: Motion, approach: Reversal) -> bool:
    """Whether no final leg of an approach follows the fix."""
    final = approach.last_part("final")
    return final is None or motion.distance_at(final.end_s) <= _FINAL_LEAST_M


def _free(motion: Motion, approaches: Sequence[Reversal]) -> list[tuple[float, float]]:
    """The stretches that no approach takes up, its arrival left free. [s]"""
    stretches, begin = [], float(motion.states.time_s[0])
    for approach in approaches:
        first = next((part for part in approach.parts if part.name != "arrival"), approach.parts[0])
        stretches.append((begin, first.start_s))
        begin = approach.parts[-1].end_s
    stretches.append((begin, float(motion.states.time_s[-1])))
    return [(start, end) for start, end in stretches if end - start > _LEAST_FREE_S]


def _held_in(motion: Motion, hold: PublishedHold, start_s: float, end_s: float) -> list[Held]:
    states = motion.states.between(start_s, end_s)
    distance, bearing = geodesy.inverse_near(hold.latitude_rad, hold.longitude_rad, states.latitude_rad, states.longitude_rad)
    if not len(states) or float(distance.min()) > _PASSED_M:
        return []
    chart = hold_chart(motion.charted, hold)
    seen = replace(states, distance_m=distance, bearing_rad=bearing)
    there = Motion(replace(motion.curves, charted=chart), seen)
    found = [one for one in find_reversals(there) if one.flown.startswith("hold-")]
    flown = [one for one, then in zip_longest(found, found[1:]) if _came_in(one, states, then)]
    flown = [one for one in flown if not _left_for_another(motion, one, seen)]
    laps: list[Reversal] = []
    for one in map(_as_laps, flown):
        if laps and one.side == laps[-1].side and one.begun_s - laps[-1].parts[-1].end_s < _GOES_ON_S:
            laps[-1] = _with_more_laps(laps[-1], one)
        else:
            laps.append(one)
    return [Held(hold, there, one) for one in laps]


def _left_for_another(motion: Motion, flown: Reversal, seen: States) -> bool:
    """Whether a lap that did not come in ends with an approach elsewhere: who only turned at the fix held nowhere.

    `seen` are the states up to the approach, seen from the fix of the hold.
    """
    if flown.part("inbound") is not None or float(seen.time_s[-1]) >= float(motion.states.time_s[-1]):
        return False
    return flown.parts[-1].end_s >= float(seen.time_s[-1]) - 1.0 and float(seen.distance_m[-1]) > _BACK_M


def _came_in(flown: Reversal, states: States, then: Reversal | None) -> bool:
    """Whether a lap came in on its course, or the log ends before it could: a circuit that turns through the fix is no hold.

    An entry may return straight to the fix instead (AIM 5-3-8 j.3(a)), where the next lap begins, or an approach.
    """
    if flown.part("inbound") is not None or flown.parts[-1].end_s >= float(states.time_s[-1]) - 1.0:
        return True
    goes_on = then is not None and then.side == flown.side and then.begun_s - flown.parts[-1].end_s < _GOES_ON_S
    return goes_on and flown.flown != "hold-direct"


def _as_laps(flown: Reversal) -> Reversal:
    """The circuits with the names of a hold's parts, all of one leg but the way there, without what came after the last."""
    parts: list[Part] = []
    lap = 0
    for part in flown.parts:
        if part.name == "final":
            continue
        if part.name == "intercept":
            # of a hold the turn goes on until established: what closes with the course belongs to it
            parts[-1] = replace(parts[-1], end_s=part.end_s)
            continue
        if part.name == "arrival":
            parts.append(part)
            continue
        if lap == 0 or part.name == "entry_turn" or (part.name == "outbound" and parts[-1].name == "inbound"):
            lap += 1
        name: PartName = "turn_inbound" if part.name == "reversal_turn" else part.name
        parts.append(replace(part, name=name, of_leg="hold", lap=lap))
    return replace(flown, parts=tuple(parts), ending=None)


def _with_more_laps(flown: Reversal, more: Reversal) -> Reversal:
    """The laps of a hold that goes on, where a gap hides the turn at the fix and so lets a lap look like an entry."""
    before = flown.parts[-1].lap or 0
    parts = tuple(replace(part, lap=before + (part.lap or 0)) for part in more.parts if part.name != "arrival")
    passages = tuple(one for one in more.passages if one.time_s > flown.parts[-1].end_s + _GOES_ON_S)
    return replace(
        flown,
        parts=flown.parts + parts,
        passages=flown.passages + passages,
        established_s=more.established_s,
        ending=more.ending,
    )


def _best_apart(holds: Sequence[Held]) -> list[Held]:
    """Of holds that overlap in time, the one that fits best."""
    kept: list[Held] = []
    for held in sorted(holds, key=lambda held: -(held.flown.score_gap or 0.0)):
        if all(held.end_s <= other.start_s or held.start_s >= other.end_s for other in kept):
            kept.append(held)
    return kept


def laps_of(flown: Reversal) -> tuple[tuple[Part, ...], ...]:
    """The parts of each lap of a hold, the entry first."""
    return tuple(tuple(parts) for lap, parts in groupby(flown.parts, key=lambda part: part.lap) if lap is not None)
