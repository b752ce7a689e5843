"""The profile of a chart by itself: altitudes against distance, from the reversal to the runway and into the missed approach.

The way is the lowest that the chart allows, as charts draw it: level at each minimum until it ends, then down. What follows the
reversal is to scale with itself; the way out to the reversal is drawn shorter, and heights and the missed approach are not to
scale.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics.units import FT, NM
from analyzer.procedure.resolve_fixes import along_inbound
from analyzer.report.pictures.drawing import Area, Drawing, Frame, Line, Mark, Marker, Panel, Words, straight
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.plan_sheet import from_fix, point, reach_nm
from analyzer.report.pictures.profile_steps import Step, lowest_way, steps_of
from analyzer.report.pictures.style import FAINT, INK, LEG_COLOUR, QUIET

if TYPE_CHECKING:
    from analyzer.procedure.charted import Charted

__all__ = ["chart_profile"]

_ABOVE_PT, _HEIGHT_PT, _SIDE_PT, _ROW_PT = 30.0, 140.0, 12.0, 14.0
_OUT_SHARE, _MISSED_SHARE = 0.34, 0.16  # of the width: the way out to the reversal, and the missed approach
_LEAST_FINAL_NM = 2.0
_LETTER = 0.6  # of the size of type, about what a letter takes
_APART_PT = 9.0  # between the ways out and in where they are as high
_ROLE = {"intermediate-fix": "IF", "final-approach-fix": "FAF", "step-down": "", "missed-approach-point": "MAP"}
_DASHED = (5.0, 3.0)
_LINE_PT = 19.0  # of type with its line
_BEFORE_ARC = 1.9  # of the way in from an arc: what is drawn, with the arc before it
_KINDS_WITH_A_WAY_OUT = ("procedure-turn", "base-turn", "hold")
_FOOT_MARGIN = 0.24  # of the heights: below the lowest


@dataclass(frozen=True)
class _Along:
    """Where a distance along the inbound course [NM] stands in the picture, whose width is 1.

    The way out, from `out_nm` to `begin_nm`, is drawn in a share of its own; the rest is to scale.
    """

    out_nm: float
    begin_nm: float
    end_nm: float
    out_share: float

    def __call__(self, along_nm: float) -> float:
        """The place from the left."""
        if along_nm < self.begin_nm:
            return self.out_share * (along_nm - self.out_nm) / (self.begin_nm - self.out_nm)
        room = 1.0 - self.out_share - _MISSED_SHARE
        return self.out_share + room * (along_nm - self.begin_nm) / (self.end_nm - self.begin_nm)


def chart_profile(charted: Charted, layout: Layout) -> Drawing | None:
    """The profile; None where the chart has no altitudes yet.

    Each altitude has a line below it where it is a minimum, above it where it is a maximum, and both where it is mandatory.
    """
    threshold_nm = _threshold_nm(charted)
    steps = steps_of(charted, _turned_nm(charted))
    if not steps:
        return None
    along = _along(charted, steps, threshold_nm)
    heights = [step.floor_m / FT for step in steps] + [
        level / FT for level in (*charted.floors_m.values(), *_missed_m(charted))
    ]
    heights += [charted.runway.elevation_m / FT] if charted.runway is not None else []
    low, high = min(heights), max(heights)
    spread = max(high - low, 500.0)
    rows = _name_rows(charted, along, threshold_nm, layout)
    below = _ROW_PT * (max((row for *_, row in rows), default=0) + 2)
    box = (_SIDE_PT, _ABOVE_PT, layout.width - 2.0 * _SIDE_PT, _HEIGHT_PT)
    frame = Frame("profile", box, (0.0, 1.0), (low - _FOOT_MARGIN * spread, high + 0.2 * spread))
    marks: list[Mark] = [straight((0.0, frame.y[0]), (1.0, frame.y[0]), FAINT, 1.0, level=1.0)]
    marks += _ground(charted, frame, along, threshold_nm)
    marks += _names(frame, rows, layout)
    places = [0.0, *(fix.along_m / NM for fix in charted.fixes), *([threshold_nm] if threshold_nm is not None else [])]
    marks += _distances(frame, list(dict.fromkeys(round(place, 2) for place in places)), along, layout)
    marks += _way_out(charted, frame, along, layout)
    marks += _way_in(charted, frame, along, steps, layout)
    marks += _missed(charted, frame, along, threshold_nm, layout)
    title = f"altitudes, {charted.altitude_unit} MSL; not to scale"
    marks.append(Words(0.0, frame.y[1], title, layout.small, QUIET, across="left", up="bottom", away=(0.0, 10.0)))
    return Drawing(layout.width, _ABOVE_PT + _HEIGHT_PT + below, (Panel(frame, tuple(marks)),))


def _number(altitude_m: float, charted: Charted) -> float:
    """An altitude in the unit of the chart."""
    return altitude_m / FT if charted.altitude_unit == "ft" else altitude_m


def _out_nm(charted: Charted) -> float:
    """How far out the reversal is drawn, along the inbound course from the fix: negative; nought where there is none. [NM]"""
    if charted.kind == "arc":
        return _BEFORE_ARC * _turned_nm(charted)
    return _turned_nm(charted)


def _turned_nm(charted: Charted) -> float:
    """Where the way in begins, along the inbound course from the fix: the reversal, or where the arc meets the course. [NM]"""
    if charted.kind == "arc":
        return -_arc_nm(charted)
    if charted.kind not in _KINDS_WITH_A_WAY_OUT:
        return 0.0
    length = charted.leg_length_m
    return -(length / NM if length is not None and charted.kind == "hold" else reach_nm(charted) if charted.limit_m else 6.0)


def _arc_nm(charted: Charted) -> float:
    """How far before the fix the arc meets the inbound course; nought where it does not. [NM]"""
    if charted.arc_radius_m is None or charted.arc_latitude_rad is None or charted.arc_longitude_rad is None:
        return 0.0
    centre = from_fix(charted, charted.arc_latitude_rad, charted.arc_longitude_rad)
    back = point(1.0, charted.inbound_true_rad + math.pi)
    along = centre[0] * back[0] + centre[1] * back[1]
    squared = along**2 - math.hypot(*centre) ** 2 + (charted.arc_radius_m / NM) ** 2
    return max(0.0, along + math.sqrt(squared)) if squared >= 0.0 else 0.0


def _along(charted: Charted, steps: list[Step], threshold_nm: float | None) -> _Along:
    places = [fix.along_m / NM for fix in charted.fixes] + [step.until_nm for step in steps if step.leg != "reversal"]
    places += [threshold_nm] if threshold_nm is not None else []
    out, begin = _out_nm(charted), min([0.0, *places])
    end = max([begin + _LEAST_FINAL_NM, *places])
    if out >= 0.0:
        return _Along(begin - 0.2 * (end - begin), begin, end, 0.12)
    return _Along(min(out, begin - 1.0), begin, end, _OUT_SHARE)


def _threshold_nm(charted: Charted) -> float | None:
    """Where the threshold lies along the inbound course."""
    runway = charted.runway
    if runway is None:
        return None
    return along_inbound(charted.procedure, charted.inbound_true_rad, runway.latitude_rad, runway.longitude_rad) / NM


def _missed_m(charted: Charted) -> list[float]:
    return [
        level for level in ((charted.missed.climb_m, charted.missed.altitude_m) if charted.missed else ()) if level is not None
    ]


def _missed_begins_nm(charted: Charted, along: _Along, threshold_nm: float | None) -> float:
    """Where the missed approach is drawn from: its point, else the runway, else the end of the final course."""
    point = charted.fix_of("missed-approach-point")
    return point.along_m / NM if point is not None else threshold_nm if threshold_nm is not None else along.end_nm


def _ground(charted: Charted, frame: Frame, along: _Along, threshold_nm: float | None) -> Iterator[Mark]:
    """The runway."""
    if charted.runway is None or threshold_nm is None:
        return
    x, y = along(threshold_nm), charted.runway.elevation_m / FT
    yield straight((x, y), (x + 20.0 * frame.x_per_point, y), INK, 4.0, level=5.0)


def _name_rows(
    charted: Charted, along: _Along, threshold_nm: float | None, layout: Layout
) -> list[tuple[float, str, str, int]]:
    """The names below the picture: where, the name, its colour, and in which row there is room for it."""
    named = [(0.0, charted.procedure.fix.name, INK)]
    for table, fix in zip(charted.procedure.fixes, charted.fixes, strict=True):
        reading = f" {table.dme_nm:g} DME" if table.dme_nm is not None else ""
        role = f" {_ROLE[fix.role]}" if _ROLE[fix.role] else ""
        if abs(fix.along_m) < 0.05 * NM and fix.name == charted.procedure.fix.name:
            named[0] = (0.0, f"{fix.name}{role}{reading}", INK)
        else:
            named.append((fix.along_m / NM, f"{fix.name}{role}{reading}", INK))
    named += [(threshold_nm, f"runway {charted.runway.name}", QUIET)] if threshold_nm is not None and charted.runway else []
    ends: list[float] = []
    rows = []
    for nm, text, colour in sorted(named):
        half = _LETTER * layout.small * len(text) / 2.0 / (layout.width - 2.0 * _SIDE_PT)
        middle = min(max(along(nm), half), 1.0 - half)
        row = next((k for k, end in enumerate(ends) if middle - half > end), len(ends))
        ends[row : row + 1] = [middle + half + 0.02]
        rows.append((along(nm), text, colour, row))
    return rows


def _names(frame: Frame, rows: list[tuple[float, str, str, int]], layout: Layout) -> Iterator[Mark]:
    for x, text, colour, row in rows:
        half = _LETTER * layout.small * len(text) / 2.0 * frame.x_per_point
        middle = min(max(x, half), 1.0 - half)
        yield straight((x, frame.y[0]), (x, frame.y[1]), FAINT, 1.0, (2.0, 3.0), level=1.0)
        yield Words(middle, frame.y[0], text, layout.small, colour, up="top", away=(0.0, -4.0 - _ROW_PT * row), level=9.0)


def _distances(frame: Frame, named: list[float], along: _Along, layout: Layout) -> Iterator[Mark]:
    """How far it is from each name to the next, where there is room for it. [NM]"""
    for before, after in itertools.pairwise(sorted(named)):
        text = f"{after - before:.1f}"
        left, right = along(before), along(after)
        if before >= along.begin_nm and right - left > (_LETTER * layout.small * len(text) + 4.0) * frame.x_per_point:
            yield Words((left + right) / 2.0, frame.y[0], text, layout.small, QUIET, up="bottom", away=(0.0, 4.0))


def _way_out(charted: Charted, frame: Frame, along: _Along, layout: Layout) -> Iterator[Mark]:
    """Over the fix at the altitude of the arrival, down to that of the way out, and round; or along the arc."""
    out = _out_nm(charted)
    floors = charted.floors_m
    if charted.kind == "arc":
        yield from _arc(charted, frame, along, layout)
        return
    arrival = floors.get("arrival")
    if arrival is not None:
        x, y = along(0.0), arrival / FT
        yield straight((x, y), (x - 30.0 * frame.x_per_point if out < 0.0 else 0.0, y), LEG_COLOUR["arrival"], 1.6, _DASHED)
        yield from _altitude(frame, x + 3.0 * frame.x_per_point, y, charted, (arrival, charted.ceilings_m.get("arrival")),
                             layout, across="left", lift=-5.0)  # fmt: skip
    outbound = floors.get("outbound", floors.get("reversal"))
    if out >= 0.0 or outbound is None:
        return
    back = floors.get("reversal", outbound)
    turn_x, height = along(out), outbound / FT
    lifted = max(height, back / FT + _APART_PT * frame.y_per_point)
    begin = along(0.0)
    top = max(lifted, (arrival or outbound) / FT)
    down_x = max(begin - 0.10, turn_x + 0.08)
    yield Line(
        np.array([begin, down_x, turn_x + 0.03]), np.array([top, lifted, lifted]), LEG_COLOUR["outbound"], 2.2, level=5.0
    )
    yield Marker(
        turn_x + 0.06, lifted, "arrow", 9.0, LEG_COLOUR["outbound"], LEG_COLOUR["outbound"], bearing_rad=-math.pi / 2.0
    )
    round_rad = np.linspace(0.5 * math.pi, 1.5 * math.pi, 25)
    middle, half = (lifted + back / FT) / 2.0, (lifted - back / FT) / 2.0
    yield Line(
        turn_x + 0.03 + 0.03 * np.cos(round_rad), middle + half * np.sin(round_rad), LEG_COLOUR["reversal"], 2.2, level=5.0
    )
    yield from _altitude(frame, (turn_x + down_x) / 2.0 + 0.02, lifted, charted, (outbound, charted.ceilings_m.get("outbound")),
                         layout)  # fmt: skip
    if charted.limit_m is not None:
        yield Words(turn_x, frame.y[0], f"within {charted.limit_m / NM:g} NM", layout.small, QUIET, across="left", up="bottom",
                    away=(3.0, 4.0))  # fmt: skip


def _arc(charted: Charted, frame: Frame, along: _Along, layout: Layout) -> Iterator[Mark]:
    """The altitude of the arrival, and that of the arc up to where it meets the inbound course and the way in begins."""
    floors, ceilings, end = charted.floors_m, charted.ceilings_m, along(_turned_nm(charted))
    arrival, arc = floors.get("arrival"), floors.get("outbound")
    if arrival is not None and arrival != arc:
        least = arc / FT + _LINE_PT * frame.y_per_point if arc is not None and arc < arrival else 0.0
        y = max(arrival / FT, least)  # a line of type above the arc
        yield straight((0.0, y), (0.6 * end, y), LEG_COLOUR["arrival"], 1.6, _DASHED)
        yield from _altitude(frame, 0.0, y, charted, (arrival, ceilings.get("arrival")), layout, across="left")
    if arc is not None:
        then = floors.get("reversal", floors.get("inbound", arc))
        yield Line(np.array([0.0, end, end]), np.array([arc, arc, min(then, arc)]) / FT, LEG_COLOUR["outbound"], 2.2, level=5.0)
        yield from _altitude(
            frame, 0.0, arc / FT, charted, (arc, ceilings.get("outbound")), layout, across="left", before="arc"
        )


def _way_in(charted: Charted, frame: Frame, along: _Along, steps: list[Step], layout: Layout) -> Iterator[Mark]:
    """The lowest way in, leg by leg, shaded below, and the altitude of each stretch."""
    first = _turned_nm(charted) if _turned_nm(charted) < 0.0 else along.out_nm
    way = lowest_way(charted, steps, first, _threshold_nm(charted))
    places = [(along(nm), feet) for _, stretch in way for nm, feet in stretch]
    if places:
        x, y = np.array([(places[0][0], frame.y[0]), *places, (places[-1][0], frame.y[0])]).T
        yield Area(x, y, FAINT, level=0.0, opacity=0.3)
    for leg, stretch in way:
        x, y = np.array([(along(nm), feet) for nm, feet in stretch]).T
        yield Line(x, y, LEG_COLOUR[leg], 2.2, level=5.0)
    begin = first
    for step in steps:
        at_end = step.leg != "reversal" and not step.word  # as charts write the altitude of a fix
        x = along(step.until_nm) if at_end else (along(begin) + along(step.until_nm)) / 2.0
        across: Literal["right", "middle"] = "right" if at_end else "middle"
        if not step.repeats:
            yield from _altitude(frame, x, step.floor_m / FT, charted, (step.floor_m, step.ceiling_m), layout, across=across,
                                 below=True, before=step.word)  # fmt: skip
        begin = step.until_nm
    if charted.glide_path_rad is not None:
        words = f"glide path {math.degrees(charted.glide_path_rad):.3g}°"
        yield Words(along(along.end_nm), frame.y_at(0.72), words, layout.small, LEG_COLOUR["final"], across="right")


def _altitude(
    frame: Frame, x: float, y: float, charted: Charted, limits: tuple[float | None, float | None], layout: Layout, *,
    across: Literal["left", "middle", "right"] = "middle", below: bool = False, before: str = "", lift: float = 5.0,
) -> Iterator[Mark]:  # fmt: skip
    """An altitude with the lines of charts: below it a minimum, above it a maximum."""
    floor, ceiling = limits
    shown = floor if floor is not None else ceiling
    if shown is None:
        return
    number = f"{_number(shown, charted):,.0f}"
    text = f"{before} {number}".strip()
    width, size = _LETTER * layout.normal * len(number), layout.normal
    full = _LETTER * size * len(text)
    left = {"left": 0.0, "middle": -full / 2.0, "right": -full}[across] + full - width
    base = -lift - size if below else lift
    px, py = frame.x_per_point, frame.y_per_point
    if across == "middle":
        x = min(max(x, full / 2.0 * px), 1.0 - full / 2.0 * px)
    yield Words(x, y, text, size, INK, across=across, up="bottom", away=(0.0, base - 1.0), backed=True)
    ends = (x + left * px, x + (left + width) * px)
    if floor is not None:
        line_y = y + (base - 0.5) * py
        yield straight((ends[0], line_y), (ends[1], line_y), INK, 1.2, level=9.0)
    if ceiling is not None and (floor is None or ceiling == floor):
        line_y = y + (base + size + 1.5) * py
        yield straight((ends[0], line_y), (ends[1], line_y), INK, 1.2, level=9.0)
    if floor is not None and ceiling is not None and ceiling != floor:
        higher = 5.0 if below else lift + size + 4.0
        yield from _altitude(frame, x, y, charted, (None, ceiling), layout, across=across, lift=higher)


def _missed(charted: Charted, frame: Frame, along: _Along, threshold_nm: float | None, layout: Layout) -> Iterator[Mark]:
    """The missed approach: up from its point, not to scale, to its altitude."""
    missed, lowest = charted.missed, charted.minimum
    if missed is None or missed.altitude_m is None:
        return
    begin = along(_missed_begins_nm(charted, along, threshold_nm))
    foot = lowest.altitude_m / FT if lowest is not None else frame.y_at(0.15)
    places = [(begin, foot)]
    if missed.climb_m is not None:
        places.append((begin + 0.4 * (0.97 - begin), missed.climb_m / FT))
    places.append((0.97, missed.altitude_m / FT))
    x, y = np.array(places).T
    yield Line(x, y, LEG_COLOUR["missed"], 2.0, _DASHED, level=5.0)
    (x0, y0), (x1, y1) = places[-2:]
    bearing = math.atan2((x1 - x0) / frame.x_per_point, (y1 - y0) / frame.y_per_point)
    yield Marker(x1, y1, "arrow", 9.0, LEG_COLOUR["missed"], LEG_COLOUR["missed"], bearing_rad=bearing)
    yield from _altitude(frame, x1, y1, charted, (missed.altitude_m, None), layout)
    if missed.climb_m is not None:
        turn = {1: " turn right", -1: " turn left", None: ""}[missed.turn]
        yield Words(places[1][0], places[1][1], f"{_number(missed.climb_m, charted):,.0f}{turn}", layout.small,
                    LEG_COLOUR["missed"], across="right", up="bottom", away=(-4.0, 2.0), backed=True)  # fmt: skip
