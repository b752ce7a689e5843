"""The surroundings of a curve: edges, ticks with their labels, titles, and the tint and name of each leg behind it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

import numpy as np

from analyzer.physics.units import FloatArray
from analyzer.report.pictures.drawing import Area, Frame, Mark, Words, straight
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.style import INK, LEG_COLOUR, LEG_TINT, QUIET
from analyzer.report.pictures.subject import Subject

__all__ = ["Tick", "edges", "leg_shades", "minute_ticks", "number_ticks", "right_edge", "titles"]

Tick = tuple[float, str]

_TICK_PT, _EDGE_PT = 3.0, 0.7
_BELOW_WORDS_PT = 13.0  # from the centre of the tick labels to the top of the words below them
_STEPS = (1.0, 2.0, 5.0)
_GAP_PT = 1.5  # of the lines between the laps of a hold
_DIGIT = 0.64  # width of a digit, as a share of the size of type
_LETTER = 0.66  # approximate width of a letter, as a share of the size of bold type


def number_ticks(low: float, high: float, most: int) -> list[Tick]:
    """At most `most` round numbers from low to high, with thousands separators."""
    raw = (high - low) / most
    scale = 10.0 ** math.floor(math.log10(raw))
    step = next(s * scale for s in (*_STEPS, 10.0) if s * scale >= raw)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return [(k * step, f"{k * step:,.{decimals}f}".replace("-", "−")) for k in range(first, last + 1)]


def minute_ticks(start_s: float, end_s: float, most: int) -> list[Tick]:
    """At most `most` whole minutes between two instants, as hours and minutes UTC."""
    minutes = (end_s - start_s) / 60.0
    step = next((s for s in (1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720) if minutes / s <= most), 1440) * 60.0
    first, last = math.ceil(start_s / step), math.floor(end_s / step)
    return [(k * step, datetime.fromtimestamp(k * step, tz=UTC).strftime("%H:%M")) for k in range(first, last + 1)]


def edges(
    frame: Frame, x_ticks: Sequence[Tick], y_ticks: Sequence[Tick], layout: Layout, *, x_words: bool = True
) -> list[Mark]:
    """Left and bottom edge with ticks and labels; those of the bottom only with `x_words`."""
    (left, right), (bottom, top) = frame.x, frame.y
    across, down = _TICK_PT * frame.x_per_point, _TICK_PT * frame.y_per_point
    lines = [((left, bottom), (left, top)), ((left, bottom), (right, bottom))]
    lines += [((x, bottom), (x, bottom - down)) for x, _ in x_ticks]
    lines += [((left, y), (left - across, y)) for y, _ in y_ticks]
    marks: list[Mark] = [straight(a, b, QUIET, _EDGE_PT, level=3.0, clipped=False) for a, b in lines]
    away = 1.8 * _TICK_PT
    marks += [Words(left, y, word, layout.normal, across="right", away=(-away, 0.0)) for y, word in y_ticks]
    if x_words:
        for x, word in x_ticks:
            room = (right - x) / frame.x_per_point + layout.right
            inwards = min(0.0, room - 0.5 * _DIGIT * layout.normal * len(word))  # the last label stays within the picture
            marks.append(Words(x, bottom, word, layout.normal, up="top", away=(inwards, -away)))
    return marks


def right_edge(frame: Frame, ticks: Sequence[Tick], words: str, layout: Layout) -> list[Mark]:
    """Ticks of a second scale at the right edge, and its label."""
    right, (bottom, top) = frame.x[1], frame.y
    shown = [(y, word) for y, word in ticks if bottom <= y <= top]
    marks: list[Mark] = [straight((right, bottom), (right, top), QUIET, _EDGE_PT, level=3.0, clipped=False)]
    reach = right + _TICK_PT * frame.x_per_point
    marks += [straight((right, y), (reach, y), QUIET, _EDGE_PT, level=3.0, clipped=False) for y, _ in shown]
    marks += [Words(right, y, word, layout.small, across="left", away=(1.8 * _TICK_PT, 0.0)) for y, word in shown]
    marks.append(Words(right, frame.y_at(0.5), words, layout.small, away=(33.0, 0.0), angle_rad=math.pi / 2.0))
    return marks


def titles(frame: Frame, title: str, below: str, layout: Layout, *, over_names: bool = False) -> list[Mark]:
    """The title of a curve, at its left or above it (there also above the names of legs), and the words below it."""
    if layout.side_titles:
        away = 7.0 * (1 + title.count("\n")) - layout.left
        marks: list[Mark] = [
            Words(frame.x[0], frame.y_at(0.5), title, layout.normal, away=(away, 0.0), angle_rad=math.pi / 2.0)
        ]
    else:
        text, up = title.replace("\n", " "), 5.0 + (1.3 * layout.normal if over_names else 0.0)
        marks = [Words(frame.x[0], frame.y[1], text, layout.normal, INK, True, "left", "bottom", (4.0 - layout.left, up))]
    if below:
        away = _BELOW_WORDS_PT + layout.normal
        marks.append(Words(frame.x_at(0.5), frame.y[0], below, layout.normal, up="top", away=(0.0, -away)))
    return marks


def leg_shades(
    frame: Frame, subject: Subject, x: tuple[FloatArray, FloatArray], layout: Layout, *, names: bool
) -> Iterator[Mark]:
    """Tint the background by leg, and name the legs along the top where there is room; a hold is divided into laps.

    `x` has times [s] and the horizontal coordinates at them, both increasing.
    """
    (low, high), (bottom, top) = frame.x, frame.y
    for leg, name, span in subject.named_spans():
        start, end = (min(max(float(np.interp(t, x[0], x[1])), low), high) for t in span)
        if end <= start:
            continue
        begin = start + (_GAP_PT * frame.x_per_point if leg == "hold" and start > low else 0.0)
        yield Area(np.array([begin, begin, end, end]), np.array([bottom, top, top, bottom]), LEG_TINT[leg])
        if names and (end - start) / frame.x_per_point > len(name) * _LETTER * layout.normal:
            yield Words((start + end) / 2.0, top, name, layout.normal, LEG_COLOUR[leg], True, up="bottom", away=(0.0, 2.0))
