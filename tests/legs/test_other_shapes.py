"""Base turns, hold entries and arcs in closed form: the shape and the side named right, and the turns where they were flown.

The plane's `y` axis leads away from the fix opposite to the inbound course, so that inbound is a heading of 180.
"""

import math
from collections.abc import Callable

import pytest
from found import found, starts
from patterns import radius_nm
from scipy.optimize import brentq
from synthetic import NM, START_S, Chart, Flown, Log, Place, Segment, Straight, Turn, fly, holding, standard_rate_bank

from analyzer import debrief
from analyzer.checks.overall import overall

RATE_ONE = standard_rate_bank(120.0)
MAGNETIC_NORTH = Place().outbound_true_deg - Place().variation_deg  # the course that leads out along y


def chart(kind: str, **reversal: object) -> Chart:
    return Chart(side=None, within_nm=None, reversal={"kind": kind, **reversal})


def flown_until_on_course(path: Callable[[float], list[Segment]], start: tuple[float, float], heading: float) -> Flown:
    """The flight whose last straight part is as long as it takes to come out on the inbound course, and on past the fix."""

    def end(seconds: float) -> Flown:
        return fly(path(seconds), start, heading, roll_deg_s=5.0)

    seconds = brentq(lambda s: float(end(s).x_nm[-1]), 1.0, 200.0)
    home_s = max(0.0, float(end(seconds).y_nm[-1])) * 30.0
    return fly([*path(seconds), Straight("inbound", home_s + 90.0)], start, heading, roll_deg_s=5.0)


@pytest.mark.parametrize(
    ("angle", "minutes", "x_nm", "y_nm", "reach_nm"),
    [(30.0, 1.0, 0.103, 2.369, 3.005), (20.0, 2.0, -0.172, 4.194, 4.831), (10.0, 3.0, 0.212, 6.130, 6.767)],
)
@pytest.mark.parametrize("side", [-1, 1])
def test_teardrops_of_the_handbook(angle, minutes, x_nm, y_nm, reach_nm, side):
    # FAA-H-8083-15B figure 7-44: off by 30° for 1 minute, 20° for 2, 10° for 3, and back by 210°, 200°, 190° at standard rate.
    off, back = side * angle, -side * (180.0 + angle)
    path = [Straight("arrival", 90.0), Turn("off", off, RATE_ONE), Straight("outbound", minutes * 60.0)]
    flown = fly([*path, Turn("reversal_turn", back, RATE_ONE), Straight("inbound", y_nm * 30.0 + 60.0)], (0.0, -3.0))
    out = flown.begins["inbound"]
    assert float(flown.at(out, flown.x_nm)) == pytest.approx(-side * x_nm, abs=0.002)
    assert float(flown.at(out, flown.y_nm)) == pytest.approx(y_nm, abs=0.002)
    assert float(flown.y_nm.max()) == pytest.approx(reach_nm, abs=0.002)
    turn = "right" if side < 0 else "left"
    charted = chart("base-turn", turn=turn, outbound_course_deg=(MAGNETIC_NORTH + off) % 360.0)
    (one,) = debrief(Log(noise_m=1.0).of(flown), charted.at()).approaches
    assert (one.reversal.flown, one.reversal.side, one.reversal.turn) == ("base-turn", side, -side)
    assert starts(one.reversal)["reversal_turn"] == pytest.approx(flown.begins["reversal_turn"], abs=3.0)
    farthest = math.hypot(y_nm, radius_nm() - x_nm) + radius_nm()  # the far side of the turn, in line with the fix
    assert one.figures.farthest is not None
    assert one.figures.farthest.distance_m / NM == pytest.approx(farthest, abs=0.01)


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("arrival", [0.0, 40.0, 90.0])
@pytest.mark.parametrize("into_s", [15.0, 22.0, 40.0, 60.0])
def test_a_base_turn_that_the_log_ends_in(side, arrival, into_s):
    """On the charted outbound course, and 30° or more of the turn to the charted side."""
    path: list[Segment] = [Straight("arrival", 90.0)]
    if arrival:
        path.append(Turn("outbound_turn", -side * arrival, RATE_ONE))
    path += [Straight("outbound", 115.0), Turn("reversal_turn", -side * 200.0, RATE_ONE), Straight("home", 200.0)]
    begin = -3.0 * math.sin(math.radians(side * arrival)), -3.0 * math.cos(math.radians(side * arrival))
    flown = fly(path, begin, side * arrival, roll_deg_s=5.0)
    inbound = (MAGNETIC_NORTH + 180.0 - side * 20.0) % 360.0
    courses = {"outbound_course_deg": MAGNETIC_NORTH, "inbound_course_deg": inbound}
    charted = chart("base-turn", turn="left" if side > 0 else "right", leg_time_s=120.0, **courses)
    cut_off = Log(noise_m=1.0, end_s=flown.begins["reversal_turn"] + into_s)
    (one,) = debrief(cut_off.of(flown), charted.at()).approaches
    assert (one.reversal.flown, one.reversal.side) == ("base-turn", side)
    assert one.reversal.parts[-1].name == "reversal_turn"
    assert one.reversal.established_s is None
    assert starts(one.reversal)["reversal_turn"] == pytest.approx(flown.begins["reversal_turn"], abs=3.0)
    assert overall(one.findings, one.reversal)[0] != "inside"
    bank = next(finding for finding in one.findings if finding.check == "turn_bank" and finding.part == "reversal_turn")
    assert (bank.verdict, bank.reason) == ("not assessed", "the log ends in it")
    # to the other side, or off the course, so little of a turn tells nothing
    wrong = chart("base-turn", turn="right" if side > 0 else "left", leg_time_s=120.0, **courses)
    off = {**courses, "outbound_course_deg": (MAGNETIC_NORTH + side * 25.0) % 360.0}
    aside = chart("base-turn", turn=charted.reversal["turn"], **off)
    if into_s < 20.0:
        assert found(flown, cut_off, chart=wrong) == found(flown, cut_off, chart=aside) == ()


def entry(kind: str, side: int) -> Flown:
    """Into a hold on that side of the outbound course at the fix, a minute out and back to it, by one of the three entries."""
    turn = -side  # of the hold's turns
    if kind == "hold-direct":
        out = [Straight("arrival", 90.0), Turn("entry_turn", turn * 180.0, RATE_ONE), Straight("outbound", 60.0)]
        back = [Turn("reversal_turn", turn * 180.0, RATE_ONE), Straight("inbound", 150.0)]  # closes in still air
        return fly([*out, *back], (0.0, 3.0), 180.0, roll_deg_s=5.0)
    if kind == "hold-teardrop":
        # 40° off the outbound course, turned to 30° off it on the holding side
        start, heading = (-side * 3.0 * math.sin(math.radians(40.0)), -3.0 * math.cos(math.radians(40.0))), side * 40.0

        def path(seconds: float) -> list[Segment]:
            out = [Straight("arrival", 90.0), Turn("entry_turn", -side * 10.0, 5.0), Straight("outbound", 75.0)]
            back = [Turn("reversal_turn", turn * 180.0, RATE_ONE), Straight("cut", seconds), Turn("join", turn * 30.0, 15.0)]
            return out + back

    else:
        # 60° off the outbound course on the side away from the hold; out parallel, and more than 180° round through it
        start, heading = (side * 3.0 * math.sin(math.radians(60.0)), -3.0 * math.cos(math.radians(60.0))), -side * 60.0

        def path(seconds: float) -> list[Segment]:
            out = [Straight("arrival", 90.0), Turn("entry_turn", side * 60.0, RATE_ONE), Straight("outbound", 60.0)]
            back = [Turn("reversal_turn", side * 225.0, RATE_ONE), Straight("cut", seconds), Turn("join", turn * 45.0, 15.0)]
            return out + back

    return flown_until_on_course(path, start, heading)


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("kind", ["hold-direct", "hold-teardrop", "hold-parallel"])
def test_hold_entries(kind, side):
    # AIM 5-3-8 j.3, figure 5-3-4: heading against the inbound course 0° direct, 140° teardrop, 240° parallel (right turns).
    flown = entry(kind, side)
    charted = chart("hold", turn="right" if side < 0 else "left", leg_time_s=60.0)
    (reversal,) = found(flown, chart=charted)
    assert (reversal.flown, reversal.side) == (kind, side)
    assert reversal.turn == (side if kind == "hold-parallel" else -side)
    assert starts(reversal)["reversal_turn"] == pytest.approx(flown.begins["reversal_turn"], abs=3.0)
    passage = reversal.passage("outbound")
    assert passage is not None
    assert passage.time_s - START_S == pytest.approx(90.0, abs=1.0)


def test_further_circuits_belong_to_the_reversal():
    # AIM 5-3-8: a minute a leg; in still air 4 minutes a circuit at standard rate, and 1.273 NM wide.
    path: list[Segment] = [Straight("arrival", 90.0)]
    for number in range(3):
        path += [Turn(f"away {number}", 180.0, RATE_ONE), Straight(f"outbound {number}", 60.0)]
        path += [Turn(f"back {number}", 180.0, RATE_ONE), Straight(f"inbound {number}", 60.0)]
    flown = fly([*path, Straight("final", 60.0)], (0.0, 3.0), 180.0)
    assert float(flown.x_nm.min()) == pytest.approx(-1.273, abs=0.001)
    (reversal,) = found(flown, chart=chart("hold", turn="right", leg_time_s=60.0))
    assert (reversal.flown, reversal.side, reversal.turn) == ("hold-direct", -1, 1)
    assert [part.name for part in reversal.parts].count("reversal_turn") == 3
    assert len(reversal.passages) == 4


@pytest.mark.parametrize("side", [1, -1])
def test_an_arc_of_ten_miles(side):
    # From abeam the fix round it at 10 NM, turned off onto the inbound course by the lead of its turn.
    radius = radius_nm()
    lead = math.degrees(math.asin(radius / (10.0 - radius)))
    bank = math.degrees(math.atan((120.0 * NM / 3600.0) ** 2 / (9.80665 * 10.0 * NM)))
    path = [Straight("arrival", 60.0), Turn("arc", -(90.0 - lead), bank), Turn("reversal_turn", -(90.0 + lead), RATE_ONE)]
    flown = fly([*path, Straight("inbound", 400.0)], (10.0, -2.0), 0.0)
    assert float(flown.at(flown.begins["inbound"], flown.x_nm)) == pytest.approx(0.0, abs=0.002)
    if side < 0:
        flown = flown.mirrored()
    arc = {"latitude_deg": Place().latitude_deg, "longitude_deg": Place().longitude_deg, "radius_nm": 10.0}
    charted = chart("arc", turn="left" if side > 0 else "right")
    (reversal,) = found(flown, chart=Chart(None, None, reversal=charted.reversal, tables={"arc": arc}))
    assert reversal.flown == "arc"
    assert reversal.turn == -side
    assert starts(reversal)["reversal_turn"] == pytest.approx(flown.begins["reversal_turn"], abs=3.0)
    assert reversal.passage("outbound") is None


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("swept", [60.0, 100.0])
def test_an_arc_that_is_joined_from_its_centre(side, swept):
    """Over the fix, out along a radial, round to the left, and in: turned by more than half a circle, and no reversal.

    Circles within the arc that touch it and the radial: a turn of radius r has its centre sqrt((R - r)² - r²) out along the
    radial and r beside it, and goes 90° and the angle that this is seen under.
    """
    radius, arc_nm = radius_nm(), 10.0
    out = math.sqrt((arc_nm - radius) ** 2 - radius**2)
    lead = math.degrees(math.atan2(radius, out))
    bank = math.degrees(math.atan((120.0 * NM / 3600.0) ** 2 / (9.80665 * arc_nm * NM)))
    begin = -2.0 * math.sin(math.radians(swept)), -2.0 * math.cos(math.radians(swept))
    path = [
        Straight("arrival", (2.0 + out) * 30.0), Turn("arc_turn", -(90.0 + lead), RATE_ONE),
        Turn("arc", -(swept - 2.0 * lead), bank), Turn("reversal_turn", -(90.0 + lead), RATE_ONE), Straight("inbound", 400.0),
    ]  # fmt: skip
    flown = fly(path, begin, swept)
    assert float(flown.at(flown.begins["inbound"], flown.x_nm)) == pytest.approx(0.0, abs=0.002)
    if side < 0:
        flown = flown.mirrored()
    arc = {"latitude_deg": Place().latitude_deg, "longitude_deg": Place().longitude_deg, "radius_nm": arc_nm}
    charted = chart("arc", turn="left" if side > 0 else "right")
    (reversal,) = found(flown, chart=Chart(None, None, reversal=charted.reversal, tables={"arc": arc}))
    assert (reversal.flown, reversal.turn) == ("arc", -side)
    for name, sooner_s in (("arc_turn", 0.0), ("reversal_turn", 0.0), ("inbound", 5.0)):  # within 15° of the course, at 3°/s
        assert starts(reversal)[name] == pytest.approx(flown.begins[name] - sooner_s, abs=2.5)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(("speed_kt", "wind_kt"), [(80.0, 8.0), (80.0, 18.0), (120.0, 28.0)])
def test_a_racetrack_under_a_barb_that_the_wind_carries_outwards(side, speed_kt, wind_kt):
    """Over the fix along the inbound course, round to the side of the barb at standard rate, out for 2 min, and round again.

    AIM 5-4-9 a.1: the kind of turn is the pilot's choice. The wind blows from the other side, so that the turn at the fix takes
    the aircraft farther out than two radii, and a slow aircraft's are large: 0.44 NM at 84 kt.
    """
    wind = (-90.0 * side, wind_kt)
    bank, home = standard_rate_bank(speed_kt), holding(180.0, speed_kt, wind)
    out = holding(0.0, speed_kt, wind)
    before = [Straight("arrival", 120.0), Turn("away", -side * (side * (home - out) % 360.0), bank)]
    round_off = -side * 135.0

    def path(seconds: float) -> list[Segment]:
        back = [Straight("outbound", 120.0), Turn("back", round_off, bank), Straight("cut", seconds)]
        return [*before, *back, Turn("join", math.remainder(home - out - round_off, 360.0), bank)]

    def end(seconds: float) -> Flown:
        trial = fly(path(seconds), (0.0, 0.0), home, speed_kt, wind, 5.0)
        at = trial.begins["away"]
        start = -float(trial.at(at, trial.x_nm)), -float(trial.at(at, trial.y_nm))
        return fly([*path(seconds), Straight("inbound", 200.0)], start, home, speed_kt, wind, 5.0)

    flown = end(brentq(lambda s: float(end(s).x_nm[-1]), 0.0, 300.0))
    shapes = found(flown, chart=Chart(side="right" if side > 0 else "left", within_nm=10.0))
    assert [(one.flown, one.side) for one in shapes] == [("hold-direct", side)]
