"""Lessons on holds: flown in the same wind by the tests' own simulation, the advice results in what is charted."""

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import pytest
from checked import NOISY, all_of, one_of, solve
from hold_flights import LEVEL_FT, SPEED_KT, chart, entered, heading, held, inbound_s, level
from missed_flights import BANK, Whole, course
from synthetic import CALM, KT, Chart, Flown, G, Segment, Straight, Turn, Wind, fly

from analyzer import debrief
from analyzer.checks.finding import Context, Finding, Lesson
from analyzer.checks.standard import read_standard
from analyzer.debriefs.data import Approach
from analyzer.lessons.hold_entries import learn_entry
from analyzer.motion.motion import Motion

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
    """From over the fix, a right turn from one heading to another, some seconds straight, and a right turn to the first."""
    return [Turn("away", (out - home) % 360.0, BANK), Straight("out", seconds), Turn("back", (home - out) % 360.0, BANK)]


def rolled_out(home: float, out: float, seconds: float, wind: Wind) -> Flown:
    return fly(lap_from(home, out, seconds), (0.0, 0.0), home, SPEED_KT, wind, 5.0)


def flown_by(wind: Wind, legs: Sequence[tuple[float, float]]) -> Flown:
    """Laps with outbound headings and seconds; a lap that rolls out off the course intercepts it at 25°."""
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
    """The intercept of the course: from the west, which is right of it southbound, to the left."""
    if abs(off_nm) < 0.01:
        return []
    side = 1.0 if off_nm > 0.0 else -1.0  # east of the course: to the right

    def cut(seconds: float) -> list[Segment]:
        turn = side * CUT_DEG
        return [Turn(f"cut{number}", turn, BANK), Straight(f"to{number}", seconds), Turn(f"join{number}", -turn, BANK)]

    def off_course(seconds: float) -> float:
        return float(fly([*path, *cut(seconds)], start, home, SPEED_KT, wind, 5.0).x_nm[-1])

    return cut(solve(off_course, 0.0, 0.0, 120.0)) if off_course(0.0) * off_nm > 0.0 else []


def timed_from_abeam(wind: Wind, out: float, timed_s: float) -> tuple[float, float]:
    """Inbound seconds to the fix, and miles off the course, after an outbound leg of some seconds from abeam the fix."""
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


LAPS: list[tuple[Wind, float, float]] = [  # wind; the error of the outbound heading; seconds
    ((180.0, 20.0), 0.0, 60.0),
    ((0.0, 20.0), 0.0, 60.0),
    ((90.0, 20.0), 0.0, 40.0),
    ((135.0, 20.0), 0.0, 60.0),
    ((90.0, 15.0), -14.0, 80.0),
    ((270.0, 15.0), 14.0, 50.0),
    ((225.0, 18.0), 12.0, 85.0),
    (CALM, 10.0, 50.0),
]


@pytest.mark.parametrize(
    ("wind", "off_deg", "seconds"),
    [((90.0, 20.0), 0.0, 50.0), ((90.0, 20.0), 0.0, 85.0), ((270.0, 15.0), 14.0, 80.0), (CALM, 10.0, 80.0)],
)
def test_a_lap_that_comes_out_beside_the_course_is_short_from_joining_it_and_not_from_wings_level(wind, off_deg, seconds):
    """Which of the two counts, AIM 5-3-8 j.4 does not say: there is no verdict, and no advice on the time."""
    triple = -3.0 * (heading(180.0, wind) - 180.0)
    finding = of_lap(held(Whole(flown_by(wind, [(triple + off_deg, seconds)] * 2), level())), "hold_timing", 2, "inbound")
    assert finding.verdict == "not assessed"
    assert re.fullmatch(
        r"the wings were level at [\d:]+ already, beside the course; timed from there it is \d+ s", str(finding.reason)
    )
    assert finding.lesson is None


@pytest.mark.parametrize("step_s", [3.0, 4.0, 5.0])
def test_a_log_that_cannot_show_level_wings_in_a_turn_through_the_course_has_no_verdict_on_its_time(step_s):
    """Rolled out beside the course for a moment and on into a right turn that closes with it: 50 s or 18 s."""
    flight = Whole(flown_by(CALM, [(10.0, 50.0)] * 2), level())
    finding = of_lap(held(flight, log=replace(NOISY, step_s=step_s)), "hold_timing", 2, "inbound")
    assert (finding.verdict, finding.lesson) == ("not assessed", None)
    assert "where the wings may have been level between two positions" in str(finding.reason)
    assert of_lap(held(flight), "hold_timing", 2, "inbound").verdict == "outside"
    # closing by a turn the other way, the wings were level in between
    other = Whole(flown_by((90.0, 15.0), [(-3.0 * (heading(180.0, (90.0, 15.0)) - 180.0) - 14.0, 80.0)] * 2), level())
    assert of_lap(held(other, log=replace(NOISY, step_s=step_s)), "hold_timing", 2, "inbound").verdict == "outside"


@pytest.mark.parametrize(("wind", "off_deg", "seconds"), LAPS)
def test_the_advised_outbound_leg_makes_the_inbound_one(wind, off_deg, seconds):
    triple = -3.0 * (heading(180.0, wind) - 180.0)  # AIM 5-3-8 j.8(c): three times the inbound correction
    flown = flown_by(wind, [(triple + off_deg, seconds)] * 2)
    finding = of_lap(held(Whole(flown, level())), "hold_timing", 2, "inbound")
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    out, timed_s = advised(lesson)
    inbound, off_nm = timed_from_abeam(wind, out, timed_s)
    assert inbound == pytest.approx(60.0, abs=3.0)
    assert abs(off_nm) < ON_COURSE_NM
    assert re.fullmatch(
        r"(In the wind of this lap \(\d+ kt\) fly|Fly) heading \d\d\d° outbound for \d+ s from abeam the fix, "
        r"not (\d\d\d° )?for \d+ s\.",
        str(lesson.advice),
    )
    assert ("In the wind of this lap" in str(lesson.advice)) == (wind != CALM)
    assert re.fullmatch(
        r"The outbound leg took \d+ s from abeam the fix on heading \d\d\d°, at \d+ kt over the ground against \d+ kt inbound"
        r"(; the turn then rolls out \d\.\d NM (left|right) of the course)?\.",
        str(lesson.cause),
    )
    # the cause describes the lap flown
    assert f"{(triple + off_deg + course(0.0)) % 360.0:03.0f}°" in str(lesson.cause) or off_deg == 0.0
    came_out = re.search(r"rolls out ([\d.]+) NM (left|right)", str(lesson.cause))
    was_off = float(rolled_out(heading(180.0, wind), triple + off_deg, seconds, wind).x_nm[-1])
    if abs(was_off) > 0.25:
        assert came_out is not None
        assert float(came_out[1]) == pytest.approx(abs(was_off), abs=0.1)
        assert came_out[2] == ("left" if was_off > 0.0 else "right")  # southbound, east is left


@pytest.mark.parametrize(("wind", "heading_deg"), [((176.0, 45.0), 4.0), ((150.0, 38.0), 20.0)])
def test_a_leg_that_no_pilot_would_fly_is_not_advised(wind, heading_deg):
    """Outbound at almost twice the speed of the inbound leg: a minute inbound takes seconds outbound, or a turn across."""
    finding = of_lap(held(Whole(flown_by(wind, [(heading_deg, 60.0)] * 2), level())), "hold_timing", 2, "inbound")
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    assert lesson.advice is None
    assert re.search(
        r"In this wind \(\d+ kt\) only an outbound leg of less than 15 s, or more than 60° off its", str(lesson.cause)
    )


@pytest.mark.parametrize(
    ("wind", "short_s", "long_s"), [((90.0, 15.0), 40.0, 110.0), ((270.0, 15.0), 40.0, 100.0), ((150.0, 20.0), 15.0, 75.0)]
)
def test_every_lap_has_its_own_outbound_leg(wind, short_s, long_s):
    """Laps that are too short and too long in the same wind: the advice makes a minute of either."""
    triple = -3.0 * (heading(180.0, wind) - 180.0)
    flown = flown_by(wind, [(triple, 60.0), (triple, short_s), (triple, long_s)])
    approach = held(Whole(flown, level()))
    lessons = {f.lap: lesson_of(f) for f in all_of(approach, "hold_timing") if f.part == "inbound" and f.verdict == "outside"}
    assert set(lessons) == {2, 3}
    for lesson in lessons.values():
        inbound, off_nm = timed_from_abeam(wind, *advised(lesson))
        assert inbound == pytest.approx(60.0, abs=4.0)
        assert abs(off_nm) < ON_COURSE_NM


def test_a_lap_that_the_simulation_does_not_reproduce_is_advised_by_ground_speeds():
    """A turn inbound half at 30° and half at 13° has no single bank; 35 s inbound in still air are 25 s too short."""
    first = [Straight("arrival", 90.0), *lap_from(180.0, 0.0, 60.0), Straight("in1", 60.0)]
    radius_m = [(120.0 * KT) ** 2 / (G * math.tan(math.radians(bank))) for bank in (BANK, 30.0, 13.0)]
    assert radius_m[1] + radius_m[2] == pytest.approx(2.0 * radius_m[0], rel=0.01)  # it still rolls out on the course
    inbound_m = 35.0 * 120.0 * KT
    back = [Turn("steep", 90.0, 30.0), Turn("shallow", 90.0, 13.0)]
    out_s = (inbound_m + radius_m[2] - radius_m[1]) / (120.0 * KT)
    path = [*first, Turn("away2", 180.0, BANK), Straight("out2", out_s), *back, Straight("on", 75.0)]
    flown = fly(path, (0.0, 3.0), 180.0, SPEED_KT)
    finding = of_lap(held(Whole(flown, level())), "hold_timing", 2, "inbound")
    assert finding.verdict == "outside"
    advice = str(lesson_of(finding).advice)
    assert "longer, at the ground speeds flown" in advice
    assert numbers(advice) == [pytest.approx(60.0 - float(finding.measured or 0.0), abs=2.0)]


def test_the_lesson_on_turns_to_the_wrong_side_gives_the_entry_with_charted_turns():
    """On the inbound course, 0° from it, a direct entry is called for to either side: AIM 5-3-8 j.3."""
    finding = one_of(held(Whole(entered("direct").flown, level()), chart(turn="left")), "hold_turn")
    lesson = lesson_of(finding)
    assert "went right" in str(lesson.cause)
    at_fix, out = numbers(lesson.advice)
    assert (at_fix, out) == (pytest.approx(course(180.0), abs=1.5), pytest.approx(course(0.0), abs=2.0))
    assert "a direct entry: at the fix turn left to heading" in str(lesson.advice)


@pytest.mark.parametrize("wind", [(0.0, 20.0), (90.0, 20.0), (270.0, 20.0)])
def test_three_times_the_inbound_correction_outbound(wind):
    """AIM 5-3-8 j.8(c), to the other side: asin(20/120) = 9.6° inbound across the wind makes 28.8° outbound."""
    triple = -3.0 * (heading(180.0, wind) - 180.0)
    finding = one_of(held(Whole(flown_by(wind, [(triple, 60.0)] * 2), level()), chart(turn="left")), "hold_turn")
    out = numbers(lesson_of(finding).advice)[-1]
    assert math.remainder(out - course(triple), 360.0) == pytest.approx(0.0, abs=4.0)


@pytest.mark.parametrize(("kind", "called_for"), [("direct", "parallel"), ("parallel", "direct")])
def test_the_lesson_on_a_wrong_entry_gives_the_right_one(kind, called_for):
    """With the hold rotated by 110°, the same heading at the fix lies in another sector."""
    finding = Finding("hold_entry", "hold", "entry_turn", "", "outside", measured=kind, limit=called_for)
    approach = held(entered("direct"))
    context = Context(_motion(), approach.reversal, approach.figures, read_standard("faa-instrument"))
    lesson = learn_entry(context, finding)
    assert lesson is not None
    outbound = {"direct": "turn right to heading 073°", "parallel": "outbound on course 073°"}[called_for]
    assert outbound in str(lesson.advice)
    assert ("turn left back to the course" in str(lesson.advice)) == (called_for == "parallel")


def _motion() -> Motion:
    (only,) = Whole(entered("direct").flown, level()).debrief(chart()).holds
    return only.motion


@pytest.mark.parametrize("off_ft", [150.0, -150.0])
def test_the_lesson_on_a_lost_level_gives_when_it_was_half_the_limit_off(off_ft):
    """150 ft in 20 s: 50 ft off after 6.7 s, and 450 ft/min in between."""
    flown = entered("direct").flown
    begun = flown.begins["out2"] + 5.0
    heights = [(0.0, LEVEL_FT), (begun, LEVEL_FT), (begun + 20.0, LEVEL_FT + off_ft), (begun + 30.0, LEVEL_FT + off_ft)]
    finding = of_lap(held(Whole(flown, [*heights, (begun + 50.0, LEVEL_FT)])), "hold_altitude", 2)
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    half, *_ = numbers(lesson.cause)
    assert half == 50.0
    (at,) = re.findall(r"\d\d:(\d\d):(\d\d)", str(lesson.cause))
    assert int(at[0]) * 60.0 + int(at[1]) == pytest.approx(begun + 20.0 / 3.0, abs=4.0)
    assert ("high" in str(lesson.cause)) == (off_ft > 0.0)
    assert ("descend" in str(lesson.advice)) == (off_ft > 0.0)
    assert numbers(lesson.advice) == [50.0, 100.0]
    way, back = ("high", "descend") if off_ft > 0.0 else ("low", "climb")
    # (150 - 50) ft in the 13.3 s after it
    went_on = re.fullmatch(
        rf"It was 50 ft {way} at \d\d:\d\d:\d\d on the outbound leg, and continued at (\d+) ft/min\.", str(lesson.cause)
    )
    assert went_on is not None, lesson.cause
    assert float(went_on[1]) == pytest.approx(450.0, abs=60.0)
    assert lesson.advice == f"At 50 ft off {back} back at 100 ft/min."


@pytest.mark.parametrize(("off_ft", "pull"), [(150.0, ""), (-150.0, "; a turn needs back pressure")])
def test_a_level_that_was_lost_in_a_turn_needs_back_pressure(off_ft, pull):
    flown = entered("direct").flown
    begun = flown.begins["back2"] + 10.0
    heights = [(0.0, LEVEL_FT), (begun, LEVEL_FT), (begun + 20.0, LEVEL_FT + off_ft), (begun + 30.0, LEVEL_FT + off_ft)]
    finding = of_lap(held(Whole(flown, [*heights, (begun + 50.0, LEVEL_FT)])), "hold_altitude", 2)
    back = "descend" if off_ft > 0.0 else "climb"
    assert lesson_of(finding).advice == f"At 50 ft off {back} back at 100 ft/min{pull}."
    assert " in the turn inbound" in str(lesson_of(finding).cause)


def test_the_lesson_on_a_climb_that_stopped_early_gives_how_much_more():
    flown = entered("direct").flown
    finding = next(f for f in all_of(held(Whole(flown, level(3700.0)), chart(minimum_ft=4000.0)), "altitude_floor"))
    assert finding.verdict == "outside"
    assert "There was no descent" in str(lesson_of(finding).cause)
    assert numbers(lesson_of(finding).advice) == [4000.0, pytest.approx(300.0, abs=5.0)]


IN_LIEU = Chart(side=None, within_nm=None, reversal={"kind": "hold", "turn": "right", "leg_time_s": 60.0})


def in_lieu(legs: Sequence[tuple[float, float]], wind: Wind = CALM) -> Approach:
    (approach,) = debrief(NOISY.of(flown_by(wind, legs)), IN_LIEU.at()).approaches
    return approach


def test_the_lesson_on_a_circuit_that_overshoots_gives_heading_and_time():
    """13.5° towards the course for 155 s roll out 1.2 NM beyond it; in still air a minute on the reciprocal does not."""
    finding = one_of(in_lieu([(0.0, 60.0), (13.5, 150.0)]), "intercept")
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    beyond = abs(float(rolled_out(180.0, 13.5, 150.0, CALM).x_nm[-1]))
    assert numbers(lesson.cause)[-1] == pytest.approx(beyond, abs=0.1)
    out, timed_s = advised(lesson)
    assert (out, timed_s) == (pytest.approx(0.0, abs=1.5), pytest.approx(60.0, abs=2.0))


def test_a_further_circuit_in_lieu_has_the_outbound_leg_of_its_wind():
    wind = (90.0, 20.0)
    (finding,) = [f for f in all_of(in_lieu([(28.8, 60.0), (12.0, 150.0)], wind), "hold_timing") if f.part == "inbound"]
    assert finding.verdict == "outside"
    inbound, off_nm = timed_from_abeam(wind, *advised(lesson_of(finding)))
    assert inbound == pytest.approx(60.0, abs=3.0)
    assert abs(off_nm) < ON_COURSE_NM


@pytest.mark.parametrize("off_deg", [12.0, -12.0])
def test_a_course_met_at_the_fix_only_is_to_be_cut_at_a_greater_angle(off_deg):
    """Laps along another course to the fix, in still air: 12° off, so that the course lies to one side until there."""
    charted = chart(inbound_course_deg=course(180.0 - off_deg))
    lesson = lesson_of(of_lap(held(entered("direct", 2), charted), "hold_course", 2))
    side = "right" if off_deg < 0.0 else "left"
    assert re.search(rf"NM {side} of the course, and the track closed with it at 1[123]° only\.", str(lesson.cause))
    assert re.fullmatch(r"Intercept at 30° after the turn inbound, then hold course \d\d\d°\.", str(lesson.advice))
