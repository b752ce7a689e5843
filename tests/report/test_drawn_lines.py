"""Lines as they are drawn: with fewer points than they have, and no farther off than shows."""

import math
import re

import numpy as np
import pytest

from analyzer.report.pictures.drawing import Drawing, Frame, Line, Panel
from analyzer.report.pictures.svg import svg_file

SIDE = 400.0  # points, and units of the scales, so that the two are the same


def drawn(x: np.ndarray, y: np.ndarray) -> list[np.ndarray]:
    """The unbroken lines that are drawn, as their points from the lower left corner."""
    frame = Frame("plan", (0.0, 0.0, SIDE, SIDE), (0.0, SIDE), (0.0, SIDE))
    (path,) = re.findall(r'<path d="(M[^"]*)" stroke', svg_file(Drawing(SIDE, SIDE, (Panel(frame, (Line(x, y),)),))))
    lines = []
    for run in path.split("M")[1:]:
        numbers = [float(one) for one in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", run)]
        points = np.cumsum(np.reshape(numbers, (-1, 2)), axis=0)  # the first is a place, and the rest are steps
        lines.append(np.column_stack([points[:, 0], SIDE - points[:, 1]]))
    return lines


def farthest_off(points: np.ndarray, line: np.ndarray) -> float:
    """How far the farthest of some points lies off a line of straight pieces."""
    begin, along = line[:-1], np.diff(line, axis=0)
    square = np.maximum(np.sum(along**2, axis=1), 1e-12)
    share = np.clip(((points[:, None] - begin) * along).sum(axis=2) / square, 0.0, 1.0)
    return float(np.hypot(*(points[:, None] - begin - share[:, :, None] * along).transpose(2, 0, 1)).min(axis=1).max())


@pytest.mark.parametrize(
    ("radius", "step_deg", "share"), [(3.0, 0.5, 0.7), (40.0, 0.5, 0.7), (190.0, 0.5, 0.7), (190.0, 3.0, 1.0)]
)
def test_a_round_track_stays_round_with_no_more_points_than_that_takes(radius, step_deg, share):
    angle = np.radians(np.arange(0.0, 360.0, step_deg))
    points = np.column_stack([200.0 + radius * np.cos(angle), 200.0 + radius * np.sin(angle)])
    (line,) = drawn(*points.T)
    assert len(line) <= share * len(points)
    # rounded to a tenth, and three times what lies within half a tenth of the line is left out
    assert farthest_off(points, line) < math.hypot(0.05, 0.05) + 3.0 * 0.05
    assert farthest_off(line, points) < math.hypot(0.05, 0.05) + 0.01


def test_a_corner_and_a_way_back_are_kept():
    x, y = np.array([10.0, 20.0, 30.0, 30.0, 30.0, 25.0]), np.array([10.0, 10.0, 10.0, 40.0, 5.0, 5.0])
    (line,) = drawn(x, y)
    assert line.tolist() == [[10.0, 10.0], [30.0, 10.0], [30.0, 40.0], [30.0, 5.0], [25.0, 5.0]]


def test_a_line_is_broken_where_something_is_not_known_and_is_a_dot_where_it_does_not_move():
    x, y = np.array([10.0, 20.0, np.nan, 50.0, 50.0, 50.0]), np.array([10.0, 15.0, 1.0, 60.0, 60.0, 60.0])
    first, dot = drawn(x, y)
    assert first.tolist() == [[10.0, 10.0], [20.0, 15.0]]
    assert dot.tolist() == [[50.0, 60.0], [50.0, 60.0]]
