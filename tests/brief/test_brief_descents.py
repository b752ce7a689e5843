"""The descents of a brief: none that nobody flies, with the facility on the field, and in the short inbound leg of a hold."""

import re
from dataclasses import replace

import numpy as np
import pytest
from briefed import OUT_MAGNETIC, arc_chart, base_chart, briefed, hold_chart, number, parts_of, turn_chart
from synthetic import HERE, Chart

from analyzer.brief.chances import Errors
from analyzer.debriefs.plan import debrief_of_plan
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.pages.brief_page import brief_page
from analyzer.report.words.brief_text import brief_text

FEW = Errors(flights=10)
FLOORS = {"outbound": 3000.0, "reversal": 2600.0, "inbound": 1800.0, "final": 640.0}
NORMAL_FPM = 1000.0  # FAA-H-8083-16B ch. 4
PARALLEL = (OUT_MAGNETIC + 55.0) % 360.0  # into a hold with right turns


def runway_at(chart: Chart, beyond_nm: float, floors=FLOORS, aside_nm: float = 0.0) -> Chart:
    """The chart with a threshold at 40 ft so far beyond the fix on a straight inbound course."""
    latitude, longitude = HERE.lay(np.array([aside_nm]), np.array([-beyond_nm]))
    place = {"threshold_latitude_deg": float(latitude[0]), "threshold_longitude_deg": float(longitude[0])}
    table = {"name": "25", "threshold_elevation_ft": 40.0, "true_heading_deg": 242.0, **place}
    return replace(chart, floors_ft=floors, tables={**chart.tables, "runway": table})


def text_of(made) -> str:
    return " ".join(brief_text(made).split())


def rates(made) -> list[float]:
    return [part["descent_fpm"] for part in brief_document(made)["parts"]]


@pytest.mark.parametrize("beyond", [-0.6, 0.0, 0.9])
@pytest.mark.parametrize("shape", ["45/180", "80/260", "racetrack", "teardrop"])
def test_on_the_field_final_begins_when_established(beyond, shape):
    """There is no inbound leg: one descent from established to the threshold, and nothing beyond it."""
    made = briefed(runway_at(turn_chart(), beyond), errors=FEW, shape=shape, winds=["130/15"], outbound="6", true_speeds=["90"])
    parts = brief_document(made)["parts"]
    assert "inbound" not in parts_of(brief_document(made))
    final = parts[-1]
    assert final["part"] == final["leg"] == "final"
    assert final["course_deg_magnetic"] == pytest.approx((OUT_MAGNETIC + 180.0) % 360.0, abs=0.2)
    assert final["length_nm"] == pytest.approx(parts[-2]["end_distance_nm"] + beyond, abs=0.03)
    assert final["end_distance_nm"] == pytest.approx(abs(beyond), abs=0.02)
    assert (final["altitude_start_ft"], final["altitude_end_ft"]) == (2600.0, 90.0)  # 50 ft over the threshold
    fall, minutes = 2510.0, final["length_nm"] / final["ground_speed_kt"] * 60.0
    assert final["descent_fpm"] == pytest.approx(fall / minutes, rel=0.01)
    assert final["descent_fpm"] < NORMAL_FPM
    assert np.all(np.diff(made.plan.altitude_m) <= 1e-9)
    assert "flyable" not in text_of(made)
    assert number(made, "final leg to the threshold").how == "from where established inbound"


def test_a_mile_and_more_beyond_the_fix_the_final_begins_there():
    made = briefed(runway_at(turn_chart(), 1.1), errors=FEW)
    assert parts_of(brief_document(made))[-2:] == ["inbound", "final"]
    assert brief_document(made)["parts"][-1]["length_nm"] == pytest.approx(1.1, abs=0.01)


def test_a_final_that_is_not_flyable_is_called_so():
    # 2,510 ft from where a circuit's minute inbound begins: over 2,000 ft/min whatever is tried
    made = briefed(runway_at(hold_chart(), 0.3), errors=FEW)
    assert "The final descent is not flyable: 2,510 ft in" in text_of(made)
    assert max(rates(made)) <= NORMAL_FPM + 1.0
    final = brief_document(made)["parts"][-1]
    left = re.search(r"still ([\d,]+) ft too high at the threshold", text_of(made))
    assert float(left[1].replace(",", "")) == pytest.approx(final["altitude_end_ft"] - 90.0, abs=1.0)
    assert not [n for n in made.numbers if n.name == "from the minimum to the threshold"]


def test_a_runway_off_to_the_side_has_no_final_leg():
    made = briefed(runway_at(turn_chart(), -2.0, aside_nm=3.0), errors=FEW)
    assert parts_of(brief_document(made))[-1] == "inbound"
    assert "does not lead to the runway" in text_of(made)


def test_after_a_parallel_entry_another_circuit():
    """The entry meets the course seconds before the fix; the next inbound leg is a minute (AIM 5-3-8 j.4), 800 ft/min."""
    made = briefed(runway_at(hold_chart(), 4.5), errors=FEW, winds=["130/20"], arrival_deg=PARALLEL)
    parts = brief_document(made)["parts"]
    assert parts_of(brief_document(made))[-6:] == ["inbound", "entry_turn", "outbound", "reversal_turn", "inbound", "final"]
    first, again = (part for part in parts if part["part"] == "inbound")
    assert first["duration_s"] < 30.0
    assert first["descent_fpm"] == 0.0
    assert again["duration_s"] == pytest.approx(60.0, abs=0.5)
    assert again["descent_fpm"] == pytest.approx(800.0, abs=10.0)
    assert (again["altitude_start_ft"], again["altitude_end_ft"]) == (2600.0, 1800.0)
    assert again["end_distance_nm"] == pytest.approx(0.0, abs=0.02)
    assert "go round once more" in text_of(made)
    assert "return to the fix" in text_of(made)
    assert "AIM 5-4-9 a.5" in text_of(made)


@pytest.mark.parametrize("turn", ["left", "right"])
def test_the_further_circuit_turns_as_charted(turn):
    arrival = PARALLEL if turn == "right" else (OUT_MAGNETIC - 55.0) % 360.0
    made = briefed(runway_at(hold_chart(turn), 4.5), errors=FEW, winds=["130/20"], arrival_deg=arrival)
    assert f"Hold with {turn} turns." in text_of(made)
    circuit = [part for part in brief_document(made)["parts"] if part["turn"] is not None][-2:]
    assert [part["turn"] for part in circuit] == [turn, turn]
    assert [part["part"] for part in circuit] == ["entry_turn", "reversal_turn"]


def test_what_is_left_at_the_fix_is_lost_on_final():
    """40 s inbound against 800 ft: one descent to the threshold instead, 2,510 ft in the time of both legs."""
    made = briefed(runway_at(hold_chart(), 4.5), errors=FEW, winds=["130/20"])
    inbound, final = brief_document(made)["parts"][-2:]
    minutes = (inbound["duration_s"] + final["duration_s"]) / 60.0
    for part in (inbound, final):
        assert part["descent_fpm"] == pytest.approx(2510.0 / minutes, rel=0.005)
    assert inbound["altitude_end_ft"] > 1800.0
    assert f"pass QRL at {inbound['altitude_end_ft']:,.0f} ft, above the minimum" in text_of(made)


def test_a_descent_that_fits_is_as_charted():
    # a minute inbound in still air; the entry is direct
    made = briefed(runway_at(hold_chart(), 4.5), errors=FEW, arrival_deg=(OUT_MAGNETIC + 180.0) % 360.0)
    inbound = brief_document(made)["parts"][-2]
    assert (inbound["altitude_start_ft"], inbound["altitude_end_ft"]) == (2600.0, 1800.0)
    assert "Note" not in text_of(made)


STEEP = [
    {"outbound": 6000.0, "reversal": 6000.0, "inbound": 1800.0, "final": 640.0},
    {"outbound": 8000.0, "reversal": 3000.0, "inbound": 1500.0, "final": 500.0},
    {"arrival": 7000.0, "outbound": 2000.0, "inbound": 1900.0},
]


@pytest.mark.parametrize("floors", STEEP)
@pytest.mark.parametrize("beyond", [-0.5, 0.5, 4.0, 9.0])
@pytest.mark.parametrize(
    ("chart", "given"),
    [
        (turn_chart(), {}),
        (turn_chart("left"), {"shape": "racetrack"}),
        (turn_chart(), {"shape": "teardrop"}),
        (base_chart("left", 4.0), {}),
        (hold_chart(), {}),
        (hold_chart("left", leg_length_nm=4.0), {}),
        (hold_chart(), {"arrival_deg": PARALLEL}),
        (arc_chart(12.0), {}),
    ],
)
def test_no_descent_that_nobody_flies(chart, given, beyond, floors):
    """At most 1,000 ft/min in all parts, never uphill, never below a minimum; what is left undone is said."""
    made = briefed(runway_at(chart, beyond, floors), errors=FEW, **given)
    assert max(rates(made)) <= NORMAL_FPM + 1.0
    for part in brief_document(made)["parts"]:
        assert part["altitude_end_ft"] <= part["altitude_start_ft"]
        if part["leg"] != "final" and part["leg"] in floors:
            assert part["altitude_end_ft"] >= floors[part["leg"]] - 1.0
    last = brief_document(made)["parts"][-1]
    assert (last["altitude_end_ft"] > 91.0) == ("The final descent is not flyable" in text_of(made))


@pytest.mark.parametrize(("kind", "given"), [("vor", True), ("ndb", False), ("waypoint", False), ("marker", False)])
def test_a_dme_is_read_at_a_vor_only(kind, given):
    fix = {"name": "QRL", "kind": kind, "variation_deg_east": -11.0}
    fix |= {"latitude_deg": HERE.latitude_deg, "longitude_deg": HERE.longitude_deg}
    for chart in (turn_chart(), hold_chart(), base_chart("left", 18.0)):
        made = briefed(replace(chart, tables={"fix": fix}), errors=FEW)
        assert ("DME" in brief_text(made)) == given
        assert any(n.name == "DME there" for n in made.numbers) == given


def test_a_limit_by_dme_is_told_from_its_station():
    """The station a mile beyond the fix inbound: what is farthest there is a mile farther than from the fix."""
    latitude, longitude = HERE.lay(np.array([0.0]), np.array([-1.0]))
    station = {"name": "QRD", "latitude_deg": float(latitude[0]), "longitude_deg": float(longitude[0]), "elevation_ft": 0.0}
    by_dme = briefed(replace(turn_chart(within_by="dme"), tables={"dme": station}), errors=FEW, outbound="120s")
    by_fix = briefed(turn_chart(), errors=FEW, outbound="120s")
    assert number(by_dme, "greatest distance").value == pytest.approx(number(by_fix, "greatest distance").value + 1.0, abs=0.1)
    assert "from QRD, in this wind" in text_of(by_dme)
    assert "slant range, of QRD" in text_of(by_dme)


def test_the_pictures_mark_no_level_as_left():
    """A plan descends steadily over whole legs: where a debrief sees a level left, nothing is to be marked."""
    made = briefed(runway_at(turn_chart(), 4.5), errors=FEW)
    assert all(approach.figures.descent is None for approach in debrief_of_plan(made).approaches)
    page = brief_page(made)
    assert "level left" not in page
    assert "established" in page


def test_the_drawn_flights_are_called_a_sample_of_the_counted_ones():
    page = brief_page(briefed(turn_chart(), errors=Errors(flights=500)))
    assert "Of 500 simulated flights" in page
    assert "Pale: 200 of the simulated flights with errors." in page
    assert len(re.findall(r"beyond the limit", page)) == 1


@pytest.mark.parametrize("beyond_nm", [4.5, 7.0])
def test_the_farthest_point_of_a_hold_with_a_circuit_more_is_none_of_the_way_to_the_runway(beyond_nm):
    """Measured anew on the path as on a flight; the runway lies farther from the fix than the hold reaches."""
    made = briefed(runway_at(hold_chart(), beyond_nm), errors=FEW, winds=["130/20"], arrival_deg=PARALLEL)
    assert made.plan.rounds == 1
    (approach,) = debrief_of_plan(made).approaches
    reached = number(made, "greatest distance")
    assert reached.value == pytest.approx(approach.figures.farthest.distance_m / 1852.0, abs=0.03)
    assert np.hypot(*made.plan.farthest_place_m) / 1852.0 == pytest.approx(reached.value, abs=0.03)


def test_an_arrival_that_is_assumed_is_said():
    """The entry follows from it (AIM 5-3-8 j.3)."""
    said = "No arrival is given: the fix is assumed to be reached on the inbound course"
    assert said in text_of(briefed(hold_chart(), errors=FEW))
    assert said not in text_of(briefed(hold_chart(), errors=FEW, arrival_deg=PARALLEL))
