"""Whether a flight is possible: logs spoiled on purpose, each with its doubt and withdrawn verdicts; none about a sound one."""

from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY
from final_flights import NORTH_OUT, runway
from patterns import Pattern, fly_approach
from synthetic import FT, HERE, NM, START_S, Chart, Log, Place, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief
from analyzer.checks.overall import overall
from analyzer.doubts.gone_out import gone_out
from analyzer.legs.segments import straight_segments
from analyzer.report.exports.markdown import debrief_markdown
from analyzer.report.pages.debrief_page import debrief_page
from analyzer.report.words.summary import summary_text
from analyzer.track.repair import find_gaps
from analyzer.track.track import Track

FLOWN = fly_approach(Pattern(arrival_deg=40.0, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0)).flown
LEVELS = [(0.0, 3040.0), (150.0, 3040.0), (250.0, 2540.0), (460.0, 2540.0), (540.0, 1830.0), (2000.0, 1830.0)]
CHART = Chart(floors_ft={"arrival": 3000.0, "outbound": 2500.0, "reversal": 2500.0, "inbound": 1800.0, "final": 900.0})


def flight(*, noise_m: float = 1.0, altitude_ft=LEVELS, end_s: float = np.inf) -> Track:
    return Log(noise_m=noise_m, altitude_ft=altitude_ft, end_s=end_s).of(FLOWN, HERE)


def moved(track: Track, since_s: float, north_m: float, east_m: float) -> Track:
    """The same flight set aside from an instant on."""
    later = np.where(track.time_s >= track.time_s[0] + since_s, 1.0, 0.0)
    metre = 1.0 / 6_371_000.0
    east = east_m * metre / np.cos(track.latitude_rad)
    return replace(
        track, latitude_rad=track.latitude_rad + later * north_m * metre, longitude_rad=track.longitude_rad + later * east
    )


def verdicts(result) -> set[str]:
    return {finding.verdict for finding in result.approaches[0].findings}


@pytest.mark.parametrize("noise_m", [0.0, 1.0, 5.0, 15.0])
def test_a_sound_flight_raises_none(noise_m):
    result = debrief(flight(noise_m=noise_m), CHART.at(HERE))
    assert result.doubts == ()
    assert {"inside", "outside"} & verdicts(result)


@pytest.mark.parametrize("bearing_deg", [0.0, 90.0, 200.0, 300.0])
@pytest.mark.parametrize("noise_m", [0.0, 5.0])
def test_a_jump_of_three_hundred_metres_is_seen_wherever_it_leads(bearing_deg, noise_m):
    bearing = np.radians(bearing_deg)
    result = debrief(moved(flight(noise_m=noise_m), 200.0, 300.0 * np.cos(bearing), 300.0 * np.sin(bearing)), CHART.at(HERE))
    # straight back along its track it is where it was before
    assert any("position jumps" in doubt or "reloaded" in doubt for doubt in result.doubts)
    assert verdicts(result) == {"not assessed"}
    verdict, why = overall(result.approaches[0].findings, result.approaches[0].reversal)
    assert verdict == "not assessed"
    assert "jumps" in why


@pytest.mark.parametrize("speed_kt", [90.0, 110.0, 150.0, 180.0])
@pytest.mark.parametrize("pace", [0.25, 0.5, 2.0, 4.0])
def test_a_flight_and_its_log_at_another_pace_never_both_get_verdicts(speed_kt, pace):
    """Turns of 3° a second, or 25° of bank where that is less, as they are flown by AIM 5-3-8 j.2."""
    bank = min(np.degrees(np.arctan(speed_kt * NM / 3600.0 * np.radians(3.0) / 9.80665)), 25.0)
    flown = fly_approach(Pattern(arrival_deg=40.0, speed_kt=speed_kt, bank_deg=bank, roll_deg_s=5.0)).flown
    track = Log(noise_m=1.0, altitude_ft=3040.0).of(flown, HERE)
    chart = Chart().at(HERE)
    assert debrief(track, chart).doubts == ()
    other = debrief(replace(track, time_s=START_S + (track.time_s - START_S) / pace), chart)
    assert not other.approaches or verdicts(other) == {"not assessed"}
    assert any("bank" in doubt for doubt in other.doubts) or not other.approaches


def straight_in(pace: float = 1.0) -> Track:
    """Twelve miles along the inbound course to past the fix at 150 kt, recorded at some pace."""
    flown = fly((Straight("inbound", 290.0),), start_nm=(0.0, 10.0), heading_deg=180.0, speed_kt=150.0)
    track = Log(noise_m=1.0, altitude_ft=3040.0).of(flown, HERE)
    return replace(track, time_s=START_S + (track.time_s - START_S) / pace)


def test_without_a_turn_the_report_says_that_the_clock_cannot_be_checked():
    result = debrief(straight_in(), CHART.at(HERE))
    assert result.doubts == ()
    assert [approach.clock_shown for approach in result.approaches] == [False]
    for text in (summary_text(result), debrief_markdown(result), debrief_page(result, [[]])):
        assert "Clock: cannot be checked from this flight" in " ".join(text.split())
    turned = debrief(flight(), CHART.at(HERE))
    assert [approach.clock_shown for approach in turned.approaches] == [True]
    assert "Clock:" not in summary_text(turned)


def test_an_approach_at_three_hundred_knots_and_more_is_none():
    """Below 10,000 ft 250 kt are flown at most (14 CFR 91.117 (a)); 150 kt at three times the pace are 450 over the ground."""
    result = debrief(straight_in(pace=3.0), CHART.at(HERE))
    assert any("450 kt over the ground" in doubt for doubt in result.doubts)
    assert verdicts(result) == {"not assessed"}


@pytest.mark.parametrize("speed_kt", [45.0, 55.0, 65.0])
def test_a_slow_aircraft_turns_at_standard_rate_with_little_bank(speed_kt):
    """At 45 kt, 3° a second are 7° of bank: tan 7° = 23 m/s times 0.052/s over 9.81 m/s²."""
    flown = fly_approach(Pattern(arrival_deg=40.0, speed_kt=speed_kt, outbound_s=200.0)).flown
    place = Place(41.7, -38.8, 62.0, -11.0)  # of coordinates that are no degrees and minutes
    assert debrief(Log(noise_m=1.0, altitude_ft=3040.0).of(flown, place), Chart().at(place)).doubts == ()


@pytest.mark.parametrize(
    ("factor", "word"),
    [
        (1.0 / FT, "feet that were read as metres"),
        (FT, "metres that were read as feet"),
        (0.01, "hundreds of feet that were read as feet"),
        (0.1, "no unit that is known here"),
        (7.0, "no unit that is known here"),
    ],
)
def test_altitudes_of_another_unit_are_asked_about_and_not_judged(factor, word):
    track = flight()
    result = debrief(replace(track, altitude_m=track.altitude_m * factor), CHART.at(HERE))
    (doubt,) = result.doubts
    assert word in doubt
    floors = [finding for finding in result.approaches[0].findings if finding.check in ("altitude_floor", "descent_timing")]
    assert floors
    assert {finding.verdict for finding in floors} == {"not assessed"}
    assert "inside" in verdicts(result)  # courses and distances stand
    assert overall(result.approaches[0].findings, result.approaches[0].reversal)[0] != "inside"


@pytest.mark.parametrize("above_ft", [0.0, 300.0, 700.0])
def test_a_flight_above_its_minimums_is_in_the_unit_it_is_in(above_ft):
    levels = [(time, feet + above_ft) for time, feet in LEVELS]
    assert debrief(flight(altitude_ft=levels), CHART.at(HERE)).doubts == ()


def test_an_altitude_that_is_stuck_is_said_and_one_that_is_held_is_not():
    stuck = debrief(flight(altitude_ft=3043.7), CHART.at(HERE))
    (doubt,) = stuck.doubts
    assert "never changes" in doubt
    assert {f.verdict for f in stuck.approaches[0].findings if f.check == "altitude_floor"} == {"not assessed"}
    assert debrief(flight(altitude_ft=3040.0), CHART.at(HERE)).doubts == ()  # an autopilot's round altitude


def test_a_round_altitude_is_stuck_too_where_none_was_held_before():
    """A receiver's altitudes change from row to row; that they end at a round one is a chance of one in ten."""
    track = flight(altitude_ft=3040.0)
    scatter_m = np.random.default_rng(8).integers(-3, 4, len(track.time_s)) * FT
    half = np.arange(len(track.time_s)) < 150
    (doubt,) = debrief(replace(track, altitude_m=track.altitude_m + np.where(half, scatter_m, 0.0)), CHART.at(HERE)).doubts
    assert "never changes" in doubt


def test_a_log_that_begins_past_the_fix_says_so_and_judges_no_entry():
    track = flight()
    late = replace(
        track, **{name: getattr(track, name)[110:] for name in ("time_s", "latitude_rad", "longitude_rad", "altitude_m")}
    )
    result = debrief(late, CHART.at(HERE))
    (doubt,) = result.doubts
    assert "log begins" in doubt
    of_begin = [f for f in result.approaches[0].findings if f.check in ("hold_timing", "station_passage", "no_reversal")]
    assert {finding.verdict for finding in of_begin} <= {"not assessed"}


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8, 0.95])
def test_a_log_that_begins_in_the_turn_back_does_not_say_that_no_reversal_was_flown(share):
    """It does not hold what would show it: one was flown, and cut off the log."""
    approach = fly_approach(Pattern(arrival_deg=40.0, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0))
    begins_s, ends_s = approach.begin("reversal_turn"), approach.rolled_out_s
    track = flight()
    since = track.time_s >= track.time_s[0] + begins_s + share * (ends_s - begins_s)
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    result = debrief(replace(track, **{name: getattr(track, name)[since] for name in names}), CHART.at(HERE))
    (approached,) = result.approaches
    (finding,) = [one for one in approached.findings if one.check == "no_reversal"]
    assert finding.verdict == "not assessed"
    assert "the log begins" in str(finding.reason)
    text = " ".join(summary_text(result).split())
    assert "not flown" not in text
    assert "flown straight in" not in text


def test_a_survey_is_named_and_the_turns_between_its_lines_are_no_reversal():
    """Six lines half a mile apart, to and fro past the fix, at one height."""
    path: list[Straight | Turn] = [Straight("line 0", 200.0)]
    for number in range(5):
        side = (-1.0) ** number
        path += [Turn(f"off {number}", -45.0 * side, 20.0), Straight(f"wide {number}", 12.0)]
        path += [Turn(f"round {number}", 225.0 * side, 20.0), Straight(f"line {number + 1}", 200.0)]
    track = Log(noise_m=1.0, altitude_ft=3000.0).of(fly(path, (-1.0, -3.0), 0.0, 120.0, roll_deg_s=5.0), HERE)
    result = debrief(track, CHART.at(HERE))
    assert result.approaches == ()
    (doubt,) = result.doubts
    assert "parallel lines" in doubt
    assert "6 parallel" in doubt


@pytest.mark.parametrize(("height_ft", "stands"), [(12_000.0, True), (19_000.0, True), (24_000.0, False)])
def test_what_looks_like_an_approach_far_above_any_airport_is_taken_back(height_ft, stands):
    """The highest airports lie below 15,000 ft; the chart has no altitude here that would say more."""
    result = debrief(flight(altitude_ft=height_ft), Chart().at(HERE))
    assert bool({"inside", "outside"} & verdicts(result)) is stands
    assert any("en route" in doubt for doubt in result.doubts) is not stands


@pytest.mark.parametrize("share", [0.2, 0.4, 0.6])
def test_a_log_that_begins_in_the_turn_back_is_is_not_held_to_the_arrival(share):
    """What was flown at the reversal's 2,500 ft looks like an arrival below its 3,000 ft."""
    approach = fly_approach(Pattern(arrival_deg=40.0, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0))
    begins_s, ends_s = approach.begin("reversal_turn"), approach.rolled_out_s
    track = flight()
    since = track.time_s >= track.time_s[0] + begins_s + share * (ends_s - begins_s)
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    result = debrief(replace(track, **{name: getattr(track, name)[since] for name in names}), CHART.at(HERE))
    (doubt,) = result.doubts
    assert "begins" in doubt
    assert "in a turn" in doubt
    assert "outside" not in verdicts(result)
    assert "inside" in verdicts(result)  # what follows stands
    assert overall(result.approaches[0].findings, result.approaches[0].reversal)[0] != "inside"


def test_a_log_that_begins_before_the_fix_is_not_said_to_begin_on_the_way_out():
    """Out over the fix in one line with the arrival, and no reversal recognised: the log holds the beginning all the same."""
    straight_over = fly_approach(Pattern(arrival_deg=0.0, arrival_s=60.0, speed_kt=110.0, roll_deg_s=4.0, final_s=150.0)).flown
    motion = debrief(Log(noise_m=1.0, altitude_ft=3040.0).of(straight_over, HERE), CHART.at(HERE)).motion
    (doubt,) = gone_out(motion, (), straight_segments(motion))
    assert "goes out" in doubt.text
    assert "log begins" not in doubt.text
    assert doubt.text.endswith("Where you know better, name it with --flown.") == ("in between" in doubt.text)


@pytest.mark.parametrize(("north_nm", "east_nm"), [(1.0, 0.0), (0.0, 1.0), (-0.8, 0.8), (0.0, -1.2)])
def test_a_fix_typed_a_mile_off_is_said_with_the_way_to_where_the_lines_meet(north_nm, east_nm):
    """The lines flown meet at the fix as it is: the way that is named leads back to it."""
    latitude = HERE.latitude_deg + north_nm / 60.0
    longitude = HERE.longitude_deg + east_nm / 60.0 / np.cos(np.radians(HERE.latitude_deg))
    typed = Chart(fix={"latitude_deg": latitude, "longitude_deg": longitude})
    (doubt,) = debrief(flight(), typed.at(HERE)).doubts
    back = round(np.degrees(np.arctan2(-east_nm, -north_nm)) / 45.0) % 8
    way = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")[back]
    assert f"NM {way} of QRL" in doubt


@pytest.mark.parametrize("place", [HERE, Place(-34.0, 151.0, 200.0, 12.0), Place(52.0, 6.0, 73.0, 4.0)])
def test_a_fix_a_fifth_of_a_mile_off_is_what_a_pilot_may_miss_it_by(place):
    typed = Chart(fix={"latitude_deg": place.latitude_deg + 0.2 / 60.0})
    assert debrief(Log(noise_m=1.0, altitude_ft=LEVELS).of(FLOWN, place), typed.at(place)).doubts == ()


def test_courses_exchanged_are_said():
    outbound = (HERE.outbound_true_deg - HERE.variation_deg) % 360.0
    chart = Chart(reversal={"outbound_course_deg": (outbound + 180.0) % 360.0, "inbound_course_deg": outbound})
    assert any("exchanged" in doubt for doubt in debrief(flight(), chart.at(HERE)).doubts)


def test_degrees_and_minutes_written_as_decimals_are_asked_about():
    """48°35.1' written as 48.351, in log and chart alike: the flight comes out 0.6 times as long and as fast."""

    def written(degrees):
        whole = np.trunc(degrees)
        return whole + (degrees - whole) * 0.6

    place = Place(48.30, -24.40, 62.0, -11.0)
    flown = fly_approach(Pattern(arrival_deg=40.0, speed_kt=95.0)).flown  # 57 kt as written
    track = Log(noise_m=0.5, altitude_ft=3040.0).of(flown, place)
    spoiled = replace(
        track,
        latitude_rad=np.radians(written(np.degrees(track.latitude_rad))),
        longitude_rad=np.radians(written(np.degrees(track.longitude_rad))),
    )
    typed = Chart(fix={"latitude_deg": float(written(48.30)), "longitude_deg": float(written(-24.40))})
    assert any("degrees and minutes" in doubt for doubt in debrief(spoiled, typed.at(place)).doubts)
    assert debrief(track, Chart().at(place)).doubts == ()


def test_a_fix_that_was_converted_from_degrees_and_minutes_answers_the_question():
    """N48°12.4′ is 48.2066667: neither it nor the flight over it can be degrees and minutes read as decimals."""
    flown = fly_approach(Pattern(arrival_deg=40.0, speed_kt=57.0, outbound_s=200.0)).flown
    for latitude, asked in ((48.2066667, False), (48.2067, True)):
        place = Place(latitude, -24.40, 62.0, -11.0)
        doubts = debrief(Log(noise_m=0.5, altitude_ft=3040.0).of(flown, place), Chart().at(place)).doubts
        assert any("degrees and minutes" in doubt for doubt in doubts) is asked
        assert not any("steep" in doubt for doubt in doubts)  # it is level


def test_a_recorded_ground_speed_shows_that_positions_are_to_scale():
    """A slow aircraft in a place without decimals of 0.60 or more: 57 kt may be flown, or 95 kt that are read as 57."""
    place = Place(48.20, -24.40, 62.0, -11.0)
    flown = fly_approach(Pattern(arrival_deg=40.0, speed_kt=57.0, outbound_s=200.0)).flown
    track = Log(noise_m=0.5, altitude_ft=3040.0).of(flown, place)
    assert any("degrees and minutes" in doubt for doubt in debrief(track, Chart().at(place)).doubts)
    for share, asked in ((1.0, False), (1.0 / 0.6, True)):
        with_speed = replace(track, recorded={"ground_speed_mps": np.full(len(track.time_s), share * 57.0 * NM / 3600.0)})
        assert any("degrees and minutes" in doubt for doubt in debrief(with_speed, Chart().at(place)).doubts) is asked


@pytest.mark.parametrize(("step_s", "judged"), [(1.0, True), (5.0, True), (10.0, True), (30.0, False)])
def test_one_position_in_half_a_minute_shows_no_shape(step_s, judged):
    result = debrief(Log(noise_m=1.0, altitude_ft=LEVELS, step_s=step_s).of(FLOWN, HERE), CHART.at(HERE))
    assert (result.doubts == ()) is judged
    assert not result.approaches or (verdicts(result) != {"not assessed"}) is judged


def test_positions_to_a_hundredth_of_a_degree_show_no_shape():
    """A hundredth of a degree of latitude is 0.6 NM: each position is off by up to half of it."""
    track = flight()
    rounded = {name: np.radians(np.round(np.degrees(getattr(track, name)), 2)) for name in ("latitude_rad", "longitude_rad")}
    result = debrief(replace(track, **rounded), CHART.at(HERE))
    assert result.doubts
    assert not result.approaches or verdicts(result) == {"not assessed"}


def test_doubts_come_before_the_verdict_and_are_marked_in_the_pictures():
    from analyzer.report.pictures.page_pictures import draw_pictures
    from analyzer.report.pictures.subject import Subject

    sound, doubtful = (debrief(track, CHART.at(HERE)) for track in (flight(), moved(flight(), 200.0, 300.0, 0.0)))
    text = summary_text(doubtful)
    assert text.index("Check first:") < text.index("NOT ASSESSED")
    pictures = {
        result: {picture.name: picture for picture in draw_pictures(Subject(result, result.approaches[0]), "p")}
        for result in (sound, doubtful)
    }
    for name, word in (("plan", "Crosses"), ("strips", "Hatched")):
        assert word in pictures[doubtful][name].caption
        assert word not in pictures[sound][name].caption
    page = debrief_page(doubtful, [tuple(pictures[doubtful].values())])
    assert page.index("Check first:") < page.index("Not assessed:")


def over_the_fix_at(across_deg: float) -> list[Straight | Turn]:
    """Out, 45° off, round and towards the fix, but over it at an angle and straight on."""

    def path(back_s: float) -> list[Straight | Turn]:
        return [
            Straight("arrival", 90.0), Straight("outbound", 60.0), Turn("offset_turn", 45.0, 20.0),
            Straight("offset_leg", 60.0), Turn("reversal_turn", -225.0, 20.0), Straight("back", back_s),
            Turn("across", across_deg, 20.0), Straight("on", 400.0),
        ]  # fmt: skip

    def misses(back_s: float) -> float:
        flown = fly(path(back_s), (0.0, -3.0), 0.0, 120.0, roll_deg_s=5.0)
        course = np.radians(180.0 + across_deg)
        return float(flown.x_nm[-1] * np.cos(course) - flown.y_nm[-1] * np.sin(course))

    near, far = misses(20.0), misses(40.0)
    return path(20.0 - 20.0 * near / (far - near))


@pytest.mark.parametrize(("lost_ft", "doubted"), [(0.0, True), (900.0, False)])
def test_who_turns_away_soon_after_the_fix_may_not_have_been_on_an_approach_unless_descending(lost_ft, doubted):
    """At 30° over the fix, and 45° farther off half a minute later, as a missed approach may begin."""
    *towards, on = over_the_fix_at(30.0)
    straight = fly([*towards, on], (0.0, -3.0), 0.0, 120.0, roll_deg_s=5.0)
    begun_s = straight.begins["on"]
    home = straight.time_s > begun_s
    passed_s = float(straight.time_s[home][np.argmin(np.hypot(straight.x_nm, straight.y_nm)[home])])
    path = [*towards, Straight("on", passed_s - begun_s + 14.0), Turn("away", 60.0, 20.0), Straight("gone", 200.0)]
    flown = fly(path, (0.0, -3.0), 0.0, 120.0, roll_deg_s=5.0)
    heights = [(0.0, 3000.0), (250.0, 3000.0), (passed_s, 3000.0 - lost_ft), (5000.0, 3000.0 - lost_ft)]
    result = debrief(Log(noise_m=1.0, altitude_ft=heights).of(flown, HERE), Chart().at(HERE))
    assert [one.reversal.flown for one in result.approaches] == ["45/180"]
    assert result.approaches[0].reversal.established_s is None
    assert any("the inbound course was never flown" in doubt for doubt in result.doubts) == doubted


@pytest.mark.parametrize("across_deg", [55.0, 70.0])
def test_what_crosses_the_fix_far_off_the_inbound_course_and_goes_elsewhere_may_be_no_approach(across_deg):
    flown = fly(over_the_fix_at(across_deg), (0.0, -3.0), 0.0, 120.0, roll_deg_s=5.0)
    result = debrief(Log(noise_m=1.0, altitude_ft=3000.0).of(flown, HERE), Chart().at(HERE))
    assert [one.reversal.flown for one in result.approaches] == ["45/180"]
    assert any("the inbound course was never flown" in doubt for doubt in result.doubts)
    assert verdicts(result) == {"not assessed"}


def test_a_fix_that_was_passed_is_not_doubted_where_no_reversal_is_recognised():
    """Over the fix and out, an orbit, and back: what was flown is said, not that the fix may lie elsewhere."""
    path = fly_approach(Pattern(arrival_deg=0.0, arrival_s=60.0, speed_kt=110.0, roll_deg_s=4.0, final_s=150.0)).flown
    motion = debrief(Log(noise_m=1.0, altitude_ft=3040.0).of(path, HERE), CHART.at(HERE)).motion
    (seen,) = gone_out(motion, (), straight_segments(motion))
    assert "passes QRL at 10:01:00, goes out along the outbound course and comes back on the course" in seen.text
    assert "position" not in seen.text
    # with the fix a quarter of a mile aside, its position is a question
    aside = Chart(fix={"longitude_deg": HERE.longitude_deg + 0.25 / 60.0 / np.cos(np.radians(HERE.latitude_deg))})
    motion = debrief(Log(noise_m=1.0, altitude_ft=3040.0).of(path, HERE), aside.at(HERE)).motion
    (asked,) = gone_out(motion, (), straight_segments(motion))
    assert "is the position of QRL in the procedure file right?" in asked.text


@pytest.mark.parametrize("hole_s", [35.0, 50.0])
@pytest.mark.parametrize("off_s", [-20.0, -5.0, 10.0, 25.0])
def test_a_hole_in_a_turn_makes_no_jump_of_what_follows_it(hole_s, off_s):
    """Over the hole the mean velocity is that of another direction; the step after the next record is a long one, too."""
    flown = fly_approach(Pattern(arrival_deg=40.0, speed_kt=180.0, roll_deg_s=4.0, final_s=150.0)).flown
    begin = flown.begins["reversal_turn"] + off_s
    track = Log(noise_m=1.0).of(flown, HERE)
    since = track.time_s - track.time_s[0]
    silent = [(begin, begin + hole_s), (begin + hole_s + 3.0, begin + hole_s + 14.0)]
    heard = since % 3.0 < 0.5
    for left, back in silent:
        heard &= (since <= left) | (since >= back)
    new = {name: getattr(track, name)[heard] for name in ("time_s", "latitude_rad", "longitude_rad", "altitude_m")}
    result = debrief(replace(track, gaps=find_gaps(new["time_s"])[0], **new), CHART.at(HERE))
    assert not [doubt for doubt in result.doubts if "jumps" in doubt or "goes on by" in doubt]


def test_a_taxi_off_the_runway_tells_nothing_of_the_clock():
    """Straight in and off the runway at 15 kt, 90° in a minute: a turn on the ground takes no bank."""
    path = [Straight("in", 420.0), Straight("roll", 60.0, 15.0), Turn("off", 90.0, 1.0), Straight("taxi", 60.0)]
    way = fly(path, (0.0, 10.0), 180.0)
    heights = [(0.0, 2500.0), (300.0, 2000.0), (420.0, 550.0), (430.0, 505.0)]
    charted = Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables={"runway": runway(4.2)})
    result = debrief(replace(NOISY, altitude_ft=heights).of(way, NORTH_OUT), charted.at(NORTH_OUT))
    assert len(result.approaches) == 1
    assert result.doubts == ()


def test_one_turn_onto_the_course_at_half_standard_rate_is_no_clock_run_fast():
    """At 95 kt it takes 7° of bank; a whole reversal at that rate is more than a habit."""
    half_rate = standard_rate_bank(95.0, 1.5)
    onto = [Straight("base", 150.0), Turn("onto", 90.0, half_rate)]
    end = fly(onto, (0.0, 0.0), 90.0, 95.0)
    start = -float(end.x_nm[-1]), 9.0 - float(end.y_nm[-1])
    way = fly([*onto, Straight("in", 420.0)], start, 90.0, 95.0)
    charted = Chart(side=None, within_nm=None, reversal={"kind": "none"})
    result = debrief(NOISY.of(way, NORTH_OUT), charted.at(NORTH_OUT))
    assert len(result.approaches) == 1
    assert result.doubts == ()


@pytest.mark.parametrize("seconds", [2, 3, 4])
@pytest.mark.parametrize("noise_m", [0.0, 2.0])
def test_records_that_run_ahead_for_some_seconds_are_a_jump(seconds, noise_m):
    """Time accelerated for two records, or an aircraft moved along: its greatest airspeed would be several times its own."""
    track = flight(noise_m=noise_m)
    elapsed = track.time_s - track.time_s[0]
    extra = 3.0 * np.clip(elapsed - 150.0, 0.0, seconds)  # at four times the pace
    rows = np.interp(elapsed + extra, elapsed, np.arange(len(track)))
    skipped = {
        name: np.interp(rows, np.arange(len(track)), getattr(track, name))
        for name in ("latitude_rad", "longitude_rad", "altitude_m")
    }
    result = debrief(replace(track, **skipped), CHART.at(HERE))
    assert any("position jumps" in doubt for doubt in result.doubts)
    assert verdicts(result) == {"not assessed"}
