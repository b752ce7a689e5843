"""The holds of a chart, each by itself and large enough to be read: racetrack, courses, leg, altitudes and greatest speed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from analyzer.physics.units import DEG, FT, KT, NM, FloatArray
from analyzer.procedure.approach import PublishedHold
from analyzer.report.pictures.chart_plan import HOLD_AIRSPEED_MPS
from analyzer.report.pictures.drawing import Drawing, Frame, Line, Mark, Marker, Panel, Words
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.racetrack import charted_holds, racetrack_m
from analyzer.report.pictures.style import INK, LEG_COLOUR, QUIET

if TYPE_CHECKING:
    from analyzer.procedure.charted import Charted

__all__ = ["chart_holds"]

_HEIGHT_PT, _ABOVE_PT, _LINE_PT, _GAP_PT = 120.0, 34.0, 15.0, 10.0
_LINES = 3  # of text below each
_ROOM = 1.5  # of the racetrack's size, for what is written at it
_ROLES = {"missed-approach": "missed approach", "published": ""}


def chart_holds(charted: Charted, layout: Layout) -> Drawing | None:
    """Two holds in a row, true north up, as they are flown in still air; None where none is charted."""
    holds = charted_holds(charted)
    if not holds:
        return None
    each = (layout.width - _GAP_PT) / 2.0
    height = _ABOVE_PT + _HEIGHT_PT + _LINES * _LINE_PT + 6.0
    panels = []
    for number, hold in enumerate(holds):
        box = ((number % 2) * (each + _GAP_PT), (number // 2) * height + _ABOVE_PT, each, _HEIGHT_PT)
        panels.append(_panel(charted, hold, box, layout))
    return Drawing(layout.width, height * math.ceil(len(holds) / 2), tuple(panels))


def _panel(charted: Charted, hold: PublishedHold, box: tuple[float, float, float, float], layout: Layout) -> Panel:
    line = _north_up(hold)
    middle = (line.max(axis=0) + line.min(axis=0)) / 2.0
    span = np.ptp(line, axis=0)
    half = _ROOM / 2.0 * max(float(span[0]) / box[2], float(span[1]) / box[3])
    across, up = half * box[2], half * box[3]
    frame = Frame(
        "hold", box, (float(middle[0]) - across, float(middle[0]) + across), (float(middle[1]) - up, float(middle[1]) + up)
    )
    colour = LEG_COLOUR["hold"]
    marks: list[Mark] = [Line(line[:, 0], line[:, 1], colour, 1.8)]
    marks += _arrows(line, hold, colour)
    marks += [Marker(0.0, 0.0, "circle", 9.0, edge=1.6, level=7.0), Marker(0.0, 0.0, "plus", 6.0, edge=1.4, level=8.0)]
    marks += _courses(charted, hold, line, frame, layout)
    heading = ", ".join(filter(None, [hold.name, _role(charted, hold)]))
    marks.append(
        Words(frame.x[0], frame.y[1], heading, layout.normal, INK, bold=True, across="left", up="bottom", away=(2.0, 12.0))
    )
    for row, text in enumerate(_words(charted, hold)):
        marks.append(Words(frame.x[0], frame.y[0], text, layout.small, INK if row == 0 else QUIET, across="left", up="top",
                           away=(2.0, -2.0 - _LINE_PT * row)))  # fmt: skip
    return Panel(frame, tuple(marks))


def _north_up(hold: PublishedHold) -> FloatArray:
    """The racetrack in miles east and north of its fix."""
    line = racetrack_m(hold, HOLD_AIRSPEED_MPS) / NM
    sine, cosine = math.sin(hold.inbound_true_rad), math.cos(hold.inbound_true_rad)
    turned: FloatArray = np.column_stack([line[:, 0] * sine + line[:, 1] * cosine, line[:, 0] * cosine - line[:, 1] * sine])
    return turned


def _arrows(line: FloatArray, hold: PublishedHold, colour: str) -> list[Mark]:
    """Which way each leg is flown: the inbound one is the last quarter of the line, the outbound one its second."""
    marks: list[Mark] = []
    for share, bearing in ((0.375, hold.inbound_true_rad + math.pi), (0.875, hold.inbound_true_rad)):
        x, y = line[round(share * (len(line) - 1))]
        marks.append(Marker(float(x), float(y), "arrow", 10.0, colour, colour, bearing_rad=bearing))
    return marks


def _courses(charted: Charted, hold: PublishedHold, line: FloatArray, frame: Frame, layout: Layout) -> list[Mark]:
    """The magnetic courses, inbound and outbound, outside their legs."""
    inbound = _magnetic_deg(charted, hold)
    middle = (line.max(axis=0) + line.min(axis=0)) / 2.0
    marks: list[Mark] = []
    for share, degrees, word in ((0.375, inbound + 180.0, "out"), (0.875, inbound, "in")):
        place = line[round(share * (len(line) - 1))]
        away = place - middle
        side = np.array([math.cos(hold.inbound_true_rad), -math.sin(hold.inbound_true_rad)])
        side = side * math.copysign(1.0, float(away @ side))
        room = layout.small * (0.9 + 1.5 * abs(float(side[0])))
        x, y = place + side * room * frame.x_per_point
        text = f"{round(degrees - 1.0) % 360 + 1:03d}° {word}"
        marks.append(Words(float(x), float(y), text, layout.small, INK, backed=True))
    return marks


def _magnetic_deg(charted: Charted, hold: PublishedHold) -> float:
    """The inbound course as charted."""
    for row, one in zip(charted.procedure.holds, charted.holds, strict=True):
        if one == hold:
            return row.inbound_course_deg
    return hold.inbound_true_rad / DEG - charted.variation.east_rad / DEG


def _role(charted: Charted, hold: PublishedHold) -> str:
    return _ROLES[hold.role] if hold in charted.holds else "in lieu of a procedure turn"


def _words(charted: Charted, hold: PublishedHold) -> list[str]:
    """What is charted of a hold, in at most three lines."""
    turns = "right turns" if hold.turn > 0 else "left turns"
    leg = f"{hold.leg_length_m / NM:g} NM" if hold.leg_length_m is not None else ""
    leg = f"{hold.leg_time_s:g} s" if hold.leg_time_s is not None else leg
    by = {"dme": " DME", "along-track": "", None: ""}[hold.leg_by]
    first = ", ".join(filter(None, [turns, f"{leg}{by}" if leg else ""]))
    levels = [level for level in (hold.minimum_m, hold.maximum_m) if level is not None]
    metric = charted.altitude_unit == "m"
    numbers = [f"{level if metric else level / FT:,.0f}" for level in levels]
    second = f"{' to '.join(numbers)} {charted.altitude_unit}" if numbers else ""
    if hold.minimum_m is not None and hold.maximum_m is None:
        second = f"at or above {second}"
    speed = f"at most {hold.maximum_speed_mps / KT:.0f} kt" if hold.maximum_speed_mps is not None else ""
    third = ", ".join(filter(None, [speed, f"category {hold.category}" if hold.category else ""]))
    return [text for text in (first, second, third) if text]
