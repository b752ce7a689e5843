"""The small pictures of a class page: how each figure spreads over the class, and how marks went from attempt to attempt."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from analyzer.grade.table import FIGURES
from analyzer.grade.tally import Attempt, Spread
from analyzer.report.inline_svg import inline_svg
from analyzer.report.style import INK, LEG_COLOUR, QUIET, look

__all__ = ["ClassPicture", "draw_progress", "draw_spreads"]

_FEWEST, _MOST_BINS = 2, 16
_MOST_PANELS, _ACROSS = 12, 4
_SIZE = (3.1, 1.5)


@dataclass(frozen=True)
class ClassPicture:
    """A picture for the page: its SVG, a caption, and what it shows in words."""

    svg: str
    caption: str
    alt: str


def draw_spreads(spreads: Mapping[str, Spread]) -> tuple[ClassPicture, ...]:
    """A histogram of each figure that at least two approaches have."""
    with look():
        return tuple(_spread(name, spread) for name, spread in spreads.items() if len(spread.values) >= _FEWEST)


def _spread(name: str, spread: Spread) -> ClassPicture:
    called, unit = FIGURES[name]
    values = np.array(spread.values)
    low, middle, high = (float(np.quantile(values, q)) for q in (0.25, 0.5, 0.75))
    bins = min(_MOST_BINS, max(4, math.ceil(math.sqrt(len(values)))))
    figure = Figure(figsize=_SIZE)
    axes = figure.add_axes((0.08, 0.22, 0.88, 0.72))
    axes.hist(values, bins=bins, color=LEG_COLOUR["outbound"], alpha=0.75, edgecolor="none")
    axes.axvline(middle, color=INK, lw=1.2)
    axes.yaxis.set_major_locator(MaxNLocator(2, integer=True))
    axes.xaxis.set_major_locator(MaxNLocator(5))
    gap = "" if unit in ("%", "°") else " "
    told = f"median {_short(middle)}{gap}{unit}, half of them from {_short(low)} to {_short(high)}{gap}{unit}"
    sample = f", every {spread.step}th" if spread.step > 1 else ""
    caption = f"{called.capitalize()}{'' if unit == '%' else f' [{unit}]'}: {told}; {spread.seen:,} approaches{sample}."
    alt = f"Histogram of {called}: {told}; least {_short(float(values.min()))}, greatest {_short(float(values.max()))}."
    return ClassPicture(inline_svg(figure, f"s-{name}-"), caption, alt)


def _short(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 20.0 else f"{value:.1f}" if abs(value) >= 1.0 else f"{value:.2f}"


def draw_progress(pilots: Mapping[str, Sequence[Attempt]]) -> ClassPicture | None:
    """Marks over attempts, a panel a pilot, of those who have most attempts; None where nobody has two marks."""
    marked = {name: [a for a in sorted(found, key=_number) if a.percent is not None] for name, found in pilots.items()}
    several = sorted((name for name, found in marked.items() if len(found) > 1), key=lambda name: (-len(marked[name]), name))
    chosen = sorted(several[:_MOST_PANELS])
    if not chosen:
        return None
    rows = math.ceil(len(chosen) / _ACROSS)
    with look():
        figure = Figure(figsize=(8.6, 1.35 * rows + 0.3))
        for k, name in enumerate(chosen):
            axes = figure.add_axes(_box(k, rows))
            numbers = np.array([a.number for a in marked[name]])
            axes.plot(
                numbers,
                np.array([a.percent for a in marked[name]], dtype=float),
                marker="o",
                ms=3.5,
                color=LEG_COLOUR["outbound"],
            )
            axes.set_ylim(-6.0, 106.0)
            axes.set_yticks([0, 50, 100])
            axes.xaxis.set_major_locator(MaxNLocator(4, integer=True))
            axes.set_title(name[:24], fontsize=8.5, loc="left", pad=3.0, color=QUIET, parse_math=False)
        svg = inline_svg(figure, "p-")
    left = len(several) - len(chosen)
    caption = "Marks in percent over attempts, numbered in order of time." + (
        f" {len(chosen)} pilots with most attempts; {left} more in the table." if left else ""
    )
    return ClassPicture(svg, caption, f"Marks over attempts of {len(chosen)} pilots; the table below has the numbers.")


def _number(attempt: Attempt) -> int:
    return attempt.number


def _box(k: int, rows: int) -> tuple[float, float, float, float]:
    """Where the k-th panel lies."""
    row, column = divmod(k, _ACROSS)
    height = 1.0 / rows
    return 0.04 + column * 0.245, 1.0 - (row + 1) * height + 0.22 * height, 0.2, 0.55 * height
