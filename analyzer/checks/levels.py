"""Check of the level parts: how well an altitude that was being held was held."""

from __future__ import annotations

import numpy as np

from analyzer.checks.model import Context, Finding, judge
from analyzer.checks.words import clock, feet
from analyzer.motion.model import States
from analyzer.motion.uncertainty import ALTITUDE_SD_M
from analyzer.physics.units import FPM, FT
from analyzer.procedure.schema import LEGS

__all__ = ["altitude_hold", "level_stretches"]

_OVER_S = 20  # seconds to either side over which a change of altitude is a climb or descent and no wobble
_CHANGING_MPS = 200.0 * FPM
_LEAST_S = 40.0  # shorter level stretches are the end of one descent and the beginning of the next
_ONE_LEVEL_M = 300.0 * FT  # a stretch that spans more is no level that was held


def level_stretches(states: States) -> tuple[States, ...]:
    """The stretches in which the altitude does not change by 200 ft/min or more over 40 s, each 40 s long at least."""
    n = len(states)
    if n < 2 * _OVER_S:
        return ()
    before, after = np.maximum(np.arange(n) - _OVER_S, 0), np.minimum(np.arange(n) + _OVER_S, n - 1)
    seconds = np.maximum(states.time_s[after] - states.time_s[before], 1.0)
    level = np.abs(states.altitude_m[after] - states.altitude_m[before]) < _CHANGING_MPS * seconds
    level &= seconds <= (after - before) + 2.0  # not across a gap
    edges = np.flatnonzero(np.diff(np.concatenate([[False], level, [False]]).astype(np.int8)))
    found = []
    for first, last in zip(edges[::2], edges[1::2] - 1, strict=True):
        if states.time_s[last] - states.time_s[first] >= _LEAST_S:
            stretch = states.between(float(states.time_s[first]), float(states.time_s[last]))
            if float(np.ptp(stretch.altitude_m)) < _ONE_LEVEL_M:
                found.append(stretch)
    return tuple(found)


def altitude_hold(context: Context) -> tuple[Finding, ...]:
    """Greatest departure from the median altitude of a level stretch, leg by leg; nothing is said of a leg without one."""
    if not context.motion.has_altitude:
        return ()  # the checks of minimum altitudes say that there is none
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


def _finding(context: Context, leg: str, stretches: list[States]) -> Finding:
    given = context.standard["altitude_hold"]
    departures = [stretch.altitude_m - float(np.median(stretch.altitude_m)) for stretch in stretches]
    worst = max(range(len(stretches)), key=lambda i: float(np.abs(departures[i]).max()))
    k = int(np.argmax(np.abs(departures[worst])))
    off, time = float(departures[worst][k]), float(stretches[worst].time_s[k])
    held = float(stretches[worst].altitude_m[k]) - off
    margin = given.value * FT - abs(off)
    verdict, reason = judge(margin, ALTITUDE_SD_M)
    part = context.reversal.part_at(time)
    return Finding(
        check="altitude_hold",
        leg=leg,
        part=part.name if part is not None and part.leg == leg else None,
        sentence=(
            f"Level at {feet(held)} on the {leg} leg: at most {feet(abs(off))} {'above' if off > 0 else 'below'}, "
            f"at {clock(time)}."
        ),
        verdict=verdict,
        measured=abs(off) / FT,
        limit=given.value,
        unit="ft",
        margin=margin / FT,
        sd=ALTITUDE_SD_M / FT,
        source=given.source,
        basis="altitude",
        reason=reason,
        details={"level_ft": held / FT},
        place=context.place(time),
    )
