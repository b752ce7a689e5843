"""Corner items of a plan view: north, true and magnetic, the wind, and a scale."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes

from analyzer.motion.wind import Wind
from analyzer.physics.units import KT, bearing_text
from analyzer.report.pictures.frame import inches
from analyzer.report.pictures.labels import Obstacles
from analyzer.report.pictures.style import INK, LEG_COLOUR, QUIET

__all__ = ["draw_compass", "draw_scale"]

_CALM_MPS = 0.1
_WIDTH_IN, _HEIGHT_IN = 1.85, 1.75


def draw_compass(axes: Axes, obstacles: Obstacles, variation_rad: float, wind: Wind | None) -> Obstacles:
    """North and wind in the emptiest corner of a plan view. Returns the obstacles with that corner taken."""
    width_in, height_in = inches(axes)
    width, height = _WIDTH_IN / width_in, _HEIGHT_IN / height_in
    corners = [(x, y, width, height) for x in (0.01, 0.99 - width) for y in (0.99 - height, 0.01)]
    place, taken = _emptiest(obstacles, corners)
    box = axes.inset_axes(place)
    box.set_xlim(-1.9, 1.9)
    box.set_ylim(-1.75, 1.55)
    box.set_aspect("equal")
    box.set_axis_off()
    arrow = {"arrowstyle": "-|>", "shrinkA": 0, "shrinkB": 0}
    box.annotate("", (-0.8, 1.05), (-0.8, -0.7), arrowprops={**arrow, "color": INK, "lw": 1.2})
    box.text(-0.8, 1.1, "true N", ha="center", va="bottom", fontsize=8.5, fontweight="bold")
    mx, my = 0.95 * math.sin(variation_rad), 0.95 * math.cos(variation_rad)
    box.plot([-0.8, -0.8 + mx], [0.0, my], color=QUIET, lw=1.0, ls=(0, (3, 2)))
    variation = f"mag N, {abs(math.degrees(variation_rad)):.0f}° {'E' if variation_rad >= 0.0 else 'W'}"
    box.text(-0.8, -0.85, variation, ha="center", va="top", fontsize=7.5, color=QUIET)
    if wind is None:
        box.text(0.85, 0.2, "wind\nunknown", ha="center", va="top", fontsize=8, color=QUIET)
        return taken
    if wind.speed_mps < _CALM_MPS and wind.sd_mps == 0.0:
        box.text(0.85, 0.2, "calm", ha="center", va="top", fontsize=8, color=QUIET)
        return taken
    colour = LEG_COLOUR["outbound"]
    wx, wy = math.sin(wind.from_true_rad), math.cos(wind.from_true_rad)
    box.annotate(
        "",
        (0.95 - 0.75 * wx, 0.15 - 0.75 * wy),
        (0.95 + 0.75 * wx, 0.15 + 0.75 * wy),
        arrowprops={**arrow, "color": colour, "lw": 2.2},
    )
    # in whole knots as the wind is, but never none
    error = f" ± {max(1.0, wind.sd_mps / KT):.0f}" if wind.sd_mps > 0.0 else ""
    text = f"wind {bearing_text(wind.from_true_rad)} true\n{wind.speed_mps / KT:.0f}{error} kt"
    box.text(0.95, -0.85, text, ha="center", va="top", fontsize=8.5, color=colour)
    return taken


def draw_scale(axes: Axes, obstacles: Obstacles, nm_per_point: float) -> Obstacles:
    """A bar of whole miles in the emptiest lower place. Returns the obstacles with that place taken."""
    left, right, bottom, top = obstacles.frame
    length = next(miles for miles in (1.0, 2.0, 5.0, 10.0, 20.0) if miles / nm_per_point > 60.0 or miles == 20.0)
    share_x, share_y = length / (right - left) + 0.03, 30.0 * nm_per_point / (top - bottom)
    places = [(x, y, share_x, share_y) for y in (0.01, 0.99 - share_y) for x in (0.02, 0.98 - share_x, 0.5)]
    place, taken = _emptiest(obstacles, places)
    x, y = left + (place[0] + 0.015) * (right - left), bottom + place[1] * (top - bottom) + 6.0 * nm_per_point
    axes.plot([x, x + length], [y, y], color=INK, lw=2.6, solid_capstyle="butt", zorder=8)
    axes.text(x + length / 2.0, y + 5.0 * nm_per_point, f"{length:g} NM", ha="center", va="bottom", fontsize=8.5, zorder=8)
    return taken


def _emptiest(
    obstacles: Obstacles, places: list[tuple[float, float, float, float]]
) -> tuple[tuple[float, float, float, float], Obstacles]:
    """Of some boxes (left, bottom, width, height, as shares of the frame) the one with the fewest points in it, now taken."""
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
