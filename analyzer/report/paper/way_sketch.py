"""A small plan for a knee card: the way to fly in the wind, its steps by number, and the farthest point against the limit.

Drawn straight from the planned path as SVG. True north is up; the picture's unit is the point, and distances are to scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

from analyzer.brief.gates import threshold_place
from analyzer.brief.plan import limit_centre
from analyzer.physics.units import KT, NM, FloatArray, bearing_text
from analyzer.report.paper.knee_steps import Step
from analyzer.report.pictures.labels import Label, Obstacles, choose
from analyzer.report.pictures.style import INK, LEG_COLOUR, PAPER, QUIET, WARN

if TYPE_CHECKING:
    from analyzer.briefing import Brief

__all__ = ["way_sketch"]

_FACE = "DejaVu Sans"
_SIZE_PT, _NUMBER_PT = 10.0, 10.0
_DISC_PT = 7.2
_MARGIN_PT = 17.0
_ARC_STEPS = 361
_HALF_CAPITAL = 0.36  # of the size of type
_ARROW_PT = 6.0
_SCALES_NM = (10.0, 5.0, 2.0, 1.0, 0.5)


@dataclass
class _Drawing:
    """The drawing under way: its frame, the points of type in a metre, and what labels keep clear of."""

    width: float
    height: float
    scale: float
    middle_m: tuple[float, float]
    obstacles: Obstacles
    elements: list[str] = field(default_factory=list)

    def place(self, north_m: float, east_m: float) -> tuple[float, float]:
        """Where a place lies, from the left and from the top."""
        return (
            self.width / 2.0 + (east_m - self.middle_m[1]) * self.scale,
            self.height / 2.0 - (north_m - self.middle_m[0]) * self.scale,
        )

    def places(self, metres: FloatArray) -> FloatArray:
        """The same of many, shape (n, 2)."""
        x, y = self.place(metres[:, 0], metres[:, 1])  # type: ignore[arg-type]
        return np.column_stack([x, y])

    def line(self, points: FloatArray, colour: str, width: float, dashes: str = "") -> None:
        """A line through points."""
        path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
        self.elements.append(
            f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width:g}" stroke-linejoin="round"'
            f' stroke-linecap="round"{dashed}/>'
        )

    def avoid(self, points: FloatArray, radius: float) -> None:
        """Keep labels clear of points."""
        self.obstacles = self.obstacles.with_points(points, radius)

    def text(self, x: float, y: float, text: str, size: float, colour: str = INK, bold: bool = True) -> None:
        """A text centred at a place."""
        weight = ' font-weight="bold"' if bold else ""
        self.elements.append(
            f'<text x="{x:.1f}" y="{y + _HALF_CAPITAL * size:.1f}" font-family="{_FACE}" font-size="{size:g}"'
            f' text-anchor="middle"{weight} fill="{colour}">{escape(text)}</text>'
        )

    def label(self, places: Sequence[tuple[float, float]], text: str, colour: str = INK) -> None:
        """A text at the best of some places."""
        best, _ = choose([Label(x, y, 0.0, text, _SIZE_PT) for x, y in places], self.obstacles)
        self.obstacles = self.obstacles.with_label(best)
        self.text(best.x, best.y, text, _SIZE_PT, colour)


def way_sketch(brief: Brief, way: Sequence[Step], width_pt: float, height_pt: float) -> str:
    """The plan as an SVG document of some size in points."""
    drawing = _framed(brief, way, width_pt, height_pt)
    _draw_limit(drawing, brief)
    for step in way:
        points = drawing.places(np.array(step.places_m))
        drawing.line(points, LEG_COLOUR[step.leg], 2.2)
        drawing.avoid(points[:: max(1, len(points) // 40)], 2.0)
    _draw_north_and_wind(drawing, brief)
    _draw_scale(drawing)
    _draw_arrows(drawing, way)
    _draw_fixes(drawing, brief)
    _draw_farthest(drawing, brief)
    for number, step in enumerate(way, 1):
        _draw_number(drawing, number, step)
    body = "".join(drawing.elements)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_pt:g}pt" height="{height_pt:g}pt" '
        f'viewBox="0 0 {width_pt:g} {height_pt:g}">{body}</svg>'
    )


def _framed(brief: Brief, way: Sequence[Step], width: float, height: float) -> _Drawing:
    """An empty drawing whose frame holds the way, the fix, the runway and the nearest of the limit."""
    seen = [np.array(step.places_m) for step in way]
    seen.append(np.array([place for place, _ in _fixed_places(brief)]))
    reached = _farthest_place(brief)
    if reached is not None and brief.charted.limit_m is not None:
        seen.append(np.array([reached, _on_limit(brief, reached)]))
    together = np.vstack(seen)
    least, most = together.min(axis=0), together.max(axis=0)
    spans = np.maximum(most - least, 0.2 * NM)
    scale = min((height - 2.0 * _MARGIN_PT) / spans[0], (width - 2.0 * _MARGIN_PT) / spans[1])
    middle = (least + most) / 2.0
    empty = Obstacles(np.empty((0, 2)), np.empty(0), (0.0, width, 0.0, height))
    return _Drawing(width, height, float(scale), (float(middle[0]), float(middle[1])), empty)


def _fixed_places(brief: Brief) -> Iterator[tuple[tuple[float, float], str]]:
    """The fix and the threshold, metres north and east, each with its name."""
    yield (0.0, 0.0), brief.charted.procedure.fix.name
    threshold = threshold_place(brief.charted)
    if threshold is not None and brief.charted.runway is not None:
        yield (threshold.north_m, threshold.east_m), brief.charted.runway.name


def _farthest_place(brief: Brief) -> tuple[float, float] | None:
    """The farthest point of the reversal; None on an arc, which has no limit of distance."""
    plan = brief.plan
    if plan.pattern.shape == "arc":
        return None
    away = plan.path.distance_m(*limit_centre(plan.charted))
    node = int(np.argmin(np.abs(away - plan.farthest_m)))
    return float(plan.path.north_m[node]), float(plan.path.east_m[node])


def _on_limit(brief: Brief, place: tuple[float, float]) -> tuple[float, float]:
    """The point of the limit that lies beyond a place, seen from the limit's centre."""
    north, east = limit_centre(brief.charted)
    bearing, limit = math.atan2(place[1] - east, place[0] - north), brief.charted.limit_m or 0.0
    return north + limit * math.cos(bearing), east + limit * math.sin(bearing)


def _draw_limit(drawing: _Drawing, brief: Brief) -> None:
    """The charted courses, and the limit of distance where there is one."""
    charted = brief.charted
    if charted.kind != "arc":
        reach = charted.limit_m if charted.limit_m is not None else brief.plan.farthest_m
        for course in dict.fromkeys((charted.outbound_true_rad, charted.inbound_true_rad + math.pi)):
            ends = np.array([[0.0, 0.0], [reach * math.cos(course), reach * math.sin(course)]])
            drawing.line(drawing.places(ends), QUIET, 0.7, "5 3")
    if charted.limit_m is None:
        return
    north, east = limit_centre(charted)
    angles = np.linspace(0.0, math.tau, _ARC_STEPS)
    circle = np.column_stack([north + charted.limit_m * np.cos(angles), east + charted.limit_m * np.sin(angles)])
    points = drawing.places(circle)
    drawing.line(points, WARN, 1.4, "7 4")
    drawing.avoid(points, 1.5)


def _draw_fixes(drawing: _Drawing, brief: Brief) -> None:
    """The fix as a ring, and the runway as a bar along its heading; each with its name."""
    runway = brief.charted.runway
    for place, name in _fixed_places(brief):
        x, y = drawing.place(*place)
        if place == (0.0, 0.0):
            drawing.elements.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{PAPER}" stroke="{INK}" stroke-width="1.8"/>')
        elif runway is not None:
            along = np.array([[0.0, 0.0], [math.sin(runway.heading_rad), -math.cos(runway.heading_rad)]])
            drawing.line(np.array([x, y]) + 9.0 * along, INK, 4.0)
        drawing.avoid(np.array([[x, y]]), 5.0)
        half = 0.32 * _SIZE_PT * len(name)
        around = [(x + dx, y + dy) for away in (11.0, 16.0, 24.0) for dx, dy in (
            (0.0, away), (0.0, -away), (half + away, 0.0), (-half - away, 0.0), (half, away), (half, -away), (-half, away), (-half, -away),
        )]  # fmt: skip
        drawing.label(around, name)


def _draw_farthest(drawing: _Drawing, brief: Brief) -> None:
    """The farthest point, the line on to the limit, and how far of how much."""
    reached, limit = _farthest_place(brief), brief.charted.limit_m
    if reached is None:
        return
    x, y = drawing.place(*reached)
    text = f"{brief.plan.farthest_m / NM:.1f} NM"
    if limit is not None:
        beyond = drawing.places(np.array([reached, _on_limit(brief, reached)]))
        drawing.line(beyond, INK, 0.9)
        text = f"{brief.plan.farthest_m / NM:.1f} of {limit / NM:g} NM"
    mark = np.array([[0.0, -5.0], [5.0, 0.0], [0.0, 5.0], [-5.0, 0.0], [0.0, -5.0]]) + np.array([x, y])
    path = "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in mark)
    drawing.elements.append(f'<path d="{path}z" fill="{PAPER}" stroke="{INK}" stroke-width="1.8"/>')
    drawing.avoid(np.array([[x, y]]), 6.0)
    half = 0.32 * _SIZE_PT * len(text)
    drawing.label(
        [
            (x + dx, y + dy)
            for away in (12.0, 18.0, 28.0, 40.0)
            for dx, dy in ((0.0, -away), (0.0, away), (half + away, 0.0), (-half - away, 0.0), (half, -away), (-half, -away),
                           (half, away), (-half, away))
        ],
        text,
    )  # fmt: skip


def _draw_arrows(drawing: _Drawing, way: Sequence[Step]) -> None:
    """An arrowhead along each step that is long enough to hold one."""
    for step in way:
        points = drawing.places(np.array(step.places_m))
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        if along[-1] < 3.0 * _ARROW_PT:
            continue
        at = 0.78 * along[-1]
        x, y = (float(np.interp(at, along, points[:, k])) for k in (0, 1))
        dx, dy = (float(np.interp(at, along, points[:, k]) - np.interp(at - 2.0, along, points[:, k])) for k in (0, 1))
        length = math.hypot(dx, dy) or 1.0
        ux, uy = dx / length * _ARROW_PT, dy / length * _ARROW_PT
        tips = [(x + ux, y + uy), (x - ux - 0.8 * uy, y - uy + 0.8 * ux), (x - ux + 0.8 * uy, y - uy - 0.8 * ux)]
        path = "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in tips)
        drawing.elements.append(f'<path d="{path}z" fill="{LEG_COLOUR[step.leg]}"/>')


def _draw_number(drawing: _Drawing, number: int, step: Step) -> None:
    """The number of a step in a disc next to its way, where it hides least."""
    points = drawing.places(np.array(step.places_m))
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    places = []
    for away in (11.0, 15.0, 21.0, 28.0):
        for share in (0.45, 0.3, 0.6, 0.15, 0.75, 0.9):
            at = share * along[-1]
            x, y, bx, by = (float(np.interp(where, along, points[:, k])) for where in (at, at - 3.0) for k in (0, 1))
            if math.hypot(x - bx, y - by) < 1e-6:
                bx, by = float(points[-1, 0]), float(points[-1, 1])
            length = math.hypot(x - bx, y - by) or 1.0
            ox, oy = -(y - by) / length * away, (x - bx) / length * away
            places += [(x + ox, y + oy), (x - ox, y - oy)]
    best, _ = choose([Label(x, y, 0.0, "00", _DISC_PT * 1.6) for x, y in places], drawing.obstacles)
    drawing.obstacles = drawing.obstacles.with_label(best)
    colour = LEG_COLOUR[step.leg]
    drawing.elements.append(f'<circle cx="{best.x:.1f}" cy="{best.y:.1f}" r="{_DISC_PT:g}" fill="{colour}"/>')
    drawing.text(best.x, best.y, f"{number}", _NUMBER_PT if number < 10 else _NUMBER_PT - 1.5, PAPER)


def _emptiest(drawing: _Drawing, width: float, height: float) -> tuple[float, float]:
    """The middle of the box of some size that hides least, corners before edges; it is kept clear from then on."""
    points, radius = drawing.obstacles.points, drawing.obstacles.radius
    best, least = (0.0, 0.0), math.inf
    for down in (0.0, 1.0, 0.5, 0.25, 0.75):
        for across in (0.0, 1.0, 0.5, 0.25, 0.75):
            x = width / 2.0 + across * (drawing.width - width)
            y = height / 2.0 + down * (drawing.height - height)
            within = (np.abs(points[:, 0] - x) < width / 2.0 + radius) & (np.abs(points[:, 1] - y) < height / 2.0 + radius)
            if within.sum() < least:
                best, least = (x, y), float(within.sum())
    xs, ys = np.meshgrid(np.arange(-width / 2.0, width / 2.0, 5.0), np.arange(-height / 2.0, height / 2.0, 5.0))
    drawing.avoid(np.column_stack([best[0] + xs.ravel(), best[1] + ys.ravel()]), 3.0)
    return best


def _draw_north_and_wind(drawing: _Drawing, brief: Brief) -> None:
    """True north as an arrow, and next to it the wind as it blows, with its numbers beneath."""
    air = brief.conditions.leg(brief.charted, "reversal")
    calm = air.wind_mps < 0.5 * KT
    text = "calm" if calm else f"{bearing_text(air.wind_from_rad)}T/{air.wind_mps / KT:.0f}"
    x, y = _emptiest(drawing, 62.0, 52.0)
    _arrow(drawing, (x - 16.0, y - 6.0), 0.0, INK, 1.2)
    drawing.text(x - 16.0, y - 22.0 + 0.5, "N", 8.0)
    if not calm:
        _arrow(drawing, (x + 10.0, y - 8.0), air.wind_from_rad + math.pi, LEG_COLOUR["outbound"], 2.4)
    drawing.text(x, y + 14.0, text, _SIZE_PT)


def _arrow(drawing: _Drawing, middle: tuple[float, float], bearing_rad: float, colour: str, width: float) -> None:
    """An arrow of 20 points about a place, pointing along a true bearing."""
    ux, uy = math.sin(bearing_rad), -math.cos(bearing_rad)
    tail, tip = np.array(middle) - 10.0 * np.array([ux, uy]), np.array(middle) + 10.0 * np.array([ux, uy])
    drawing.line(np.array([tail, tip]), colour, width)
    wings = [tip - 6.0 * np.array([ux, uy]) + side * 4.0 * np.array([-uy, ux]) for side in (1.0, -1.0)]
    drawing.line(np.array([wings[0], tip, wings[1]]), colour, width)


def _draw_scale(drawing: _Drawing) -> None:
    """A bar of whole miles."""
    most = 0.3 * drawing.width / (drawing.scale * NM)
    miles = next((step for step in _SCALES_NM if step <= most), _SCALES_NM[-1])
    length = miles * NM * drawing.scale
    x, y = _emptiest(drawing, max(length, 34.0) + 8.0, 24.0)
    bar = np.array([[-0.5, -3.0], [-0.5, 0.0], [0.5, 0.0], [0.5, -3.0]]) * np.array([length, 1.0]) + np.array([x, y + 8.0])
    drawing.line(bar, QUIET, 1.1)
    drawing.text(x, y - 2.0, f"{miles:g} NM", 9.0, QUIET, bold=False)
