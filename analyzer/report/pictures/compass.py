"""Corner items of a plan view: north, true and magnetic, the wind, and a scale."""

from __future__ import annotations

import math

import numpy as np

from analyzer.motion.wind import Wind
from analyzer.physics.units import KT, bearing_text
from analyzer.report.pictures.drawing import Box, Frame, Mark, Marker, Panel, Words, straight
from analyzer.report.pictures.labels import Obstacles
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.plan_sheet import Sheet
from analyzer.report.pictures.style import INK, LEG_COLOUR, QUIET

__all__ = ["compass_row", "draw_compass", "draw_north", "draw_scale", "north_row"]

_WIND_COLOUR = LEG_COLOUR["outbound"]
_CALM_MPS = 0.1
_NORTH_PT, _WIND_PT, _HEAD_PT = 26.0, 22.0, 9.0  # half lengths of the arrows, and the size of their heads
_ARROW_X, _WIND_X, _CENTRE_Y = 0.25, 0.73, 0.55  # shares of the corner
_ROW_PT, _ROW_ARROW_PT = 52.0, 15.0  # height of a row below the plan, and half the length of its arrows
_MILES = (1.0, 2.0, 5.0, 10.0, 20.0)


def draw_compass(sheet: Sheet, corner: tuple[float, float], variation_rad: float, wind: Wind | None) -> None:
    """North and wind in the emptiest corner of a plan view; `corner` is its width and height. [points]"""
    place = _corner(sheet, corner)
    y, small = sheet.frame.y_at(place[1] + _CENTRE_Y * place[3]), sheet.layout.small
    _draw_north(sheet, (sheet.frame.x_at(place[0] + _ARROW_X * place[2]), y), variation_rad)
    at, text = (sheet.frame.x_at(place[0] + _WIND_X * place[2]), y), "\n".join(_wind_words(wind))
    if wind is None or _calm(wind):
        sheet.add(Words(*at, text, small, QUIET))
        return
    sheet.add(*_wind_arrow(sheet.frame, at, wind, _WIND_PT))
    sheet.add(Words(*at, text, small + 0.5, _WIND_COLOUR, up="top", away=(0.0, -_NORTH_PT - 4.0)))


def draw_north(sheet: Sheet, corner: tuple[float, float], variation_rad: float) -> None:
    """North alone, for a plan view of flights in several winds."""
    place = _corner(sheet, corner)
    at = sheet.frame.x_at(place[0] + 0.5 * place[2]), sheet.frame.y_at(place[1] + _CENTRE_Y * place[3])
    _draw_north(sheet, at, variation_rad)


def _corner(sheet: Sheet, corner: tuple[float, float]) -> Box:
    """The emptiest place of that width and height [points], now taken: left, bottom, width, height, as shares of the frame.

    A corner where one is empty, else along an edge, else within, as in the middle of an arc all around.
    """
    width, height = (size / whole for size, whole in zip(corner, sheet.frame.box[2:], strict=True))
    shares = (0.0, 1.0, 0.5, 0.25, 0.75)
    across, up = (0.98 - width, 0.98 - height)
    edges = [(x, y) for x in shares for y in (1.0, 0.0)] + [(x, y) for x in (0.0, 1.0) for y in shares[2:]]
    eighths = [k / 8.0 for k in range(1, 8)]
    within = [(x, y) for x in eighths for y in eighths]
    places = [(0.01 + x * across, 0.01 + y * up, width, height) for x, y in (*edges, *within)]
    place, sheet.obstacles = _emptiest(sheet.obstacles, places)
    return place


def _draw_north(sheet: Sheet, at: tuple[float, float], variation_rad: float) -> None:
    small = sheet.layout.small
    sheet.add(*_north(sheet.frame, at, variation_rad, _NORTH_PT))
    sheet.add(Words(*at, "true N", small + 0.5, bold=True, up="bottom", away=(0.0, _NORTH_PT + 5.0)))
    sheet.add(Words(*at, _variation_words(variation_rad), small, QUIET, up="top", away=(0.0, -_NORTH_PT - 4.0)))


def compass_row(layout: Layout, top: float, variation_rad: float, wind: Wind | None) -> Panel:
    """North and wind as a row below a plan view, as wide as the layout, from `top` downwards. [points]"""
    row = north_row(layout, top, variation_rad)
    frame, marks = row.frame, list(row.marks)
    at, small = (0.5 * layout.width, 0.5 * _ROW_PT), layout.small
    if wind is not None and not _calm(wind):
        marks += _wind_arrow(frame, at, wind, _ROW_ARROW_PT)
    text = "\n".join(_wind_words(wind))
    marks.append(Words(*at, text, small, QUIET if wind is None else _WIND_COLOUR, across="left", away=(24.0, 0.0)))
    return Panel(frame, tuple(marks))


def north_row(layout: Layout, top: float, variation_rad: float) -> Panel:
    """North alone as a row below a plan view."""
    frame = Frame("compass", (0.0, top, layout.width, _ROW_PT), (0.0, layout.width), (0.0, _ROW_PT))
    north = 26.0, 0.5 * _ROW_PT
    words = f"true N\n{_variation_words(variation_rad)}"
    marks = [
        *_north(frame, north, variation_rad, _ROW_ARROW_PT),
        Words(*north, words, layout.small, across="left", away=(20.0, 0.0)),
    ]
    return Panel(frame, tuple(marks))


def _calm(wind: Wind) -> bool:
    return wind.speed_mps < _CALM_MPS and wind.sd_mps == 0.0


def _wind_words(wind: Wind | None) -> tuple[str, ...]:
    if wind is None:
        return "wind", "unknown"
    if _calm(wind):
        return ("calm",)
    # in whole knots like the wind, but never 0
    error = f" ± {max(1.0, wind.sd_mps / KT):.0f}" if wind.sd_mps > 0.0 else ""
    return f"wind {bearing_text(wind.from_true_rad)} true", f"{wind.speed_mps / KT:.0f}{error} kt"


def _variation_words(variation_rad: float) -> str:
    degrees = round(abs(math.degrees(variation_rad)))
    side = ("E" if variation_rad >= 0.0 else "W") if degrees else ""  # nought has no side
    return f"mag N, {degrees}° {side}".strip()


def _north(frame: Frame, at: tuple[float, float], variation_rad: float, half_pt: float) -> list[Mark]:
    """An arrow to true north, and magnetic north as a dashed line."""
    tip = (
        at[0] + half_pt * frame.x_per_point * math.sin(variation_rad),
        at[1] + half_pt * frame.y_per_point * math.cos(variation_rad),
    )
    return [*_arrow(frame, at, 0.0, half_pt, INK, 1.2), straight(at, tip, QUIET, 1.0, (3.0, 2.0), 8.0)]


def _wind_arrow(frame: Frame, at: tuple[float, float], wind: Wind, half_pt: float) -> list[Mark]:
    """An arrow that points where the wind blows."""
    return _arrow(frame, at, wind.from_true_rad + math.pi, half_pt, _WIND_COLOUR, 2.2)


def _arrow(frame: Frame, at: tuple[float, float], bearing_rad: float, half_pt: float, colour: str, width: float) -> list[Mark]:
    """An arrow centred at a place, pointing along a bearing."""
    dx = half_pt * frame.x_per_point * math.sin(bearing_rad)
    dy = half_pt * frame.y_per_point * math.cos(bearing_rad)
    return [
        straight((at[0] - dx, at[1] - dy), (at[0] + 0.75 * dx, at[1] + 0.75 * dy), colour, width, level=8.0),
        Marker(at[0] + 0.85 * dx, at[1] + 0.85 * dy, "arrow", _HEAD_PT, colour, colour, 0.0, 8.0, bearing_rad),
    ]


def draw_scale(sheet: Sheet) -> None:
    """A scale bar of whole miles in the emptiest place at the bottom."""
    left, right, bottom, top = sheet.obstacles.frame
    unit = sheet.nm_per_point
    length = next(miles for miles in _MILES if miles / unit > 60.0 or miles == _MILES[-1])
    share_x, share_y = length / (right - left) + 0.03, 30.0 * unit / (top - bottom)
    places = [(x, y, share_x, share_y) for y in (0.01, 0.99 - share_y) for x in (0.02, 0.98 - share_x, 0.5)]
    place, sheet.obstacles = _emptiest(sheet.obstacles, places)
    x, y = left + (place[0] + 0.015) * (right - left), bottom + place[1] * (top - bottom) + 6.0 * unit
    sheet.add(straight((x, y), (x + length, y), width=2.6, level=8.0))
    sheet.add(Words(x + length / 2.0, y, f"{length:g} NM", sheet.layout.small + 0.5, up="bottom", away=(0.0, 4.0)))


def _emptiest(obstacles: Obstacles, places: list[Box]) -> tuple[Box, Obstacles]:
    """Take the box with the fewest points in it; boxes are left, bottom, width, height, as shares of the frame."""
    left, right, bottom, top = obstacles.frame
    x, y = (obstacles.points[:, 0] - left) / (right - left), (obstacles.points[:, 1] - bottom) / (top - bottom)
    counts = [int(((x > px) & (x < px + w) & (y > py) & (y < py + h)).sum()) for px, py, w, h in places]
    best = places[int(np.argmin(counts))]
    columns, rows = np.meshgrid(np.linspace(0.1, 0.9, 5), np.linspace(0.1, 0.9, 5))
    grid = np.column_stack([
        left + (best[0] + best[2] * columns.ravel()) * (right - left),
        bottom + (best[1] + best[3] * rows.ravel()) * (top - bottom),
    ])  # fmt: skip
    return best, obstacles.with_points(grid, 0.06 * best[2] * (right - left))
