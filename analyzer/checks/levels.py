"""Check of level flight: how well an altitude was held."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.checks.altitudes import altitude_incomplete
from analyzer.checks.check import Check
from analyzer.checks.finding import ALTITUDE_MISSING, GAP, NO_ALTITUDE, NOT_ASSESSED, Context, Finding, judge
from analyzer.checks.phrases import clock
from analyzer.frozen import dataclass
from analyzer.motion.motion import ON_GROUND_MPS
from analyzer.motion.reach import left_level_m
from analyzer.motion.states import States
from analyzer.physics.quantiles import median
from analyzer.physics.runs import true_runs
from analyzer.physics.units import FPM, FT, FloatArray
from analyzer.vocabulary import LEGS, CheckName, Leg

__all__ = ["CHECKS", "Level", "altitude_hold", "level_finding", "level_stretches"]

_OVER_S = 20  # seconds to either side: over these, a change of altitude is a climb or descent rather than a fluctuation
_CHANGING_MPS = 150.0 * FPM
_LEAST_S = 40.0  # a shorter level stretch separates two descents
_DESCENT_M = 200.0 * FT  # from end to end, however slow, it is a descent
_EXCURSION_M = 500.0 * FT  # a larger departure is intended
_SAME_LEVEL_M = 150.0 * FT  # a level this close to an earlier one resumes it; what lies between is a departure
_ROLL_M = 50.0 * FT  # the slope of a runway and the error of altitudes on it; lower over the ground no level is flown
_AT_END_S, _AT_END_M = 15, 50.0 * FT  # back at an earlier level as the states end: states a second apart, and within so much


@dataclass(frozen=True, eq=False)
class Level:
    """A stretch of level flight, with departures that returned to it, and the altitude that was held. [m]

    That is the median of the parts flown level: a departure may have lasted longer than they did.
    """

    states: States
    altitude_m: float


@dataclass(frozen=True, eq=False)
class _Found:
    """A level from one index of the states to another, and the altitudes of its parts flown level."""

    first: int
    last: int
    level: FloatArray

    @property
    def altitude_m(self) -> float:
        return median(self.level)


def level_stretches(states: States) -> tuple[Level, ...]:
    """The stretches of level flight, including departures that returned to the level, as far as the altitude is known.

    Level means less than 150 ft/min over 40 s, for 40 s at least. Successive levels within 150 ft are one. The last may be
    shorter where it resumes an earlier one to within 50 ft.
    """
    states = states.where(np.isfinite(states.altitude_m)) if np.isnan(states.altitude_m).any() else states
    n = len(states)
    if n < 2 * _OVER_S:
        return ()
    before, after = np.maximum(np.arange(n) - _OVER_S, 0), np.minimum(np.arange(n) + _OVER_S, n - 1)
    seconds = np.maximum(states.time_s[after] - states.time_s[before], 1.0)
    level = np.abs(states.altitude_m[after] - states.altitude_m[before]) < _CHANGING_MPS * seconds
    level &= seconds <= (after - before) + 2.0  # not across a gap
    levels: list[_Found] = []
    for first, end in true_runs(level):
        last = end - 1
        if states.time_s[last] - states.time_s[first] < _LEAST_S:
            continue
        if abs(float(states.altitude_m[last] - states.altitude_m[first])) > _DESCENT_M:
            continue
        found = _Found(int(first), int(last), states.altitude_m[first : last + 1])
        same = next((k for k, earlier in enumerate(levels) if _one_level(states, earlier, found.last, found.altitude_m)), None)
        if same is not None:
            found = _Found(levels[same].first, found.last, np.concatenate([levels[same].level, found.level]))
            del levels[same:]
        levels.append(found)
    _resume_at_end(states, levels)
    return tuple(
        Level(states.between(float(states.time_s[one.first]), float(states.time_s[one.last])), one.altitude_m) for one in levels
    )


def _in_the_air(states: States) -> States:
    """The states without those on the ground: slower than any aircraft flies, and a roll before or after that, at their height.

    Only at either end of them a roll is looked for, as a simulator may be halted in level flight.
    """
    slow = states.ground_speed_mps < ON_GROUND_MPS
    if not slow.any():
        return states
    ground = slow.copy()
    for first, last in true_runs(slow):
        if first == 0 or last == len(slow):
            near = np.abs(states.altitude_m - median(states.altitude_m[first:last])) < _ROLL_M
            for begin, end in true_runs(near | slow):
                ground[begin:end] |= begin <= first < end
    return states.where(~ground)


def _one_level(states: States, level: _Found, last: int, altitude_m: float) -> bool:
    """Whether a level resumes an earlier one, without a climb or descent to another level in between."""
    between, held_m = states.altitude_m[level.first : last + 1], level.altitude_m
    return abs(held_m - altitude_m) < _SAME_LEVEL_M and float(np.nanmax(np.abs(between - held_m))) < _EXCURSION_M


def _resume_at_end(states: States, levels: list[_Found]) -> None:
    """Lets a level go on to the end of the states if the aircraft was back at it there, however short a time is left."""
    last = len(states) - 1
    end_m = states.altitude_m[-_AT_END_S:]
    whole = states.time_s[last] - states.time_s[last + 1 - _AT_END_S] < _AT_END_S
    for number, level in enumerate(levels):
        back = float(np.abs(end_m - level.altitude_m).max()) < _AT_END_M
        if whole and back and level.last < last and _one_level(states, level, last, level.altitude_m):
            levels[number:] = [_Found(level.first, last, level.level)]
            return


def altitude_hold(context: Context) -> tuple[Finding, ...]:
    """Greatest departure from the altitude of level flight, on each leg that has any. On the ground no level is held."""
    if not context.motion.has_altitude:
        leg, limit = context.reversal.parts[0].leg, context.standard["altitude_hold"]
        return (Finding("altitude_hold", leg, None, "Levels held.", NOT_ASSESSED, unit=context.height.name, source=limit.source,
                        reason=NO_ALTITUDE),)  # fmt: skip
    findings = []
    for leg in LEGS:
        levels = [
            level
            for span in context.reversal.leg_spans(leg)
            for level in level_stretches(_in_the_air(context.motion.states.between(*span)))
        ]
        if levels:
            words = f"Level at {{level}} on {context.leg_words(leg)}:"
            findings.append(level_finding(context, "altitude_hold", leg, levels, words, altitude_incomplete(context, leg)))
    return tuple(findings)


def level_finding(
    context: Context, check: CheckName, leg: Leg, levels: Sequence[Level], words: str, incomplete: str | None
) -> Finding:
    """A finding on the greatest departure from levels held; its sentence begins with `words`, with ``{level}`` in them."""
    limit, height = context.standard["altitude_hold"], context.height
    # in a hole of the log the curve says nothing
    departures = [np.nan_to_num(context.motion.logged_altitude_m(level.states) - level.altitude_m) for level in levels]
    worst = max(range(len(levels)), key=lambda i: float(np.abs(departures[i]).max()))
    k = int(np.argmax(np.abs(departures[worst])))
    off, time, level_m = float(departures[worst][k]), float(levels[worst].states.time_s[k]), levels[worst].altitude_m
    margin, sd = limit.value * FT - abs(off), context.motion.height_noise_sd_m
    if incomplete in (GAP, ALTITUDE_MISSING) and not _hidden(context, levels, limit.value * FT):
        incomplete = None
    verdict, reason = judge(margin, sd, incomplete)
    part = context.reversal.part_at(time)
    return Finding(
        check=check,
        leg=leg,
        part=part.name if part is not None and part.leg == leg else None,
        sentence=(
            f"{words.format(level=height.text(level_m))} at most {height.text(abs(off))} "
            f"{'above' if off > 0 else 'below'}, at {clock(time)}; limit {height.text(limit.value * FT)}."
        ),
        verdict=verdict,
        measured=abs(off) / height.metres,
        limit=limit.value * FT / height.metres,
        unit=height.name,
        margin=margin / height.metres,
        sd=sd / height.metres,
        source=limit.source,
        basis="altitude",
        reason=reason,
        details={"level_ft": level_m / FT, "departure_ft": off / FT},
        place=context.place(time),
    )


def _hidden(context: Context, levels: Sequence[Level], limit_m: float) -> bool:
    """Whether holes of the altitudes leave room for a departure from a level by more than a limit."""
    return any(
        left_level_m(context.motion, (float(level.states.time_s[0]), float(level.states.time_s[-1])), level.altitude_m)
        > limit_m
        for level in levels
    )


CHECKS = (
    Check(
        "altitude_hold",
        altitude_hold,
        "Greatest departure from an altitude that was held, leg by leg, including excursions that came back to it.",
        "Level: less than 150 ft/min over 40 s, for 40 s at least. Level parts within 150 ft of each other are one.",
        limits={"altitude_hold": ("ft",)},
        weight=5.0,
        all_lost_by={"ft": 100.0},
    ),
)
