"""The published holds of a brief, lap by lap: entry, headings, times and lengths in the wind."""

import json
import math
from importlib import resources

import jsonschema
import pytest
from after_final import HOLD, briefed, charted
from synthetic import Straight, Turn, fly

from analyzer.physics.units import DEG
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.pages.brief_page import brief_page
from analyzer.report.words.brief_text import brief_text

SCHEMA = json.loads((resources.files("analyzer") / "report" / "brief.schema.json").read_text(encoding="utf-8"))
INBOUND_TRUE = 31.0 - 8.0
SPEED_KT = 100.0
G = 9.80665
KT_MPS = 1852.0 / 3600.0


def published(folder, inbound_deg: float, turn: str = "right", leg: str = "leg_time_s = 60", **more: object):
    """The sample with a hold over its reversal fix that belongs to no missed approach."""
    keys = "".join(f"{key} = {value}\n" for key, value in more.items())
    table = f'[[holds]]\nname = "WND"\nrole = "published"\ninbound_course_deg = {inbound_deg}\nturn = "{turn}"\n{leg}\n{keys}'
    return charted(folder, (HOLD, table), ('turn = "right"\nto = "WND"\n', ""))


def hold_of(made):
    (hold,) = brief_document(made)["holds"]
    return hold


def bank() -> float:
    """Of a turn of 3° a second at 100 kt. [rad]"""
    return math.atan(3.0 * DEG * SPEED_KT * KT_MPS / G)


def half_turn_s() -> float:
    """Seconds of a turn of 180° at 3° a second whose bank is rolled in and out at 5° a second."""
    roll_s = bank() / (5.0 * DEG)
    rolled = 2.0 * G / (SPEED_KT * KT_MPS) * -math.log(math.cos(bank())) / (5.0 * DEG)
    return 2.0 * roll_s + (math.pi - rolled) / (3.0 * DEG)


@pytest.mark.parametrize("turn", ["right", "left"])
def test_in_still_air_out_and_in_take_the_same_time(tmp_path, turn):
    hold = hold_of(briefed(published(tmp_path, 31.0, turn), arrival_deg=31.0))
    entry, lap = hold["laps"]
    for one in (entry, lap):
        assert one["inbound_s"] == pytest.approx(60.0, abs=0.06)
        assert one["outbound_s"] == pytest.approx(60.0, abs=0.06)
        assert one["outbound_wings_level_s"] == pytest.approx(60.0, abs=0.06)
        assert one["outbound_heading_deg_magnetic"] == pytest.approx(211.0, abs=0.06)
        assert (one["turn"], one["turn_back"], one["joined"]) == (turn, turn, "on the course")
    # the far end of a minute out and a turn: as far out as 100 kt makes in it, and a turn's diameter aside
    diameter = 2.0 * SPEED_KT / 3600.0 / (3.0 * DEG)
    assert lap["outbound_end_nm"] == pytest.approx(math.hypot(SPEED_KT / 60.0, diameter), abs=0.06)


@pytest.mark.parametrize("along_kt", [20.0, -20.0, 10.0, -35.0])
def test_along_the_course_the_times_come_in_closed_form(tmp_path, along_kt):
    """A wind along the course, from ahead inbound positive, carries both turns outbound; what goes out comes back in 60 s."""
    from_deg = INBOUND_TRUE if along_kt > 0.0 else INBOUND_TRUE + 180.0
    made = briefed(published(tmp_path, 31.0), arrival_deg=31.0, winds=[f"{from_deg}/{abs(along_kt)}"])
    _, lap = hold_of(made)["laps"]
    carried = 2.0 * half_turn_s() * along_kt
    outbound_s = ((SPEED_KT - along_kt) * 60.0 - carried) / (SPEED_KT + along_kt)
    assert lap["outbound_wings_level_s"] == pytest.approx(outbound_s, abs=0.1)
    assert lap["inbound_s"] == pytest.approx(60.0, abs=0.06)
    assert lap["outbound_heading_deg_magnetic"] == pytest.approx(211.0, abs=0.06)
    # a headwind inbound is behind outbound: abeam is passed before the wings are level
    assert (lap["outbound_s"] > lap["outbound_wings_level_s"]) == (along_kt > 0.0)


@pytest.mark.parametrize("wind", [(270.0, 20.0), (113.0, 25.0), (340.0, 15.0)])
@pytest.mark.parametrize("turn", ["right", "left"])
def test_flown_by_its_numbers_a_lap_comes_back_to_the_fix(tmp_path, wind, turn):
    """By the simulation of the tests, in a plane whose y axis is the outbound course of the hold."""
    made = briefed(published(tmp_path, 31.0, turn), arrival_deg=31.0, winds=[f"{wind[0]:g}/{wind[1]:g}"])
    _, lap = hold_of(made)["laps"]
    out = INBOUND_TRUE + 180.0
    sign = 1.0 if turn == "right" else -1.0
    home = lap["inbound_heading_deg_magnetic"] - 8.0 - out
    away = lap["outbound_heading_deg_magnetic"] - 8.0 - out
    level = math.degrees(bank())
    flown = fly(
        [
            Turn("away", sign * ((sign * (away - home)) % 360.0), level),
            Straight("out", lap["outbound_wings_level_s"]),
            Turn("back", sign * ((sign * (home - away)) % 360.0), level),
            Straight("in", lap["inbound_s"]),
        ],
        heading_deg=home,
        speed_kt=SPEED_KT,
        wind=(wind[0] - out, wind[1]),
        roll_deg_s=5.0,
    )
    assert math.hypot(flown.x_nm[-1], flown.y_nm[-1]) < 0.02
    inbound = flown.x_nm[flown.time_s > flown.begins["in"]]
    assert abs(inbound).max() < 0.02  # on its course all the way
    # the sine of the drift is the crosswind over the airspeed
    crosswind = wind[1] * math.sin((wind[0] - INBOUND_TRUE) * DEG)
    assert (home + 180.0 + 180.0) % 360.0 - 180.0 == pytest.approx(math.degrees(math.asin(crosswind / SPEED_KT)), abs=0.1)


@pytest.mark.parametrize(
    ("heading", "entry"),
    # ICAO Doc 8168 Vol I, I-6-1: inbound 010, right turns, as examination pages quote it: 030 direct, teardrop 120 to 190,
    # parallel 190 to 300, direct 300 to 120
    [
        (30, "direct"),
        (122, "teardrop"),
        (155, "teardrop"),
        (188, "teardrop"),
        (192, "parallel"),
        (298, "parallel"),
        (305, "direct"),
    ],
)
def test_the_entry_is_that_of_the_sector(tmp_path, heading, entry):
    made = briefed(published(tmp_path, 10.0), arrival_deg=float(heading))
    hold = hold_of(made)
    assert hold["entry"] == entry
    assert f"calls for a {entry} entry" in brief_text(made).replace("\n", " ")
    assert hold["entry_heading_deg_magnetic"] == pytest.approx(heading, abs=0.06)  # still air


@pytest.mark.parametrize(("heading", "entry", "first"), [(155.0, "teardrop", 160.0), (250.0, "parallel", 190.0)])
def test_the_leg_of_a_teardrop_or_parallel_entry_is_timed_from_over_the_fix(tmp_path, heading, entry, first):
    """AIM 5-3-8 j.3: a teardrop is 30° into the hold, a parallel entry on the outbound heading; and j.4: a minute."""
    lap, further = hold_of(briefed(published(tmp_path, 10.0), arrival_deg=heading))["laps"]
    assert lap["timed_from"] == "over the fix"
    assert lap["outbound_s"] == pytest.approx(60.0, abs=0.06)
    assert lap["outbound_wings_level_s"] < 60.0 - abs(math.remainder(first - heading, 360.0)) / 3.0 + 0.1  # the turn counts
    assert lap["outbound_heading_deg_magnetic"] == pytest.approx(first, abs=0.06)
    if entry == "parallel":  # back across the course at 45°: 190° and the turn of more than a half to the left
        assert lap["turn_back_heading_deg_magnetic"] == pytest.approx(10.0 - 45.0 + 360.0, abs=0.06)
    assert lap["inbound_heading_deg_magnetic"] == pytest.approx(10.0, abs=0.06)
    assert lap["turn_back"] == {"teardrop": "right", "parallel": "left"}[entry]
    assert further["timed_from"] == "abeam the fix"


def test_every_lap_ends_over_the_fix(tmp_path):
    for arrival in (30.0, 155.0, 250.0):
        made = briefed(published(tmp_path, 10.0), arrival_deg=arrival, winds=["300/25"])
        for lap in made.holds[0].laps:
            assert math.hypot(lap.path.north_m[-1], lap.path.east_m[-1]) < 2.0, (arrival, lap.number)


def test_where_the_arrival_is_not_known_every_entry_is_said_with_its_headings(tmp_path):
    made = briefed(published(tmp_path, 10.0))
    hold = hold_of(made)
    assert (hold["entry"], hold["arrival_course_deg_magnetic"]) == (None, None)
    assert [lap["lap"] for lap in hold["laps"]] == [2]
    said = " ".join(brief_text(made).split())
    assert "teardrop 120° to 190°, parallel 190° to 300°, direct 300° to 120°" in said
    left = " ".join(brief_text(briefed(published(tmp_path, 10.0, "left"))).split())
    # mirrored in the inbound course
    assert "teardrop 190° to 260°, parallel 080° to 190°, direct 260° to 080°" in left


def test_a_leg_by_length_ends_at_its_length(tmp_path):
    chart = published(tmp_path, 31.0, leg='leg_length_nm = 4\nleg_by = "along-track"')
    _, lap = hold_of(briefed(chart, arrival_deg=31.0))["laps"]
    assert lap["outbound_s"] == pytest.approx(4.0 / SPEED_KT * 3600.0, abs=0.2)
    assert lap["inbound_s"] == pytest.approx(4.0 / SPEED_KT * 3600.0, abs=0.2)
    _, in_wind = hold_of(briefed(chart, arrival_deg=31.0, winds=["23/20"]))["laps"]
    # against the wind 4 NM less what the turn back is carried
    assert in_wind["inbound_s"] == pytest.approx((4.0 + half_turn_s() / 3600.0 * 20.0) / 80.0 * 3600.0, abs=0.5)


@pytest.mark.parametrize(
    ("more", "altitude_ft", "maximum_kt", "source"),
    # AIM 5-3-8 j.2: 200 KIAS up to 6,000 ft, 230 to 14,000, 265 above; a charted speed wins
    [
        ({}, 5000, 200.0, "AIM 5-3-8 j.2"),
        ({}, 6000, 200.0, "AIM 5-3-8 j.2"),
        ({}, 7000, 230.0, "AIM 5-3-8 j.2"),
        ({}, 15000, 265.0, "AIM 5-3-8 j.2"),
        ({"maximum_speed_kias": 175}, 5000, 175.0, "charted"),
    ],
)
def test_the_greatest_speed(tmp_path, more, altitude_ft, maximum_kt, source):
    hold = hold_of(briefed(published(tmp_path, 31.0, minimum_ft=altitude_ft, **more)))
    assert (hold["maximum_speed_kias"], hold["maximum_speed_source"]) == (maximum_kt, source)
    assert hold["altitude_ft"] == altitude_ft


def test_above_14_000_ft_a_leg_of_no_charted_time_takes_a_minute_and_a_half(tmp_path):
    """AIM 5-3-8 j.4."""
    high, low = (hold_of(briefed(published(tmp_path, 31.0, leg="", minimum_ft=feet))) for feet in (15_000, 14_000))
    assert high["laps"][0]["inbound_s"] == pytest.approx(90.0, abs=0.1)
    assert low["laps"][0]["inbound_s"] == pytest.approx(60.0, abs=0.1)


def test_too_fast_for_the_hold_is_said(tmp_path):
    chart = published(tmp_path, 31.0, maximum_speed_kias=90)
    said = briefed(chart, speeds=["100"], true_speeds=[]).cautions
    assert "The hold at WND: 100 kt indicated is faster than the 90 kt charted." in said
    assert not any("The hold" in caution for caution in briefed(chart, speeds=["85"], true_speeds=[]).cautions)


def test_a_speed_for_the_hold_alone(tmp_path):
    hold = hold_of(briefed(published(tmp_path, 31.0), true_speeds=["100", "hold=90"]))
    assert hold["true_airspeed_kt"] == 90.0


def test_a_wind_that_no_lap_can_be_flown_in_is_said_and_the_rest_is_briefed(tmp_path):
    # 35 kt on the nose inbound: both turns are carried farther out than 60 s at 65 kt come back, so that no leg is left
    assert 2.0 * half_turn_s() * 35.0 > 60.0 * (SPEED_KT - 35.0)
    refused = briefed(published(tmp_path, 31.0), winds=[f"{INBOUND_TRUE:g}/35"], arrival_deg=31.0)
    assert hold_of(refused)["laps"] == []
    assert hold_of(refused)["refused"]
    assert any(caution.startswith("The hold at WND has no laps to brief: ") for caution in refused.cautions)
    assert brief_document(refused)["parts"]


def test_an_entry_that_comes_back_too_late_returns_direct_to_the_fix(tmp_path):
    """Parallel into 20 kt: the minute makes little good against it, and the turn back is carried on toward the fix."""
    made = briefed(published(tmp_path, 31.0), winds=["200/20"], arrival_deg=283.0)
    lap = made.holds[0].laps[0]
    assert (made.holds[0].numbers.entry, lap.joined) == ("parallel", "direct to the fix")
    assert math.hypot(lap.path.north_m[-1], lap.path.east_m[-1]) < 2.0
    assert any("the plan returns direct to it" in caution for caution in made.cautions)
    assert "returns direct to the fix" in " ".join(brief_text(made).split())


def test_a_hold_for_other_categories_is_left_out(tmp_path):
    assert briefed(published(tmp_path, 31.0, category='"C-D"')).holds == ()  # the sample is flown in category B
    assert len(briefed(published(tmp_path, 31.0, category='"A-B"')).holds) == 1


@pytest.mark.parametrize("winds", [[], ["270/20"]])
def test_card_page_and_json_say_the_same(winds):
    made = briefed(winds=winds)
    document = brief_document(made)
    jsonschema.validate(document, SCHEMA)
    text, page = brief_text(made), brief_page(made)
    assert max(map(len, text.splitlines())) <= 80
    lap = hold_of(made)["laps"][1]
    row = next(line for line in text.splitlines() if line.startswith("2 and on")).split()[3:]
    away, back = (f"{round(lap[f'{way}_heading_deg_magnetic']):03d}°" for way in ("outbound", "inbound"))
    assert [*row[:3], *row[5:8]] == ["R", away, "abeam", "R", back, back]
    for said, exact, half in ((row[3], "outbound_s", 0.56), (row[4], "outbound_end_nm", 0.056), (row[8], "inbound_s", 0.56)):
        assert float(said) == pytest.approx(lap[exact], abs=half)
    assert "\nHold at WND\n" in text
    assert "at most 200 kt (AIM 5-3-8 j.2)" in page
    assert ">2 and on<" in page
