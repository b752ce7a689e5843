"""Whether the altitudes of a log are plausible: not in another unit, stuck at one value, or too high for an approach."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

import numpy as np

from analyzer.checks.phrases import clock, height_unit
from analyzer.doubts.doubt import Doubt
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.physics.quantiles import median
from analyzer.physics.units import FT, FloatArray
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import Leg

__all__ = ["heights"]

_SAY = "Say which: --unit altitude=ft or m."
_UNITS: Mapping[str, tuple[float, str]] = MappingProxyType(
    {
        "metres that were read as feet": (1.0 / FT, _SAY),
        "feet that were read as metres": (FT, _SAY),
        "hundreds of feet that were read as feet": (100.0, "Multiply them by 100 in the log."),
    }
)
_TOO_LOW, _TOO_HIGH = 0.9, 1.4  # times the charted altitude: the lowest of a leg that is flown as charted lies between
_ONE_LOW, _ONE_HIGH = 0.97, 1.08  # where one leg alone says so, as in a hold that is kept at its level
_NO_UNIT = 4.0  # times the charted ones, or a fraction: no unit and no mistake of a pilot
_MOST = 0.66  # share of the legs: one of them may have been flown too low
_FAR = 0.45  # of the charted altitude; beyond, the altitude as read does not fit
_LEAST_LEGS = 2
_NO_APPROACH_M = 20_000.0 * FT  # common practice, no source: the highest airports lie at some 14,500 ft
_UNDER_M = 100.0  # below the lowest place that the chart names
_STUCK_S, _STUCK_SAMPLES = 120.0, 20
_ROUND_M, _DIGIT_M = 10.0 * FT, 0.01
_NEVER_HELD, _AT_ONCE = 100, 10  # samples, of which so many never have one altitude
_TURN_BACK = 0.2  # of the changes: those of a steady descent do not
_LEVELS_APART_M = 300.0 * FT
_ON_FINAL_S = 60  # states are a second apart
_REASON = "the altitudes of the log are in doubt"


def heights(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """The doubts about the altitudes."""
    if not motion.has_altitude:
        return
    unit_doubts = tuple(_unit(motion, flown))
    yield from unit_doubts or _stuck(motion, flown)
    if not unit_doubts:
        yield from _too_high(motion, flown)


def _unit(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A doubt if the lowest altitudes of the legs fit the charted ones far better in another unit."""
    ratios = [
        float(np.nanmin(states.altitude_m)) / level
        for leg, level in _comparable(motion.charted)
        for reversal in flown
        if reversal.leg_spans(leg) and np.isfinite((states := motion.states.within(reversal.leg_spans(leg))).altitude_m).any()
    ]
    if not ratios:
        return
    share = np.array(ratios)
    low, high = (_TOO_LOW, _TOO_HIGH) if len(ratios) >= _LEAST_LEGS else (_ONE_LOW, _ONE_HIGH)
    for words, (factor, remedy) in _UNITS.items():
        fits = (share * factor > low) & (share * factor < high)
        if fits.mean() >= _MOST and (np.abs(share - 1.0) > _FAR).all():
            height = height_unit(motion.charted.altitude_unit)
            lowest = float(np.nanmin(motion.states.altitude_m))
            yield Doubt(
                f"The lowest altitudes of the legs are {median(share):.2g} times those charted, leg by leg: as altitudes in "
                f"{words} would be (the lowest of all is {height.text(lowest)}). {remedy}",
                "altitudes",
                _REASON,
            )
            return
    if len(ratios) >= _LEAST_LEGS and ((share < 1.0 / _NO_UNIT).all() or (share > _NO_UNIT).all()):
        yield Doubt(
            f"The lowest altitudes of the legs are {median(share):.2g} times those charted, leg by leg: no flight by this "
            "chart, and no unit that is known here. Look at the altitudes in the log.",
            "altitudes",
            _REASON,
        )


def _too_high(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A doubt if an approach stays higher than approaches are flown; a hold may be that high."""
    for reversal in flown:
        if any(part.leg == "hold" for part in reversal.parts):
            continue
        begin, end = reversal.begun_s, reversal.parts[-1].end_s
        altitude = motion.states.between(begin, end).altitude_m
        if np.isfinite(altitude).any() and float(np.nanmin(altitude)) > _NO_APPROACH_M:
            height = height_unit(motion.charted.altitude_unit)
            yield Doubt(
                f"What looks like an approach at {clock(begin)} is flown above {height.text(float(np.nanmin(altitude)))} "
                "throughout, higher than approaches are: it is taken for a flight en route.",
                "all",
                "no approach is flown as high",
                ((begin, end),),
            )


def _comparable(charted: Charted) -> list[tuple[Leg, float]]:
    """The legs whose charted altitude is high enough for a ratio to be meaningful, with it; of the holds the lowest."""
    holds = [hold.minimum_m for hold in charted.holds if hold.minimum_m is not None]
    levels: dict[Leg, float] = dict(charted.levels_m)
    if holds:
        levels["hold"] = min(holds)
    return [(leg, level) for leg, level in levels.items() if level > _UNDER_M and leg != "final"]


def _stuck(motion: Motion, flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A doubt if the altitude stays at one value to the end of the log, through legs charted far below it."""
    track = motion.track
    known = np.flatnonzero(np.isfinite(track.altitude_m))
    if len(known) < _STUCK_SAMPLES:
        return
    altitude, time = track.altitude_m[known], track.time_s[known]
    changes = np.flatnonzero(np.diff(altitude))
    first = int(changes[-1]) + 1 if len(changes) else 0
    begin, end, value = float(time[first]), float(time[-1]), float(altitude[-1])
    if end - begin < _STUCK_S or len(altitude) - first < _STUCK_SAMPLES:
        return
    if math.isclose(math.remainder(value, _ROUND_M), 0.0, abs_tol=_DIGIT_M) and not _never_held(altitude[:first]):
        return  # an autopilot may hold a round altitude exactly
    lower = [level for level in motion.charted.levels_m.values() if level < value - _LEVELS_APART_M]
    on_final = (motion.states.within(one.leg_spans("final")) for one in flown if one.leg_spans("final"))
    if not lower or not any(int((states.time_s >= begin).sum()) > _ON_FINAL_S for states in on_final):
        return
    height = height_unit(motion.charted.altitude_unit)
    yield Doubt(
        f"The altitude never changes from {clock(begin)} to the end of the log: {height.text(value)} to the last digit, "
        "through legs that are charted lower. It is stuck, and is not judged.",
        "altitudes",
        _REASON,
        ((begin, end),),
        "altitude stuck",
    )


def _never_held(altitude_m: FloatArray) -> bool:
    """Whether altitudes scatter, up and down, and none is held to the last digit for ten samples: a receiver's, or a hand's."""
    steps = np.diff(altitude_m)
    changes = np.flatnonzero(steps)
    if len(altitude_m) < _NEVER_HELD or len(changes) < _NEVER_HELD // 2:
        return False
    turns_back = float(np.mean(np.diff(np.sign(steps[changes])) != 0.0))
    return turns_back > _TURN_BACK and int(np.diff(changes).max()) < _AT_ONCE
