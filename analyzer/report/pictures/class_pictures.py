"""The small pictures of a class page: the spread of each figure over the class, and marks from attempt to attempt."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from analyzer.frozen import dataclass
from analyzer.gradebook.rows import FIGURES
from analyzer.gradebook.sample import Sample
from analyzer.gradebook.tally import Attempt
from analyzer.physics.units import FloatArray
from analyzer.report.pictures.drawing import Area, Drawing, Frame, Line, Mark, Marker, Panel, Words, straight
from analyzer.report.pictures.frame import Tick, number_ticks
from analyzer.report.pictures.style import INK, LEG_COLOUR, QUIET
from analyzer.report.pictures.svg import inline_svg

__all__ = ["ClassPicture", "draw_progress", "draw_spreads"]

_FEWEST, _FEWEST_OF_BARS, _MOST_BINS = 2, 15, 16
_MOST_PILOTS = 12
_WIDTH, _HEIGHT = 224.0, 100.0
_LEFT, _RIGHT, _TOP, _BELOW = 30.0, 12.0, 8.0, 24.0
_SMALL, _DOT_PT, _APART = 9.0, 6.0, 1.15
_COLOUR = LEG_COLOUR["outbound"]


@dataclass(frozen=True)
class ClassPicture:
    """A picture for the page: its SVG, a caption, and alternative text."""

    svg: str
    caption: str
    alt: str


def draw_spreads(spreads: Mapping[str, Sample[float]]) -> tuple[ClassPicture, ...]:
    """The spread of each figure that at least two approaches have: one dot per approach, or bars if there are many."""
    return tuple(_spread(name, spread) for name, spread in spreads.items() if len(spread.values) >= _FEWEST)


def _spread(name: str, spread: Sample[float]) -> ClassPicture:
    called, unit = FIGURES[name]
    values = np.array(spread.values)
    low, middle, high = (float(np.quantile(values, q)) for q in (0.25, 0.5, 0.75))
    drawing = _bars(values, middle) if len(values) >= _FEWEST_OF_BARS else _dots(values, middle)
    gap = "" if unit in ("°", "%") else " "
    summary = f"median {_short(middle)}{gap}{unit}, middle half {_short(low)} to {_short(high)}{gap}{unit}"
    sample = f", one in {spread.step} drawn" if spread.step > 1 else ""
    caption = f"{called.capitalize()}{'' if unit == '%' else f' [{unit}]'}: {summary}; {spread.seen:,} approaches{sample}."
    ends = f"least {_short(float(values.min()))}, greatest {_short(float(values.max()))}"
    alt = f"{called.capitalize()} of every approach: {summary}; {ends}."
    return ClassPicture(inline_svg(drawing, f"s-{name}-"), caption, alt)


def _bars(values: FloatArray, middle: float) -> Drawing:
    """A histogram, and the median as a line."""
    counts, edges = np.histogram(values, bins=min(_MOST_BINS, max(4, math.ceil(math.sqrt(len(values))))))
    frame = _frame((float(edges[0]), float(edges[-1])), (0.0, 1.08 * float(counts.max())))
    marks: list[Mark] = [
        Area(np.array([a, a, b, b]), np.array([0.0, n, n, 0.0]), _COLOUR, opacity=0.75)
        for n, a, b in zip(counts.tolist(), edges[:-1], edges[1:], strict=True)
    ]
    marks.append(straight((middle, 0.0), (middle, frame.y[1]), INK, 1.2, level=3.0))
    whole = [tick for tick in number_ticks(*frame.y, 2) if tick[0] == round(tick[0])]
    return Drawing(_WIDTH, _HEIGHT, (Panel(frame, (*marks, *_scales(frame, number_ticks(*frame.x, 4), whole))),))


def _dots(values: FloatArray, middle: float) -> Drawing:
    """One dot per approach along the scale, stacked where they would overlap, and the median as a line."""
    spread = float(np.ptp(values))
    room = max(0.06 * spread, 0.02 * abs(middle), 1e-3)
    frame = _frame((float(values.min()) - room, float(values.max()) + room), (0.0, 1.0))
    marks: list[Mark] = [straight((middle, 0.0), (middle, 1.0), INK, 1.2, level=3.0)]
    places = list(_stacked(values, _APART * _DOT_PT * frame.x_per_point))
    highest = max(level for _, level in places)
    apart = min(_APART * _DOT_PT, (frame.box[3] - 1.6 * _DOT_PT) / max(1, highest))
    for x, level in places:
        marks.append(Marker(x, (0.9 * _DOT_PT + apart * level) * frame.y_per_point, "circle", _DOT_PT, _COLOUR, _COLOUR, 0.0))
    numbers = number_ticks(*frame.x, 4) if spread > 0.0 else [(middle, _short(middle))]  # one number, where all have it
    return Drawing(_WIDTH, _HEIGHT, (Panel(frame, (*marks, *_scales(frame, numbers, []))),))


def _stacked(values: FloatArray, wide: float) -> Iterator[tuple[float, int]]:
    """The position of each dot along the scale and its level; dots within `wide` of one are stacked on it."""
    last, level = -math.inf, 0
    for value in np.sort(values).tolist():
        level = level + 1 if value - last < wide else 0
        last = value if level == 0 else last
        yield last, level


def _frame(x: tuple[float, float], y: tuple[float, float]) -> Frame:
    return Frame("class", (_LEFT, _TOP, _WIDTH - _LEFT - _RIGHT, _HEIGHT - _TOP - _BELOW), x, y)


def _scales(frame: Frame, x_ticks: Sequence[Tick], y_ticks: Sequence[Tick]) -> Iterator[Mark]:
    """The bottom edge with its numbers, and the numbers at the left."""
    left, bottom = frame.x[0], frame.y[0]
    yield straight((left, bottom), (frame.x[1], bottom), QUIET, 0.7, clipped=False)
    for x, word in x_ticks:
        yield straight((x, bottom), (x, bottom - 3.0 * frame.y_per_point), QUIET, 0.7, clipped=False)
        yield Words(x, bottom, word, _SMALL, up="top", away=(0.0, -5.0))
    for y, word in y_ticks:
        yield Words(left, y, word, _SMALL, across="right", away=(-4.0, 0.0))


def _short(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 20.0 or value == 0.0 else f"{value:.1f}" if abs(value) >= 1.0 else f"{value:.2f}"


def draw_progress(pilots: Mapping[str, Sequence[Attempt]]) -> tuple[ClassPicture, ...]:
    """Marks over attempts, one picture per pilot with at least two marks, those with the most marks first."""
    marked = {
        f"{name}{', holds' if of_hold else ''}": _marked([a for a in attempts if a.hold == of_hold])
        for name, attempts in pilots.items()
        for of_hold in (False, True)
    }
    several = sorted((name for name, marks in marked.items() if len(marks) > 1), key=lambda name: (-len(marked[name]), name))
    return tuple(_progress(k, name, marked[name]) for k, name in enumerate(sorted(several[:_MOST_PILOTS])))


def _marked(attempts: Sequence[Attempt]) -> list[Attempt]:
    return [attempt for attempt in sorted(attempts, key=_number) if attempt.percent is not None]


def _number(attempt: Attempt) -> int:
    return attempt.number


def _progress(k: int, name: str, attempts: Sequence[Attempt]) -> ClassPicture:
    numbers = np.array([attempt.number for attempt in attempts])
    percents = np.array([attempt.percent for attempt in attempts], dtype=float)
    frame = _frame((float(numbers.min()) - 0.2, float(numbers.max()) + 0.2), (-6.0, 106.0))
    marks: list[Mark] = [Line(numbers.astype(float), percents, _COLOUR)]
    marks += [Marker(float(x), float(y), "circle", _DOT_PT, _COLOUR, _COLOUR) for x, y in zip(numbers, percents, strict=True)]
    whole = [tick for tick in number_ticks(*frame.x, 6) if tick[0] == round(tick[0])]
    marks += _scales(frame, whole, [(0.0, "0"), (50.0, "50"), (100.0, "100")])
    drawing = Drawing(_WIDTH, _HEIGHT, (Panel(frame, tuple(marks)),))
    summary = f"mark in percent by attempt, first {percents[0]:.0f}, last {percents[-1]:.0f}"
    return ClassPicture(inline_svg(drawing, f"p{k}-"), f"{name}: {summary}.", f"{name}: {summary}, best {percents.max():.0f}.")
