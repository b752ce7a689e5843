"""The two layouts of pictures: wide for a desktop, paper or a file, and narrow for a phone held upright.

On a phone a point of type is a pixel of the page, so that no type is smaller than 11 px there; the wide picture is
shown about one and a third times as large.
"""

from __future__ import annotations

from typing import Literal

from analyzer.frozen import dataclass

__all__ = ["NARROW", "WIDE", "Layout"]


@dataclass(frozen=True)
class Layout:
    """Widths, heights and type sizes of a picture. [points]

    With `side_titles` the title of a curve is at its left, turned, instead of above it. `compass` is the size of the corner for
    north and wind in a plan view; None puts them below it.
    """

    name: Literal["wide", "narrow"]
    width: float
    left: float  # margins of curves
    right: float
    small: float
    normal: float
    strong: float
    plan_heights: tuple[float, float]
    profile_height: float
    strip_height: float
    most_minutes: int
    most_numbers: int
    side_titles: bool
    compass: tuple[float, float] | None


WIDE = Layout(
    name="wide", width=604.8, left=63.5, right=39.0, small=8.0, normal=9.0, strong=10.5, plan_heights=(330.0, 470.0),
    profile_height=260.0, strip_height=86.0, most_minutes=14, most_numbers=5, side_titles=True, compass=(152.0, 126.0),
)  # fmt: skip
NARROW = Layout(
    name="narrow", width=358.0, left=50.0, right=8.0, small=11.0, normal=11.5, strong=13.0, plan_heights=(300.0, 470.0),
    profile_height=270.0, strip_height=118.0, most_minutes=5, most_numbers=4, side_titles=False, compass=None,
)  # fmt: skip
