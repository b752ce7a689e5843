"""The procedure resolved for a date: true courses, sides, units and defaults."""

import datetime as dt
import json
import math
import pickle
from pathlib import Path

import pytest
import true_flights
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import ProcedureError
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.schema import Procedure

FLIGHT = dt.date(2026, 11, 25)
TRUTH = Path(__file__).parents[3] / "shared" / "truth" / "dev"


def charted(tables, date: dt.date = FLIGHT) -> Charted:
    return resolve(Procedure.model_validate(tables), date)


def degrees(angle_rad: float | None) -> float:
    assert angle_rad is not None
    return math.degrees(angle_rad) % 360.0


def test_true_is_magnetic_plus_variation(tables):
    # FAA-H-8083-25C chapter 16: from true to magnetic west is added and east subtracted.
    found = charted(tables)
    assert degrees(found.outbound_true_rad) == pytest.approx(61.0 - 9.0)
    assert degrees(found.inbound_true_rad) == pytest.approx(241.0 - 9.0)
    assert degrees(found.offset_true_rad) == pytest.approx(61.0 - 45.0 - 9.0)
    assert found.variation.model == "given in the procedure file"
    assert found.variation.sd_rad == 0.0


def test_lengths_speeds_and_heights_are_si(tables):
    tables["glide_path"] = {"angle_deg": 3.0, "threshold_crossing_height_ft": 50}
    found = charted(tables)
    assert found.limit_m == 18_520.0  # 10 NM of 1852 m
    assert found.maximum_speed_mps == pytest.approx(200.0 * 1852.0 / 3600.0)
    assert found.fix_elevation_m == pytest.approx(120.0 * 0.3048)
    assert found.floors_m == pytest.approx({"arrival": 914.4, "outbound": 914.4, "reversal": 670.56, "inbound": 670.56})
    assert found.levels_m == pytest.approx({**found.floors_m, "final": 195.072})
    assert degrees(found.fix_latitude_rad) == pytest.approx(47.25)
    assert math.degrees(found.fix_longitude_rad) == pytest.approx(-31.5)
    assert found.runway is not None
    assert found.runway.elevation_m == pytest.approx(12.192)
    assert degrees(found.runway.heading_rad) == pytest.approx(229.0)  # true in the file already
    assert degrees(found.glide_path_rad) == pytest.approx(3.0)
    assert found.threshold_crossing_height_m == pytest.approx(15.24)


def test_only_given_floors_are_there(tables):
    tables["altitudes"] = {"reversal_ft": 1000}
    assert charted(tables).floors_m == pytest.approx({"reversal": 304.8})


@pytest.mark.parametrize(("side", "expected"), [("left", (-1, 1)), ("right", (1, -1))])
def test_a_procedure_turn_turns_back_from_its_side(tables, side, expected):
    tables["reversal"]["side"] = side
    found = charted(tables)
    assert (found.side, found.turn) == expected


@pytest.mark.parametrize(("turn", "expected"), [("right", (-1, 1)), ("left", (1, -1))])
@pytest.mark.parametrize("kind", ["base-turn", "hold"])
def test_a_right_hand_pattern_lies_on_the_left_looking_outbound(tables, kind, turn, expected):
    outbound = 45 if turn == "right" else 77
    tables["reversal"] = {"kind": kind, "turn": turn, "outbound_course_deg": outbound, "inbound_course_deg": 241}
    if kind == "hold":
        tables["reversal"] |= {"outbound_course_deg": 61, "leg_time_s": 60}
    found = charted(tables)
    assert (found.side, found.turn) == expected
    assert found.offset_true_rad is None


@pytest.mark.parametrize("flight", [*true_flights.STORED, *true_flights.LIVE])
def test_side_and_turn_are_those_that_the_chart_was_flown_to(flight):
    """As the wings were banked, in the turn off the outbound course and in the turn back."""
    if flight in true_flights.LIVE:
        pytest.importorskip("jsbsim")
    found = resolve(true_flights.states(flight).procedure, FLIGHT)
    assert {(found.side, found.turn)} == {(attempt.side, attempt.turn) for attempt in true_flights.attempts(flight)}


def test_side_and_turn_of_more_simulated_flights():
    """The simulated procedures state both, independently of this program."""
    files = sorted(TRUTH.glob("d*/procedure.json"))
    if not files:
        pytest.skip("the simulated flights are not here")
    sign = {"L": -1, "R": 1}
    word = {"L": "left", "R": "right"}
    kinds = {"procedure_turn": "procedure-turn", "base_turn": "base-turn", "racetrack": "hold"}
    seen = set()
    for file in files:
        given_ = json.loads(file.read_text(encoding="utf-8"))
        if given_["reversal_type"] not in kinds:
            continue
        kind = kinds[given_["reversal_type"]]
        seen.add(kind)
        key = {"side": word[given_["maneuver_side"]]} if kind == "procedure-turn" else {"turn": word[given_["turn_direction"]]}
        tables = {
            "title": given_["name"],
            "fix": {
                "name": given_["fix"]["name"],
                "kind": "vor",
                "latitude_deg": given_["fix"]["lat"],
                "longitude_deg": given_["fix"]["lon"],
                "variation_deg_east": given_["station_declination_deg_east"],
            },
            "reversal": {
                "kind": kind,
                **key,
                "outbound_course_deg": given_["outbound_course_mag"],
                "inbound_course_deg": given_["inbound_course_mag"],
                "within_nm": given_["distance_limit_nm"],
                **({"leg_time_s": 60} if kind == "hold" else {}),
            },
        }
        found = charted(tables)
        assert (found.side, found.turn) == (sign[given_["maneuver_side"]], sign[given_["turn_direction"]])
        assert Procedure.model_validate(tables).warnings == ()
        if given_["barb_headings_mag"]:
            magnetic = math.degrees((found.offset_true_rad or 0.0) - found.variation.east_rad) % 360.0
            assert magnetic == pytest.approx(given_["barb_headings_mag"][0])
    assert seen == set(kinds.values())


def test_outbound_defaults_to_the_reciprocal(tables):
    tables["reversal"] = {"kind": "hold", "turn": "right", "inbound_course_deg": 241, "leg_length_nm": 4}
    found = charted(tables)
    assert degrees(found.outbound_true_rad) == pytest.approx(52.0)
    assert found.leg_length_m == 7_408.0
    assert found.leg_time_s is None
    assert found.limit_m is None


def test_legs_have_limits_where_there_is_an_outbound_leg_and_arcs_are_for_arcs(tables):
    tables["arc"] = {"latitude_deg": 47.25, "longitude_deg": -31.5, "radius_nm": 12}
    found = charted(tables)
    assert (found.leg_time_s, found.leg_length_m) == (None, None)
    assert (found.arc_radius_m, found.arc_latitude_rad, found.arc_longitude_rad) == (None, None, None)
    tables["reversal"] |= {"leg_time_s": 60, "leg_length_nm": 4}  # since outbound legs of procedure turns may be limited
    found = charted(tables)
    assert (found.leg_time_s, found.leg_length_m) == (60.0, 7_408.0)
    tables["reversal"] = {"kind": "hold", "turn": "right", "inbound_course_deg": 241, "leg_time_s": 90}
    assert charted(tables).leg_time_s == 90.0
    tables["reversal"] = {"kind": "arc", "turn": "left", "inbound_course_deg": 241, "leg_time_s": 60, "maximum_time_s": 90}
    found = charted(tables)
    assert (found.leg_time_s, found.maximum_time_s) == (None, None)


@given(st.floats(0.0, 360.0), st.floats(-180.0, 180.0))
def test_courses_stay_in_one_turn_and_reciprocal(inbound, variation):
    fix = {"name": "WND", "kind": "vor", "latitude_deg": 0.0, "longitude_deg": 0.0, "variation_deg_east": variation}
    found = charted({"title": "x", "fix": fix, "reversal": {"kind": "none", "inbound_course_deg": inbound}})
    assert 0.0 <= found.inbound_true_rad <= math.tau
    assert 0.0 <= found.outbound_true_rad <= math.tau
    assert abs(math.remainder(found.outbound_true_rad - found.inbound_true_rad, math.tau)) == pytest.approx(math.pi)
    assert (found.side, found.turn) == (None, None)


def test_an_arc(tables):
    tables["reversal"] = {"kind": "arc", "turn": "left", "inbound_course_deg": 241}
    tables["arc"] = {"latitude_deg": 47.25, "longitude_deg": -31.5, "radius_nm": 12}
    found = charted(tables)
    assert (found.side, found.turn) == (None, -1)
    assert found.arc_radius_m == 22_224.0
    assert found.arc_latitude_rad == pytest.approx(math.radians(47.25))
    assert found.arc_longitude_rad == pytest.approx(math.radians(-31.5))
    assert found.warnings == ()


def test_a_limit_from_elsewhere(tables):
    assert charted(tables).limit_latitude_rad == charted(tables).fix_latitude_rad
    tables["reversal"]["within_from"] = {"latitude_deg": 47.3, "longitude_deg": -31.4}
    found = charted(tables)
    assert degrees(found.limit_latitude_rad) == pytest.approx(47.3)
    assert math.degrees(found.limit_longitude_rad) == pytest.approx(-31.4)


@pytest.mark.parametrize(
    ("fix_kind", "guidance_kind", "full_scale_deg", "full_scale_nm", "final_nm"),
    [
        ("vor", "vor", 10.0, None, None),
        ("ndb", "ndb", 10.0, None, None),
        ("waypoint", "gps", None, 1.0, 0.3),
        ("marker", "gps", None, 1.0, 0.3),
    ],
)
def test_guidance_defaults_to_the_fix(tables, fix_kind, guidance_kind, full_scale_deg, full_scale_nm, final_nm):
    tables["fix"]["kind"] = fix_kind
    guidance = charted(tables).guidance
    assert guidance.kind == guidance_kind
    assert degrees(guidance.latitude_rad) == pytest.approx(47.25)
    if full_scale_deg is None:
        assert guidance.full_scale_rad is None
        assert guidance.full_scale_m == pytest.approx(full_scale_nm * 1852.0)
        assert guidance.full_scale_final_m == pytest.approx(final_nm * 1852.0)
    else:
        assert degrees(guidance.full_scale_rad) == pytest.approx(full_scale_deg)
        assert (guidance.full_scale_m, guidance.full_scale_final_m) == (None, None)


def test_a_localizer_is_measured_at_its_antenna(tables):
    # On 232° true from the fix, some 8 NM: 47.25 - 8/60 cos 52°, -31.5 - 8/60 sin 52° / cos 47.2°.
    tables["guidance"] = {"kind": "localizer", "latitude_deg": 47.168, "longitude_deg": -31.655}
    del tables["runway"]  # with one, the full scale follows from its threshold
    found = charted(tables)
    assert degrees(found.guidance.full_scale_rad) == pytest.approx(2.5)  # FAA Aeronautical Information Manual 1-1-9 b.2
    assert degrees(found.guidance.latitude_rad) == pytest.approx(47.168)
    assert found.warnings == ()


def test_a_given_full_scale_is_kept(tables):
    tables["guidance"] = {"kind": "vor", "full_scale_deg": 12}
    assert degrees(charted(tables).guidance.full_scale_rad) == pytest.approx(12.0)
    tables["guidance"] = {"kind": "gps", "full_scale_nm": 2}
    guidance = charted(tables).guidance
    assert (guidance.full_scale_m, guidance.full_scale_final_m) == (3_704.0, 3_704.0)


def test_positions_that_do_not_fit_are_warned_about(tables):
    tables["guidance"] = {"kind": "localizer", "latitude_deg": 47.19, "longitude_deg": -31.655}
    (warning,) = charted(tables).warnings
    assert "off the line of the inbound course" in warning
    tables["guidance"] = {"kind": "localizer", "latitude_deg": 47.168, "longitude_deg": 31.655}  # the sign
    (warning,) = charted(tables).warnings
    assert warning.startswith("[guidance] lies ")
    del tables["guidance"]
    tables["runway"]["threshold_latitude_deg"] = 42.71  # two digits swapped
    (warning,) = charted(tables).warnings
    assert warning.startswith("[runway] lies 272 NM from the fix")  # 4.54° of latitude at 60.0 NM each
    del tables["runway"]
    tables["reversal"] = {"kind": "arc", "turn": "left", "inbound_course_deg": 241}
    tables["arc"] = {"latitude_deg": 48.25, "longitude_deg": -31.5, "radius_nm": 12}
    (warning,) = charted(tables).warnings
    assert warning.startswith("[arc] has its centre 60 NM from the fix")


def test_without_a_given_declination_the_model_of_the_day_is_used(tables):
    del tables["fix"]["variation_deg_east"]
    found = charted(tables)
    assert found.variation.model == "WMM2025"
    assert found.variation.date == FLIGHT
    # One of the WMM2025 test values: 14.91° at 8 km, 52 S 75 W, in 2025.5; 5 km of height change it by less than 0.05°.
    tables["fix"] |= {"latitude_deg": -52.0, "longitude_deg": -75.0, "elevation_ft": 3_000}
    del tables["runway"]
    assert math.degrees(charted(tables, dt.date(2025, 7, 2)).variation.east_rad) == pytest.approx(14.91, abs=0.05)


def test_variation_date_is_the_models_date(tables):
    del tables["fix"]["variation_deg_east"]
    tables["fix"]["variation_date"] = dt.date(1992, 3, 1)
    found = charted(tables)
    assert (found.variation.model, found.variation.date) == ("IGRF-14", dt.date(1992, 3, 1))


def test_a_declination_far_from_the_models_is_kept_and_told(tables):
    model_deg = math.degrees(charted({**tables, "fix": {**tables["fix"], "variation_deg_east": None}}).variation.east_rad)
    tables["fix"]["variation_deg_east"] = model_deg + 1.9
    assert charted(tables).warnings == ()
    tables["fix"]["variation_deg_east"] = -2.5
    found = charted(tables)
    assert degrees(found.inbound_true_rad) == pytest.approx(238.5)
    (warning,) = found.warnings
    assert "as charted, 2.5° west, is used" in warning
    side = "west" if model_deg < 0.0 else "east"
    assert f"WMM2025 gives {abs(model_deg):.1f}° {side} there" in warning
    assert "AIM 1-1-17" in warning


def test_a_given_declination_needs_no_model(tables):
    assert charted(tables, dt.date(2035, 1, 1)).warnings == ()
    tables["fix"] |= {"latitude_deg": 86.0, "longitude_deg": 150.0}  # where no compass works
    del tables["runway"]
    assert charted(tables).warnings == ()


def test_where_no_model_reaches_a_declination_is_asked_for(tables):
    del tables["fix"]["variation_deg_east"]
    with pytest.raises(ProcedureError, match=r"2035-01-01.*variation_deg_east"):
        charted(tables, dt.date(2035, 1, 1))


def test_a_weak_field_is_cautioned_about(tables):
    # WMM2025's report puts the north magnetic dip pole near 86 N 139 E; the caution zone surrounds it.
    tables["fix"] |= {"latitude_deg": 79.0, "longitude_deg": 150.0}
    del tables["fix"]["variation_deg_east"], tables["runway"]
    (warning,) = charted(tables).warnings
    assert "compass and variation are uncertain" in warning


def test_warnings_of_the_file_come_along(tables):
    tables["reversal"]["within_nm"] = 20
    assert charted(tables).warnings == Procedure.model_validate(tables).warnings != ()


def test_it_travels_to_another_process(tables):
    found = charted(tables)
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own bytes
