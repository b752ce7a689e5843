"""Words next to a curve: each at the first of some places where it hides neither the curve nor other words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from analyzer.physics.units import FloatArray
from analyzer.report.pictures.drawing import Frame, Line, Mark, Marker, Words, straight
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.style import QUIET

__all__ = ["CurveWords", "names_above"]

_LETTER, _HIGH = 0.66, 0.8  # of the size of type, about what a letter takes
_WIDTHS = dict.fromkeys(" ,.:'-ijl", 0.36) | dict.fromkeys("mwMW", 1.0)  # and what these take
_NAME_ROWS, _ROW = 3, 1.25  # of names along the top: rows, and their height as a share of the type size
_ROOM_SHARE = 0.08  # share of the width; nearer to the right edge, a name is written to the left
_SIGNS_APART_PT, _SIGN_ROWS = 1.0, 6  # room about a sign, and heights at which it may stand above a curve and below it
_AWAY_PT = 3.0  # from a line to the words that begin at it
_SIGN_PT = 10.0  # a smaller mark may be touched
_BETWEEN = np.linspace(0.0, 1.0, 5)[:-1]  # shares of the way from a point of a line to the next that are looked at
_Box = tuple[float, float, float, float]  # left, right, bottom, top, in points


def names_above(
    frame: Frame, layout: Layout, named: Sequence[tuple[float, str]], colours: tuple[str, str] = (QUIET, QUIET)
) -> Iterator[Mark]:
    """A dotted line at each place from left to right, with its name along the top in the first row that has room for it.

    A name that has room in none is left out. `colours` are those of the lines and of the names.
    """
    letter = _LETTER * layout.small * frame.x_per_point
    ends = [-math.inf] * _NAME_ROWS  # of the last name in each row
    for x, name in named:
        yield straight((x, frame.y[0]), (x, frame.y[1]), colours[0], 0.8, (1.6, 1.6))
        left = x < frame.x_at(1.0 - _ROOM_SHARE) and _has_room(frame, layout, x, name)
        begins = x if left else x - letter * len(name)
        row = next((k for k, end in enumerate(ends) if end <= begins), None)
        if row is None:
            continue
        ends[row] = begins + letter * (len(name) + 1)
        yield Words(
            x, frame.y[1], name, layout.small, colours[1], across="left" if left else "right", up="top",
            away=(_AWAY_PT if left else -_AWAY_PT, -2.0 - _ROW * layout.small * row), level=5.0,
        )  # fmt: skip


def _has_room(frame: Frame, layout: Layout, x: float, words: str) -> bool:
    """Whether small words that begin at a place end within the frame."""
    return x + (_wide(words, layout.small) + _AWAY_PT) * frame.x_per_point < frame.x[1]


def _wide(words: str, size: float) -> float:
    """About how wide words are. [points]"""
    return size * sum(_WIDTHS.get(letter, _LETTER) for letter in words)


class CurveWords:
    """What words in a frame must keep clear of: lines, signs and other words."""

    def __init__(self, frame: Frame, marks: Iterable[Mark]) -> None:
        self._frame = frame
        self._points = np.empty((0, 2))
        self._boxes: list[_Box] = []
        self.avoid(marks)

    def avoid(self, marks: Iterable[Mark]) -> None:
        """Keep later words clear of marks too."""
        for mark in marks:
            if isinstance(mark, Line):
                self._points = np.vstack([self._points, self._along(mark)])
            elif isinstance(mark, Words):
                self._boxes.append(self._box(mark))
            elif isinstance(mark, Marker) and mark.size >= _SIGN_PT:
                (x, y), half = self._at(mark.x, mark.y), 0.5 * mark.size
                self._boxes.append((x - half, x + half, y - half, y + half))

    def place(self, offered: Sequence[Words], *, needed: bool = False) -> Words | None:
        """The first of the words that is clear of everything, then avoided too; if `needed`, else of words and signs."""
        chosen = next((words for words in offered if self._is_clear(self._box(words))), None)
        if chosen is None and needed:
            over = next((words for words in offered if self._is_clear(self._box(words), lines=False)), None)
            chosen = replace(over, backed=True) if over is not None else None
        if chosen is not None:
            self._boxes.append(self._box(chosen))
        return chosen

    def sign(self, x: float, y: float, size: float, first: float) -> tuple[float, float]:
        """Where a sign of some size is clear of words and other signs: above a place, from `first` on, below it, or aside.

        At the edges it stays within the frame, off the numbers of the axes, and it is avoided from then on. Sizes and distances
        are in points.
        """
        step, half = 1.15 * size, 0.5 * size + _SIGNS_APART_PT
        aways = [side * (first + step * row) for side in (1.0, -1.0) for row in range(_SIGN_ROWS)]
        middle, level = self._at(x, y)
        places = (
            (min(max(middle + step * aside, half), self._frame.box[2] - half), level + away)
            for aside in (0.0, 1.0, -1.0, 2.0, -2.0)
            for away in aways
        )
        boxes = [(across - half, across + half, up - half, up + half) for across, up in places]
        chosen = next((box for box in boxes if self._is_clear(box, lines=False)), boxes[0])
        self._boxes.append(chosen)
        across, up = 0.5 * (chosen[0] + chosen[1]) - middle, 0.5 * (chosen[2] + chosen[3]) - level
        return x + across * self._frame.x_per_point, y + up * self._frame.y_per_point

    def _is_clear(self, box: _Box, *, lines: bool = True) -> bool:
        """Whether a box is clear of words and signs, between bottom and top; with `lines`, off them and inside the frame."""
        left, right, bottom, top = box
        _, _, wide, high = self._frame.box
        if bottom < 0.0 or top > high or (lines and (left < 0.0 or right > wide)):
            return False
        if any(left < b[1] and b[0] < right and bottom < b[3] and b[2] < top for b in self._boxes):
            return False
        x, y = self._points.T
        return not lines or not ((x > left) & (x < right) & (y > bottom) & (y < top)).any()

    def _at(self, x: float, y: float) -> tuple[float, float]:
        """A place in points from the lower left corner of the frame."""
        return (x - self._frame.x[0]) / self._frame.x_per_point, (y - self._frame.y[0]) / self._frame.y_per_point

    def _along(self, line: Line) -> FloatArray:
        """Points close to each other along a line, shape (n, 2)."""
        x = (np.asarray(line.x, dtype=float) - self._frame.x[0]) / self._frame.x_per_point
        y = (np.asarray(line.y, dtype=float) - self._frame.y[0]) / self._frame.y_per_point
        places = np.column_stack([x, y])
        share = np.linspace(0.0, 1.0, 200)[:-1] if len(places) == 2 else _BETWEEN
        between = places[:-1, None] + share[:, None] * np.diff(places, axis=0)[:, None]
        found: FloatArray = np.vstack([between.reshape(-1, 2), places[-1:]])
        return found[np.isfinite(found).all(axis=1)]

    def _box(self, words: Words) -> _Box:
        x, y = self._at(words.x, words.y)
        wide, high = _wide(words.text, words.size), _HIGH * words.size
        left = x + words.away[0] - {"left": 0.0, "middle": 0.5 * wide, "right": wide}[words.across]
        bottom = y + words.away[1] - {"bottom": 0.0, "middle": 0.5 * high, "top": high}[words.up]
        return left, left + wide, bottom, bottom + high
