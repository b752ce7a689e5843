"""The look of the pictures: one colour per leg everywhere, and ink with enough contrast.

The leg colours have a contrast of 3:1 or more on white (WCAG 2.2, 1.4.11), differ for the common colour deficiencies, and are
never the only cue: legs are also named along the track.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from analyzer.checks.finding import CLOSE, INSIDE, OUTSIDE
from analyzer.legs.reversal import STRAIGHT_IN, Reversal
from analyzer.motion.motion import Motion
from analyzer.physics.units import NM, FloatArray
from analyzer.vocabulary import Leg, Verdict

__all__ = [
    "BAND", "CLOSE_COLOUR", "FAINT", "FONTS", "HATCH", "INK", "LEG_COLOUR", "LEG_TINT", "PAPER", "QUIET", "THEME",
    "VERDICT_STYLE", "WARN",
    "shown_span", "with_breaks",
]  # fmt: skip

FONTS = "DejaVu Sans, Verdana, sans-serif"

PAPER = "#ffffff"
INK = "#1a1a1a"
QUIET = "#595959"
FAINT = "#c9c9c9"
BAND = "#d3d3d3"
HATCH = "#8a8a8a"
WARN = "#b00020"
CLOSE_COLOUR = "#8a5a00"

# The class that pages and sheets give a verdict's words.
VERDICT_STYLE: Mapping[Verdict | None, str] = {OUTSIDE: "outside", CLOSE: "close", INSIDE: "inside"}

LEG_COLOUR: Mapping[Leg, str] = {
    "arrival": "#6b6b6b",
    "outbound": "#0061a8",
    "reversal": "#c04a00",
    "inbound": "#00734f",
    "final": "#7a3e94",
    "missed": "#8a6d00",
    "hold": "#0b7285",
}
LEG_TINT: Mapping[Leg, str] = {
    "arrival": "#f3f3f3",
    "outbound": "#e6f0f8",
    "reversal": "#fbeee4",
    "inbound": "#e5f3ee",
    "final": "#f2eaf5",
    "missed": "#f7f1dc",
    "hold": "#e3f2f5",
}
_LEG_IN_THE_DARK: Mapping[Leg, tuple[str, str]] = {
    "arrival": ("#a0a6ab", "#202427"),
    "outbound": ("#62aef0", "#182634"),
    "reversal": ("#f0955a", "#2e221a"),
    "inbound": ("#4fc497", "#172a24"),
    "final": ("#c89be6", "#2a2031"),
    "missed": ("#d8bd4a", "#2b2715"),
    "hold": ("#5fc6d8", "#15292d"),
}

# The CSS variable of each colour, and the colour used on a dark page.
THEME: Mapping[str, tuple[str, str]] = {
    PAPER: ("paper", "#15181b"),
    INK: ("ink", "#ececec"),
    QUIET: ("quiet", "#a6abb0"),
    FAINT: ("faint", "#4a4f55"),
    BAND: ("band", "#4d5257"),
    HATCH: ("hatch", "#7d8287"),
    WARN: ("warn", "#ff8f8f"),
    CLOSE_COLOUR: ("close", "#e5b454"),
    **{LEG_COLOUR[leg]: (leg, dark) for leg, (dark, _) in _LEG_IN_THE_DARK.items()},
    **{LEG_TINT[leg]: (f"{leg}-tint", dark) for leg, (_, dark) in _LEG_IN_THE_DARK.items()},
}

_ARRIVAL_SHOWN_S = 150.0
_OVER_FIX_M = 0.5 * NM
_SECOND_S = 1.5  # states are a second apart; a longer step is a gap


def shown_span(motion: Motion, reversal: Reversal) -> tuple[float, float]:
    """The stretch of an approach that pictures show: all of it, but only the last minutes of the arrival. [s]

    An arrival straight in that begins with a passage of the fix goes out from it and comes back: what was flown there, though
    it was not recognised, is shown whole.
    """
    first, log_begins_s = reversal.parts[0], float(motion.states.time_s[0])
    passed = first.start_s > log_begins_s and motion.distance_at(first.start_s) < _OVER_FIX_M
    if first.name != "arrival" or (reversal.flown == STRAIGHT_IN and passed):
        return first.start_s, reversal.parts[-1].end_s
    return max(first.start_s, first.end_s - _ARRIVAL_SHOWN_S), reversal.parts[-1].end_s


def with_breaks(time_s: FloatArray, *series: FloatArray) -> tuple[FloatArray, ...]:
    """A function that puts a NaN into series over these times wherever seconds are missing, so that lines break at gaps."""
    missing = np.flatnonzero(np.diff(time_s) > _SECOND_S) + 1
    if not len(missing):
        return series
    return tuple(np.insert(values.astype(float), missing, np.nan) for values in series)
