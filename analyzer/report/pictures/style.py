"""The look of the pictures: one colour a leg everywhere, ink that keeps its contrast, and matplotlib's settings.

The leg colours reach a contrast of 3:1 or more on white (WCAG 2.2, 1.4.11), differ for the common colour deficiencies, and are
never the only cue: legs are also named where they lie.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection

from analyzer.legs.held import laps_of
from analyzer.legs.reversal import Reversal
from analyzer.physics.units import FloatArray
from analyzer.vocabulary import Leg

__all__ = [
    "BAND", "FAINT", "INK", "LEG_COLOUR", "LEG_TINT", "PAPER", "QUIET", "THEME", "WARN", "look", "shade_legs", "shown_span",
    "with_breaks",
]  # fmt: skip

PAPER = "#ffffff"
INK = "#1a1a1a"
QUIET = "#595959"
FAINT = "#c9c9c9"
BAND = "#d3d3d3"
WARN = "#b00020"

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

# What a page calls each colour of a picture, and what stands for it where the reader asks for a dark page.
THEME: Mapping[str, tuple[str, str]] = {
    PAPER: ("paper", "#15181b"),
    INK: ("ink", "#ececec"),
    QUIET: ("quiet", "#a6abb0"),
    FAINT: ("faint", "#4a4f55"),
    BAND: ("band", "#4d5257"),
    WARN: ("warn", "#ff8f8f"),
    **{LEG_COLOUR[leg]: (leg, dark) for leg, (dark, _) in _LEG_IN_THE_DARK.items()},
    **{LEG_TINT[leg]: (f"{leg}-tint", dark) for leg, (_, dark) in _LEG_IN_THE_DARK.items()},
}

_ARRIVAL_SHOWN_S = 150.0
_GAP_PT = 1.5  # between the laps of a hold
_NAME_LETTER_PT = 5.6  # about what a letter of a leg's name takes
_SECOND_S = 1.5  # states are a second apart; more is a gap

_SETTINGS: dict[Any, Any] = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans", "Verdana"],  # matplotlib's own, and one as wide; each text of an SVG names them
    "font.size": 9.0,
    "text.color": INK,
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.7,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "xtick.color": QUIET,
    "ytick.color": QUIET,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "lines.linewidth": 1.4,
    "lines.solid_capstyle": "round",
    "pdf.fonttype": 42,  # whole letters, which readers can search and copy
    "svg.fonttype": "none",  # text stays text: smaller, searchable, read by screen readers
    "svg.hashsalt": "analyzer",  # the same input gives the same bytes
    "path.simplify_threshold": 0.3,
}


@contextmanager
def look() -> Iterator[None]:
    """Matplotlib's settings while a picture is made and saved; the caller's own are untouched."""
    with mpl.rc_context(_SETTINGS), warnings.catch_warnings():
        # a name in letters that the font lacks: drawn as boxes, and in a page by the reader's own fonts
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def shown_span(reversal: Reversal) -> tuple[float, float]:
    """What pictures show of an approach: all of it, of the arrival only the last minutes. [s]"""
    first = reversal.parts[0]
    start = max(first.start_s, first.end_s - _ARRIVAL_SHOWN_S) if first.name == "arrival" else first.start_s
    return start, reversal.parts[-1].end_s


def with_breaks(time_s: FloatArray, *series: FloatArray) -> tuple[FloatArray, ...]:
    """Series over the same instants with a NaN wherever seconds are missing, so that no line is drawn across a gap."""
    missing = np.flatnonzero(np.diff(time_s) > _SECOND_S) + 1
    return tuple(np.insert(values.astype(float), missing, np.nan) for values in series)


def _named_spans(reversal: Reversal) -> Iterator[tuple[Leg, str, tuple[float, float]]]:
    """Every stretch of a leg with its name, and every lap of a hold."""
    for leg in LEG_TINT:
        if leg != "hold":
            yield from ((leg, leg, span) for span in reversal.leg_spans(leg))
    for number, lap in enumerate(laps_of(reversal), 1):
        yield "hold", f"lap {number}", (lap[0].start_s, lap[-1].end_s)


def shade_legs(axes: Axes, reversal: Reversal, x: tuple[FloatArray, FloatArray], *, names: bool) -> None:
    """Tint the background by leg, and write the names along the top where they have room; a hold is cut and named lap by lap.

    `x` holds instants [s] and the picture's horizontal coordinate at them, both rising.
    """
    low, high = axes.get_xlim()
    points = axes.bbox.width / axes.figure.dpi * 72.0 / (high - low)
    boxes, tints = [], []
    for leg, name, span in _named_spans(reversal):
        start, end = (float(np.clip(np.interp(t, x[0], x[1]), low, high)) for t in span)
        if end <= start:
            continue
        gap = _GAP_PT / points if name != leg and start > low else 0.0
        boxes.append([(start + gap, 0.0), (start + gap, 1.0), (end, 1.0), (end, 0.0)])
        tints.append(LEG_TINT[leg])
        if names and (end - start) * points > len(name) * _NAME_LETTER_PT:
            axes.text(
                (start + end) / 2.0, 1.02, name, transform=axes.get_xaxis_transform(), ha="center", va="bottom",
                color=LEG_COLOUR[leg], fontsize=9.0, fontweight="bold",
            )  # fmt: skip
    tinted = PolyCollection(boxes, facecolors=tints, linewidths=0.0, zorder=0, transform=axes.get_xaxis_transform())
    axes.add_collection(tinted, autolim=False)
