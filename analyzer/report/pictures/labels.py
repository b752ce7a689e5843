"""Placing labels: of the places offered, the one that hides least is taken.

A label is treated as a row of discs along its text, so that rotation needs no special care; what it must not hide is a set of
discs. Coordinates are those of the picture.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import islice

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics.units import FloatArray
from analyzer.report.words.letters import width_em

__all__ = ["Label", "Obstacles", "choose"]

_TOGETHER = 16  # labels that are tried at once, against the points near any of them
_LATER = 0.005  # what each place farther down the list costs, against hiding a point of a line
_OVER_A_LABEL = 25.0  # what a label on another counts, against one on a line
_LINE_HEIGHT = 1.25  # of the font size, of a common sans-serif


@dataclass(frozen=True)
class Label:
    """A text centred at a place, turned anticlockwise by an angle [rad]; `size` is the font size."""

    x: float
    y: float
    angle: float
    text: str
    size: float

    @property
    def discs(self) -> tuple[FloatArray, float]:
        """Centres of the discs that cover the label, shape (n, 2), and their radius."""
        along, radius = self.offsets
        return np.column_stack([self.x + along * math.cos(self.angle), self.y + along * math.sin(self.angle)]), radius

    @property
    def offsets(self) -> tuple[FloatArray, float]:
        """The positions of the discs along the text, from its middle, and their radius."""
        rows = self.text.split("\n")
        length = max(width_em(row) for row in rows) * self.size
        radius = 0.5 * len(rows) * _LINE_HEIGHT * self.size
        return np.linspace(-0.5, 0.5, max(2, math.ceil(length / radius))) * max(0.0, length - radius), radius


@dataclass(frozen=True)
class Obstacles:
    """What labels must not hide: points with a radius each, inside a frame (left, right, bottom, top).

    `weight` says what hiding each counts; all count alike where it is left out.
    """

    points: FloatArray  # (n, 2)
    radius: FloatArray  # (n,)
    frame: tuple[float, float, float, float]
    weight: FloatArray | None = None  # (n,)

    def with_label(self, label: Label) -> Obstacles:
        """The obstacles with a label that has been placed."""
        centres, radius = label.discs
        return self.with_points(centres, radius, _OVER_A_LABEL)

    def with_points(self, points: FloatArray, radius: float, weight: float = 1.0) -> Obstacles:
        """The same, and more points."""
        return Obstacles(
            np.vstack([self.points, points]),
            np.concatenate([self.radius, np.full(len(points), radius)]),
            self.frame,
            np.concatenate([self._weights, np.full(len(points), weight)]),
        )

    @property
    def _weights(self) -> FloatArray:
        return np.ones(len(self.points)) if self.weight is None else self.weight

    def hidden(self, labels: Sequence[Label]) -> FloatArray:
        """How much each label would hide: its overlaps weighted by depth, and far more outside the frame.

        The labels are the same text in one size at several places, best near each other, since all are held against every
        obstacle near any of them.
        """
        along, radius = labels[0].offsets
        left, right, bottom, top = self.frame
        middles = np.array([(label.x, label.y, math.cos(label.angle), math.sin(label.angle)) for label in labels])
        x, y = middles[:, 0, None] + along * middles[:, 2, None], middles[:, 1, None] + along * middles[:, 3, None]
        outside = np.maximum(np.maximum(left - x, x - right) + radius, 0.0)
        outside += np.maximum(np.maximum(bottom - y, y - top) + radius, 0.0)
        reach = self.radius + radius
        near = (
            (self.points[:, 0] > x.min() - reach) & (self.points[:, 0] < x.max() + reach)
            & (self.points[:, 1] > y.min() - reach) & (self.points[:, 1] < y.max() + reach)
        )  # fmt: skip
        points, reach, weights = self.points[near], reach[near, None], self._weights[near]
        # of each point and label: how far the point lies along the text from its middle, and how far to its side
        right_of, above = points[:, 0, None] - middles[:, 0], points[:, 1, None] - middles[:, 1]
        ahead = right_of * middles[:, 2] + above * middles[:, 3]
        aside = above * middles[:, 2] - right_of * middles[:, 3]
        point, label = np.nonzero((np.abs(aside) < reach) & (np.abs(ahead) < reach + along[-1]))
        apart = np.hypot(aside[point, label, None], ahead[point, label, None] - along)
        depth = np.maximum(reach[point] - apart, 0.0).sum(axis=1) * weights[point]
        hidden: FloatArray = np.bincount(label, depth, len(labels)) + 1000.0 * outside.sum(axis=1)
        hidden /= radius
        return hidden


def choose(candidates: Iterable[Label], obstacles: Obstacles) -> tuple[Label, float]:
    """The candidate that hides least, and how much it hides; of those that hide about as little, an earlier one."""
    offered = iter(candidates)
    best: Label | None = None
    best_hidden, least, tried = math.inf, math.inf, 0
    while least > _LATER * tried and (some := list(islice(offered, _TOGETHER))):  # else no later one, hiding nothing, is better
        hidden = obstacles.hidden(some)
        score = np.round(hidden + _LATER * np.arange(tried, tried + len(some)), 6)
        first = int(np.argmin(score))
        if best is None or score[first] < least:
            best, best_hidden, least = some[first], float(hidden[first]), float(score[first])
        tried += len(some)
    if best is None:
        raise ValueError("No place is offered for a label.")
    return best, best_hidden
