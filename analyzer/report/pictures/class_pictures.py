"""The small pictures of a class page: how each figure spreads over the class, and how marks went from attempt to attempt."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from analyzer.gradebook.rows import FIGURES
from analyzer.gradebook.tally import Attempt, Spread
from analyzer.report.pictures.inline_svg import inline_svg
from analyzer.report.pictures.style import INK, LEG_COLOUR, look

__all__ = ["ClassPicture", "draw_progress", "draw_spreads"]

_FEWEST, _MOST_BINS = 2, 16
_MOST_PILOTS = 12
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


def draw_progress(pilots: Mapping[str, Sequence[Attempt]]) -> tuple[ClassPicture, ...]:
    """Marks over attempts, a picture a pilot, of those who have most marks and at least two."""
    marked = {
        f"{name}{', holds' if of_hold else ''}": _marked([a for a in found if a.hold == of_hold])
        for name, found in pilots.items()
        for of_hold in (False, True)
    }
    several = sorted((name for name, found in marked.items() if len(found) > 1), key=lambda name: (-len(marked[name]), name))
    with look():
        return tuple(_progress(k, name, marked[name]) for k, name in enumerate(sorted(several[:_MOST_PILOTS])))


def _marked(attempts: Sequence[Attempt]) -> list[Attempt]:
    return [attempt for attempt in sorted(attempts, key=_number) if attempt.percent is not None]


def _number(attempt: Attempt) -> int:
    return attempt.number


def _progress(k: int, name: str, attempts: Sequence[Attempt]) -> ClassPicture:
    numbers = np.array([attempt.number for attempt in attempts])
    percents = np.array([attempt.percent for attempt in attempts], dtype=float)
    figure = Figure(figsize=_SIZE)
    axes = figure.add_axes((0.12, 0.2, 0.84, 0.72))
    axes.plot(numbers, percents, marker="o", ms=4.0, color=LEG_COLOUR["outbound"])
    axes.set_ylim(-6.0, 106.0)
    axes.set_yticks([0, 50, 100])
    axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    told = f"mark in percent over attempts, first {percents[0]:.0f}, last {percents[-1]:.0f}"
    return ClassPicture(inline_svg(figure, f"p{k}-"), f"{name}: {told}.", f"{name}: {told}, best {percents.max():.0f}.")
