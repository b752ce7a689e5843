"""The missed approach of a brief: where it begins, its climb, its first turn, and where it leads."""

import json
import math
import re
from html.parser import HTMLParser
from importlib import resources

import jsonschema
import numpy as np
import pytest
from after_final import HOLD, SAMPLE, briefed, charted
from printed import read_pdf

from analyzer.brief.brief_file import read_card
from analyzer.debriefs.plan import debrief_of_plan
from analyzer.errors import BriefError
from analyzer.library.debrief import debrief
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, KT, NM
from analyzer.procedure.read import read_procedure
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.exports.json_text import brief_json_text
from analyzer.report.pages.brief_page import brief_page
from analyzer.report.paper.knee_card import knee_card
from analyzer.report.paper.sizes import A5
from analyzer.report.words.brief_text import brief_text

WND = (48.35, -24.70)
SCHEMA = json.loads((resources.files("analyzer") / "report" / "brief.schema.json").read_text(encoding="utf-8"))
# low enough over WND and TARRO for the path to be met beyond them
LOW = (("inbound_ft = 1800", "inbound_ft = 1400"), ("minimum_ft = 1400", "minimum_ft = 1100"))
WINDS = [[], ["270/20"], ["150/25"], ["053/15"]]
POINT = """[[fixes]]
name = "MAPAR"
role = "missed-approach-point"
distance_nm = 3.8                   # half a mile before the threshold
"""
TO = 'to = "WND"\n'


def apart_m(place, latitude_deg, longitude_deg) -> float:
    return float(geodesy.inverse(place[0] * DEG, place[1] * DEG, latitude_deg * DEG, longitude_deg * DEG)[0])


@pytest.mark.parametrize("winds", WINDS)
def test_without_a_rate_the_climb_is_200_ft_a_mile_over_the_ground(winds):
    """AIM 5-4-21 b: from 640 to 1,200 ft that is 2.8 NM in any wind, and as many seconds as the ground speed makes of it."""
    missed = briefed(missed=True, winds=winds).missed
    assert missed.turn.altitude_m / FT == pytest.approx(1200.0, abs=0.5)
    assert missed.turn.length_m / NM == pytest.approx(2.8, abs=0.001)
    straight = missed.parts[0]
    assert straight.seconds == pytest.approx(2.8 * NM / straight.ground_speed_mps, rel=1e-6)
    assert "assumed" in missed.climb.words


@pytest.mark.parametrize("winds", WINDS)
def test_a_rate_of_climb_that_is_given_is_flown(winds):
    missed = briefed(missed=True, winds=winds, climb_fpm=700.0).missed
    assert missed.turn.seconds == pytest.approx((1200.0 - 640.0) / 700.0 * 60.0, abs=0.01)
    assert missed.levelled_s == pytest.approx((3000.0 - 640.0) / 700.0 * 60.0, abs=0.6)  # nodes are half a second apart
    assert missed.altitude_m.max() / FT == pytest.approx(3000.0, abs=0.01)


@pytest.mark.parametrize("winds", WINDS)
def test_the_turn_does_not_begin_before_its_altitude_nor_before_the_point(winds):
    made = briefed(missed=True, winds=winds, climb_fpm=500.0)
    missed = made.missed
    turning = np.flatnonzero(np.abs(np.diff(np.unwrap(missed.path.heading_rad))) > 1e-6)
    assert missed.altitude_m[turning[0]] / FT >= 1200.0 - 0.5
    # until then it stays on the final course, 233° true, from MAPAR, 3.8 NM from WND
    first = slice(0, turning[0])
    across = missed.path.across_m(233.0 * DEG)[first]
    along = missed.path.north_m * math.cos(233.0 * DEG) + missed.path.east_m * math.sin(233.0 * DEG)
    assert np.abs(across).max() < 20.0
    assert along[0] / NM == pytest.approx(3.8, abs=0.01)
    assert missed.altitude_m[0] / FT == pytest.approx(640.0, abs=0.01)


@pytest.mark.parametrize("winds", WINDS)
def test_it_ends_over_the_fix_of_its_hold_and_so_does_the_path(winds):
    made = briefed(missed=True, winds=winds)
    assert math.hypot(made.missed.path.north_m[-1], made.missed.path.east_m[-1]) < 1.0
    document = brief_document(made)
    place = document["path"]["latitude_deg"][-1], document["path"]["longitude_deg"][-1]
    assert apart_m(WND, *place) < 60.0  # a second of flight
    assert document["path"]["altitude_ft"][-1] == pytest.approx(document["missed"]["end_altitude_ft"], abs=6.0)


@pytest.mark.parametrize("winds", [["270/20"], ["150/25"], ["010/30"]])
@pytest.mark.parametrize("turn", ["right", "left"])
def test_headings_hold_their_courses_in_the_wind(tmp_path, winds, turn):
    """Sine rule of the wind triangle: the sine of the correction is the crosswind over the airspeed, at 100 kt."""
    chart = charted(tmp_path, ('turn = "right"\n' + TO, f'turn = "{turn}"\n' + TO))
    missed = briefed(chart, missed=True, winds=winds).missed
    from_deg, wind_kt = (float(word) for word in winds[0].split("/"))
    for part in (missed.parts[0], missed.parts[-1]):
        correction = math.asin(wind_kt / 100.0 * math.sin(from_deg * DEG - part.course_rad))
        assert math.remainder(part.heading_rad - part.course_rad - correction, math.tau) == pytest.approx(0.0, abs=1e-6)
    assert missed.parts[1].turn == {"right": 1, "left": -1}[turn]


def test_in_still_air_the_turn_comes_out_on_a_tangent_to_its_circle():
    """A circle of V/ω that begins 2.8 NM beyond MAPAR, but for the half seconds that the bank is rolled in and out in."""
    missed = briefed(missed=True).missed
    rate, speed = 3.0 * DEG, 100.0 * KT
    radius, x = speed / rate / NM, 6.6  # along the final course from WND
    # both tangents from WND make the same angle with the way to the circle's centre: one is the course, one the way back
    sweep = math.pi + 2.0 * math.atan(radius / x)
    turned = float(np.unwrap(missed.path.heading_rad)[-1]) - 233.0 * DEG
    assert turned == pytest.approx(sweep, abs=0.5 * DEG)
    seconds = missed.parts[1].seconds
    assert seconds == pytest.approx(sweep / rate + missed.parts[1].bank_rad / (5.0 * DEG), abs=0.5)


def test_a_decision_altitude_is_left_where_the_descent_comes_down_to_it(tmp_path):
    glide = "[glide_path]\nangle_deg = 3.0\nthreshold_crossing_height_ft = 50\n\n[runway]"
    chart = charted(tmp_path, ('kind = "mda"\naltitude_ft = 640', 'kind = "da"\naltitude_ft = 340'), ("[runway]", glide), *LOW)
    missed = briefed(chart, missed=True).missed
    assert missed.begins.where == "the decision altitude"
    assert missed.begins.altitude_m / FT == pytest.approx(340.0, abs=0.5)
    # 250 ft above where a path of 3° crosses the threshold, which is 4.3 NM from WND
    to_go = 250.0 * FT / math.tan(3.0 * DEG) / NM
    assert math.hypot(missed.begins.north_m, missed.begins.east_m) / NM == pytest.approx(4.3 - to_go, abs=0.01)


@pytest.mark.parametrize(("winds", "ground_speed_kt"), [([], 100.0), (["233/20"], 80.0), (["053/20"], 120.0)])
def test_a_timed_one_begins_after_its_time_in_proportion_to_the_ground_speed(tmp_path, winds, ground_speed_kt):
    chart = charted(tmp_path, (POINT, ""), ("[missed_approach] ", "[missed_approach]\ntime_s = 144\ntime_at_kt = 90 "))
    missed = briefed(chart, missed=True, winds=winds).missed
    seconds = 144.0 * 90.0 / ground_speed_kt
    assert missed.begins.where == f"{seconds:.0f} s after WND"
    # the same distance, 3.6 NM, at any ground speed
    assert math.hypot(missed.begins.north_m, missed.begins.east_m) / NM == pytest.approx(3.6, abs=0.02)


def test_a_time_that_goes_beyond_the_threshold_is_flown_on(tmp_path):
    chart = charted(tmp_path, (POINT, ""), ("[missed_approach] ", "[missed_approach]\ntime_s = 200\ntime_at_kt = 90 "))
    made = briefed(chart, missed=True)
    assert math.hypot(made.missed.begins.north_m, made.missed.begins.east_m) / NM == pytest.approx(5.0, abs=0.02)
    assert sum(part.length_m for part in made.parts if part.leg == "final") / NM == pytest.approx(5.0, abs=0.02)


def test_a_course_that_is_charted_is_flown_until_the_altitude_and_then_direct_to_the_hold(tmp_path):
    chart = charted(tmp_path, (TO, "course_deg = 331\n"))  # off to the northwest, not toward WND
    missed = briefed(chart, missed=True, climb_fpm=600.0).missed
    ahead, turn, on, back, home = missed.parts
    assert math.remainder(on.course_rad - 323.0 * DEG, math.tau) == pytest.approx(0.0, abs=1e-6)
    assert math.remainder(turn.heading_rad - 323.0 * DEG, math.tau) == pytest.approx(0.0, abs=1e-6)
    assert on.altitude_end_m / FT == pytest.approx(3000.0, abs=1.0)
    assert (ahead.turn, turn.turn, back.turn, home.turn) == (None, 1, 1, None)
    assert math.hypot(missed.path.north_m[-1], missed.path.east_m[-1]) < 1.0


def test_a_course_that_leads_to_the_hold_is_left_for_its_fix_at_once(tmp_path):
    chart = charted(tmp_path, (TO, "course_deg = 66\n"))
    missed = briefed(chart, missed=True).missed
    assert [part.turn is None for part in missed.parts] == [True, False, False, True]
    assert missed.hold.name == "WND"


def test_straight_ahead_with_no_turn_and_no_hold_it_ends_at_its_altitude(tmp_path):
    chart = charted(tmp_path, ('turn = "right"\nto = "WND"\n', ""), (HOLD, ""))
    missed = briefed(chart, missed=True, climb_fpm=500.0).missed
    assert len(missed.parts) == 1
    assert missed.turn is None
    assert missed.path.time_s[-1] == pytest.approx((3000.0 - 640.0) / 500.0 * 60.0, abs=0.1)
    assert missed.altitude_m[-1] / FT == pytest.approx(3000.0, abs=0.01)


def test_an_altitude_that_is_not_reached_is_said():
    slow, fast = briefed(missed=True, climb_fpm=200.0), briefed(missed=True, climb_fpm=900.0)
    assert any("short of its 3,000 ft" in caution for caution in slow.cautions)
    assert not any("short of" in caution for caution in fast.cautions)


def test_without_a_charted_missed_approach_it_is_refused(tmp_path):
    text = SAMPLE.read_text(encoding="utf-8")
    table = text[text.index("[missed_approach]") : text.index("[[holds]]")]
    with pytest.raises(BriefError, match=r"charts no missed approach; leave it out, or chart a \[missed_approach\]"):
        briefed(charted(tmp_path, (table, "")), missed=True)


@pytest.mark.parametrize("winds", WINDS)
def test_flown_as_planned_it_is_judged_inside(winds):
    """The planned path as a log, with the checks of a debrief: begun at its point, turned the right way, held as entered."""
    made = briefed(missed=True, winds=winds, climb_fpm=600.0)
    flown = debrief_of_plan(made)
    (approach,) = flown.approaches
    judged = {finding.check: finding for finding in approach.findings}
    for check in ("missed_point", "missed_turn"):
        assert judged[check].verdict == "inside", judged[check].sentence
    # turned at the very altitude, which no log can tell from a little below it
    assert judged["missed_climb"].verdict in ("inside", "too close to call")
    assert not [finding.sentence for finding in approach.findings if finding.verdict == "outside"]
    (hold,) = flown.holds
    assert not [f.sentence for a in hold.approaches for f in a.findings if f.verdict == "outside"]
    (timed,) = [f for a in hold.approaches for f in a.findings if f.check == "hold_timing" and f.lap == 2]
    assert timed.measured == pytest.approx(60.0, abs=4.0)


def test_without_it_nothing_of_it_is_there_but_the_numbers_of_the_hold():
    plain, gone = briefed(), briefed(missed=True)
    one, other = brief_document(plain), brief_document(gone)
    assert one["missed"] is None
    assert {part["leg"] for part in one["parts"]} == {"outbound", "reversal", "inbound", "final"}
    assert one["holds"] == other["holds"]
    groups = {number["group"] for number in other["numbers"]} - {number["group"] for number in one["numbers"]}
    assert groups == {"missed approach"}
    assert one["segments"] == other["segments"]
    assert "missed approach  heading" not in brief_text(plain)


def test_the_parts_end_with_it_and_the_final_is_cut_at_the_point():
    document = brief_document(briefed(missed=True))
    legs = [part["leg"] for part in document["parts"]]
    assert legs[-4:] == ["final", "missed", "missed", "missed"]
    final = [part for part in document["parts"] if part["leg"] == "final"]
    assert sum(part["length_nm"] for part in final) == pytest.approx(3.8, abs=0.03)
    assert final[-1]["altitude_end_ft"] == 640.0
    assert all(part["duration_s"] > 0.0 for part in document["parts"])
    missed = [part for part in document["parts"] if part["leg"] == "missed"]
    assert sum(part["duration_s"] for part in missed) == pytest.approx(document["missed"]["end_s"], abs=0.3)
    assert all(part["descent_fpm"] < 0.0 for part in missed)


@pytest.mark.parametrize("winds", WINDS)
def test_card_page_json_and_paper_say_the_same_of_it(winds):
    made = briefed(missed=True, winds=winds)
    document = json.loads(brief_json_text(made))
    jsonschema.validate(document, SCHEMA)
    text, turn = brief_text(made), document["missed"]["first_turn"]
    assert max(map(len, text.splitlines())) <= 80
    assert "AIM 5-4-21 b" in text
    row = next(line for line in text.splitlines() if line.startswith("turn "))
    assert re.search(rf"R {round(turn['heading_deg_magnetic']):03d}°", row)
    ahead = next(line for line in text.splitlines() if line.startswith("straight ahead"))
    assert ahead.split()[-4:] == [f"{turn['begins_s']:.0f}", "2.8", "640-1200", ahead.split()[-1]]
    page = Words()
    page.feed(brief_page(made))
    for cell in ("straight ahead", "to WND", "2 and on", "first turn 1,200 ft", "lap 1", "lap 2", "missed"):
        assert any(cell in word for word in page.texts), cell
    card = read_pdf(knee_card(made, A5))
    front = card.sheets[0].text
    assert "Missed approach at MAPAR: climb on the final course to 1200 ft, then turn right direct to WND" in front
    assert "Overleaf" not in front  # all that is flown stands there, the missed approach and the hold among it
    # the first turn and where the missed approach ends, and each lap
    assert re.search(rf"R {round(turn['heading_deg_magnetic']):03d}° \d:\d\d to \d+", front)
    assert re.search(rf"\d{{3}}° \d:\d\d to {document['missed']['end_altitude_ft']:.0f}", front)
    assert re.search(r"1, \w+ entry: [RL] \d{3}° \d:\d\d from", front)
    assert re.search(r"2 and on: [RL] \d{3}° \d:\d\d from", front)


class Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []

    def handle_data(self, data) -> None:
        self.texts.append(data)


def test_a_flight_that_went_around_is_laid_against_it(tmp_path):
    made = briefed(missed=True, winds=["239/14"])
    path = tmp_path / "brief.json"
    path.write_text(brief_json_text(made), encoding="utf-8")
    flown = debrief(debrief_of_plan(made).motion.track, read_procedure(SAMPLE), card=read_card(path))
    (against,) = [approach.comparison for approach in flown.approaches]
    missed = next(part for part in against.parts if part.part == "missed")
    assert missed.briefed is not None
    assert missed.flown is not None
    assert missed.flown.part.duration_s == pytest.approx(missed.briefed.duration_s, abs=5.0)
    assert against.caution is None
