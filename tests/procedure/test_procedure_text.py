"""What was understood of a procedure file, in words."""

import datetime as dt

import pytest

from analyzer.procedure.charted import resolve
from analyzer.procedure.schema import Procedure
from analyzer.report.words.procedure_text import procedure_text


def text(tables) -> str:
    procedure = Procedure.model_validate(tables)
    return procedure_text(procedure, resolve(procedure, dt.date(2026, 11, 25)))


def rows(tables) -> dict[str, str]:
    """The labelled rows, unfolded."""
    found: dict[str, str] = {}
    label = ""
    for line in text(tables).split("\n\n")[2].splitlines():
        label = line[:14].strip() or label
        found[label] = f"{found[label]} {line[14:]}" if label in found else line[14:]
    return found


def test_a_procedure_turn(tables):
    assert rows(tables) == {
        "Fix": "WND (VOR), 47.25000 N 31.50000 W, elevation 120 ft",
        "Variation": "9.0° west, given in the procedure file",
        "Reversal": "procedure turn on the left of the outbound course, turning back to the right",
        "Outbound": "061° magnetic, 052° true",
        "Offset": "016° magnetic, 007° true (45° off the outbound course, not charted: left to the pilot)",
        "Inbound": "241° magnetic, 232° true",
        "Limit": "within 10 NM of the fix",
        "Speed": "200 KIAS at most",
        "Guidance": "VOR at 47.25000 N 31.50000 W, full scale 10°",
        "At or above": "arrival 3000 ft, outbound 3000 ft, reversal 2200 ft, inbound 2200 ft",
        "Minimum": "MDA 640 ft",
        "Runway": "24, threshold 47.21000 N 31.58000 W, elevation 40 ft, heading 229° true",
    }


def test_a_hold_by_gps(tables):
    tables["fix"]["kind"] = "waypoint"
    tables["reversal"] = {"kind": "hold", "turn": "left", "inbound_course_deg": 9, "leg_length_nm": 4}
    found = rows(tables)
    assert found["Reversal"] == (
        "hold in lieu of a procedure turn on the right of the outbound course, turning back to the left, legs of 4 NM"
    )
    assert found["Inbound"] == "009° magnetic, 360° true"
    assert found["Guidance"].endswith("full scale 1 NM, on final 0.3 NM")


def test_an_arc_and_a_straight_in(tables):
    tables["arc"] = {"latitude_deg": 47.25, "longitude_deg": -31.5, "radius_nm": 12}
    tables["reversal"] = {"kind": "arc", "turn": "right", "inbound_course_deg": 241}
    assert rows(tables)["Reversal"] == "arc of 12 NM, clockwise (right) around 47.25000 N 31.50000 W"
    assert "Outbound" not in rows(tables)
    del tables["arc"], tables["altitudes"]
    tables["reversal"] = {"kind": "none", "inbound_course_deg": 241}
    assert rows(tables)["Reversal"] == "none, straight in"
    assert rows(tables)["At or above"] == "nothing charted"


def test_a_model_is_named_with_its_date_and_standard_deviation(tables):
    del tables["fix"]["variation_deg_east"]
    # The error model of the WMM gives 0.35° to 0.4° at mid latitudes.
    assert rows(tables)["Variation"].endswith("WMM2025 on 2026-11-25, standard deviation 0.4°")


def test_glide_path_and_other_remarks(tables):
    tables["glide_path"] = {"angle_deg": 3.15}
    tables["reversal"] |= {"depicted_track": True, "within_from": {"latitude_deg": 47.3, "longitude_deg": -31.4}}
    found = rows(tables)
    assert found["Glide path"] == "3.15°, 50 ft above the threshold"
    assert found["Reversal"].endswith("to be flown exactly as drawn")
    assert found["Limit"] == "within 10 NM of 47.30000 N 31.40000 W"


def test_warnings_stand_before_the_last_line(tables):
    tables["reversal"]["within_nm"] = 20
    assert "\n\nWarning: [reversal] within_nm = 20 is outside the 5 to 15 NM" in text(tables)
    assert text(tables).endswith("\n\nok, but see the warning above\n")


@pytest.mark.parametrize("title", ["Wendle Island VOR 24", "Wendle " * 17])
def test_no_line_is_longer_than_80_columns_nor_parts_a_number_from_its_unit(tables, title):
    tables["title"] = title.strip()
    tables["reversal"]["within_nm"] = 20
    lines = text(tables).splitlines()
    assert max(map(len, lines)) <= 80
    assert not any(line.strip().startswith(("ft", "NM", "KIAS")) for line in lines)


def test_it_says_what_it_is_not_for(tables):
    assert "never for navigation" in text(tables)
