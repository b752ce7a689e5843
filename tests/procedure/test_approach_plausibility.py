"""What is odd of the whole approach is said with both keys and their values; a chart without it has no warning."""

import datetime as dt
from typing import Any

import pytest
from wendle import Tables, whole

from analyzer.errors import ProcedureError
from analyzer.procedure.charted import resolve
from analyzer.procedure.read import read_procedure
from analyzer.procedure.schema import Procedure

DATE = dt.date(2026, 11, 25)
# A straight final leg of round distances, from a fix on the equator eastwards: a degree of longitude there is 60.108 NM.
STRAIGHT: Tables = {
    "title": "Quorl Bank RNAV 09",
    "category": "B",
    "fix": {"name": "QRL", "kind": "waypoint", "latitude_deg": 0.0, "longitude_deg": -30.0, "variation_deg_east": 0.0},
    "reversal": {"kind": "hold", "turn": "right", "inbound_course_deg": 90, "leg_time_s": 60, "maximum_speed_kias": 200},
    "altitudes": {"arrival_ft": 3000, "inbound_ft": 2000},
    "fixes": [
        {"name": "TARRO", "role": "final-approach-fix", "distance_nm": 1.0, "minimum_ft": 2000},
        {"name": "KESTA", "role": "step-down", "distance_nm": 4.0, "minimum_ft": 1000},
        {"name": "MAPAR", "role": "missed-approach-point", "distance_nm": 5.5},
    ],
    "runway": {
        "name": "09",
        "threshold_latitude_deg": 0.0,
        "threshold_longitude_deg": -29.9,  # 6.01 NM
        "threshold_elevation_ft": 0,
        "true_heading_deg": 90,
    },
    "minimums": [
        {"line": "straight-in", "category": "A-B", "kind": "mda", "altitude_ft": 500, "visual_descent_point_nm": 1.5},
        {"line": "straight-in", "category": "C-D", "kind": "mda", "altitude_ft": 560},
        {"line": "circling", "kind": "mda", "altitude_ft": 700},
    ],
    "missed_approach": {"time_s": 180, "time_at_kt": 90, "climb_ft": 1200, "turn": "left", "to": "QRL", "altitude_ft": 3000},
    "holds": [
        {
            "name": "QRL",
            "role": "missed-approach",
            "inbound_course_deg": 90,
            "turn": "right",
            "leg_time_s": 60,
            "minimum_ft": 3000,
        }
    ],
    "arrivals": [
        {"name": "DORVA", "course_deg": 90, "minimum_ft": 3000, "reversal": False},
        {"name": "GERRI", "course_deg": 300, "minimum_ft": 3400},
    ],
    "speeds": {"outbound": 110, "hold": 110},
}


def straight() -> Tables:
    """A copy of the straight one."""
    return {
        name: [dict(row) for row in table] if isinstance(table, list) else dict(table) if isinstance(table, dict) else table
        for name, table in STRAIGHT.items()
    }


def changed(changes: dict[str, Any]) -> Tables:
    """The straight one with changes by place, as ``fixes.0.minimum_ft``; None takes a key out."""
    tables = straight()
    for place, value in changes.items():
        *way, key = [int(part) if part.isdigit() else part for part in place.split(".")]
        table: Any = tables
        for part in way:
            table = table.setdefault(part, {}) if isinstance(part, str) else table[part]
        if value is None:
            del table[key]
        else:
            table[key] = value
    return tables


def warnings(tables: Tables) -> list[str]:
    """Those of the chart; that a declination of nothing is not that of the place is by intent."""
    found = resolve(Procedure.model_validate(tables), DATE).warnings
    return [line for line in found if "as charted, 0° east, is used" not in line]


def test_a_consistent_chart_has_no_warnings():
    assert warnings(straight()) == []
    # what it is warned of there is by intent, and nothing of the final course
    assert [line for line in warnings(whole()) if "leg_time_s = 120 and leg_length_nm" not in line] == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"missed_approach.time_s": 120}, ("time_s = 120 at time_at_kt = 90 is 3.0 NM", "MAPAR lies 4.5 NM beyond TARRO")),
        (
            {"missed_approach.time_s": 60, "fixes": STRAIGHT["fixes"][:2]},
            ("time_s = 60 at time_at_kt = 90 is 1.5 NM", "[runway] lies 5.0 NM beyond TARRO"),
        ),
        ({"minimums.0.visual_descent_point_nm": 3.0},
         ("[[minimums]] 1 visual_descent_point_nm = 3 lies before [[fixes]] 2 (KESTA, step-down), 2.0 NM",)),
        ({"minimums.0.visual_descent_point_nm": 0.3},
         ("[[minimums]] 1 visual_descent_point_nm = 0.3 lies beyond [[fixes]] 3 (MAPAR, missed-approach-point), 0.5 NM",)),
        # 3.0 NM of 3°, 50 ft over the threshold, is 1,005 ft: above KESTA's; 5.01 NM of 2.5° is 1,379 ft
        ({"glide_path": {"angle_deg": 2.5, "threshold_crossing_height_ft": 200}, "fixes.1.minimum_ft": 600},
         ("[glide_path] angle_deg = 2.5 passes TARRO at 1529 ft, below [[fixes]] 1 minimum_ft = 2000",)),
        ({"fixes.0.maximum_ft": 1900, "fixes.0.minimum_ft": None},
         ("[[fixes]] 1 (TARRO) maximum_ft = 1900 is below [altitudes] inbound_ft = 2000, which holds until it",)),
        ({"runway.true_heading_deg": 270}, ("true_heading_deg = 270 is 180° off", "inbound_course_deg = 90", "other end")),
        ({"fixes.0.name": "QRL"}, ('[[fixes]] 1 name = "QRL" lies 1.0 NM from [fix] of that name',)),
        ({"minimums.2.altitude_ft": 450},
         ("[[minimums]] 3 (circling) altitude_ft = 450 is below [[minimums]] 1 (straight-in A-B) altitude_ft = 500",
          "[[minimums]] 3 (circling) altitude_ft = 450 is below [[minimums]] 2 (straight-in C-D) altitude_ft = 560")),
        ({"minimums.1.altitude_ft": 480},
         ("[[minimums]] 2 (straight-in C-D) altitude_ft = 480 is below [[minimums]] 1 (straight-in A-B) altitude_ft = 500",)),
        ({"missed_approach.climb_ft": 400}, ("[missed_approach] climb_ft = 400 is below the minimum, [[minimums]] 1",)),
        ({"missed_approach.altitude_ft": 2500}, ("altitude_ft = 2500 is below [[holds]] 1 (QRL) minimum_ft = 3000",)),
        ({"holds.0.maximum_ft": 4000, "missed_approach.altitude_ft": 5000},
         ("altitude_ft = 5000 is above [[holds]] 1 (QRL) maximum_ft = 4000",)),
        ({"missed_approach.to": "KESTA"}, ('to = "KESTA" does not lead to [[holds]] 1 name = "QRL"',)),
        ({"holds.0.leg_time_s": None}, ("[[holds]] 1 (QRL) has neither leg_time_s nor leg_length_nm",)),
        ({"arrivals.1.minimum_ft": 2600}, ("[[arrivals]] 2 (GERRI) minimum_ft = 2600 is below [altitudes] arrival_ft = 3000",)),
        ({"arrivals.0.course_deg": 240}, ("[[arrivals]] 1 (DORVA) course_deg = 240 with reversal = false is 150° off",)),
        ({"arrivals.1.course_deg": 93}, ("(DORVA) course_deg = 90 and [[arrivals]] 2 (GERRI) course_deg = 93 cannot be told",)),
        ({"speeds.outbound": 210}, ("[speeds] outbound = 210 is above [reversal] maximum_speed_kias = 200",)),
        ({"speeds.hold": 180, "holds.0.maximum_speed_kias": 170},
         ("[speeds] hold = 180 is above [[holds]] 1 (QRL) maximum_speed_kias = 170",)),
        ({"reversal.within_nm": 10, "reversal.leg_time_s": None, "reversal.leg_length_nm": 12},
         ("[reversal] leg_length_nm = 12 is beyond within_nm = 10",)),
        ({"minimums": [{"line": "straight-in", "kind": "da", "altitude_ft": 300}]},
         ("time_s = 180 is ignored: [[minimums]] 1 kind = \"da\"",)),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_said_with_both_keys(changes, said):
    found = warnings(changed(changes))
    assert len(found) == (1 if len(said) == 1 or "circling" not in said[0] else len(said)), found
    for words in said:
        assert any(words in line for line in found), found


def test_the_fix_of_the_reversal_may_be_the_final_approach_fix():
    assert warnings(changed({"fixes.0.name": "QRL", "fixes.0.distance_nm": 0, "missed_approach.time_s": 220})) == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"altitudes.final_maximum_ft": 450}, "[altitudes] final_maximum_ft = 450: below [[minimums]] 1 altitude_ft = 500"),
        ({"fixes.0.minimum_ft": 2800, "altitudes.inbound_maximum_ft": 2600},
         "[[fixes]] 1 minimum_ft = 2800: above [altitudes] inbound_maximum_ft = 2600"),
        ({"fixes.1.maximum_ft": 480, "fixes.1.minimum_ft": None},
         "[[fixes]] 2 maximum_ft = 480: below [[minimums]] 1 altitude_ft = 500"),
        ({"holds.0.name": "ZELDA"},
         "no fix is named ZELDA: give latitude_deg and longitude_deg, or the name of one of QRL, TARRO"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_both_keys(write, changes, said):
    with pytest.raises(ProcedureError) as refused:
        read_procedure(write(changed(changes)))
    assert said in str(refused.value)


def test_a_wrong_unit_is_the_only_fault_that_is_said(write):
    with pytest.raises(ProcedureError) as refused:
        read_procedure(write({"title": "x", "units": {"altitude": "metres"}, "fix": {"elevation_m": 3}}))
    assert str(refused.value).count("\n") == 0
    assert '[units] altitude = "metres": not one of the choices; accepted: "ft" or "m"' in str(refused.value)


def test_of_fixes_out_of_order_the_first_two_are_named():
    """By a reading that is met twice, before the station and beyond it, neither place comes after the fix before."""
    tables = changed({"fixes.0.distance_nm": 4.0, "fixes.1.distance_nm": None, "fixes.1.dme_nm": 3.0})
    tables["dme"] = {"name": "QRD", "latitude_deg": 0.0, "longitude_deg": -29.9}
    with pytest.raises(
        ProcedureError, match=r"^\[\[fixes\]\] 2 \(KESTA\) dme_nm = 3: not beyond .* 1 \(TARRO\) distance_nm = 4"
    ):
        resolve(Procedure.model_validate(tables), DATE)
