"""The faults of an approach in its plan view: the stretches outside, and the number of each fault where it happened."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from analyzer.report.pictures.faults import Fault, badge, badge_size, faults_of, leader, underlay
from analyzer.report.pictures.labels import Label, choose
from analyzer.report.pictures.plan_sheet import Sheet, point, xy
from analyzer.report.pictures.style import with_breaks
from analyzer.report.pictures.subject import Subject

__all__ = ["draw_faults"]

_AWAY_PT = (16.0, 24.0, 34.0, 46.0)
_AROUND = tuple(k * math.pi / 6.0 for k in range(12))


def draw_faults(sheet: Sheet, subject: Subject) -> None:
    """Underlay the stretches outside, and put the number of each fault next to its point with a line to it."""
    if subject.approach is None:
        return
    for fault in faults_of(subject.approach):
        if fault.outside and fault.span is not None:
            part = subject.states.between(*fault.span)
            if len(part) > 1:
                _, x, y = with_breaks(part.time_s, part.time_s, *xy(part))
                sheet.add(underlay(x, y))
        _number(sheet, subject, fault)


def _number(sheet: Sheet, subject: Subject, fault: Fault) -> None:
    states = subject.states
    if fault.at_s is None or not states.time_s[0] <= fault.at_s <= states.time_s[-1] + 1.0:
        return
    east, north = xy(states)
    x, y = (float(np.interp(fault.at_s, states.time_s, values)) for values in (east, north))
    k = min(int(np.searchsorted(states.time_s, fault.at_s)), len(states) - 1)
    across = float(states.track_rad[k]) + math.pi / 2.0
    size = badge_size(sheet.layout)
    room = size / 1.25 * sheet.nm_per_point  # as high as a line of that type
    offered = []
    for away in _AWAY_PT:
        for turn in _AROUND:
            dx, dy = point(away * sheet.nm_per_point, across + turn)
            offered.append(Label(x + dx, y + dy, 0.0, "0", room))
    best, _ = choose(offered, sheet.obstacles)
    sheet.obstacles = sheet.obstacles.with_label(replace(best, text="00"))
    sheet.add(leader(fault, (x, y), (best.x, best.y)))
    sheet.add(*badge(fault, best.x, best.y, sheet.layout))
