"""A localizer's full scale and antenna, by the runway that it serves.

FAA Aeronautical Information Manual 1-1-9 b.2: the course width is tailored to about 700 ft at the threshold, 350 ft either
side, which is normally 2.5° of full scale.
"""

import datetime as dt
import math
from typing import Any

import pytest
from geographiclib.geodesic import Geodesic

from analyzer.procedure.charted import Guidance, resolve
from analyzer.procedure.schema import Procedure

FT = 0.3048
FIX = (47.25, -31.5)
HEADING = 232.0


def point(start: tuple[float, float], course: float, metres: float) -> tuple[float, float]:
    end = Geodesic.WGS84.Direct(*start, course, metres)
    return end["lat2"], end["lon2"]


THRESHOLD = point(FIX, HEADING, 9_260.0)


def guidance(table: dict[str, Any] | None = None, length_ft: float | None = None, runway: bool = True) -> Guidance:
    tables: dict[str, Any] = {
        "title": "Wendle Island LOC 24",
        "fix": {"name": "WND", "kind": "vor", "latitude_deg": FIX[0], "longitude_deg": FIX[1], "variation_deg_east": -9.0},
        "reversal": {"kind": "none", "inbound_course_deg": 241},
        "guidance": {"kind": "localizer", **(table or {})},
    }
    if runway:
        tables["runway"] = {
            "name": "24", "threshold_latitude_deg": THRESHOLD[0], "threshold_longitude_deg": THRESHOLD[1],
            "threshold_elevation_ft": 40, "true_heading_deg": HEADING, **({"length_ft": length_ft} if length_ft else {}),
        }  # fmt: skip
    return resolve(Procedure.model_validate(tables), dt.date(2026, 11, 25)).guidance


def beyond_ft(found: Guidance) -> float:
    """How far beyond the threshold, on the runway's line, the antenna stands."""
    place = (math.degrees(found.latitude_rad), math.degrees(found.longitude_rad))
    line = Geodesic.WGS84.Inverse(*THRESHOLD, *place)
    assert math.remainder(line["azi1"] - HEADING, 360.0) == pytest.approx(0.0, abs=1e-3)
    return float(line["s12"]) / FT


def full_scale(found: Guidance) -> float:
    assert found.full_scale_rad is not None
    return math.degrees(found.full_scale_rad)


def test_without_a_length_the_usual_width_tells_the_antenna():
    found = guidance()
    assert full_scale(found) == pytest.approx(2.5, abs=1e-6)
    assert beyond_ft(found) == pytest.approx(8_016.0, abs=1.0)  # 350 ft / tan 2.5°


@pytest.mark.parametrize(
    ("length_ft", "degrees"),
    [
        (5_679, 3.0),  # 350 ft / tan 3° = 6,678 ft from the threshold
        (7_016, 2.5),  # 8,016 ft
        (10_000, 1.8225),  # 350 / 11,000 = 0.0318182, of which the arc tangent is 1.8225°
        (12_366, 1.5),  # 350 ft / tan 1.5° = 13,366 ft
    ],
)
def test_with_a_length_the_antenna_stands_a_thousand_feet_beyond(length_ft, degrees):
    found = guidance(length_ft=length_ft)
    assert beyond_ft(found) == pytest.approx(length_ft + 1_000.0, abs=0.1)
    assert full_scale(found) == pytest.approx(degrees, abs=5e-4)  # lengths are whole feet


@pytest.mark.parametrize(("length_ft", "degrees"), [(3_000, 3.0), (16_000, 1.5)])
def test_it_is_never_wider_than_3_nor_narrower_than_1_5_degrees(length_ft, degrees):
    assert full_scale(guidance(length_ft=length_ft)) == pytest.approx(degrees)


def test_an_antenna_that_is_given_wins_over_the_length():
    antenna = point(THRESHOLD, HEADING, 9_000.0 * FT)
    found = guidance({"latitude_deg": antenna[0], "longitude_deg": antenna[1]}, length_ft=10_000)
    assert beyond_ft(found) == pytest.approx(9_000.0, abs=0.1)
    assert full_scale(found) == pytest.approx(math.degrees(math.atan(350.0 / 9_000.0)), abs=1e-4)


def test_at_the_threshold_full_scale_is_350_feet():
    for length_ft in (6_000.0, 8_000.0, 11_000.0):
        found = guidance(length_ft=length_ft)
        assert beyond_ft(found) * math.tan(found.full_scale_rad or 0.0) == pytest.approx(350.0, abs=0.05)


def test_a_full_scale_that_is_given_wins():
    assert full_scale(guidance({"full_scale_deg": 2.0}, length_ft=7_016)) == pytest.approx(2.0)
    assert full_scale(guidance({"full_scale_deg": 5.0})) == pytest.approx(5.0)
    assert beyond_ft(guidance({"full_scale_deg": 2.0})) == pytest.approx(10_023.0, abs=1.0)  # 350 ft / tan 2°


def test_without_a_runway_it_is_the_usual_width_at_the_position_or_the_fix():
    found = guidance(runway=False)
    assert full_scale(found) == pytest.approx(2.5)
    assert (math.degrees(found.latitude_rad), math.degrees(found.longitude_rad)) == pytest.approx(FIX)
    found = guidance({"latitude_deg": 47.1, "longitude_deg": -31.8}, runway=False)
    assert full_scale(found) == pytest.approx(2.5)
    assert math.degrees(found.latitude_rad) == pytest.approx(47.1)
