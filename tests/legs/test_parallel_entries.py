"""Parallel entries from all of their sector, on a chart whose turns are known, and the mirrored hold."""

import datetime as dt
import math

import numpy as np
import pytest
from scipy.optimize import brentq
from synthetic import NM, START_S, Chart, Flown, Log, Segment, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief
from analyzer.legs.held import _came_in
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

BANK = standard_rate_bank(120.0)
CUT_DEG = 45.0


def chart(turn: str) -> Chart:
    return Chart(side=None, within_nm=10.0, reversal={"kind": "hold", "turn": turn, "leg_time_s": 60.0})


def start(heading_deg: float) -> tuple[float, float]:
    """Three miles before the fix on a heading."""
    return -3.0 * math.sin(math.radians(heading_deg)), -3.0 * math.cos(math.radians(heading_deg))


def parallel(from_inbound_deg: float) -> Flown:
    """Right turns: a minute outbound on the non-holding side, left through 225°, the inbound course met at 45° (AIM 5-3-8)."""
    heading = (180.0 + from_inbound_deg) % 360.0
    onto = Turn("in", -heading if heading <= 180.0 else 360.0 - heading, BANK)
    before: list[Segment] = [Straight("arrival", 90.0), onto, Straight("out", 60.0), Turn("back", -180.0 - CUT_DEG, BANK)]

    def run(seconds: float) -> Flown:
        return fly([*before, Straight("cut", seconds), Turn("on", CUT_DEG, BANK)], start(heading), heading, 120.0)

    near, far = float(run(10.0).x_nm[-1]), float(run(20.0).x_nm[-1])
    cut_s = max(0.0, 10.0 - 10.0 * near / (far - near))
    path = [*before, Straight("cut", cut_s), Turn("on", CUT_DEG, BANK), Straight("home", 150.0)]
    return fly(path, start(heading), heading, 120.0)


@pytest.mark.parametrize("from_inbound_deg", [190.0, 200.0, 220.0, 240.0, 260.0, 275.0, 288.0])
@pytest.mark.parametrize("turn", ["right", "left"])
def test_a_parallel_entry(from_inbound_deg, turn):
    flown = parallel(from_inbound_deg)
    flown = flown if turn == "right" else flown.mirrored()
    (approach,) = debrief(Log(noise_m=1.0).of(flown), chart(turn).at()).approaches
    assert approach.reversal.flown == "hold-parallel"
    assert approach.reversal.side == (-1 if turn == "right" else 1)
    (entry,) = (finding for finding in approach.findings if finding.check == "hold_entry")
    assert (entry.verdict, entry.measured, entry.limit) == ("inside", "parallel", "parallel")


@pytest.mark.parametrize("from_inbound_deg", [-40.0, 0.0, 40.0])
def test_a_direct_entry_into_the_mirrored_hold(from_inbound_deg):
    heading = 180.0 + from_inbound_deg
    path = [Straight("arrival", 90.0), Turn("in", -heading, BANK), Straight("out", 60.0), Turn("back", -180.0, BANK)]
    flown = fly([*path, Straight("home", 150.0)], start(heading), heading, 120.0)
    (approach,) = debrief(Log(noise_m=1.0).of(flown), chart("right").at()).approaches
    assert (approach.reversal.flown, approach.reversal.side) == ("hold-direct", 1)
    verdicts = {finding.check: finding.verdict for finding in approach.findings}
    assert verdicts["reversal_side"] == "outside"
    assert verdicts["hold_entry"] == "not assessed"


@pytest.mark.parametrize("turn", ["right", "left"])
def test_an_entry_that_meets_the_course_no_sooner_than_the_fix(turn):
    """Cut so short outbound that 45° to the inbound course leads to the fix itself: entered, and never established."""
    heading = 30.0

    def run(out_s: float, cut_s: float) -> Flown:
        path = [
            Straight("arrival", 90.0), Turn("in", -heading, BANK), Straight("out", out_s),
            Turn("back", -180.0 - CUT_DEG, BANK), Straight("cut", cut_s),
        ]  # fmt: skip
        return fly(path, start(heading), heading, 120.0)

    def crossing(out_s: float) -> tuple[float, float]:
        """When the course is crossed, and how far before the fix."""
        one, two = run(out_s, 10.0), run(out_s, 20.0)
        seconds = 10.0 - 10.0 * float(one.x_nm[-1]) / float(two.x_nm[-1] - one.x_nm[-1])
        return seconds, float(run(out_s, seconds).y_nm[-1])

    short = brentq(lambda out_s: crossing(out_s)[1], 5.0, 200.0)
    flown = run(short, crossing(short)[0] + 90.0)
    flown = flown if turn == "right" else flown.mirrored()
    (approach,) = debrief(Log(noise_m=1.0).of(flown), chart(turn).at()).approaches
    assert approach.reversal.flown == "hold-parallel"
    assert approach.reversal.established_s is None
    assert approach.reversal.passage("inbound") is not None


def late(from_inbound_deg: float, late_s: float) -> Flown:
    """Two minutes outbound; the inbound course is crossed at 45° and left behind for some seconds, then met at 30°."""
    heading = (180.0 + from_inbound_deg) % 360.0
    onto = Turn("in", -heading if heading <= 180.0 else 360.0 - heading, BANK)
    before: list[Segment] = [Straight("arrival", 90.0), onto, Straight("out", 120.0), Turn("back", -180.0 - CUT_DEG, BANK)]

    def crossing_s(path: list[Segment]) -> float:
        near, far = (float(fly([*path, Straight("on", s)], start(heading), heading).x_nm[-1]) for s in (10.0, 20.0))
        return 10.0 - 10.0 * near / (far - near)

    path = [*before, Straight("cut", crossing_s(before) + late_s), Turn("again", CUT_DEG + 30.0, BANK)]

    def ends_at(seconds: float) -> float:
        return float(fly([*path, Straight("return", seconds), Turn("on", -30.0, BANK)], start(heading), heading).x_nm[-1])

    return_s = brentq(ends_at, 0.0, 200.0)
    path += [Straight("return", return_s), Turn("on", -30.0, BANK), Straight("home", 150.0)]
    return fly(path, start(heading), heading)


@pytest.mark.parametrize("from_inbound_deg", [200.0, 240.0, 275.0])
@pytest.mark.parametrize("turn", ["right", "left"])
def test_the_turn_back_to_the_holding_side_is_no_overshoot(from_inbound_deg, turn):
    """It begins beyond the course and leads across it by as much as the turn is wide, as AIM 5-3-8 j.3(a) has it flown."""
    flown = parallel(from_inbound_deg)
    assert np.ptp(flown.x_nm[flown.time_s > flown.begins["back"]]) > 1.0
    flown = flown if turn == "right" else flown.mirrored()
    (approach,) = debrief(Log(noise_m=1.0).of(flown), chart(turn).at()).approaches
    assert approach.figures.overshoot_m is not None
    assert approach.figures.overshoot_m / NM == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("late_s", [4.0, 10.0, 25.0])
@pytest.mark.parametrize("from_inbound_deg", [200.0, 240.0, 275.0])
@pytest.mark.parametrize("turn", ["right", "left"])
def test_what_a_parallel_entry_overshoots_is_counted_from_the_holding_side(from_inbound_deg, turn, late_s):
    flown = late(from_inbound_deg, late_s)
    again = flown.time_s > flown.begins["cut"]
    k = int(np.argmax(np.where(again, flown.x_nm, -np.inf)))
    flown = flown if turn == "right" else flown.mirrored()
    (approach,) = debrief(Log(noise_m=1.0).of(flown), chart(turn).at()).approaches
    assert approach.reversal.flown == "hold-parallel"
    figures = approach.figures
    assert figures.overshoot_m is not None
    assert figures.overshoot_time_s is not None
    assert figures.overshoot_m / NM == pytest.approx(abs(float(flown.x_nm[k])), abs=0.01)
    assert figures.overshoot_time_s - START_S == pytest.approx(float(flown.time_s[k]), abs=3.0)


def straight_back(wind_kt: float, aside_nm: float) -> tuple[Flown, float]:
    """A minute out against a wind at 180 kt, left round until the fix lies ahead or aside, and on; the angle to the course."""
    heading, speed_kt, wind = 30.0, 180.0, (0.0, wind_kt)
    bank = standard_rate_bank(speed_kt, most_deg_s := 2.5)
    before: list[Segment] = [Straight("arrival", 90.0), Turn("in", -heading, bank)]
    before.append(Straight("out", 60.0 - heading / most_deg_s))
    there = fly(before, (0.0, 0.0), heading, speed_kt, wind)
    at = (-float(there.at(there.begins["in"], there.x_nm)), -float(there.at(there.begins["in"], there.y_nm)))

    def run(turned: float, seconds: float) -> Flown:
        return fly([*before, Turn("back", -turned, bank), Straight("home", seconds)], at, heading, speed_kt, wind)

    def ahead(turned: float) -> tuple[float, float, float]:
        """How far aside the fix lies of the way home, how far ahead [NM], and the track [deg]."""
        flown = run(turned, 1.0)
        east, north = flown.x_nm[-1] - flown.x_nm[-2], flown.y_nm[-1] - flown.y_nm[-2]
        track = math.atan2(east, north)
        x, y = float(flown.x_nm[-1]), float(flown.y_nm[-1])
        aside = x * math.cos(track) - y * math.sin(track)
        return aside, -(x * math.sin(track) + y * math.cos(track)), math.degrees(track)

    turned = brentq(lambda angle: ahead(angle)[0] - aside_nm, 190.0, 270.0)
    _, left_nm, track = ahead(turned)
    return run(turned, 1.0 + left_nm * 20.0 + 60.0), 180.0 - track


@pytest.mark.parametrize(
    ("wind_kt", "aside_nm", "steep"),
    [(0.0, 0.0, False), (28.0, 0.0, True), (34.0, 0.0, True), (0.0, 0.35, False), (0.0, -0.35, False), (20.0, 0.35, False)],
)
@pytest.mark.parametrize("turn", ["right", "left"])
def test_an_entry_that_returns_straight_to_the_fix(wind_kt, aside_nm, steep, turn):
    """Instead of joining the inbound course (AIM 5-3-8 j.3(a)): the turn ends as far aside as it is wide, at any angle."""
    flown, across_deg = straight_back(wind_kt, aside_nm)
    assert (across_deg > 60.0) == steep
    flown = flown if turn == "right" else flown.mirrored()
    (approach,) = debrief(Log(noise_m=1.0).of(flown), chart(turn).at()).approaches
    assert approach.reversal.flown == "hold-parallel"
    assert approach.reversal.established_s is None
    assert approach.reversal.passage("inbound") is not None


@pytest.mark.parametrize(
    ("flown", "next_side", "after_s", "begins_hold"),
    [
        ("hold-parallel", 1, 5.0, True),
        ("hold-teardrop", 1, 5.0, True),
        ("hold-parallel", 1, 60.0, False),  # gone elsewhere in between
        ("hold-parallel", -1, 5.0, False),  # another hold's lap
        ("hold-direct", 1, 5.0, False),  # a circuit that turns through the fix
    ],
)
def test_an_entry_without_an_inbound_leg_begins_a_hold_where_a_lap_follows_at_once(flown, next_side, after_s, begins_hold):
    """AIM 5-3-8 j.3(a): it may return to the fix instead of joining the inbound course."""
    states = analyse_motion(Log().of(fly([Straight("on", 900.0)])), resolve(Chart().at(), dt.date(2026, 6, 1))).states
    parts = (Part("outbound", START_S, START_S + 60.0), Part("reversal_turn", START_S + 60.0, START_S + 180.0))
    lap = Part("entry_turn", START_S + 180.0 + after_s, START_S + 300.0)
    entry = Reversal(flown, None, 1, -1, (), parts, None)
    assert _came_in(entry, states, Reversal("hold-direct", None, next_side, -next_side, (), (lap,), None)) == begins_hold
    assert not _came_in(entry, states, None)
