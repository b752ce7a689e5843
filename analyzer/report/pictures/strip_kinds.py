"""The strips, one function a quantity. A further strip is a function and a row of `STRIPS`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes

from analyzer.physics.turning import STANDARD_RATE_RADPS
from analyzer.physics.units import DEG, FT, NM, FloatArray
from analyzer.report.pictures.frame import put_right_ticks
from analyzer.report.pictures.minimum_lines import minimum_lines
from analyzer.report.pictures.series import Series
from analyzer.report.pictures.style import BAND, INK, LEG_COLOUR, PAPER, QUIET, WARN, with_breaks

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = ["STRIPS", "Scene", "Strip"]

_LIMIT_DASH, _QUIET_DASH, _DOTTED = (0, (6, 3)), (0, (4, 2)), (0, (1, 1.5))
_SMALL = 7.5
_SHOWN_FULL_SCALES = 1.2  # of the deviation
_ON_COURSE = ("outbound", "inbound", "final")
_SHARES = ((-1.0, "−1"), (-0.5, "−0.5"), (0.0, "0"), (0.5, "0.5"), (1.0, "1"))
_ROOM = 0.16  # of a strip's height, kept free above and below its curve
_ROOM_FOR_SIDES = 1.5  # of what is drawn: the words for right and left stand beyond it


@dataclass(frozen=True, eq=False)
class Scene:
    """What a strip is drawn from."""

    debrief: DebriefData
    approach: Approach
    series: Series

    def line(self, axes: Axes, values: FloatArray, **style: Any) -> None:
        """A line over the seconds that is not drawn across gaps."""
        axes.plot(*with_breaks(self.series.time_s, self.series.time_s, values), **{"color": INK, "zorder": 4, **style})


@dataclass(frozen=True)
class Strip:
    """One strip: the quantity's name in code, its label at the left, how it is drawn, and whether it can be."""

    quantity: str
    title: str
    draw: Callable[[Axes, Scene], None]
    known: Callable[[Series], bool]


def _distance(axes: Axes, scene: Scene) -> None:
    """Distance from where the limit is measured, mostly the fix, with the limit of the reversal and the farthest point."""
    charted, farthest = scene.debrief.motion.charted, scene.approach.figures.farthest_from_limit
    scene.line(axes, scene.series.distance_nm)
    top = float(np.nanmax(scene.series.distance_nm))
    span = scene.approach.reversal.reversal_span_s
    if charted.limit_m is not None and span is not None:
        limit = charted.limit_m / NM
        top = max(top, limit)
        about = "the fix" if charted.procedure.reversal.within_from is None else "its centre"
        axes.plot(span, [limit, limit], color=WARN, lw=0.9, ls=_LIMIT_DASH, zorder=2)
        _words_over(axes, span, limit, f"limit {limit:g} NM from {about}")
    if farthest is not None:
        axes.plot([farthest.time_s], [farthest.distance_m / NM], marker="o", ms=5.0, mfc=PAPER, mec=INK, mew=1.3, zorder=6)
    axes.set_ylim(0.0, top * (1.0 + _ROOM))


def _deviation(axes: Axes, scene: Scene) -> None:
    """Deviation from the course flown, dotted where it is not judged; at the right as a share of full scale."""
    full = (scene.debrief.motion.charted.guidance.full_scale_rad or 0.0) / DEG
    _zero(axes)
    _course_lines(axes, scene)
    axes.set_ylim(-_SHOWN_FULL_SCALES * full, _SHOWN_FULL_SCALES * full)
    _course_limits(axes, scene, full, full)
    put_right_ticks(axes, [(share * full, word) for share, word in _SHARES], "of full scale")
    _sides(axes)


def _off_course(axes: Axes, scene: Scene) -> None:
    """The same in miles, where the guidance shows those; its scale is narrower on final."""
    guidance = scene.debrief.motion.charted.guidance
    before, on_final = (guidance.full_scale_m or 0.0) / NM, (guidance.full_scale_final_m or 0.0) / NM
    _zero(axes)
    _course_lines(axes, scene)
    axes.set_ylim(-_SHOWN_FULL_SCALES * before, _SHOWN_FULL_SCALES * before)
    _course_limits(axes, scene, before, on_final)
    _sides(axes)


def _course_limits(axes: Axes, scene: Scene, before: float, on_final: float) -> None:
    """What the standard allows either side of the course, on the parts flown along one; full scales in the strip's unit."""
    standard, reversal, shown = scene.debrief.standard, scene.approach.reversal, axes.get_xlim()
    last: dict[tuple[float, float], tuple[float, float]] = {}
    for part in reversal.parts:
        if part.name not in _ON_COURSE or (part.name == "outbound" and reversal.flown.startswith("hold")):
            continue  # an outbound leg of a hold goes out off the course on purpose
        share = standard["final_course" if part.leg == "final" else "course_deviation"].value
        full = on_final if part.leg == "final" else before
        span = max(part.start_s, shown[0]), min(part.end_s, shown[1])
        for side in (1.0, -1.0):
            axes.plot(span, [side * share * full] * 2, color=WARN, lw=0.9, ls=_LIMIT_DASH, zorder=2)
        last[share, full] = span
    for (share, full), span in last.items():
        _words_over(axes, span, share * full, f"{share:g} of full scale")


def _course_lines(axes: Axes, scene: Scene) -> None:
    series = scene.series
    for part in scene.approach.reversal.parts:
        if part.name in _ON_COURSE:
            inside = (series.time_s >= part.start_s) & (series.time_s <= part.end_s)
            for judged, style in ((series.counts, {}), (~series.counts, {"lw": 0.8, "ls": _DOTTED})):
                drawn = np.where(inside & judged, series.deviation, np.nan)
                if np.isfinite(drawn).any():
                    scene.line(axes, drawn, color=LEG_COLOUR[part.leg], **style)


def _altitude(axes: Axes, scene: Scene) -> None:
    """Altitude over the minimum of each leg and fix."""
    series = scene.series
    scene.line(axes, series.altitude_ft)
    shown = [float(np.nanmin(series.altitude_ft)), float(np.nanmax(series.altitude_ft))]
    for line in minimum_lines(scene.debrief, scene.approach):
        ends = [max(line.start_s, float(series.time_s[0])), line.end_s]
        if ends[1] > ends[0]:
            axes.plot(ends, [line.altitude_m / FT] * 2, color=WARN, lw=1.1, zorder=3)
            shown.append(line.altitude_m / FT)
    room = _ROOM * max(max(shown) - min(shown), 500.0)
    axes.set_ylim(min(shown) - room, max(shown) + room)


def _vertical_speed(axes: Axes, scene: Scene) -> None:
    _zero(axes)
    scene.line(axes, scene.series.vertical_speed_fpm)
    low, high = (float(f(scene.series.vertical_speed_fpm)) for f in (np.nanmin, np.nanmax))
    room = _ROOM * max(high - low, 500.0)
    axes.set_ylim(low - room, high + room)


def _speed(axes: Axes, scene: Scene) -> None:
    """Ground speed, and through the air where the wind is known."""
    series = scene.series
    scene.line(axes, series.ground_speed_kt, label="over the ground")
    both = [series.ground_speed_kt]
    if np.isfinite(series.airspeed_kt).any():
        scene.line(axes, series.airspeed_kt, color=QUIET, lw=1.0, ls=_QUIET_DASH, zorder=3, label="through the air, estimated")
        axes.legend(loc="upper left", fontsize=_SMALL, frameon=False, ncols=2, borderaxespad=0.1, handlelength=2.2)
        both.append(series.airspeed_kt)
    low, high = (float(f(np.concatenate(both))) for f in (np.nanmin, np.nanmax))
    span = max(high - low, 20.0)
    axes.set_ylim(low - 0.1 * span, high + 0.45 * span)


def _bank(axes: Axes, scene: Scene) -> None:
    """Bank with a band of two standard deviations either side, and the limit."""
    series, limit = scene.series, scene.debrief.standard["turn_bank"].value
    error = 2.0 * scene.debrief.motion.errors(series.states).bank_rad / DEG
    _zero(axes)
    time, low, high = with_breaks(series.time_s, series.time_s, series.bank_deg - error, series.bank_deg + error)
    axes.fill_between(time, low, high, color=BAND, lw=0.0, zorder=1)
    _limit(axes, limit, f"{limit:g}°", both=True)
    scene.line(axes, series.bank_deg)
    reach = max(limit, float(np.nanmax(np.abs(series.bank_deg)))) * _ROOM_FOR_SIDES
    axes.set_ylim(-reach, reach)
    _sides(axes)


def _turn_rate(axes: Axes, scene: Scene) -> None:
    """Rate of turn, with standard rate for comparison."""
    standard = STANDARD_RATE_RADPS / DEG
    _zero(axes)
    for sign in (1.0, -1.0):
        axes.axhline(sign * standard, color=QUIET, lw=0.8, ls=_QUIET_DASH, zorder=2)
    _words(axes, standard, "standard rate", QUIET)
    scene.line(axes, scene.series.turn_rate_deg_s)
    reach = max(standard, float(np.nanmax(np.abs(scene.series.turn_rate_deg_s)))) * _ROOM_FOR_SIDES
    axes.set_ylim(-reach, reach)
    _sides(axes)


def _zero(axes: Axes) -> None:
    axes.axhline(0.0, color=QUIET, lw=0.7, zorder=2)


def _limit(axes: Axes, value: float, words: str, *, both: bool = False) -> None:
    """A limit as a dashed line with words, on both sides of nought where it holds there too."""
    for sign in (1.0, -1.0) if both else (1.0,):
        axes.axhline(sign * value, color=WARN, lw=0.9, ls=_LIMIT_DASH, zorder=2)
    _words(axes, value, words, WARN)


def _words_over(axes: Axes, span: tuple[float, float], value: float, words: str) -> None:
    """Words over a line that does not go all the way: at its end where that is in the right half, else from its beginning."""
    right = span[1] > sum(axes.get_xlim()) / 2.0
    axes.annotate(
        words, (span[1] if right else span[0], value), (-2.0 if right else 2.0, 0.0), textcoords="offset points",
        ha="right" if right else "left", va="bottom", fontsize=_SMALL, color=WARN,
    )  # fmt: skip


def _words(axes: Axes, value: float, words: str, colour: str) -> None:
    axes.text(0.998, value, words, transform=axes.get_yaxis_transform(), ha="right", va="bottom", fontsize=_SMALL, color=colour)


def _sides(axes: Axes) -> None:
    for y, word, at in ((0.95, "right", "top"), (0.05, "left", "bottom")):
        axes.text(0.008, y, word, transform=axes.transAxes, fontsize=_SMALL, color=QUIET, va=at)


def _altitude_known(series: Series) -> bool:
    return bool(np.isfinite(series.altitude_ft).any())


def _bank_known(series: Series) -> bool:
    return bool(np.isfinite(series.bank_deg).any())


def _always(series: Series) -> bool:
    return len(series.time_s) > 0


STRIPS = (
    Strip("distance", "distance, NM", _distance, _always),
    Strip("deviation", "course\ndeviation, °", _deviation, lambda series: series.deviation_unit == "°"),
    Strip("deviation", "off course,\nNM", _off_course, lambda series: series.deviation_unit == "NM"),
    Strip("altitude", "altitude, ft", _altitude, _altitude_known),
    Strip("vertical_speed", "climb, ft/min", _vertical_speed, _altitude_known),
    Strip("speed", "speed, kt", _speed, _always),
    Strip("bank", "bank, °", _bank, _bank_known),
    Strip("turn_rate", "turn rate, °/s", _turn_rate, _bank_known),
)
