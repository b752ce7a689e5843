"""From a cut to parts: instants are refined, parts named, and the reversal assembled."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate

import numpy as np

from analyzer.frozen import dataclass
from analyzer.legs.boundaries import established_at, turn_bank, turn_span
from analyzer.legs.decode import Cut, CutEnd
from analyzer.legs.grammar import Shape
from analyzer.legs.guidance import needle
from analyzer.legs.passages import Abeam
from analyzer.legs.reversal import Part, Passage, Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.states import States
from analyzer.physics.runs import true_runs
from analyzer.physics.units import DEG, NM, wrap
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import PartName

__all__ = ["Window", "assemble"]

_LEAST_OUTBOUND_TURN_RAD = 20.0 * DEG
_LEVEL_RAD, _PARTED_S = 5.0 * DEG, 10  # straight for so long, two turns are not one; states are a second apart
_ON_COURSE_M, _ON_COURSE_RAD = 0.1 * NM, 5.0 * DEG  # no farther from the outbound course than tracking it goes
_ABOUT_S = 20.0  # before the cut in which being established is looked for
# Of the track off the inbound course, at most, where a deviation from it is corrected: on the scale of the needle, and beyond.
_ALONG_RAD, _ALONG_BEYOND_RAD = 90.0 * DEG, 45.0 * DEG
_AFTERWARDS_S = 10.0  # beyond the window in which being established may have to prove itself


@dataclass(frozen=True, eq=False)
class Window:
    """The stretch of a flight that a shape is fitted to.

    `outbound` is the passage that it begins with, None for an approach without one; `inbound` the passage at its end, None
    where the log ends before or the flight goes elsewhere: `end` says which. Seconds from `free_from_s` on belong to no
    earlier approach.
    """

    states: States
    outbound: Abeam | None
    inbound: Abeam | None
    free_from_s: float
    end: CutEnd = "last step"


@dataclass(frozen=True)
class _Decoded:
    """A step that was flown: its name, first and last second, and the direction of a turn (0 for none)."""

    name: PartName
    first: int
    last: int
    direction: int


def _decoded(states: States, shape: Shape, side: int, cut: Cut) -> list[_Decoded]:
    flown = [(step, start) for step, start in zip(shape.steps, cut.starts, strict=True) if start is not None]
    decoded = []
    for number, (step, start) in enumerate(flown):
        last = flown[number + 1][1] - 1 if number + 1 < len(flown) else len(states) - 1
        if step.part == "outbound_turn":
            start = _last_turn(states, start, last)
        if step.turning == "either":
            direction = 1 if float(np.sum(states.turn_rate_rad_s[start : last + 1])) >= 0.0 else -1
        else:
            direction = {"towards": side, "away": -side}.get(step.turning, 0)
        decoded.append(_Decoded(step.part, start, last, direction))
    return decoded


def _last_turn(states: States, first: int, last: int) -> int:
    """Where the last turn of a stretch begins: an earlier one, separated by straight flight, was on the way to the fix."""
    level = np.abs(states.bank_rad[first : last + 1]) < _LEVEL_RAD
    for begin, end in reversed(true_runs(level)):  # the last straight stretch first
        turned = abs(float(np.sum(states.turn_rate_rad_s[first + end : last + 1])))  # a state a second
        if end - begin >= _PARTED_S and turned > _LEAST_OUTBOUND_TURN_RAD:
            return first + end
    return first


def _spans(states: States, steps: Sequence[_Decoded]) -> dict[PartName, tuple[float, float, int]]:
    """Beginning, end and direction of every turn by name, refined."""
    spans: dict[PartName, tuple[float, float, int]] = {}
    before: _Decoded | None = None
    for step in steps:
        if step.direction:
            opposite = before is not None and before.direction == -step.direction
            from_bank = turn_bank(states.bank_rad[before.first : before.last + 1]) if before is not None and opposite else 0.0
            spans[step.name] = (*turn_span(states, step.first, step.last, step.direction, from_bank), step.direction)
        before = step
    return spans


def assemble(motion: Motion, window: Window, shape: Shape, side: int, cut: Cut, score_gap: float) -> Reversal:
    """The approach that a cut of a window represents."""
    states, charted = window.states, motion.charted
    steps = _decoded(states, shape, side, cut)
    spans = _spans(states, steps)
    end = window.inbound.time_s if window.inbound is not None else float(states.time_s[-1])
    established = _established(motion, window, steps, spans)
    if not _turned_onto_outbound(states, charted.outbound_true_rad, spans.get("outbound_turn")):
        spans.pop("outbound_turn", None)
    passage = window.outbound.time_s if window.outbound is not None else None
    parts = _lay_out(steps, spans, states, passage, established, (window.free_from_s, end))
    passages = []
    if window.outbound is not None:
        passages.append(Passage(window.outbound.time_s, window.outbound.distance_m, "outbound"))
    if window.inbound is not None and window.inbound.reached:
        passages.append(Passage(window.inbound.time_s, window.inbound.distance_m, "inbound"))
    turn = spans["reversal_turn"][2] if "reversal_turn" in spans else None
    if shape.name == "base-turn" and charted.kind != "base-turn" and turn is not None:
        side = _side_turned_on(states.between(spans["reversal_turn"][0], end), charted, turn)
    sided = shape.from_passage
    return Reversal(shape.name, score_gap, side if sided else None, turn, tuple(passages), tuple(parts), established)


def _side_turned_on(turning: States, charted: Charted, turn: int) -> int:
    """The side of the outbound course that one turn back was flown on (AIM 5-4-9 a.1): where it was begun.

    Begun on the course, it leads to the side that it turns to.
    """
    if not len(turning):
        return -turn
    across_m = float(turning.cross_track_m(charted.outbound_true_rad)[0])
    on_course_m = max(_ON_COURSE_M, math.sin(_ON_COURSE_RAD) * float(turning.distance_m[0]))
    return turn if abs(across_m) < on_course_m else 1 if across_m > 0.0 else -1


def _established(
    motion: Motion, window: Window, steps: Sequence[_Decoded], spans: dict[PartName, tuple[float, float, int]]
) -> float | None:
    """When the aircraft was established inbound: from the reversing turn on, or since it flies along the course.

    The inbound step of a straight-in is cut after the last great deviation; who was established before it has deviated.
    """
    if "reversal_turn" in spans:
        begin = spans["reversal_turn"][0]
    elif steps[-1].name == "inbound":
        begin = min(
            _along_since(window.states, steps[-1].first, motion.charted),
            float(window.states.time_s[steps[-1].first]) - _ABOUT_S,
        )
    else:
        return None
    end = float(window.states.time_s[-1])
    return established_at(motion.states.between(begin, end + _AFTERWARDS_S), motion.charted, begin, end)


def _along_since(states: States, inbound: int, charted: Charted) -> float:
    """Since when the aircraft flies along the inbound course, or corrects a deviation from it, up to a state. [s]"""
    on_scale = np.abs(needle(states, charted, charted.inbound_true_rad).fraction) <= 1.0
    off = np.abs(wrap(states.track_rad - charted.inbound_true_rad))
    away = np.flatnonzero((off > np.where(on_scale, _ALONG_RAD, _ALONG_BEYOND_RAD))[: inbound + 1])
    return float(states.time_s[min(int(away[-1]) + 1, inbound) if len(away) else 0])


def _turned_onto_outbound(states: States, outbound_rad: float, span: tuple[float, float, int] | None) -> bool:
    """Whether the fix was crossed so far off the outbound course that the turn counts as a part."""
    if span is None:
        return False
    before = states.track_rad[max(0, int(np.searchsorted(states.time_s, span[0])) - 1)]
    return abs(float(wrap(before - outbound_rad))) > _LEAST_OUTBOUND_TURN_RAD


def _lay_out(
    steps: Sequence[_Decoded],
    spans: dict[PartName, tuple[float, float, int]],
    states: States,
    passage_s: float | None,
    established: float | None,
    limits: tuple[float, float],
) -> list[Part]:
    """Contiguous parts: a turn takes its own span, and straight parts lie between.

    The arrival ends at the passage at the latest: a turn at the fix that is begun late takes what was flown since it passed.
    """
    begin, end = limits
    cuts: list[tuple[PartName, float, int | None]] = [("arrival", begin, None)]
    last_turn_end = passage_s
    for step in steps:
        if step.name in spans:
            start, last_turn_end, direction = spans[step.name]
            if passage_s is not None and len(cuts) == 1:
                start = min(start, passage_s)
            cuts.append((step.name, start, direction))
        elif step.name in ("outbound", "offset_leg", "arc"):
            start = last_turn_end if last_turn_end is not None else float(states.time_s[step.first])
            cuts.append((step.name, start, None))
    if "reversal_turn" in spans and last_turn_end is not None and last_turn_end < (established or end):
        cuts.append(("intercept", last_turn_end, None))
    if established is not None:
        cuts.append(("inbound", established, None))
    starts = list(accumulate((max(begin, min(start, end)) for _, start, _ in cuts), max))
    parts = []
    for (name, _, turn), start, stop in zip(cuts, starts, [*starts[1:], end], strict=True):
        if stop > start:
            parts.append(Part(name, start, stop, turn))
    return parts
