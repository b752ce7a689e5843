"""Doubts whether log and procedure fit together: each mistake made on purpose, in every hemisphere; none where all is right."""

from dataclasses import replace

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import Chart, Log, Place, Straight, Turn, fly, holding, standard_rate_bank

from analyzer import debrief

PLACES = [
    Place(52.0, 6.0, 73.0, 4.0),
    Place(-34.0, 151.0, 200.0, 12.0),
    Place(12.0, -61.0, 310.0, -15.0),
    Place(-3.0, -60.0, 20.0, -18.0),
]
FLOWN = fly_approach(Pattern(arrival_deg=40.0)).flown


def flight(place, **log):
    return Log(noise_m=1.0, **log).of(FLOWN, place)


def moved(place, *, latitude_deg=None, longitude_deg=None):
    """The procedure with its fix typed elsewhere."""
    fix = {
        "latitude_deg": place.latitude_deg if latitude_deg is None else latitude_deg,
        "longitude_deg": place.longitude_deg if longitude_deg is None else longitude_deg,
    }
    return Chart(fix=fix).at(place)


@pytest.mark.parametrize("place", PLACES)
def test_no_doubt_where_all_is_right(place):
    assert debrief(flight(place), Chart().at(place)).doubts == ()


@pytest.mark.parametrize("place", PLACES)
def test_a_sign_that_is_turned(place):
    east_for_west = debrief(flight(place), moved(place, longitude_deg=-place.longitude_deg))
    assert len(east_for_west.doubts) == 1
    assert "the sign of the longitude turned" in east_for_west.doubts[0]
    assert "latitude" not in east_for_west.doubts[0]
    (doubt,) = debrief(flight(place), moved(place, latitude_deg=-place.latitude_deg)).doubts
    assert "the sign of the latitude turned" in doubt


@pytest.mark.parametrize("place", [PLACES[0], PLACES[2], PLACES[3]])
def test_latitude_and_longitude_exchanged_in_the_log(place):
    """Where it can be: a latitude beyond 90° is refused when the log is read."""
    track = flight(place)
    exchanged = replace(track, latitude_rad=track.longitude_rad, longitude_rad=track.latitude_rad)
    (doubt,) = debrief(exchanged, Chart().at(place)).doubts
    assert "latitude and longitude exchanged" in doubt
    assert "0.0 NM from QRL" in doubt


@pytest.mark.parametrize("place", PLACES)
def test_positions_in_radians(place):
    """Read as degrees, the flight is somewhere off Africa, and slower than who walks."""
    track = flight(place)
    shrunk = replace(track, latitude_rad=np.radians(track.latitude_rad), longitude_rad=np.radians(track.longitude_rad))
    (doubt,) = debrief(shrunk, Chart().at(place)).doubts
    assert (
        "With positions in radians the flight would pass 0.0 NM from QRL. Say so: --unit latitude=rad, --unit longitude=rad"
        in doubt
    )


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("noise_m", [1.0, 8.0])
def test_true_courses_where_magnetic_ones_belong(place, noise_m):
    """The chart says 069° magnetic; the file has what it is true."""
    true = place.outbound_true_deg % 360.0
    chart = Chart(reversal={"outbound_course_deg": true, "inbound_course_deg": (true + 180.0) % 360.0})
    (doubt,) = debrief(Log(noise_m=noise_m).of(FLOWN, place), chart.at(place)).doubts
    assert "by just the variation" in doubt
    assert f"{abs(place.variation_deg):.0f}° {'east' if place.variation_deg > 0 else 'west'}" in doubt


@pytest.mark.parametrize("place", PLACES)
def test_a_variation_with_the_wrong_sign(place):
    chart = Chart(fix={"variation_deg_east": -place.variation_deg})
    (doubt,) = debrief(flight(place), chart.at(place)).doubts
    assert "by twice the variation" in doubt
    assert "East is positive" in doubt


@pytest.mark.parametrize("off_deg", [2.0, -2.0])
def test_a_course_held_badly_is_no_doubt(off_deg):
    """Flown off the course by less than one mark of a course selector."""
    place = PLACES[1]
    wrong = Place(place.latitude_deg, place.longitude_deg, place.outbound_true_deg + off_deg, place.variation_deg)
    assert debrief(Log(noise_m=1.0).of(FLOWN, wrong), Chart().at(place)).doubts == ()


@pytest.mark.parametrize(("off_deg", "side"), [(5.0, "right"), (-6.0, "left"), (9.0, "right")])
def test_courses_off_by_one_angle_throughout_are_said_beside_the_verdict(off_deg, side):
    """Whichever of the two it was, the chart's course or the pilot's, one angle takes the deviation of both legs away."""
    place = PLACES[1]
    wrong = Place(place.latitude_deg, place.longitude_deg, place.outbound_true_deg + off_deg, place.variation_deg)
    result = debrief(Log(noise_m=1.0).of(FLOWN, wrong), Chart().at(place))
    (doubt,) = result.doubts
    assert f"{abs(off_deg):.0f}° to the {side}" in doubt
    assert any(finding.verdict != "not assessed" for finding in result.approaches[0].findings)


@pytest.mark.parametrize(("off_nm", "said"), [(0.0, False), (0.15, False), (0.22, True), (0.3, True), (-0.4, True)])
@pytest.mark.parametrize("noise_m", [1.0, 10.0])
def test_a_straight_in_parallel_to_the_course_is_said_beside_the_verdict(off_nm, said, noise_m):
    """A needle shows the angle from the fix, and would run to full scale and back where such a line passes it."""
    flown = fly((Straight("inbound", 300.0),), start_nm=(off_nm, 7.0), heading_deg=180.0, speed_kt=140.0)
    doubts = debrief(Log(noise_m=noise_m).of(flown, PLACES[0]), Chart().at(PLACES[0])).doubts
    assert len(doubts) == said
    # to the right of the way out is to the left of the way in
    way = f"{abs(off_nm):.2f} NM to the {'left' if off_nm > 0.0 else 'right'} of it"
    assert all("parallel to the course" in doubt and way in doubt for doubt in doubts)


def test_somewhere_else_altogether_is_no_doubt_but_said():
    place = PLACES[0]
    result = debrief(flight(place), moved(place, latitude_deg=place.latitude_deg + 3.0))
    assert result.doubts == ()
    assert not result.approaches


def test_doubts_are_told_in_every_report():
    from analyzer.report.exports.markdown import debrief_markdown
    from analyzer.report.pages.debrief_page import debrief_page
    from analyzer.report.words.summary import summary_text

    place = PLACES[0]
    result = debrief(flight(place), moved(place, longitude_deg=-place.longitude_deg))
    said = "the sign of the longitude turned"
    assert result.to_dict()["doubts"] == list(result.doubts)
    assert said in " ".join(summary_text(result).split())
    assert said in debrief_page(result, [])
    assert said in debrief_markdown(result)
    assert np.all([len(line) <= 80 for line in summary_text(result).splitlines()])


@pytest.mark.parametrize("place", PLACES)
def test_the_outbound_leg_of_a_hold_in_a_strong_wind_is_no_arrival(place):
    """A direct entry at 130 kt, the wind 60° off the outbound course at 33 kt: the outbound leg is flown 30° off the course,
    begun before the fix is abeam, so that its line passes the fix a mile and a half aside."""
    wind = (60.0, 33.0)
    arrival, home = holding(190.0, 130.0, wind), holding(180.0, 130.0, wind)
    bank = standard_rate_bank(130.0)
    path = [Straight("arrival", 150.0), Turn("entry", 229.0 - arrival + 180.0, bank), Straight("outbound", 58.0)]
    path += [Turn("back", (home - 49.0) % 360.0, bank), Straight("inbound", 120.0)]
    at_fix = fly(path, (0.0, 0.0), arrival, 130.0, wind).begins["entry"]
    there = fly(path, (0.0, 0.0), arrival, 130.0, wind)
    start = tuple(-float(there.at(at_fix, along)) for along in (there.x_nm, there.y_nm))
    flown = fly(path, start, arrival, 130.0, wind)
    hold = {"kind": "hold", "turn": "right", "leg_time_s": 60.0}
    doubts = debrief(Log(noise_m=1.0).of(flown, place), Chart(None, None, reversal=hold).at(place)).doubts
    assert not any("meet" in doubt for doubt in doubts)


def over_its_fix(flown, name: str, course_deg: float) -> tuple[float, tuple[float, float]]:
    """Seconds of the cut that leads onto a course through where a leg begins, and the start that has it begin over the fix.

    `flown` makes the path of a cut and a start. How far aside it comes out grows evenly with the seconds.
    """
    course = np.radians(course_deg)

    def places(trial):
        return [float(trial.at(trial.begins[name], along)) for along in (trial.x_nm, trial.y_nm)]

    def beside_nm(cut_s):
        trial = flown(cut_s)
        x_nm, y_nm = places(trial)
        return (trial.x_nm[-1] - x_nm) * np.cos(course) - (trial.y_nm[-1] - y_nm) * np.sin(course)

    near, far = beside_nm(0.0), beside_nm(40.0)
    cut_s = -40.0 * near / (far - near)
    x_nm, y_nm = places(flown(cut_s))
    return cut_s, (-x_nm, -y_nm)


@pytest.mark.parametrize("place", PLACES)
def test_the_intercept_that_ends_a_parallel_entry_is_no_arrival(place):
    """In from 150° off the inbound course, out parallel for a minute, round, and at 45° back to the course before the fix."""
    bank = standard_rate_bank(150.0)

    def flown(cut_s, start=(0.0, 0.0)):
        path = [Straight("arrival", 150.0), Turn("entry", 30.0, bank), Straight("outbound", 60.0), Turn("back", 225.0, bank)]
        return fly([*path, Straight("cut", cut_s), Turn("join", -45.0, bank), Straight("inbound", 200.0)], start, -30.0, 150.0)

    cut_s, start = over_its_fix(flown, "entry", 180.0)
    hold = {"kind": "hold", "turn": "left", "leg_time_s": 60.0}
    track = Log(noise_m=1.0).of(flown(cut_s, start), place)
    assert debrief(track, Chart(None, None, reversal=hold).at(place)).doubts == ()


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("onto_deg", [2.0, 8.0])
def test_the_intercept_that_ends_a_teardrop_entry_is_no_arrival(place, onto_deg):
    """A teardrop from nearly its own track, with no turn between arrival and it; a mile aside, the way in is cut at 45°."""
    bank = standard_rate_bank(100.0)

    def flown(cut_s, start=(0.0, 0.0)):
        path = [Straight("arrival", 250.0), Turn("onto", onto_deg, bank), Straight("teardrop", 160.0)]
        path += [Turn("back", 165.0, bank), Straight("cut", cut_s), Turn("join", 45.0, bank), Straight("inbound", 150.0)]
        path += [Turn("away", 180.0, bank), Straight("out", 140.0), Turn("home", 180.0, bank), Straight("final", 500.0)]
        return fly(path, start, 330.0 - onto_deg, 100.0)

    cut_s, start = over_its_fix(flown, "onto", 180.0)
    assert cut_s > 40.0
    hold = {"kind": "hold", "turn": "right", "leg_time_s": 60.0}
    track = Log(noise_m=1.0).of(flown(cut_s, start), place)
    assert debrief(track, Chart(None, None, reversal=hold).at(place)).doubts == ()


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("onto_deg", [11.0, 14.0])
def test_the_intercept_that_ends_a_base_turn_is_no_arrival(place, onto_deg):
    """A base turn of 24° that is turned onto gently, so that no turn parts it from the arrival, and cuts the course at 30°."""
    bank = standard_rate_bank(100.0)

    def flown(cut_s, start=(0.0, 0.0)):
        path = [Straight("arrival", 270.0), Turn("onto", -onto_deg, 5.0), Straight("out", 130.0), Turn("back", 174.0, bank)]
        path += [Straight("cut", cut_s), Turn("join", 30.0, bank), Straight("inbound", 400.0)]
        return fly(path, start, onto_deg, 100.0)

    cut_s, start = over_its_fix(flown, "onto", 204.0)
    assert cut_s > 30.0
    inbound = (place.outbound_true_deg + 204.0 - place.variation_deg) % 360.0
    base_turn = {"kind": "base-turn", "turn": "right", "inbound_course_deg": inbound}
    track = Log(noise_m=1.0).of(flown(cut_s, start), place)
    assert debrief(track, Chart(None, None, reversal=base_turn).at(place)).doubts == ()


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("bend_deg", [10.0, -10.0])
def test_a_course_charted_to_bend_at_the_fix_says_nothing_of_the_course_to_it(place, bend_deg):
    """A parallel entry comes back straight to the fix, so that the only line along a course is the one beyond the fix.

    The course charted to a fix is that of the segment that leads to it (14 CFR 97.3); without it the line tells of a wrong one.
    """
    bank = standard_rate_bank(150.0)

    def flown(cut_s, start=(0.0, 0.0)):
        path = [Straight("arrival", 150.0), Turn("entry", 30.0, bank), Straight("outbound", 40.0), Turn("back", 225.0, bank)]
        path += [Straight("cut", cut_s), Turn("join", bend_deg - 45.0, bank), Straight("bent", 200.0)]
        return fly(path, start, -30.0, 150.0)

    cut_s, start = over_its_fix(flown, "entry", 180.0 + bend_deg)
    hold = {"kind": "hold", "turn": "left", "leg_time_s": 60.0}
    track = Log(noise_m=1.0).of(flown(cut_s, start), place)
    true = place.outbound_true_deg + 180.0
    for to_faf, doubted in (({"course_deg": (true + bend_deg - place.variation_deg) % 360.0}, False), ({}, True)):
        faf = {"name": "TARRO", "role": "final-approach-fix", "distance_nm": 5.0, **to_faf}
        chart = Chart(None, None, reversal=hold, tables={"fixes": [faf]})
        doubts = debrief(track, chart.at(place)).doubts
        assert any("same angle" in doubt for doubt in doubts) == doubted
