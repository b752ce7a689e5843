"""Check of the level parts: how well an altitude that was being held was held."""

from __future__ import annotations

import numpy as np

from analyzer.checks.altitudes import altitude_untold
from analyzer.checks.check import Check
from analyzer.checks.finding import NO_ALTITUDE, NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.phrases import clock
from analyzer.motion.motion import States
from analyzer.physics.quantiles import median
from analyzer.physics.units import FPM, FT, FloatArray
from analyzer.vocabulary import LEGS, Leg

__all__ = ["CHECKS", "altitude_hold", "level_stretches"]

_OVER_S = 20  # seconds to either side over which a change of altitude is a climb or descent, not a wobble
_CHANGING_MPS = 150.0 * FPM
_LEAST_S = 40.0  # shorter level stretches are the end of one descent and the beginning of the next
_DESCENT_M = 200.0 * FT  # from end to end, however slowly: no level
_EXCURSION_M = 500.0 * FT  # a larger departure was intended
_SAME_LEVEL_M = 150.0 * FT  # a level resumed within this is the same level, and what lies between is a departure


def level_stretches(states: States) -> tuple[States, ...]:
    """The stretches in which a level was held, with whatever departed from it and came back.

    Level is an altitude that changes by less than 150 ft/min over 40 s, for 40 s at least. Level parts that follow each other
    within 150 ft are one.
    """
    n = len(states)
    if n < 2 * _OVER_S:
        return ()
    before, after = np.maximum(np.arange(n) - _OVER_S, 0), np.minimum(np.arange(n) + _OVER_S, n - 1)
    seconds = np.maximum(states.time_s[after] - states.time_s[before], 1.0)
    level = np.abs(states.altitude_m[after] - states.altitude_m[before]) < _CHANGING_MPS * seconds
    level &= seconds <= (after - before) + 2.0  # not across a gap
    edges = np.flatnonzero(np.diff(np.concatenate([[False], level, [False]]).astype(np.int8)))
    found: list[tuple[int, int, float]] = []
    for first, last in zip(edges[::2], edges[1::2] - 1, strict=True):
        if states.time_s[last] - states.time_s[first] < _LEAST_S:
            continue
        if abs(float(states.altitude_m[last] - states.altitude_m[first])) > _DESCENT_M:
            continue
        held = median(states.altitude_m[first : last + 1])
        same = next((k for k, level in enumerate(found) if _one_level(states, level, int(last), held)), None)
        if same is not None:
            first, _, held = found[same]
            del found[same:]
        found.append((int(first), int(last), held))
    return tuple(states.between(float(states.time_s[first]), float(states.time_s[last])) for first, last, _ in found)


def _one_level(states: States, level: tuple[int, int, float], last: int, median_m: float) -> bool:
    """Whether a level is the same as an earlier one, with no climb or descent to another level between."""
    between = states.altitude_m[level[0] : last + 1]
    return abs(level[2] - median_m) < _SAME_LEVEL_M and float(np.nanmax(np.abs(between - level[2]))) < _EXCURSION_M


def altitude_hold(context: Context) -> tuple[Finding, ...]:
    """Greatest departure from the median altitude of a level that was held, leg by leg; nothing of a leg without one."""
    if not context.motion.has_altitude:
        leg, given = context.reversal.parts[0].leg, context.standard["altitude_hold"]
        return (Finding("altitude_hold", leg, None, "Levels held.", NOT_ASSESSED, unit=context.height.name, source=given.source,
                        reason=NO_ALTITUDE),)  # fmt: skip
    findings = []
    for leg in LEGS:
        stretches = [
            stretch
            for span in context.reversal.leg_spans(leg)
            for stretch in level_stretches(context.motion.states.between(*span))
        ]
        if stretches:
            findings.append(_finding(context, leg, stretches))
    return tuple(findings)


def _departure(altitude_m: FloatArray) -> FloatArray:
    """How far altitudes are off their median, nothing where none is known: two levels may have a hole between them."""
    return np.nan_to_num(altitude_m - median(altitude_m[np.isfinite(altitude_m)]))


def _finding(context: Context, leg: Leg, stretches: list[States]) -> Finding:
    height = context.height
    given = context.standard["altitude_hold"]
    departures = [_departure(stretch.altitude_m) for stretch in stretches]
    worst = max(range(len(stretches)), key=lambda i: float(np.abs(departures[i]).max()))
    k = int(np.argmax(np.abs(departures[worst])))
    off, time = float(departures[worst][k]), float(stretches[worst].time_s[k])
    held = float(stretches[worst].altitude_m[k]) - off
    margin, sd = given.value * FT - abs(off), context.motion.height_noise_sd_m
    verdict, reason = judge(margin, sd, altitude_untold(context, leg))
    part = context.reversal.part_at(time)
    return Finding(
        check="altitude_hold",
        leg=leg,
        part=part.name if part is not None and part.leg == leg else None,
        sentence=(
            f"Level at {height.text(held)} on {context.leg_words(leg)}: at most {height.text(abs(off))} "
            f"{'above' if off > 0 else 'below'}, at {clock(time)}; limit {height.text(given.value * FT)}."
        ),
        verdict=verdict,
        measured=abs(off) / height.metres,
        limit=given.value * FT / height.metres,
        unit=height.name,
        margin=margin / height.metres,
        sd=sd / height.metres,
        source=given.source,
        basis="altitude",
        reason=reason,
        details={"level_ft": held / FT},
        place=context.place(time),
    )


CHECKS = (
    Check(
        "altitude_hold",
        altitude_hold,
        "Greatest departure from an altitude that was held, leg by leg, including excursions that came back to it.",
        "Level: less than 150 ft/min over 40 s, for 40 s at least. Level parts within 150 ft of each other are one.",
        limits={"altitude_hold": ("ft",)},
        weight=5.0,
    ),
)
