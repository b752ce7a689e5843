"""From a cut to parts: instants refined, parts named, the reversal put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.legs.boundaries import established_at, turn_bank, turn_span
from analyzer.legs.decode import Cut
from analyzer.legs.grammar import Shape
from analyzer.legs.model import STRAIGHT_IN, Part, Passage, Reversal
from analyzer.legs.passages import Abeam
from analyzer.motion.model import Motion, States
from analyzer.physics.units import DEG, FT, wrap

__all__ = ["assemble_reversal", "assemble_straight_in"]

_LEAST_OUTBOUND_TURN_RAD = 20.0 * DEG
_FINAL_OFF_COURSE_RAD = 45.0 * DEG
_FINAL_CLIMB_M = 300.0 * FT


@dataclass(frozen=True)
class _Decoded:
    """A step that was flown: its name, first and last second, and the direction of a turn (0 for none)."""

    name: str
    first: int
    last: int
    direction: int


def _decoded(states: States, shape: Shape, side: int, cut: Cut) -> list[_Decoded]:
    flown = [(step, start) for step, start in zip(shape.steps, cut.starts, strict=True) if start is not None]
    found = []
    for number, (step, start) in enumerate(flown):
        last = flown[number + 1][1] - 1 if number + 1 < len(flown) else len(states) - 1
        if step.turning == "either":
            direction = 1 if float(np.sum(states.turn_rate_rad_s[start : last + 1])) >= 0.0 else -1
        else:
            direction = {"towards": side, "away": -side}.get(step.turning, 0)
        found.append(_Decoded(step.part, start, last, direction))
    return found


def _spans(states: States, steps: Sequence[_Decoded]) -> dict[str, tuple[float, float, int]]:
    """Beginning, end and direction of every turn by name, refined."""
    spans: dict[str, tuple[float, float, int]] = {}
    before: _Decoded | None = None
    for step in steps:
        if step.direction:
            opposite = before is not None and before.direction == -step.direction
            from_bank = turn_bank(states.bank_rad[before.first : before.last + 1]) if before is not None and opposite else 0.0
            spans[step.name] = (*turn_span(states, step.first, step.last, step.direction, from_bank), step.direction)
        before = step
    return spans


def assemble_reversal(
    motion: Motion,
    states: States,
    shape: Shape,
    side: int,
    cut: Cut,
    score_gap: float,
    passages: tuple[Abeam, Abeam | None],
    free_from: float,
) -> Reversal:
    """The reversal that a cut stands for.

    `states` is the stretch that was cut; `passages` the outbound passage and the next one, None where the log ends before;
    `free_from` the instant from which seconds belong to no earlier approach.
    """
    steps = _decoded(states, shape, side, cut)
    spans = _spans(states, steps)
    outbound, inbound = passages
    log_end = float(motion.states.time_s[-1])
    end = inbound.time_s if inbound is not None else log_end
    established = None
    if "reversal_turn" in spans:
        established = established_at(states, motion.charted.inbound_true_rad, spans["reversal_turn"][0])
    if not _turned_onto_outbound(states, motion.charted.outbound_true_rad, spans.get("outbound_turn")):
        spans.pop("outbound_turn", None)
    parts = _lay_out(steps, spans, outbound.time_s, established, (free_from, end))
    if inbound is not None:
        final_end = _final_end(motion, inbound.time_s)
        if final_end > inbound.time_s:
            parts.append(Part("final", inbound.time_s, final_end))
    found = [Passage(outbound.time_s, outbound.distance_m, "outbound")]
    if inbound is not None:
        found.append(Passage(inbound.time_s, inbound.distance_m, "inbound"))
    return Reversal(shape.name, score_gap, side, -side, tuple(found), tuple(parts), established)


def _turned_onto_outbound(states: States, outbound_rad: float, span: tuple[float, float, int] | None) -> bool:
    """Whether the fix was crossed so far off the outbound course that the turn counts as a part."""
    if span is None:
        return False
    before = states.track_rad[int(np.searchsorted(states.time_s, span[0])) - 1]
    return abs(float(wrap(before - outbound_rad))) > _LEAST_OUTBOUND_TURN_RAD


def _lay_out(
    steps: Sequence[_Decoded],
    spans: dict[str, tuple[float, float, int]],
    passage_s: float,
    established: float | None,
    limits: tuple[float, float],
) -> list[Part]:
    """Parts from end to end: a turn takes its own span, what is straight lies between."""
    begin, end = limits
    cuts: list[tuple[str, float, int | None]] = [("arrival", begin, None)]
    last_turn_end = passage_s
    for step in steps:
        if step.name in spans:
            start, last_turn_end, direction = spans[step.name]
            cuts.append((step.name, start, direction))
        elif step.name in ("outbound", "offset_leg"):
            cuts.append((step.name, last_turn_end, None))
    if "reversal_turn" in spans and last_turn_end < (established if established is not None else end):
        cuts.append(("intercept", last_turn_end, None))
    if established is not None:
        cuts.append(("inbound", established, None))
    starts = [max(begin, min(start, end)) for _, start, _ in cuts]
    parts = []
    for (name, _, turn), start, stop in zip(cuts, starts, [*starts[1:], end], strict=True):
        if stop > start:
            parts.append(Part(name, start, stop, turn))
    return parts


def _final_end(motion: Motion, passage_s: float) -> float:
    """Where the final leg ends: the log does, the aircraft climbs away, or it turns off the final course."""
    states = motion.states.between(passage_s, float(motion.states.time_s[-1]))
    off = np.abs(wrap(states.track_rad - motion.charted.inbound_true_rad)) > _FINAL_OFF_COURSE_RAD
    moving = states.ground_speed_mps > 15.0
    climbed = states.altitude_m > np.fmin.accumulate(states.altitude_m) + _FINAL_CLIMB_M
    ends = np.flatnonzero((off & moving) | climbed)
    return float(states.time_s[ends[0]] if len(ends) else states.time_s[-1])


def assemble_straight_in(motion: Motion, states: States, first_inbound: int, passage: Abeam) -> Reversal:
    """A straight-in: on the inbound course from the given second to the fix."""
    begin = float(motion.states.time_s[0])
    start = established_at(states, motion.charted.inbound_true_rad, float(states.time_s[first_inbound]) - 20.0)
    established = start if start is not None else float(states.time_s[first_inbound])
    parts = [
        Part("arrival", begin, established),
        Part("inbound", established, passage.time_s),
        Part("final", passage.time_s, _final_end(motion, passage.time_s)),
    ]
    found = (Passage(passage.time_s, passage.distance_m, "inbound"),)
    return Reversal(STRAIGHT_IN, None, None, None, found, tuple(part for part in parts if part.duration_s > 0.0), established)
