"""A day in the air: approaches one after the other, with hours of other flying between them, far away and near.

Between two approaches the aircraft flies away, does something else, and comes back to where the next one begins, by a turn, a
straight line and a turn that are worked out in the moving air.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from patterns import Approach
from synthetic import KT, NM, Flown, Segment, Straight, Turn, Wind, fly

from analyzer.track.track import Track

BANK_DEG = 20.0
_G = 9.80665


@dataclass(frozen=True, eq=False)
class Day:
    """A flight of many approaches, the instants at which each begins and ends, and the heights flown: (second, feet)."""

    flown: Flown
    spans_s: Sequence[tuple[float, float]]
    heights_ft: Sequence[tuple[float, float]]


def part_of(track: Track, begin_s: float, end_s: float) -> Track:
    """The samples of a log from one second of it to another."""
    chosen = (track.time_s >= track.time_s[0] + begin_s) & (track.time_s <= track.time_s[0] + end_s)
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    return replace(track, **{name: getattr(track, name)[chosen] for name in names})


def joined(one: Flown, then: Flown) -> Flown:
    """Two flights one after the other."""
    start = one.time_s[-1]
    return Flown(
        np.concatenate([one.time_s[:-1], start + then.time_s]),
        *(
            np.concatenate([getattr(one, name)[:-1], getattr(then, name)])
            for name in ("x_nm", "y_nm", "heading_deg", "bank_deg")
        ),
        {},
    )


def way_to(
    start_nm: tuple[float, float],
    heading_deg: float,
    to_nm: tuple[float, float],
    to_heading_deg: float,
    speed_kt: float,
    wind: Wind,
) -> list[Segment]:
    """A right turn, a straight line and a right turn from one place and heading to another, through a wind."""
    radius = (speed_kt * KT) ** 2 / (_G * math.tan(math.radians(BANK_DEG))) / NM
    rate = math.degrees(speed_kt * KT / (radius * NM))
    blows = math.radians(wind[0] + 180.0)
    seconds = 0.0
    for _ in range(60):
        drift = wind[1] * seconds / 3600.0
        target = to_nm[0] - drift * math.sin(blows), to_nm[1] - drift * math.cos(blows)

        def centre(place: tuple[float, float], heading: float) -> tuple[float, float]:
            right = math.radians(heading + 90.0)
            return place[0] + radius * math.sin(right), place[1] + radius * math.cos(right)

        (x0, y0), (x1, y1) = centre(start_nm, heading_deg), centre(target, to_heading_deg)
        course = math.degrees(math.atan2(x1 - x0, y1 - y0))
        first, last = (course - heading_deg) % 360.0, (to_heading_deg - course) % 360.0
        straight = math.hypot(x1 - x0, y1 - y0) / speed_kt * 3600.0
        seconds = straight + (first + last) / rate
    return [Turn("away", first, BANK_DEG), Straight("on the way", straight), Turn("towards", last, BANK_DEG)]


def day_of(
    approaches: Sequence[Approach],
    heights_ft: Sequence[Sequence[tuple[float, float]]],
    between: Sequence[tuple[tuple[float, float], float, Sequence[Segment]]],
    speed_kt: float,
    wind: Wind,
    cruise_ft: float,
) -> Day:
    """The approaches in order. Before each, what `between` has: a place [NM], the heading there, and what is flown there.

    Heights are (second, feet) from the beginning of each approach; cruise is at one height, climbed to and left in ten minutes.
    """
    day: Flown | None = None
    spans: list[tuple[float, float]] = []
    points: list[tuple[float, float]] = []
    for approach, heights, (place, heading, there) in zip(approaches, heights_ft, between, strict=True):
        f = approach.flown
        if day is None:
            elsewhere = fly(there, place, heading, speed_kt, wind)
            points.append((0.0, cruise_ft))
        else:
            here = float(day.x_nm[-1]), float(day.y_nm[-1])
            out = way_to(here, float(day.heading_deg[-1]), place, heading, speed_kt, wind)
            points.append((float(day.time_s[-1]) + 600.0, cruise_ft))
            elsewhere = joined(day, fly([*out, *there], here, float(day.heading_deg[-1]), speed_kt, wind))
        here = float(elsewhere.x_nm[-1]), float(elsewhere.y_nm[-1])
        begin = float(f.x_nm[0]), float(f.y_nm[0])
        back = way_to(here, float(elsewhere.heading_deg[-1]), begin, float(f.heading_deg[0]), speed_kt, wind)
        day = joined(elsewhere, fly(back, here, float(elsewhere.heading_deg[-1]), speed_kt, wind))
        start = float(day.time_s[-1])
        points.append((start - 600.0, cruise_ft))
        points += [(start + second, feet) for second, feet in heights]
        spans.append((start, start + float(f.time_s[-1])))
        day = joined(day, f)
    assert day is not None
    return Day(day, spans, points)
