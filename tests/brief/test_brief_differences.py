"""What was different from the brief: each difference with its error, from flights whose difference is known beforehand."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from briefed import OUT_MAGNETIC, briefed, turn_chart, wind_text

from analyzer.brief.brief_file import read_card
from analyzer.brief.chances import Errors
from analyzer.brief.planned_track import planned_track
from analyzer.library.debrief import debrief
from analyzer.physics.units import bearing_text
from analyzer.report.exports.json_text import brief_json_text
from analyzer.report.pages.debrief_page import debrief_page
from analyzer.report.pictures.page_pictures import draw_debrief
from analyzer.report.words.against_brief import (
    against_brief_headings,
    against_brief_note,
    against_brief_rows,
    against_brief_sentences,
)
from analyzer.report.words.brief_text import part_rows

FEW = Errors(flights=10)
DOWN = {"outbound": 3000.0, "reversal": 2400.0, "inbound": 1800.0}


def against(tmp_path, plan, flown, change=lambda track: track, chart=None):
    """The debrief of one brief's path against another brief, and its approach in the JSON."""
    made = briefed(chart or turn_chart(), errors=FEW, **plan)
    card = tmp_path / "card.json"
    card.write_text(brief_json_text(made), encoding="utf-8")
    other = briefed(chart or turn_chart(), errors=FEW, **flown)
    result = debrief(change(planned_track(other.plan)), made.charted.procedure, card=read_card(card))
    (approach,) = result.to_dict()["reversals"]
    return result, approach


def found(approach):
    return {(one["part"], one["quantity"]): one for one in approach["against_brief"]["differences"]}


def test_a_flight_of_the_brief_itself_differs_in_nothing_that_matters(tmp_path):
    _, approach = against(tmp_path, {"winds": [wind_text((60.0, 20.0))]}, {"winds": [wind_text((60.0, 20.0))]})
    differences = found(approach)
    for key, one in differences.items():
        assert one["reason"] or one["sd"] is not None, key
        if one["briefed"] is None or one["flown"] is None:
            continue
        # a degree, a second or two, two knots, five hundredths of a mile: what rounding in the file and the smoothing leave
        most = {"NM": 0.06, "kt": 2.5, "s": 2.5, "ft": 10.0}.get(one["unit"], 2.5)
        if key[0] in ("reversal_turn", "inbound") and one["unit"] == "s":
            most = 10.0  # the last 15 degrees of the turn at 3 degrees a second, and the roll-out of five
        assert abs(one["difference"]) <= most, (key, one)
    assert not differences[None, "greatest distance"]["clear"] or differences[None, "greatest distance"]["difference"] < 0.02
    assert not differences["offset_leg", "heading"]["clear"]


@pytest.mark.parametrize(
    ("planned", "blown", "quantity"),
    [((60.0, 25.0), (60.0, 5.0), "wind speed"), ((60.0, 25.0), (150.0, 25.0), "wind from")],
)
def test_the_wind_of_the_day_differs_by_what_it_was_changed_by(tmp_path, planned, blown, quantity):
    _, approach = against(tmp_path, {"winds": [wind_text(planned)]}, {"winds": [wind_text(blown)]})
    one = found(approach)[None, quantity]
    changed = blown[1] - planned[1] if quantity == "wind speed" else blown[0] - planned[0]
    assert one["clear"]
    assert one["difference"] == pytest.approx(changed, abs=2.0 * one["sd"])


def test_headings_corrected_for_another_wind_differ_by_the_angle_of_the_wind_triangle(tmp_path):
    """120 kt true along the outbound course: 25 kt from abeam need asin(25/120), none needs nothing."""
    _, approach = against(tmp_path, {}, {"winds": [wind_text((90.0, 25.0))]})
    one = found(approach)["outbound", "heading"]
    assert one["briefed"] == pytest.approx(OUT_MAGNETIC % 360.0, abs=0.1)
    assert one["difference"] == pytest.approx(math.degrees(math.asin(25.0 / 120.0)), abs=2.0 * one["sd"])


def test_a_longer_leg_differs_by_its_time_its_distance_and_the_room_to_the_limit(tmp_path):
    """Half a mile farther out at 120 kt: fifteen seconds, and half a mile nearer to the limit."""
    _, approach = against(tmp_path, {"outbound": "4.0"}, {"outbound": "4.5"})
    differences = found(approach)
    assert differences["outbound", "time"]["difference"] == pytest.approx(15.0, abs=3.0)
    assert differences["outbound", "end from the fix"]["difference"] == pytest.approx(0.5, abs=0.1)
    assert differences[None, "room to the limit"]["difference"] == pytest.approx(
        -differences[None, "greatest distance"]["difference"]
    )
    assert differences[None, "greatest distance"]["clear"]


def test_altitudes_differ_by_what_was_added(tmp_path):
    chart = replace(turn_chart("left"), floors_ft=DOWN)
    _, approach = against(tmp_path, {}, {}, lambda track: replace(track, altitude_m=track.altitude_m + 100.0 * 0.3048), chart)
    one = found(approach)["outbound", "altitude at the end"]
    assert one["difference"] == pytest.approx(100.0, abs=5.0)


def test_a_log_without_altitudes_leaves_them_not_assessed(tmp_path):
    chart = replace(turn_chart("left"), floors_ft=DOWN)
    result, approach = against(
        tmp_path, {}, {}, lambda track: replace(track, altitude_m=np.full(len(track.time_s), np.nan)), chart
    )
    one = found(approach)["outbound", "altitude at the end"]
    assert (one["flown"], one["clear"]) == (None, False)
    assert "no altitude" in one["reason"]
    assert "not assessed: the log has no altitude" in debrief_page(result, draw_debrief(result))


def test_a_part_that_ends_in_a_gap_has_no_time(tmp_path):
    def cut(track):
        """Without 50 seconds about the end of the outbound leg, some two minutes after the fix."""
        begun = float(track.time_s[0]) + 60.0
        kept = (track.time_s < begun + 110.0) | (track.time_s > begun + 160.0)
        return replace(
            track, time_s=track.time_s[kept], latitude_rad=track.latitude_rad[kept], longitude_rad=track.longitude_rad[kept],
            altitude_m=track.altitude_m[kept],
        )  # fmt: skip

    _, approach = against(tmp_path, {}, {}, cut)
    times = [one for one in approach["against_brief"]["differences"] if one["quantity"].startswith("time")]
    assert any(one["flown"] is None and one["reason"] for one in times)
    assert all(one["flown"] is None or not one["reason"] for one in times)


def test_a_part_that_was_not_flown_is_said(tmp_path):
    _, approach = against(tmp_path, {}, {"shape": "80/260", "winds": [wind_text((0.0, 15.0))]})
    one = found(approach)["offset_leg", "time"]
    assert (one["flown"], one["reason"]) == (None, "not flown")


def test_the_page_says_more_or_less_and_the_error(tmp_path):
    result, _ = against(tmp_path, {"outbound": "4.0"}, {"outbound": "4.5"})
    page = debrief_page(result, draw_debrief(result))
    assert "What was different" in page
    assert "0.50 NM more ±" in page or "0.51 NM more ±" in page or "0.49 NM more ±" in page
    assert "within ±" in page


def test_what_was_briefed_is_said_as_the_brief_says_it(tmp_path):
    """A heading of 59.46° is 059° on the card. Kept as 59.5° it was 060° in the comparison, and 116.5 s were 116 for 117."""
    for from_deg in range(0, 360, 20):
        made = briefed(turn_chart(), errors=FEW, winds=[wind_text((float(from_deg), 17.0))])
        (tmp_path / "card.json").write_text(brief_json_text(made), encoding="utf-8")
        card = read_card(tmp_path / "card.json")
        shown = {row[0]: row for row in part_rows(made)}
        for part in card.whole_parts:
            row = shown.get(part.part.replace("_", " "))
            if row is not None and len([one for one in card.parts if one.part == part.part]) == 1:
                said = (
                    bearing_text(math.radians(part.heading_deg_magnetic)),
                    f"{part.ground_speed_kt:.0f}",
                    f"{part.duration_s:.0f}",
                )
                assert said == (row[1].removeprefix("R ").removeprefix("L "), row[3], row[4])


def test_differences_are_those_of_the_values_shown(tmp_path):
    result, _ = against(tmp_path, {}, {"winds": [wind_text((90.0, 25.0))]})
    approach = result.approaches[0]
    said = " ".join(against_brief_sentences(approach.comparison, approach.figures, approach.reversal))
    (found_nm,) = re.findall(r"briefed ([\d.]+) NM, flown ([\d.]+) NM, ([\d.]+) NM", said)
    briefed_nm, flown_nm, apart_nm = map(float, found_nm)
    assert apart_nm == pytest.approx(abs(flown_nm - briefed_nm), abs=1e-9)


def test_a_chart_in_metres_is_compared_in_metres(tmp_path):
    result, _ = against(tmp_path, {}, {}, chart=replace(turn_chart("left"), floors_ft=DOWN))
    comparison, feet = result.approaches[0].comparison, result.motion.charted
    metres = replace(feet, altitude_unit="m")
    at = against_brief_headings(metres).index("end m")
    assert against_brief_headings(feet)[at] == "end ft"
    assert "in m MSL" in against_brief_note(metres)
    rows = list(zip(against_brief_rows(comparison, feet), against_brief_rows(comparison, metres), strict=True))
    compared = [(row[at].split("/"), other[at].split("/")) for row, other in rows if "-" not in row[at]]
    assert compared
    for in_feet, in_metres in compared:
        for foot, metre in zip(in_feet, in_metres, strict=True):
            assert float(metre) == pytest.approx(float(foot) * 0.3048, abs=0.7)  # half a foot and half a metre of rounding
    assert all(row[:at] == other[:at] for row, other in rows)


def test_a_brief_whose_offset_leg_takes_no_time_has_its_ground_speed_and_is_read_back(tmp_path):
    """A wind that carries the turn off far leaves no offset leg: its ground speed was no number, and the file no brief."""
    found = 0
    for from_deg in range(0, 360, 15):
        made = briefed(turn_chart(), errors=FEW, winds=[wind_text((float(from_deg), 45.0))])
        (tmp_path / "card.json").write_text(brief_json_text(made), encoding="utf-8")
        assert read_card(tmp_path / "card.json").parts
        for part in made.parts:
            assert math.isfinite(part.ground_speed_mps)
            if part.seconds == 0.0:
                found += 1
                air, across = part.air, part.air.wind_from_rad - part.heading_rad
                north = air.true_airspeed_mps - air.wind_mps * math.cos(
                    across
                )  # the wind triangle, along and across the heading
                assert part.ground_speed_mps**2 == pytest.approx(north**2 + (air.wind_mps * math.sin(across)) ** 2)
        assert "nan" not in " ".join(" ".join(row) for row in part_rows(made))
    assert found
