"""Axes without matplotlib's own ticks: `frame` draws them, as making the originals takes two thirds of an axes' time.

`_init_axis` is overridden as matplotlib's gallery shows it for projections of one's own.
"""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.axis import XAxis, YAxis
from matplotlib.figure import Figure

__all__ = ["add_bare_axes"]


def add_bare_axes(figure: Figure, box: tuple[float, float, float, float], label: str) -> Axes:
    """Axes in a part of a figure (left, bottom, width, height as shares of it), labelled by what they show."""
    axes = _BareAxes(figure, box, label=label)
    figure.add_axes(axes)
    return axes


class _WithoutTicks:
    """An axis whose ticks are never asked for, so that matplotlib, which makes them when they are, makes none."""

    def set_clip_path(self, *_: Any, **__: Any) -> None:
        """Clip no ticks."""

    def set_tick_params(self, *_: Any, **__: Any) -> None:
        """Style no ticks."""

    def grid(self, *_: Any, **__: Any) -> None:
        """Draw no grid at ticks."""


class _BareXAxis(_WithoutTicks, XAxis):
    pass


class _BareYAxis(_WithoutTicks, YAxis):
    pass


class _BareAxes(Axes):
    def _init_axis(self) -> None:
        self.xaxis = _BareXAxis(self, clear=False)
        self.yaxis = _BareYAxis(self, clear=False)
        self.spines.bottom.register_axis(self.xaxis)
        self.spines.left.register_axis(self.yaxis)
