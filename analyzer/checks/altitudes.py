"""Checks of altitude: the charted minimum of each leg."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.model import CLOSE, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.words import clock, feet
from analyzer.motion.model import States
from analyzer.physics.units import FPM, FT
from analyzer.vocabulary import Leg

__all__ = ["CHECKS", "altitude_floor", "altitude_missing", "altitude_untold"]

_LEVEL_BELOW_M, _LEVEL_MPS, _LEVEL_S = 100.0 * FT, 150.0 * FPM, 30


def altitude_floor(context: Context) -> tuple[Finding, ...]:
    """Lowest altitude in each leg that has a charted minimum, against it."""
    findings = []
    for leg, floor in context.motion.charted.levels_m.items():
        spans = context.reversal.leg_spans(leg)
        if not spans:
            continue
        states = context.motion.states.within(spans)
        if not context.motion.has_altitude or not len(states) or not np.isfinite(states.altitude_m).any():
            findings.append(_no_altitude(context, leg, floor))
        else:
            findings.append(_floor_finding(context, leg, floor, states, altitude_untold(context, leg)))
    return tuple(findings)


def altitude_untold(context: Context, leg: Leg) -> str | None:
    """Why the altitude of a leg is not all there: a gap, the log's end, or altitude missing in it; None where it is."""
    spans = context.reversal.leg_spans(leg)
    incomplete = next(filter(None, (context.incomplete(*span, leg) for span in spans)), None)
    states = context.motion.states.within(spans)
    if incomplete is None and (not np.isfinite(states.altitude_m).all() or altitude_missing(context, spans)):
        incomplete = "altitude is missing in a part of it"
    return incomplete


def altitude_missing(context: Context, spans: Sequence[tuple[float, float]]) -> bool:
    """Whether the log goes without an altitude for longer than the smoothing can be trusted to bridge."""
    holes = context.motion.altitude_holes
    return any(begin < end and stop > start for start, end in spans for begin, stop in holes)


def _tolerance(context: Context, leg: Leg) -> tuple[float, str]:
    limit = context.standard["minimum_descent_altitude" if leg == "final" else "altitude_floor"]
    return limit.value * FT, f"charted; {limit.source}"


def _no_altitude(context: Context, leg: Leg, floor: float) -> Finding:
    reason = "the log has no altitude"
    sentence = f"Minimum of {feet(floor)} on the {leg} leg."
    return Finding("altitude_floor", leg, None, sentence, NOT_ASSESSED, limit=floor / FT, unit="ft",
                   source=_tolerance(context, leg)[1], reason=reason)  # fmt: skip


def _floor_finding(context: Context, leg: Leg, floor: float, states: States, incomplete: str | None) -> Finding:
    altitude = states.altitude_m
    if leg == "arrival":
        # what comes before the minimum was first reached is the climb after take-off
        reached = np.flatnonzero(altitude >= floor)
        first = int(reached[0]) if len(reached) else 0
        incomplete = incomplete or _level_below(states, first, floor)
        altitude = np.where(np.arange(len(altitude)) >= first, altitude, np.nan)
    k = int(np.argmin(np.where(np.isnan(altitude), np.inf, altitude)))
    lowest = float(altitude[k])
    tolerance, source = _tolerance(context, leg)
    margin = lowest - floor + tolerance
    verdict, reason = judge(margin, context.motion.altitude_sd_m, incomplete)
    if leg == "final" and verdict in (OUTSIDE, CLOSE):
        below = "too close to tell whether it was below; " if verdict == CLOSE else ""
        verdict, reason = (
            NOT_ASSESSED,
            f"{below}with the runway in sight the aircraft may descend below it, and a log does not tell what was in sight",
        )
    time = float(states.time_s[k])
    part = context.reversal.part_at(time)
    return Finding(
        check="altitude_floor",
        leg=leg,
        part=part.name if part is not None and part.leg == leg else None,
        sentence=_floor_sentence(leg, lowest, floor, tolerance, time),
        verdict=verdict,
        measured=lowest / FT,
        limit=floor / FT,
        unit="ft",
        tolerance=tolerance / FT,
        margin=margin / FT,
        sd=context.motion.altitude_sd_m / FT,
        source=source,
        basis="altitude",
        reason=reason,
        place=context.place(time),
    )


def _level_below(states: States, first: int, floor: float) -> str | None:
    """What is said where the minimum was reached only after level flight below it, which no climb after take-off is."""
    low = states.altitude_m[:first] < floor - _LEVEL_BELOW_M
    level = low & (np.abs(states.vertical_speed_mps[:first]) < _LEVEL_MPS)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], level, [False]]).astype(int)))
    if not len(edges) or int((edges[1::2] - edges[::2]).max()) < _LEVEL_S:
        return None
    return "before the minimum was first reached there was level flight below it, and a log does not tell what was cleared"


def _floor_sentence(leg: Leg, lowest: float, floor: float, tolerance: float, time: float) -> str:
    below = floor - lowest
    against = f"{feet(abs(below))} {'below' if below > 0.5 * FT else 'above'} the minimum of {feet(floor)}"
    allowed = f" ({feet(tolerance)} below it allowed)" if below > 0.5 * FT and tolerance > 0 else ""
    return f"Lowest on the {leg} leg: {feet(lowest)} at {clock(time)}, {against}{allowed}."


CHECKS = (
    Check(
        "altitude_floor",
        altitude_floor,
        "Lowest altitude in each leg against its charted minimum; on arrival from when the minimum was first reached.",
        "Margin = lowest altitude - minimum + tolerance. Below the minimum on final nothing is judged: the runway may be "
        "in sight.",
        limits={"altitude_floor": ("ft",), "minimum_descent_altitude": ("ft",)},
        weight=20.0,
        fails_outright=True,
    ),
)
