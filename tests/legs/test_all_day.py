"""A log of half a day holds the approaches that its cuts hold, and takes no more time for a second than they do."""

import math
from dataclasses import replace

import pytest
from all_day import Day, day_of, part_of
from patterns import Approach, Pattern, fly_approach
from synthetic import CHARTED, Flown, Log, Segment, Straight, Turn, fly

from analyzer import debrief
from analyzer.checks.overall import overall
from analyzer.debriefing import Debrief
from analyzer.track.model import Track

WIND = (250.0, 18.0)
ORBITS: list[Segment] = [Turn(f"orbit {number}", 360.0, 6.0) for number in range(6)]
HOLD: list[Segment] = [
    part
    for lap in range(12)
    for part in (Straight(f"in {lap}", 60.0), Turn(f"out {lap}", 180.0, 18.0), Straight(f"back {lap}", 60.0), Turn(f"round {lap}", 180.0, 18.0))
]  # fmt: skip
LINES: list[Segment] = [
    part
    for line in range(8)
    for part in (Straight(f"line {line}", 400.0), Turn(f"turn {line}", 180.0 * (-1.0) ** line, 22.0))
]
CRUISE: list[Segment] = [Straight("leg", 1500.0), Turn("dog-leg", 40.0, 15.0), Straight("on", 1500.0)]
CIRCLING: list[Segment] = [Turn(f"circle {number}", -360.0, 25.0) for number in range(30)]


def straight_in() -> Approach:
    flown = fly([Straight("inbound", 560.0)], (0.0, 16.0), 180.0, 120.0, (0.0, 0.0))
    return Approach(flown, 0.0, 480.0, 0.0)


def coming_down(approach: Approach) -> list[tuple[float, float]]:
    """Level, down when on the inbound course, and to 800 ft when past the fix."""
    home = approach.inbound_passage_s
    return [(0.0, 3000.0), (home - 100.0, 3000.0), (home - 50.0, 2200.0), (home, 2200.0), (home + 75.0, 800.0)]


def made() -> Day:
    pattern = Pattern(wind=WIND, roll_deg_s=5.0, intercept=True, final_s=80.0)
    ways = (
        pattern,
        replace(pattern, side=-1),
        replace(pattern, shape="80/260", arrival_deg=60.0),
        replace(pattern, arrival_deg=-90.0, outbound_s=420.0),  # beyond the limit
        replace(pattern, arrival_deg=150.0, speed_kt=95.0),
    )
    approaches = [fly_approach(one) for one in ways]
    flown = fly([Straight("inbound", 620.0)], (0.0, 15.0), 180.0, 120.0, (0.0, 0.0))
    approaches.insert(3, Approach(flown, 0.0, 450.0, 0.0))
    between = [
        ((-60.0, -50.0), 70.0, CRUISE), ((70.0, 20.0), 200.0, ORBITS), ((5.0, 45.0), 10.0, LINES), ((-12.0, 18.0), 90.0, HOLD),
        ((-80.0, 60.0), 120.0, CRUISE), ((18.0, -6.0), 0.0, CIRCLING),
    ]  # fmt: skip
    return day_of(approaches, [coming_down(one) for one in approaches], between, 120.0, WIND, 5500.0)
