"""A small plan for a knee card: the path planned in the wind, its steps by number, and the farthest point against the limit.

It is drawn to scale from the planned path, true north up, in points.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from analyzer.brief.gates import threshold_place
from analyzer.brief.plan import limit_centre
from analyzer.physics.units import KT, NM, FloatArray, bearing_text
from analyzer.report.paper.knee_steps import Step
from analyzer.report.paper.sketch import Sketch
from analyzer.report.pictures.style import INK, LEG_COLOUR, PAPER, QUIET, WARN
from analyzer.report.words.layout import clipped

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief

__all__ = ["LONGEST_NAME", "way_sketch"]

LONGEST_NAME = 12  # letters of a fix or runway
_SIZE_PT = 10.0  # of all text; the card has no smaller type
_DISC_PT, _WIDE_DISC_PT = 7.2, 8.6  # around numbers of one and of two digits
_SHORT_PT, _DIGIT_PT = 20.0, 6.6  # a step that is shorter may share its number; the width of a digit
_MARGIN_PT = 20.0
_ARROW_PT = 6.0
_NEAR_PT, _FAR_WEIGHS = 20.0, 8.0  # a number may stand this far from its step; each point more costs so much
_LEADER_FROM_PT = 5.0  # farther than this from the edge of its disc, a number has a line to its step
_ARC_STEPS = 361
_LIMIT_WEIGHS = 8.0  # against other lines: a word over its dashes reads badly
_NEAR_SHARE = 0.4  # of the limit: if the path stays nearer to the fix, the limit need not be in the picture
_PLACES = 48  # points drawn for each step
_SCALES_NM = (10.0, 5.0, 2.0, 1.0, 0.5)


def way_sketch(brief: Brief, way: Sequence[Step], width_pt: float, height_pt: float) -> str:
    """The plan as an SVG document of a given size. [pt]"""
    sketch = _framed(brief, way, width_pt, height_pt)
    _draw_charted(sketch, brief)
    lines = [sketch.at(_thinned(step.places_m)) for step in way]
    for step, points in zip(way, lines, strict=True):
        sketch.line(points, LEG_COLOUR[step.leg], 2.2)
        sketch.avoid(points, 2.5)
    for step, points in zip(way, lines, strict=True):
        _draw_arrow(sketch, points, LEG_COLOUR[step.leg])
    _draw_farthest(sketch, brief)
    _draw_fixes(sketch, brief)
    _draw_north_and_wind(sketch, brief)
    _draw_scale(sketch)
    for numbers, points, colour in _numbered(way, lines):
        _draw_number(sketch, numbers, points, colour)
    return sketch.svg()


def _numbered(way: Sequence[Step], lines: Sequence[FloatArray]) -> Iterator[tuple[str, FloatArray, str]]:
    """The numbers to be drawn, each with its line and its colour; short steps of one leg in a row share theirs: ``6-9``."""
    short = [float(_along(points)[-1]) < _SHORT_PT for points in lines]
    first = 0
    for last, step in enumerate(way):
        if last + 1 < len(way) and short[last] and short[last + 1] and way[last + 1].leg == step.leg:
            continue
        numbers = f"{first + 1}" if first == last else f"{first + 1}-{last + 1}"
        yield numbers, np.vstack(lines[first : last + 1]), LEG_COLOUR[step.leg]
        first = last + 1


def _thinned(places_m: FloatArray) -> FloatArray:
    """Thin a line to as many points as can be seen at this size, keeping both ends."""
    kept = np.unique(np.linspace(0, len(places_m) - 1, min(len(places_m), _PLACES)).round().astype(int))
    thinned: FloatArray = places_m[kept]
    return thinned


def _framed(brief: Brief, way: Sequence[Step], width: float, height: float) -> Sketch:
    """An empty drawing framed around the path, the fix, the runway and, if the path comes near it, the limit."""
    seen = [step.places_m for step in way]
    seen.append(np.array([place for place, _ in _fixed_places(brief)]))
    reached, limit = _farthest_place(brief), brief.charted.limit_m
    if reached is not None and limit is not None and brief.plan.farthest_m > _NEAR_SHARE * limit:
        seen.append(np.array([reached, _on_limit(brief, reached)]))
    together = np.vstack(seen)
    least, most = together.min(axis=0), together.max(axis=0)
    spans = np.maximum(most - least, 0.2 * NM)
    scale = min((height - 2.0 * _MARGIN_PT) / spans[0], (width - 2.0 * _MARGIN_PT) / spans[1])
    middle = (least + most) / 2.0
    return Sketch(width, height, float(scale), (float(middle[0]), float(middle[1])))


def _fixed_places(brief: Brief) -> Iterator[tuple[tuple[float, float], str]]:
    """The fix and the threshold with their names, in metres north and east."""
    yield (0.0, 0.0), clipped(brief.charted.procedure.fix.name, LONGEST_NAME)
    threshold = threshold_place(brief.charted)
    if threshold is not None and brief.charted.runway is not None:
        yield (threshold.north_m, threshold.east_m), clipped(brief.charted.runway.name, LONGEST_NAME)


def _farthest_place(brief: Brief) -> tuple[float, float] | None:
    """The farthest point of the reversal; None for an arc, which has no distance limit."""
    plan = brief.plan
    if plan.pattern.shape == "arc":
        return None
    return plan.farthest_place_m


def _on_limit(brief: Brief, place: tuple[float, float]) -> tuple[float, float]:
    """The point on the limit in the direction of a place, seen from the centre of the limit."""
    north, east = limit_centre(brief.charted)
    bearing, limit = math.atan2(place[1] - east, place[0] - north), brief.charted.limit_m or 0.0
    return north + limit * math.cos(bearing), east + limit * math.sin(bearing)


def _draw_charted(sketch: Sketch, brief: Brief) -> None:
    """Draw the charted courses, and the distance limit if there is one."""
    charted = brief.charted
    if charted.kind != "arc":
        reach = charted.limit_m if charted.limit_m is not None else brief.plan.farthest_m
        for course in dict.fromkeys((charted.outbound_true_rad, charted.inbound_true_rad + math.pi)):
            ends = np.array([[0.0, 0.0], [reach * math.cos(course), reach * math.sin(course)]])
            sketch.line(sketch.at(ends), QUIET, 0.7, "5 3")
            sketch.avoid(sketch.at(_between(*ends)), 1.0)
    if charted.limit_m is None:
        return
    north, east = limit_centre(charted)
    angles = np.linspace(0.0, math.tau, _ARC_STEPS)
    circle = np.column_stack([north + charted.limit_m * np.cos(angles), east + charted.limit_m * np.sin(angles)])
    points = sketch.at(circle)
    sketch.line(points, WARN, 1.4, "7 4")
    sketch.avoid(points, 1.5, _LIMIT_WEIGHS)


def _draw_fixes(sketch: Sketch, brief: Brief) -> None:
    """Draw the fix as a ring and the runway as a bar along its heading, each with its name."""
    runway = brief.charted.runway
    for place, name in _fixed_places(brief):
        x, y = sketch.at(np.array([place]))[0].tolist()
        if place == (0.0, 0.0):
            sketch.disc(x, y, 4.0, PAPER, INK, 1.8)
        elif runway is not None:
            along = np.array([[0.0, 0.0], [math.sin(runway.heading_rad), -math.cos(runway.heading_rad)]])
            sketch.line(np.array([x, y]) + 9.0 * along, INK, 4.0)
        sketch.avoid(np.array([[x, y]]), 5.0)
        sketch.label(sketch.about(x, y, name, _SIZE_PT), name, _SIZE_PT, INK)


def _draw_farthest(sketch: Sketch, brief: Brief) -> None:
    """Draw the farthest point, a line from it to the limit, and both distances."""
    reached, limit = _farthest_place(brief), brief.charted.limit_m
    if reached is None:
        return
    text = f"farthest\n{brief.plan.farthest_m / NM:.1f} NM"
    if limit is not None:
        out = np.array([reached, _on_limit(brief, reached)])
        sketch.line(sketch.at(out), INK, 0.9)
        sketch.avoid(sketch.at(_between(*out)), 1.0)
        text = f"farthest\n{brief.plan.farthest_m / NM:.1f} of {limit / NM:g} NM"
    x, y = sketch.at(np.array([reached]))[0].tolist()
    here = np.array([x, y])
    sketch.shape(here + np.array([[0.0, -5.0], [5.0, 0.0], [0.0, 5.0], [-5.0, 0.0]]), PAPER, INK, 1.8)
    sketch.avoid(here[None, :], 6.0)
    sketch.label(sketch.about(x, y, text, _SIZE_PT), text, _SIZE_PT, INK)


def _between(start: FloatArray, end: FloatArray) -> FloatArray:
    """Points along a straight line."""
    places: FloatArray = start + np.linspace(0.0, 1.0, _PLACES)[:, None] * (end - start)
    return places


def _along(points: FloatArray) -> FloatArray:
    """The distance of each point of a line from its beginning."""
    along: FloatArray = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return along


def _at(points: FloatArray, along: FloatArray, share: float) -> tuple[float, float, float, float]:
    """The point at a share of a line's length, and the direction of the line there as a unit vector."""
    where = share * along[-1]
    x, y = (float(np.interp(where, along, points[:, k])) for k in (0, 1))
    before, after = max(where - 2.0, 0.0), min(where + 2.0, float(along[-1]))
    dx, dy = (float(np.interp(after, along, points[:, k]) - np.interp(before, along, points[:, k])) for k in (0, 1))
    length = math.hypot(dx, dy) or 1.0
    return x, y, dx / length, dy / length


def _draw_arrow(sketch: Sketch, points: FloatArray, colour: str) -> None:
    """Draw an arrowhead on a line if it is long enough."""
    along = _along(points)
    if along[-1] < 3.0 * _ARROW_PT:
        return
    x, y, dx, dy = _at(points, along, 0.78)
    ahead, aside = np.array([dx, dy]) * _ARROW_PT, np.array([-dy, dx]) * 0.8 * _ARROW_PT
    sketch.shape(np.array([x, y]) + np.array([ahead, aside - ahead, -aside - ahead]), colour)


def _draw_number(sketch: Sketch, number: str, points: FloatArray, colour: str) -> None:
    """Draw the number of a step, or of several, on a disc or a pill next to their path, where it covers least."""
    along = _along(points)
    on_it = [_at(points, along, share) for share in (0.45, 0.3, 0.6, 0.15, 0.75, 0.9, 0.02, 0.98)]
    places = [
        (x - side * dy * away, y + side * dx * away)
        for away in (11.0, 15.0, 20.0, 26.0, 34.0, 44.0)
        for x, y, dx, dy in on_it
        for side in (1.0, -1.0)
    ]
    disc = _DISC_PT if len(number) == 1 else _WIDE_DISC_PT
    wide, high = 2.0 * disc + max(0, len(number) - 2) * _DIGIT_PT, 2.0 * disc
    places += sketch.everywhere(wide / 2.0)
    from_way = np.hypot(*(np.array(places)[:, None] - points[None]).transpose(2, 0, 1)).min(axis=1)
    x, y = sketch.clearest(places, wide, high, _FAR_WEIGHS * np.maximum(from_way - _NEAR_PT, 0.0))
    nearest = points[int(np.argmin(np.hypot(*(points - (x, y)).T)))]
    if math.hypot(max(abs(nearest[0] - x) - (wide - high) / 2.0, 0.0), nearest[1] - y) > disc + _LEADER_FROM_PT:
        sketch.line(np.array([[x, y], nearest]), colour, 0.9)
    sketch.pill(x, y, wide, high, colour)
    sketch.text(x, y, number, _SIZE_PT, PAPER)


def _draw_north_and_wind(sketch: Sketch, brief: Brief) -> None:
    """Draw an arrow to true north and, next to it, one in the direction the wind blows, with its numbers below."""
    air = brief.conditions.leg(brief.charted, "reversal")
    calm = air.wind_mps < 0.5 * KT
    text = "calm" if calm else f"{bearing_text(air.wind_from_rad)}T/{air.wind_mps / KT:.0f}"
    x, y = sketch.free(66.0, 54.0)
    _draw_pointer(sketch, (x - 16.0, y - 5.0), 0.0, INK, 1.2)
    sketch.text(x - 16.0, y - 21.0, "N", _SIZE_PT, INK)
    if not calm:
        _draw_pointer(sketch, (x + 12.0, y - 7.0), air.wind_from_rad + math.pi, LEG_COLOUR["outbound"], 2.4)
    sketch.text(x, y + 15.0, text, _SIZE_PT, INK)


def _draw_pointer(sketch: Sketch, middle: tuple[float, float], bearing_rad: float, colour: str, width: float) -> None:
    """Draw an arrow of 20 points centred at a place, pointing along a true bearing."""
    ahead = np.array([math.sin(bearing_rad), -math.cos(bearing_rad)])
    aside = np.array([-ahead[1], ahead[0]])
    tail, tip = np.array(middle) - 10.0 * ahead, np.array(middle) + 10.0 * ahead
    sketch.line(np.array([tail, tip]), colour, width)
    sketch.line(np.array([tip - 6.0 * ahead + 4.0 * aside, tip, tip - 6.0 * ahead - 4.0 * aside]), colour, width)


def _draw_scale(sketch: Sketch) -> None:
    """Draw a scale bar."""
    most = 0.3 * sketch.width / (sketch.scale * NM)
    miles = next((step for step in _SCALES_NM if step <= most), _SCALES_NM[-1])
    length = miles * NM * sketch.scale
    x, y = sketch.free(max(length, 34.0) + 8.0, 24.0)
    bar = np.array([[-0.5, -3.0], [-0.5, 0.0], [0.5, 0.0], [0.5, -3.0]]) * [length, 1.0] + [x, y + 7.0]
    sketch.line(bar, QUIET, 1.1)
    sketch.text(x, y - 3.0, f"{miles:g} NM", _SIZE_PT, QUIET, bold=False)
