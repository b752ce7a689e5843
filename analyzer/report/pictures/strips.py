"""Time strips: one quantity per strip, all over the same seconds, with the legs shaded."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analyzer.errors import AnalyzerError
from analyzer.report.pictures.doubt_marks import hatch_doubts
from analyzer.report.pictures.drawing import Box, Drawing, Frame, Mark, Panel
from analyzer.report.pictures.faults import Fault, badge, badge_size, faults_of, leader, stretch
from analyzer.report.pictures.frame import edges, leg_shades, minute_ticks, number_ticks, right_edge, titles
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.series import Series
from analyzer.report.pictures.strip_kinds import QUANTITY_OF_CHECK, STRIPS, Curve, Scene, Strip
from analyzer.report.pictures.subject import Subject

__all__ = ["strip_panel", "strips", "strips_panels"]

_TOP_PT, _BOTTOM_PT, _BETWEEN_PT, _TITLE_PT = 24.0, 40.0, 10.0, 16.0


def strips(subject: Subject, layout: Layout) -> Drawing:
    """All strips as a drawing; its panels are named by their quantities."""
    shown = _known(subject.series)
    height = _TOP_PT + layout.strip_height * len(shown) + _BOTTOM_PT
    box = (layout.left, _TOP_PT, layout.width - layout.left - layout.right, height - _TOP_PT - _BOTTOM_PT)
    return Drawing(layout.width, height, strips_panels(subject, layout, box))


def strips_panels(subject: Subject, layout: Layout, box: Box) -> tuple[Panel, ...]:
    """All strips, one above the other, as panels in a box of a drawing."""
    scene = Scene(subject, subject.series, layout)
    shown = _known(scene.series)
    left, top, width, height = box
    each, above = height / len(shown), 0.0 if layout.side_titles else _TITLE_PT
    return tuple(
        _panel(
            scene, strip, (left, top + each * number + above, width, each - _BETWEEN_PT - above),
            first=number == 0, last=number == len(shown) - 1,
        )
        for number, strip in enumerate(shown)
    )  # fmt: skip


def strip_panel(subject: Subject, layout: Layout, box: Box, quantity: str) -> Panel:
    """The strip of a quantity in a box; `quantity` is a name in `STRIPS`. Raises `AnalyzerError` if the flight lacks it."""
    scene = Scene(subject, subject.series, layout)
    strip = next((strip for strip in _known(scene.series) if strip.quantity == quantity), None)
    if strip is None:
        raise AnalyzerError(f"{quantity}: not known from {subject.debrief.motion.track.file}")
    return _panel(scene, strip, box, first=True, last=True)


def _panel(scene: Scene, strip: Strip, box: Box, *, first: bool, last: bool) -> Panel:
    time, layout, subject = scene.series.time_s, scene.layout, scene.subject
    curve = strip.draw(scene)
    frame = Frame(strip.quantity, box, (float(time[0]), float(time[-1])), curve.y)
    minutes = minute_ticks(*frame.x, layout.most_minutes)
    drawn = list(curve.marks(frame))
    marks: list[Mark] = [
        *leg_shades(frame, subject, (time, time), layout, names=first),
        *drawn,
        *hatch_doubts(frame, subject.debrief, layout, drawn, names=first),
        *_faults(frame, scene, strip, curve),
        *edges(frame, minutes, number_ticks(*frame.y, layout.most_numbers), layout, x_words=last),
        *titles(
            frame, strip.title.format(height=subject.series.height.name), "time, UTC" if last else "", layout, over_names=first
        ),
    ]
    if curve.right_ticks and layout.side_titles:
        marks += right_edge(frame, curve.right_ticks, "of full scale", layout)
    return Panel(frame, tuple(marks))


def _faults(frame: Frame, scene: Scene, strip: Strip, curve: Curve) -> Iterator[Mark]:
    """The faults of a strip: their stretches along the bottom, and their numbers above the curve where they happened."""
    approach, size = scene.subject.approach, badge_size(scene.layout)
    if approach is None:
        return
    time, ends = scene.series.time_s, -np.inf
    for fault in sorted(faults_of(approach), key=lambda fault: fault.at_s or 0.0):
        at_s = fault.at_s
        if (
            QUANTITY_OF_CHECK.get(fault.finding.check) != strip.quantity
            or at_s is None
            or not time[0] <= at_s <= time[-1] + 1.0
        ):
            continue
        if fault.outside and fault.span is not None and fault.span[1] > fault.span[0]:
            y = frame.y[0] + 2.5 * frame.y_per_point
            yield stretch(fault, *fault.span, y)
        yield from _number(frame, scene.layout, fault, at_s, _height(curve, time, at_s), crowded=at_s < ends)
        ends = at_s + 1.1 * size * frame.x_per_point


def _height(curve: Curve, time: np.ndarray, at_s: float) -> float:
    known = np.isfinite(curve.main)
    return float(np.interp(at_s, time[known], curve.main[known])) if known.any() else float(np.mean(curve.y))


def _number(frame: Frame, layout: Layout, fault: Fault, at_s: float, y: float, *, crowded: bool) -> Iterator[Mark]:
    """The number of a fault above its point, or else below it; at the edges off the numbers of the axes."""
    size = badge_size(layout)
    edge = 0.6 * size * frame.x_per_point
    across = min(max(at_s, frame.x[0] + edge), frame.x[1] - edge)
    room = (frame.y[1] - y) / frame.y_per_point
    away = size + (1.1 * size if crowded else 0.0)
    up = y + (away if room > away + 0.5 * size else -away) * frame.y_per_point
    yield leader(fault, (at_s, y), (across, up))
    yield from badge(fault, across, up, layout)


def _known(series: Series) -> tuple[Strip, ...]:
    """The strips whose quantities are known."""
    return tuple(strip for strip in STRIPS if strip.known(series))
