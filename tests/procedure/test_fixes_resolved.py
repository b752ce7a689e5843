"""Where the fixes of the final course come out, against the geodesics of geographiclib, and in what order they are passed."""

import datetime as dt
import math
from typing import Any

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import assume, given
from hypothesis import strategies as st

from analyzer.errors import ProcedureError
from analyzer.procedure.approach import ChartedFix
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.schema import Procedure

NM = 1852.0
FIX = (47.25, -31.5)
INBOUND = 232.0  # 241 magnetic with 9 west


def charted(fixes: list[dict[str, Any]], **tables: Any) -> Charted:
    base = {
        "title": "Wendle Island VOR 24",
        "fix": {"name": "WND", "kind": "vor", "latitude_deg": FIX[0], "longitude_deg": FIX[1], "variation_deg_east": -9.0},
        "reversal": {"kind": "none", "inbound_course_deg": 241},
        "fixes": [{"role": "step-down", **row} for row in fixes],
    }
    return resolve(Procedure.model_validate(base | tables), dt.date(2026, 11, 25))


def at(latitude: float, longitude: float, course: float, nm: float) -> tuple[float, float]:
    end = Geodesic.WGS84.Direct(latitude, longitude, course, nm * NM)
    return end["lat2"], end["lon2"]


def apart_m(fix: ChartedFix, latitude: float, longitude: float) -> float:
    found = Geodesic.WGS84.Inverse(math.degrees(fix.latitude_rad), math.degrees(fix.longitude_rad), latitude, longitude)
    return float(found["s12"])


def station(nm: float, aside_nm: float = 0.0, elevation_ft: float = 0.0) -> dict[str, Any]:
    """A DME on the inbound course so far beyond the fix, and so far to its right."""
    latitude, longitude = at(*at(*FIX, INBOUND, nm), INBOUND + 90.0, aside_nm)
    return {"name": "WNE", "latitude_deg": latitude, "longitude_deg": longitude, "elevation_ft": elevation_ft}


@given(st.floats(-40.0, 40.0))
def test_a_distance_is_laid_off_on_the_geodesic(nm):
    (fix,) = charted([{"name": "TARRO", "distance_nm": nm}]).fixes
    assert apart_m(fix, *at(*FIX, INBOUND, nm)) < 1e-3
    assert fix.along_m == pytest.approx(nm * NM)
    assert math.degrees(fix.course_true_rad) == pytest.approx(INBOUND)


@given(st.floats(0.5, 40.0), st.floats(-4.0, 4.0))
def test_a_position_is_kept_and_counted_along_the_course(nm, off_deg):
    latitude, longitude = at(*FIX, INBOUND + off_deg, nm)
    (fix,) = charted([{"name": "TARRO", "latitude_deg": latitude, "longitude_deg": longitude}]).fixes
    assert apart_m(fix, latitude, longitude) < 1e-3
    # the right-angled triangle of the plane, whose error on the ellipsoid is far less than a metre a mile here
    assert fix.along_m == pytest.approx(nm * NM * math.cos(math.radians(off_deg)), abs=1.0)


@given(st.floats(2.0, 20.0), st.floats(0.1, 1.9), st.floats(-1.5, 1.5))
def test_a_dme_reading_ahead_is_met_before_the_station(station_nm, share, aside_nm):
    reading = max(abs(aside_nm) + 0.05, share * station_nm / 2.0)
    dme = station(station_nm, aside_nm)
    assume(reading < station_nm - 0.1)
    (fix,) = charted([{"name": "TARRO", "dme_nm": reading}], dme=dme).fixes
    assert apart_m(fix, dme["latitude_deg"], dme["longitude_deg"]) == pytest.approx(reading * NM, abs=0.5)
    assert fix.along_m < station_nm * NM
    assert apart_m(fix, *at(*FIX, INBOUND, fix.along_m / NM)) < 0.01


def test_a_reading_is_a_slant_distance_at_the_minimum_of_the_fix():
    # AIM 1-1-7: DME is slant range. At 1 NM (6076.12 ft) of height, 5 NM of slant are sqrt(24) NM over the ground.
    height_ft = 1852.0 / 0.3048
    dme = station(10.0, elevation_ft=500.0)
    row = {"name": "TARRO", "dme_nm": 5.0, "minimum_ft": 500.0 + height_ft}
    (fix,) = charted([row], dme=dme).fixes
    assert fix.along_m / NM == pytest.approx(10.0 - math.sqrt(24.0), abs=1e-4)
    (fix,) = charted([{"name": "TARRO", "dme_nm": 5.0}], dme=dme).fixes  # no height is known
    assert fix.along_m / NM == pytest.approx(5.0, abs=1e-4)


def along(found: Charted) -> list[float]:
    return [round(fix.along_m / NM, 3) for fix in found.fixes]


def test_readings_fall_and_rise_again_past_the_station():
    names = [{"name": name} for name in ("TARRO", "KESTA", "MAPAR")]
    dme = station(6.0)
    found = charted([row | {"dme_nm": nm} for row, nm in zip(names, (4.0, 1.5, 1.0), strict=True)], dme=dme)
    assert along(found) == [2.0, 4.5, 5.0]
    found = charted([row | {"dme_nm": nm} for row, nm in zip(names, (2.0, 0.5, 1.5), strict=True)], dme=dme)
    assert along(found) == [4.0, 5.5, 7.5]  # the third must come after the second


def test_readings_of_the_reversal_fix_are_beyond_it_or_before_a_field():
    rows = [{"name": "TARRO", "dme_nm": 4.0}, {"name": "MAPAR", "dme_nm": 5.5}]
    assert along(charted(rows)) == [4.0, 5.5]
    threshold = at(*FIX, INBOUND, -0.4)
    runway = {
        "name": "24", "threshold_latitude_deg": threshold[0], "threshold_longitude_deg": threshold[1],
        "threshold_elevation_ft": 40, "true_heading_deg": 232,
    }  # fmt: skip
    found = charted([{"name": "TARRO", "dme_nm": 5.5}, {"name": "MAPAR", "dme_nm": 0.6}], runway=runway)
    assert along(found) == [-5.5, -0.6]
    assert found.on_field
    assert along(charted([{"name": "TARRO", "dme_nm": 5.5}, {"name": "MAPAR", "dme_nm": 0.6}])) == [-5.5, -0.6]  # falling


def test_the_order_may_mix_the_ways():
    latitude, longitude = at(*FIX, INBOUND, 4.0)
    rows = [
        {"name": "ONE", "distance_nm": 2.0}, {"name": "TWO", "latitude_deg": latitude, "longitude_deg": longitude},
        {"name": "THREE", "dme_nm": 1.0},
    ]  # fmt: skip
    assert along(charted(rows, dme=station(6.0))) == [2.0, 4.0, 5.0]
    with pytest.raises(ProcedureError) as refusal:
        charted([rows[2], rows[0], rows[1]], dme=station(6.0))
    assert "[[fixes]] 2 (ONE) distance_nm = 2: not beyond [[fixes]] 1 (THREE) dme_nm = 1, but 2.00 NM" in str(refusal.value)


@pytest.mark.parametrize("second", [4.2, 4.1, -4.2])
def test_fixes_out_of_order_are_named_with_their_values(second):
    with pytest.raises(ProcedureError) as refusal:
        charted([{"name": "TARRO", "distance_nm": 4.2}, {"name": "KESTA", "distance_nm": second}])
    text = str(refusal.value)
    assert text.startswith(f"[[fixes]] 2 (KESTA) distance_nm = {second:g}: not beyond [[fixes]] 1 (TARRO) distance_nm = 4.2")
    assert "list the fixes in the order passed inbound" in text


@given(st.lists(st.floats(-40.0, 40.0), min_size=2, max_size=8, unique=True))
def test_distances_are_taken_in_rising_order_only(distances):
    rows = [{"name": f"F{i}", "distance_nm": nm} for i, nm in enumerate(distances)]
    if distances == sorted(distances):
        assert [fix.along_m for fix in charted(rows).fixes] == [nm * NM for nm in distances]
    else:
        with pytest.raises(ProcedureError, match="not beyond"):
            charted(rows)


def test_a_segment_on_a_course_of_its_own_bends_the_line():
    rows = [
        {"name": "ONE", "distance_nm": 4.0},
        {"name": "TWO", "distance_nm": 6.0, "course_deg": 256.0},
        {"name": "THREE", "distance_nm": 9.0, "course_deg": 256.0},
    ]
    one, two, three = charted(rows).fixes
    corner = at(*FIX, INBOUND, 4.0)
    assert apart_m(one, *corner) < 1e-3
    assert apart_m(two, *at(*corner, INBOUND + 15.0, 2.0)) < 1e-3
    assert apart_m(three, *at(*corner, INBOUND + 15.0, 5.0)) < 1e-3
    assert math.degrees(two.course_true_rad) == pytest.approx(INBOUND + 15.0)
    # along the inbound course, a bent segment counts for its cosine
    assert three.along_m / NM == pytest.approx(4.0 + 5.0 * math.cos(math.radians(15.0)), abs=5e-3)


def test_before_the_reversal_fix_a_bend_is_laid_off_backwards():
    rows = [
        {"name": "ONE", "distance_nm": -9.0, "course_deg": 200.0},  # how it is reached moves it nowhere
        {"name": "TWO", "distance_nm": -6.0, "course_deg": 226.0},
    ]
    one, two = charted(rows).fixes
    corner = at(*FIX, INBOUND, -6.0)
    assert apart_m(two, *corner) < 1e-3
    assert apart_m(one, *at(*corner, INBOUND - 15.0, -3.0)) < 1e-3


def test_readings_that_are_met_nowhere():
    with pytest.raises(
        ProcedureError, match=r"\[\[fixes\]\] 1 \(TARRO\) dme_nm = 1: the course comes no nearer to WNE than 2\.0 NM"
    ):
        charted([{"name": "TARRO", "dme_nm": 1.0}], dme=station(6.0, 2.0))
    with pytest.raises(ProcedureError, match=r"dme_nm = 1: less than the height of its minimum above WNE, 1\.6 NM"):
        charted([{"name": "TARRO", "dme_nm": 1.0, "minimum_ft": 10_000}], dme=station(6.0))
    bent = [{"name": "ONE", "distance_nm": 2.0, "course_deg": 256.0}, {"name": "TWO", "dme_nm": 1.0}]
    with pytest.raises(
        ProcedureError, match=r"\[\[fixes\]\] 2 \(TWO\) dme_nm = 1: cannot be placed, since \[\[fixes\]\] 1 \(ONE\)"
    ):
        charted(bent, dme=station(6.0))


def test_fixes_where_none_should_be_are_warned_about():
    threshold = at(*FIX, INBOUND, 5.0)
    runway = {
        "name": "24", "threshold_latitude_deg": threshold[0], "threshold_longitude_deg": threshold[1],
        "threshold_elevation_ft": 40, "true_heading_deg": 232,
    }  # fmt: skip
    assert charted([{"name": "MAPAR", "distance_nm": 5.2}], runway=runway).warnings == ()
    (warning,) = charted([{"name": "MAPAR", "distance_nm": 7.5}], runway=runway).warnings
    assert warning.startswith("[[fixes]] 1 (MAPAR) lies 2.5 NM beyond the threshold")
    aside = at(*at(*FIX, INBOUND, 4.0), INBOUND + 90.0, 1.0)
    row = {"name": "MAPAR", "latitude_deg": aside[0], "longitude_deg": aside[1]}
    (warning,) = charted([row]).warnings
    assert warning.startswith("[[fixes]] 1 (MAPAR) lies 1.0 NM off the line of the inbound course")
    assert charted([row | {"course_deg": 255}]).warnings == ()


def test_the_guidance_s_variation_turns_the_course():
    found = charted([{"name": "TARRO", "distance_nm": 4.0}], guidance={"kind": "vor", "variation_deg_east": -7.0})
    assert apart_m(found.fixes[0], *at(*FIX, 241.0 - 7.0, 4.0)) < 1e-3


@pytest.mark.parametrize(
    ("along_nm", "aside_nm", "on_field"),
    [(-0.3, 0.0, True), (-3.0, 0.0, True), (0.9, 0.0, True), (0.0, 0.9, True), (1.1, 0.0, False), (0.8, 0.8, False)],
)
def test_the_facility_is_on_the_field_within_a_mile_or_beyond_the_threshold(along_nm, aside_nm, on_field):
    threshold = at(*at(*FIX, INBOUND, along_nm), INBOUND + 90.0, aside_nm)
    runway = {
        "name": "24", "threshold_latitude_deg": threshold[0], "threshold_longitude_deg": threshold[1],
        "threshold_elevation_ft": 40, "true_heading_deg": 232,
    }  # fmt: skip
    assert charted([], runway=runway).on_field is on_field
    assert not charted([]).on_field


@pytest.mark.parametrize("beyond_nm", [-0.5, 0.2, -0.9, 0.5, 1.5])
def test_a_missed_approach_point_off_the_threshold_is_warned_about(beyond_nm):
    """Of 25 coded approaches to runways the point is at the threshold, or up to half a mile before it."""
    threshold = at(*FIX, INBOUND, 5.0)
    runway = {
        "name": "24", "threshold_latitude_deg": threshold[0], "threshold_longitude_deg": threshold[1],
        "threshold_elevation_ft": 40, "true_heading_deg": 232,
    }  # fmt: skip
    row = {"name": "MAPAR", "role": "missed-approach-point", "distance_nm": 5.0 + beyond_nm}
    warnings = charted([row], runway=runway).warnings
    if -0.8 < beyond_nm < 0.3:
        assert warnings == ()
    else:
        side = "beyond" if beyond_nm > 0 else "before"
        assert f"MAPAR), the missed approach point, lies {abs(beyond_nm):.1f} NM {side} the threshold" in warnings[0]


@pytest.mark.parametrize(("off_deg", "aside_nm"), [(3.0, None), (10.0, 1.39), (-20.0, 2.74)])
def test_a_final_course_that_misses_its_runway_is_warned_about(off_deg, aside_nm):
    """The threshold lies 8 NM from the fix, so many degrees off the course: aside by 8 NM times the sine of that."""
    threshold = at(*FIX, INBOUND - off_deg, 8.0)
    runway = {
        "name": "24", "threshold_latitude_deg": threshold[0], "threshold_longitude_deg": threshold[1],
        "threshold_elevation_ft": 40, "true_heading_deg": (INBOUND - off_deg) % 360.0,
    }  # fmt: skip
    warnings = charted([], runway=runway).warnings
    if aside_nm is None:
        assert warnings == ()
    else:
        (warning,) = warnings
        side = "right" if off_deg > 0 else "left"
        assert f"passes {aside_nm:.1f} NM to the {side} of the threshold of runway 24, 8.0 NM from the fix" in warning


@pytest.mark.parametrize("heading_off_deg", [25.0, 90.0])
def test_a_course_to_a_runway_across_it_or_at_an_angle_is_no_mistake(heading_off_deg):
    """Met a mile before the threshold at 25°, it passes it 0.42 NM aside; at 90° it leads to circling."""
    crossing = at(*FIX, INBOUND, 6.0)
    threshold = at(*crossing, INBOUND + heading_off_deg, 1.0)
    runway = {
        "name": "26", "threshold_latitude_deg": threshold[0], "threshold_longitude_deg": threshold[1],
        "threshold_elevation_ft": 40, "true_heading_deg": (INBOUND + heading_off_deg) % 360.0,
    }  # fmt: skip
    assert charted([], runway=runway).warnings == ()
