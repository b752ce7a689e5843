"""Time strips: what changed second by second, one quantity a strip over the same seconds, legs shaded alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analyzer.errors import AnalyzerError
from analyzer.report.pictures.bare_axes import add_bare_axes
from analyzer.report.pictures.doubt_marks import hatch_doubts
from analyzer.report.pictures.frame import minute_ticks, number_ticks, put_frame, put_words
from analyzer.report.pictures.series import Series, series_of
from analyzer.report.pictures.strip_kinds import STRIPS, Scene, Strip
from analyzer.report.pictures.style import shade_legs

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = ["draw_strip", "draw_strips", "strips"]

_WIDTH_IN, _STRIP_IN, _TOP_IN, _BOTTOM_IN, _BETWEEN_IN = 8.4, 1.2, 0.3, 0.5, 0.14
_LEFT, _RIGHT = 0.105, 0.935  # of the width; numbers of the share of full scale stand at the right
_MOST_MINUTES, _MOST_NUMBERS = 14, 5


def strips(debrief: DebriefData, approach: Approach) -> Figure:
    """All strips of one approach as a figure of its own; its axes are labelled by what they show."""
    scene = Scene(debrief, approach, series_of(debrief, approach))
    shown = _known(scene.series)
    height = _TOP_IN + _STRIP_IN * len(shown) + _BOTTOM_IN
    figure = Figure(figsize=(_WIDTH_IN, height))
    box = (_LEFT, _BOTTOM_IN / height, _RIGHT - _LEFT, _STRIP_IN * len(shown) / height)
    _draw_all(figure, box, scene, shown)
    return figure


def draw_strips(figure: Figure, box: tuple[float, float, float, float], debrief: DebriefData, approach: Approach) -> None:
    """Draw all strips of one approach, one above the other, into a part of a figure: left, bottom, width, height as shares."""
    scene = Scene(debrief, approach, series_of(debrief, approach))
    _draw_all(figure, box, scene, _known(scene.series))


def _draw_all(figure: Figure, box: tuple[float, float, float, float], scene: Scene, shown: tuple[Strip, ...]) -> None:
    left, bottom, width, height = box
    each, between = height / len(shown), _BETWEEN_IN / figure.get_figheight()
    for number, strip in enumerate(shown):
        place = (left, bottom + each * (len(shown) - 1 - number), width, each - between)
        _draw(add_bare_axes(figure, place, strip.quantity), scene, strip, first=number == 0, last=number == len(shown) - 1)


def draw_strip(axes: Axes, debrief: DebriefData, approach: Approach, quantity: str) -> None:
    """Draw the strip of one quantity, one of the names in `STRIPS`, into axes. Raises `AnalyzerError` where it is not known."""
    scene = Scene(debrief, approach, series_of(debrief, approach))
    strip = next((strip for strip in _known(scene.series) if strip.quantity == quantity), None)
    if strip is None:
        raise AnalyzerError(f"{quantity}: not known from {debrief.motion.track.file}")
    _draw(axes, scene, strip, first=True, last=True)


def _draw(axes: Axes, scene: Scene, strip: Strip, *, first: bool, last: bool) -> None:
    time = scene.series.time_s
    axes.set_xlim(float(time[0]), float(time[-1]))
    shade_legs(axes, scene.approach.reversal, (time, time), names=first)
    strip.draw(axes, scene)
    hatch_doubts(axes, scene.debrief, names=first)
    put_frame(axes, minute_ticks(*axes.get_xlim(), _MOST_MINUTES), number_ticks(*axes.get_ylim(), _MOST_NUMBERS), x_words=last)
    put_words(axes, left=strip.title, below="time, UTC" if last else "")


def _known(series: Series) -> tuple[Strip, ...]:
    """The strips that can be drawn of an approach: those of what is known of it."""
    return tuple(strip for strip in STRIPS if strip.known(series))
