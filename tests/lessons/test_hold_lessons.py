"""Lessons of a hold: what is advised is flown in the same wind, by this folder's own simulation, and comes out as charted."""

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import pytest
from checked import all_of, solve
from hold_flights import SPEED_KT, heading, held, inbound_s, level
from missed_flights import BANK, Whole, course
from synthetic import CALM, Flown, Segment, Straight, Turn, Wind, fly

from analyzer.checks.model import Finding, Lesson
from analyzer.debriefing import Approach

CUT_DEG = 25.0
ON_COURSE_NM = 0.1


def lesson_of(finding: Finding) -> Lesson:
    assert finding.lesson is not None, finding
    return finding.lesson


def numbers(text: str | None) -> list[float]:
    assert text is not None
    plain = re.sub(r"\d\d:\d\d:\d\d", "", text)
    return [float(word.replace(",", "")) for word in re.findall(r"\d[\d,]*(?:\.\d+)?", plain)]


def of_lap(approach: Approach, check: str, lap: int, part: str | None = None) -> Finding:
    (finding,) = [f for f in all_of(approach, check) if f.lap == lap and part in (None, f.part)]
    return finding


def lap_from(home: float, out: float, seconds: float) -> list[Segment]:
    """From over the fix on a heading round by the right to another, so many seconds, and round to the first again."""
    return [Turn("away", (out - home) % 360.0, BANK), Straight("out", seconds), Turn("back", (home - out) % 360.0, BANK)]


def rolled_out(home: float, out: float, seconds: float, wind: Wind) -> Flown:
    return fly(lap_from(home, out, seconds), (0.0, 0.0), home, SPEED_KT, wind, 5.0)


def flown_by(wind: Wind, legs: Sequence[tuple[float, float]]) -> Flown:
    """Laps with headings and seconds outbound; each comes back to the course by a cut of 25° where its turn is off it."""
    home = heading(180.0, wind)
    to_fix = fly([Straight("arrival", 90.0)], (0.0, 0.0), home, SPEED_KT, wind)
    start = -float(to_fix.x_nm[-1]), -float(to_fix.y_nm[-1])
    path: list[Segment] = [Straight("arrival", 90.0)]
    for number, (out, seconds) in enumerate(legs, 1):
        lap = [replace(segment, name=f"{segment.name}{number}") for segment in lap_from(home, out, seconds)]
        off = float(rolled_out(home, out, seconds, wind).x_nm[-1])
        path += [*lap, *_closed(wind, start, home, [*path, *lap], off, number)]
        path.append(Straight(f"in{number}", inbound_s(path, start, home, wind)))
    return fly([*path, Straight("on", 40.0)], start, home, SPEED_KT, wind, 5.0)


def _closed(
    wind: Wind, start: tuple[float, float], home: float, path: list[Segment], off_nm: float, number: int
) -> list[Segment]:
    """The cut back to the course: beside it to the west, that is right of it southbound, it goes left, to the east."""
    if abs(off_nm) < 0.01:
        return []
    side = 1.0 if off_nm > 0.0 else -1.0  # east of the course: to the right

    def cut(seconds: float) -> list[Segment]:
        turn = side * CUT_DEG
        return [Turn(f"cut{number}", turn, BANK), Straight(f"to{number}", seconds), Turn(f"join{number}", -turn, BANK)]

    def beside(seconds: float) -> float:
        return float(fly([*path, *cut(seconds)], start, home, SPEED_KT, wind, 5.0).x_nm[-1])

    return cut(solve(beside, 0.0, 0.0, 120.0)) if beside(0.0) * off_nm > 0.0 else []


def timed_from_abeam(wind: Wind, out: float, timed_s: float) -> tuple[float, float]:
    """An outbound leg ended so many seconds from abeam the fix: inbound seconds left to it, and miles off the course."""
    home = heading(180.0, wind)
    away = fly([Turn("away", (out - home) % 360.0, BANK), Straight("out", 400.0)], (0.0, 0.0), home, SPEED_KT, wind, 5.0)
    behind = away.y_nm < 0.0
    abeam_s = float(away.time_s[behind][-1]) if behind.any() else 0.0
    turned_s = float(away.begins["out"])
    flown = rolled_out(home, out, abeam_s + timed_s - turned_s, wind)
    speed_kt = SPEED_KT * math.cos(math.radians(home - 180.0)) - wind[1] * math.cos(math.radians(wind[0] - 180.0))
    return float(flown.y_nm[-1]) / speed_kt * 3600.0, float(flown.x_nm[-1])


def advised(lesson: Lesson) -> tuple[float, float]:
    """The outbound heading in the plane, and the seconds from abeam, that a lesson advises."""
    at = re.search(r"heading (\d+)°", str(lesson.advice))
    seconds = re.search(r"(\d+) s from (?:abeam|over) the fix", str(lesson.advice))
    assert at is not None
    assert seconds is not None
    return float(at[1]) - course(0.0), float(seconds[1])


LAPS: list[tuple[Wind, float, float]] = [  # wind; the heading flown outbound, off the one that is due; seconds
    ((180.0, 20.0), 0.0, 60.0),
    ((0.0, 20.0), 0.0, 60.0),
    ((90.0, 20.0), 0.0, 85.0),
    ((135.0, 20.0), 0.0, 60.0),
    ((90.0, 15.0), -14.0, 80.0),
    ((270.0, 15.0), 14.0, 80.0),
    ((225.0, 18.0), 12.0, 85.0),
    (CALM, 10.0, 80.0),
]


@pytest.mark.parametrize(("wind", "off_deg", "seconds"), LAPS)
def test_the_advised_outbound_leg_makes_the_inbound_one(wind, off_deg, seconds):
    triple = -3.0 * (heading(180.0, wind) - 180.0)  # AIM 5-3-8 j.8(c): a heading that a pilot may well have flown
    flown = flown_by(wind, [(triple + off_deg, seconds)] * 2)
    finding = of_lap(held(Whole(flown, level())), "hold_timing", 2, "inbound")
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    out, timed_s = advised(lesson)
    inbound, off_nm = timed_from_abeam(wind, out, timed_s)
    assert inbound == pytest.approx(60.0, abs=3.0)
    assert abs(off_nm) < ON_COURSE_NM
    # what is said of the lap that was flown
    assert f"{(triple + off_deg + course(0.0)) % 360.0:03.0f}°" in str(lesson.cause) or off_deg == 0.0
    came_out = re.search(r"comes out ([\d.]+) NM (left|right)", str(lesson.cause))
    was_off = float(rolled_out(heading(180.0, wind), triple + off_deg, seconds, wind).x_nm[-1])
    if abs(was_off) > 0.25:
        assert came_out is not None
        assert float(came_out[1]) == pytest.approx(abs(was_off), abs=0.1)
        assert came_out[2] == ("left" if was_off > 0.0 else "right")  # southbound, east is left
