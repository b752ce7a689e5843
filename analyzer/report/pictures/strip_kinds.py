"""The strips, one function per quantity. A new strip needs a function and a row of `STRIPS`."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import field

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics.runs import true_runs
from analyzer.physics.turning import STANDARD_RATE_RADPS
from analyzer.physics.units import DEG, FT, NM, FloatArray
from analyzer.report.pictures.drawing import Area, Frame, Line, Mark, Marker, Words, straight
from analyzer.report.pictures.frame import Tick
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.minimum_lines import minimum_lines
from analyzer.report.pictures.series import Series
from analyzer.report.pictures.style import BAND, INK, LEG_COLOUR, QUIET, WARN, with_breaks
from analyzer.report.pictures.subject import Subject
from analyzer.vocabulary import CheckName

__all__ = ["QUANTITY_OF_CHECK", "STRIPS", "Curve", "Scene", "Strip"]

# The strip that shows a fault, by its check.
QUANTITY_OF_CHECK: Mapping[CheckName, str] = {
    "distance_limit": "distance",
    "leg_limit": "distance",
    "outbound_length": "distance",
    "established": "deviation",
    "outbound_course": "deviation",
    "inbound_course": "deviation",
    "hold_course": "deviation",
    "final_course": "deviation",
    "intercept": "deviation",
    "minimum_altitude": "altitude",
    "step_down": "altitude",
    "altitude_floor": "altitude",
    "maximum_altitude": "altitude",
    "descent_timing": "altitude",
    "altitude_hold": "altitude",
    "hold_altitude": "altitude",
    "missed_altitude": "altitude",
    "missed_point": "altitude",
    "missed_climb": "vertical_speed",
    "descent_rate": "vertical_speed",
    "stabilised_descent": "vertical_speed",
    "speed_limit": "speed",
    "target_speed": "speed",
    "turn_bank": "bank",
    "average_bank": "bank",
    "turn_rate": "turn_rate",
}  # fmt: skip

_LIMIT_DASH, _QUIET_DASH, _DOTTED = (5.4, 2.7), (4.0, 2.0), (1.2, 1.8)
_SHOWN_FULL_SCALES = 1.2  # ticks of the deviation
_ON_COURSE = ("outbound", "inbound", "final")
_SHARES = ((-1.0, "−1"), (-0.5, "−0.5"), (0.0, "0"), (0.5, "0.5"), (1.0, "1"))
_LEAST_SPAN_M = 500.0 * FT
_ROOM = 0.2  # share of a strip's height, kept free above and below its curve
_ROOM_FOR_SIDES = 1.5  # share of the scale that is drawn on; the words right and left are beyond it


@dataclass(frozen=True, eq=False)
class Scene:
    """The data that a strip is drawn from."""

    subject: Subject
    series: Series
    layout: Layout

    def line(
        self, values: FloatArray, colour: str = INK, width: float = 1.4, dash: tuple[float, ...] = (), level: float = 4.0
    ) -> Line:
        """A line over time, broken at gaps."""
        x, y = with_breaks(self.series.time_s, self.series.time_s, values)
        return Line(x, y, colour, width, dash, level)


@dataclass(frozen=True, eq=False)
class Curve:
    """The content of a strip: its scale, the values at which faults are marked, and a function of the frame for its marks."""

    y: tuple[float, float]
    main: FloatArray
    marks: Callable[[Frame], Iterator[Mark]]
    right_ticks: list[Tick] = field(default_factory=list)


@dataclass(frozen=True)
class Strip:
    """A strip: the name of its quantity, its title, how it is drawn, and whether its quantity is known."""

    quantity: str
    title: str
    draw: Callable[[Scene], Curve]
    known: Callable[[Series], bool]


def _distance(scene: Scene) -> Curve:
    """Distance from the centre of the limit, usually the fix, with the limit of the reversal and the farthest point."""
    charted, farthest = scene.subject.debrief.motion.charted, scene.subject.farthest_from_limit
    approach, values = scene.subject.approach, scene.series.distance_nm
    span = approach.reversal.reversal_span_s if approach is not None else (scene.series.time_s[0], scene.series.time_s[-1])
    limit = charted.limit_m / NM if charted.limit_m is not None and span is not None else None
    top = float(np.nanmax(values))

    def marks(frame: Frame) -> Iterator[Mark]:
        yield scene.line(values)
        if limit is not None and span is not None:
            about = " from the fix" if charted.procedure.reversal.within_from is None else " from its centre"
            about = about if scene.layout.side_titles else ""  # on a phone it would lie on the curve
            yield straight((span[0], limit), (span[1], limit), WARN, 0.9, _LIMIT_DASH)
            yield _words_over(frame, scene, span, limit, f"limit {limit:g} NM{about}")
        if farthest is not None:
            yield Marker(farthest.time_s, farthest.distance_m / NM, "circle", 5.0, edge=1.3)

    return Curve((0.0, max(top, limit or 0.0) * (1.0 + _ROOM) or 1.0), values, marks)


def _deviation(scene: Scene) -> Curve:
    """Deviation from the course flown, dotted where it is not judged; the right scale is the share of full scale."""
    full = (scene.subject.debrief.motion.charted.guidance.full_scale_rad or 0.0) / DEG
    return _off(scene, full, full, [(share * full, word) for share, word in _SHARES])


def _off_course(scene: Scene) -> Curve:
    """Deviation in miles, where the guidance shows miles; full scale is smaller on final."""
    guidance = scene.subject.debrief.motion.charted.guidance
    return _off(scene, (guidance.full_scale_m or 0.0) / NM, (guidance.full_scale_final_m or 0.0) / NM, [])


def _off(scene: Scene, before: float, on_final: float, right_ticks: list[Tick]) -> Curve:
    def marks(frame: Frame) -> Iterator[Mark]:
        yield _across(frame, 0.0)
        yield from _course_lines(scene)
        yield from _course_limits(frame, scene, before, on_final)
        yield from _sides(frame, scene)

    reach = _SHOWN_FULL_SCALES * before
    return Curve((-reach, reach), np.clip(scene.series.deviation, -reach, reach), marks, right_ticks)


def _course_limits(frame: Frame, scene: Scene, before: float, on_final: float) -> Iterator[Mark]:
    """The limits of the standard either side of the course, over the parts flown along one; full scale in the strip's unit."""
    standard = scene.subject.debrief.standard
    last: dict[tuple[float, float], tuple[float, float]] = {}
    for part in scene.subject.parts:
        if part.name not in _ON_COURSE or (part.name == "outbound" and scene.subject.held):
            continue
        share = standard["final_course" if part.leg == "final" else "course_deviation"].value
        full = on_final if part.leg == "final" else before
        span = max(part.start_s, frame.x[0]), min(part.end_s, frame.x[1])
        for side in (1.0, -1.0):
            yield straight((span[0], side * share * full), (span[1], side * share * full), WARN, 0.9, _LIMIT_DASH)
        last[share, full] = span
    for (share, full), span in last.items():
        yield _words_over(frame, scene, span, share * full, f"{share:g} of full scale")


def _course_lines(scene: Scene) -> Iterator[Mark]:
    series = scene.series
    for part in scene.subject.parts:
        if part.name in _ON_COURSE:
            inside = (series.time_s >= part.start_s) & (series.time_s <= part.end_s)
            for judged, width, dash in ((series.counts, 1.4, ()), (~series.counts, 0.8, _DOTTED)):
                drawn = np.where(inside & judged, series.deviation, np.nan)
                if np.isfinite(drawn).any():
                    yield scene.line(drawn, LEG_COLOUR[part.leg], width, dash)


def _altitude(scene: Scene) -> Curve:
    """Altitude over the minimum of each leg and fix."""
    series, approach = scene.series, scene.subject.approach
    start, end, metres = float(series.time_s[0]), float(series.time_s[-1]), series.height.metres
    if approach is not None:
        lines = minimum_lines(scene.subject.debrief, approach)
        levels = [(max(line.start_s, start), line.end_s, line.altitude_m / metres) for line in lines if line.end_s > start]
    else:
        levels = [(start, end, level / metres) for level in scene.subject.debrief.motion.charted.levels_m.values()]

    def marks(_: Frame) -> Iterator[Mark]:
        yield scene.line(series.altitude)
        for begin, until, level in levels:
            yield straight((begin, level), (until, level), WARN, 1.1, level=3.0)

    shown = [float(np.nanmin(series.altitude)), float(np.nanmax(series.altitude)), *(level for *_, level in levels)]
    room = _ROOM * max(max(shown) - min(shown), _LEAST_SPAN_M / metres)
    return Curve((min(shown) - room, max(shown) + room), series.altitude, marks)


def _vertical_speed(scene: Scene) -> Curve:
    values = scene.series.vertical_speed_fpm

    def marks(frame: Frame) -> Iterator[Mark]:
        yield _across(frame, 0.0)
        yield scene.line(values)

    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    room = _ROOM * max(high - low, 500.0)
    return Curve((low - room, high + room), values, marks)


def _speed(scene: Scene) -> Curve:
    """Ground speed, and indicated airspeed with its limit, if it is known."""
    series, small = scene.series, scene.layout.small
    known = bool(np.isfinite(series.indicated_kt).any())
    main = series.indicated_kt if known else series.ground_speed_kt
    limits = _speed_limits(scene) if known else []

    def marks(frame: Frame) -> Iterator[Mark]:
        if known:
            yield scene.line(series.indicated_kt)
            yield scene.line(series.ground_speed_kt, QUIET, 1.0, _QUIET_DASH, 3.0)
        else:
            yield scene.line(series.ground_speed_kt)
        names = [(f"indicated, {'recorded' if series.indicated_recorded else 'estimated'}", INK, 1.4, ())] if known else []
        names.append(("over the ground", *((QUIET, 1.0, _QUIET_DASH) if known else (INK, 1.4, ()))))
        x, y = frame.x[0] + 5.0 * frame.x_per_point, frame.y[1] - 0.75 * small * frame.y_per_point
        for text, colour, width, dash in names:
            yield straight((x, y), (x + 18.0 * frame.x_per_point, y), colour, width, dash, 5.0)
            yield Words(x, y, text, small, across="left", away=(22.0, 0.0))
            x += (30.0 + 0.6 * small * len(text)) * frame.x_per_point
        for (begin, end), knots in limits:
            yield straight((begin, knots), (end, knots), WARN, 0.9, _LIMIT_DASH)
        if limits:
            (begin, end), knots = limits[-1]
            yield _words_over(frame, scene, (begin, end), knots, f"limit {knots:g} kt")

    both = np.concatenate([series.ground_speed_kt, series.indicated_kt, [knots for _, knots in limits]])
    low, high = float(np.nanmin(both)), float(np.nanmax(both))
    span = max(high - low, 20.0)
    return Curve((low - 0.12 * span, high + 0.45 * span), main, marks)


def _speed_limits(scene: Scene) -> list[tuple[tuple[float, float], float]]:
    """The stretches with a limit on indicated airspeed, and the limit of each. [s, kt]"""
    approach, series = scene.subject.approach, scene.series
    limits = []
    for finding in approach.findings if approach is not None else ():
        if finding.check == "speed_limit" and isinstance(finding.limit, float) and approach is not None:
            span = approach.reversal.reversal_span_s
            if finding.lap is not None:  # which it holds throughout, wherever the greatest speed was flown
                lap = [part for part in approach.reversal.parts if part.lap == finding.lap]
                span = (lap[0].start_s, lap[-1].end_s)
            if span is not None:
                limits.append(((max(span[0], float(series.time_s[0])), span[1]), finding.limit))
    return limits


def _bank(scene: Scene) -> Curve:
    """Bank with a band of two standard deviations to either side, and the limit."""
    series, limit = scene.series, scene.subject.debrief.standard["turn_bank"].value
    error = 2.0 * series.bank_sd_deg
    reach = max(limit, float(np.nanmax(np.abs(series.bank_deg)))) * _ROOM_FOR_SIDES

    def marks(frame: Frame) -> Iterator[Mark]:
        yield _across(frame, 0.0)
        time, low, high = with_breaks(series.time_s, series.time_s, series.bank_deg - error, series.bank_deg + error)
        for a, b in true_runs(np.isfinite(low)):
            outline = np.concatenate([low[a:b], high[a:b][::-1]])
            yield Area(np.concatenate([time[a:b], time[a:b][::-1]]), outline, BAND, 1.0)
        for sign in (1.0, -1.0):
            yield _across(frame, sign * limit, WARN, 0.9, _LIMIT_DASH)
        yield _at_right(frame, scene, limit, f"{limit:g}°", WARN)
        yield scene.line(series.bank_deg)
        yield from _sides(frame, scene)

    return Curve((-reach, reach), series.bank_deg, marks)


def _turn_rate(scene: Scene) -> Curve:
    """Rate of turn, with standard rate for comparison."""
    standard, values = STANDARD_RATE_RADPS / DEG, scene.series.turn_rate_deg_s
    reach = max(standard, float(np.nanmax(np.abs(values)))) * _ROOM_FOR_SIDES

    def marks(frame: Frame) -> Iterator[Mark]:
        yield _across(frame, 0.0)
        for sign in (1.0, -1.0):
            yield _across(frame, sign * standard, QUIET, 0.8, _QUIET_DASH)
        yield _at_right(frame, scene, standard, "standard rate", QUIET)
        yield scene.line(values)
        yield from _sides(frame, scene)

    return Curve((-reach, reach), values, marks)


def _across(frame: Frame, value: float, colour: str = QUIET, width: float = 0.7, dash: tuple[float, ...] = ()) -> Line:
    """A horizontal line across the frame."""
    return straight((frame.x[0], value), (frame.x[1], value), colour, width, dash)


def _words_over(frame: Frame, scene: Scene, span: tuple[float, float], value: float, words: str) -> Words:
    """Words above a line that does not cross the frame: at its end if that is in the right half, else from its start."""
    right = span[1] > frame.x_at(0.5)
    return Words(
        span[1] if right else span[0], value, words, scene.layout.small, WARN, across="right" if right else "left", up="bottom",
        away=(-2.0 if right else 2.0, 1.0),
    )  # fmt: skip


def _at_right(frame: Frame, scene: Scene, value: float, words: str, colour: str) -> Words:
    return Words(frame.x[1], value, words, scene.layout.small, colour, across="right", up="bottom", away=(-2.0, 1.0))


def _sides(frame: Frame, scene: Scene) -> Iterator[Words]:
    x, small = frame.x[0], scene.layout.small
    yield Words(x, frame.y[1], "right", small, QUIET, across="left", up="top", away=(4.0, -1.0))
    yield Words(x, frame.y[0], "left", small, QUIET, across="left", up="bottom", away=(4.0, 2.0))


def _altitude_known(series: Series) -> bool:
    return bool(np.isfinite(series.altitude).any())


def _bank_known(series: Series) -> bool:
    return bool(np.isfinite(series.bank_deg).any())


def _always(series: Series) -> bool:
    return len(series.time_s) > 0


STRIPS = (
    Strip("distance", "distance, NM", _distance, _always),
    Strip("deviation", "course\ndeviation, °", _deviation, lambda series: series.deviation_unit == "°"),
    Strip("deviation", "off course,\nNM", _off_course, lambda series: series.deviation_unit == "NM"),
    Strip("altitude", "altitude, {height}", _altitude, _altitude_known),
    Strip("vertical_speed", "climb, ft/min", _vertical_speed, _altitude_known),
    Strip("speed", "speed, kt", _speed, _always),
    Strip("bank", "bank, °", _bank, _bank_known),
    Strip("turn_rate", "turn rate, °/s", _turn_rate, _bank_known),
)
