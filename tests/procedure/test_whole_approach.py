"""The tables of the whole approach: each key read, missing or out of range, and what cannot all be true."""

import copy

import pytest
from wendle import Tables, whole

from analyzer.errors import ProcedureError
from analyzer.procedure.read import read_procedure

FEET = "feet above mean sea level, -1500 to 60000"
COURSE = "degrees from 0 to 360"
LINE = "a line of 1 to 120 characters"


@pytest.fixture
def everything() -> Tables:
    return whole()


def faults(write, tables) -> list[str]:
    path = write(tables)
    with pytest.raises(ProcedureError) as caught:
        read_procedure(path)
    return [line.removeprefix(f"{path}: ") for line in str(caught.value).splitlines()]


def fault(write, tables) -> str:
    (only,) = faults(write, tables)
    return only


def test_every_key_is_read(write, everything):
    procedure = read_procedure(write(everything))
    assert [fix.role for fix in procedure.fixes] == ["final-approach-fix", "step-down", "missed-approach-point"]
    assert (procedure.fixes[0].distance_nm, procedure.fixes[1].dme_nm, procedure.fixes[2].latitude_deg) == (4.2, 2.5, 47.16575)
    assert procedure.minimums[0].category == "A-B"
    assert procedure.missed_approach is not None
    assert procedure.missed_approach.to == "WND"
    assert [hold.role for hold in procedure.holds] == ["missed-approach", "published"]
    assert [arrival.reversal for arrival in procedure.arrivals] == [False, True]
    assert procedure.altitudes.ceilings_by_leg() == {"outbound": 3000.0, "reversal": 4000.0}
    assert "final" not in procedure.altitudes.by_leg()


def test_today_s_files_stay_valid(write, tables):
    procedure = read_procedure(write(tables))
    assert (procedure.fixes, procedure.minimums, procedure.holds, procedure.arrivals) == ((), (), (), ())
    assert (procedure.minimum, procedure.missed_approach, procedure.speeds, procedure.dme) == (None, None, None, None)
    assert procedure.altitude_unit == "ft"


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ("fixes", "name"), ("fixes", "role"), ("minimums", "kind"), ("minimums", "altitude_ft"), ("holds", "name"),
        ("holds", "inbound_course_deg"), ("holds", "turn"), ("arrivals", "name"), ("arrivals", "course_deg"),
    ],
)  # fmt: skip
def test_what_a_table_of_a_list_cannot_do_without(write, everything, table, key):
    del everything[table][1][key]
    assert faults(write, everything)[0].startswith(f"[[{table}]] 2 {key}: missing; accepted: ")


@pytest.mark.parametrize(
    ("table", "keys", "needed"),
    [
        ("minimum", {"kind": "mda", "altitude_ft": 640}, ("kind", "altitude_ft")),
        ("dme", {"name": "WNE", "latitude_deg": 47.16, "longitude_deg": -31.68}, ("name", "latitude_deg", "longitude_deg")),
    ],
)
def test_what_a_table_cannot_do_without(write, tables, table, keys, needed):
    del tables["altitudes"]["final_ft"]
    tables[table] = keys
    read_procedure(write(tables))  # complete as it stands
    for key in needed:
        less = copy.deepcopy(tables)
        del less[table][key]
        assert fault(write, less).startswith(f"[{table}] {key}: missing; accepted: ")


@pytest.mark.parametrize(
    ("table", "key", "value", "said"),
    [
        ("fixes", "role", "faf", ('"faf": not one of the choices; accepted: "intermediate-fix", "final-approach-fix", '
         '"step-down" or "missed-approach-point"')),
        ("fixes", "distance_nm", 51, "51: too large; accepted: nautical miles from -50 to 50"),
        ("fixes", "dme_nm", -1, "-1: too small; accepted: nautical miles from 0 to 200"),
        ("fixes", "latitude_deg", 91, "91: too large; accepted: degrees from -90 to 90, north positive"),
        ("fixes", "course_deg", 361, f"361: too large; accepted: {COURSE}"),
        ("fixes", "minimum_ft", 60001, f"60001: too large; accepted: {FEET}"),
        ("fixes", "maximum_ft", "3000", f'"3000": not a number; accepted: {FEET}'),
        ("fixes", "name", "", f'"": empty; accepted: {LINE}'),
        ("fixes", "distance", 4, "4: unknown key; did you mean distance_nm?"),
        ("minimums", "kind", "dh", '"dh": not one of the choices; accepted: "mda" or "da"'),
        ("minimums", "line", "circle", ('"circle": not one of the choices; did you mean "circling"? accepted: "straight-in" or '
         '"circling"')),
        ("minimums", "category", "B-A", '"B-A": not of that form; accepted: a category from "A" to "E", or several as "A-B"'),
        ("minimums", "visual_descent_point_nm", 0, "0: too small; accepted: nautical miles before the threshold, from"),
        ("holds", "role", "missed", ('"missed": not one of the choices; accepted: '
         '"missed-approach" or "published"')),
        ("holds", "leg_by", "from-fix", '"from-fix": not one of the choices; accepted: "dme" or "along-track"'),
        ("holds", "maximum_speed_kias", 30, "30: too small; accepted: knots from 40 to 400"),
        ("holds", "variation_deg_east", 181, "181: too large; accepted: degrees, east positive"),
        ("arrivals", "reversal", "no", '"no": neither true nor false; accepted: true or false'),
    ],
)  # fmt: skip
def test_a_wrong_value_in_a_list_is_named_by_its_number(write, everything, table, key, value, said):
    everything[table][1][key] = value
    assert faults(write, everything)[0].startswith(f"[[{table}]] 2 {key} = {said}")


@pytest.mark.parametrize(
    ("table", "key", "value", "accepted"),
    [
        ("missed_approach", "time_s", 5, "seconds from 10 to 900"),
        ("missed_approach", "time_at_kt", 500, "knots from 40 to 400"),
        ("missed_approach", "climb_ft", -2000, FEET),
        ("missed_approach", "turn", "straight", '"left" or "right"'),
        ("missed_approach", "course_deg", -1, COURSE),
        ("missed_approach", "to", 3, LINE),
        ("missed_approach", "altitude_ft", 70000, FEET),
        ("speeds", "final", 20, "knots from 40 to 400"),
        ("dme", "elevation_ft", 30000, "feet above mean sea level, -1500 to 20000"),
        ("altitudes", "arrival_maximum_ft", 70000, FEET),
        ("reversal", "leg_by", "gps", '"dme", "along-track" or "from-fix"'),
        ("reversal", "within_by", "gps", '"dme"'),
        ("reversal", "maximum_time_s", 5, "seconds from 10 to 600"),
        ("reversal", "entry_within_deg", 0, "degrees from 1 to 180"),
        ("guidance", "variation_deg_east", -200, "degrees, east positive"),
        ("runway", "length_ft", 400, "feet from 500 to 20000"),
    ],
)
def test_a_wrong_value_is_named_with_what_is_accepted(write, everything, table, key, value, accepted):
    everything[table][key] = value
    (first, *_) = faults(write, everything)
    assert first.startswith(f"[{table}] {key} = ")
    assert first.endswith(f"accepted: {accepted}")


def test_single_and_double_brackets(write, everything):
    everything["fixes"] = everything["fixes"][0]
    assert fault(write, everything).startswith(
        "[fixes]: not a list of tables; accepted: [[...]] tables with the keys name, role"
    )
    everything = whole()
    everything["fixes"] *= 17
    assert faults(write, everything)[0].startswith("fixes = [...]: too many")
    everything = whole()
    everything["fixs"] = everything.pop("fixes")
    assert "did you mean [[fixes]]?" in faults(write, everything)[0]
    everything = whole()
    everything["dme"]["dme_nm"] = 4
    assert fault(write, everything) == "[dme] dme_nm = 4: unknown key; it belongs under [[fixes]]"


def change(tables: Tables, place: str, value: object) -> None:
    """Set the value at a place such as ``fixes.0.minimum_ft``, or take it away with None."""
    *path, key = place.split(".")
    at = tables
    for part in path:
        at = at[int(part)] if part.isdigit() else at.setdefault(part, {})
    at.pop(key, None)
    if value is not None:
        at[key] = value


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"fixes.0.minimum_ft": 3500}, "[[fixes]] 1 minimum_ft = 3500: above maximum_ft = 3000; correct one"),
        ({"fixes.0.distance_nm": None}, "[[fixes]] 1 distance_nm: missing: TARRO has no place; give distance_nm, or"),
        ({"fixes.0.dme_nm": 4.0}, "[[fixes]] 1 dme_nm = 4: given with distance_nm = 4.2"),
        ({"fixes.0.latitude_deg": 47.0}, "[[fixes]] 1 longitude_deg: missing: latitude_deg and longitude_deg go together"),
        ({"fixes.1.role": "final-approach-fix"}, ('[[fixes]] 2 role = "final-approach-fix": KESTA is the second one: '
         "[[fixes]] 1 (TARRO) has that role too")),
        ({"fixes.0.role": "missed-approach-point"}, ('[[fixes]] 3 role = "missed-approach-point": MAPAR is the second one: '
         "[[fixes]] 1 (TARRO)")),
        ({"fixes.1.name": "TARRO"}, '[[fixes]] 2 name = "TARRO": [[fixes]] 1 has that name too'),
        ({"fixes.0.role": "step-down", "fixes.1.role": "missed-approach-point", "fixes.2.role": "final-approach-fix"},
         '[[fixes]] 3 role = "final-approach-fix": MAPAR comes after KESTA, the missed-approach-point'),
        ({"minimum": {"kind": "mda", "altitude_ft": 700}}, ("[minimum] altitude_ft = 700: given with [[minimums]] 1 "
         "altitude_ft = 640")),
        ({"altitudes.final_ft": 700}, "[altitudes] final_ft = 700: given with [[minimums]] 1 altitude_ft = 640"),
        ({"minimums": None, "minimum": {"kind": "mda", "altitude_ft": 650}, "altitudes.final_ft": 700},
         "[altitudes] final_ft = 700: given with [minimum] altitude_ft = 650"),
        ({"minimums": None, "minimum": {"kind": "mda", "altitude_ft": 30}},
         "[minimum] altitude_ft = 30: below [runway] threshold_elevation_ft = 40"),
        ({"minimums.1.altitude_ft": 30}, "[[minimums]] 2 altitude_ft = 30: below [runway] threshold_elevation_ft = 40"),
        ({"minimums.1.category": "B-C"}, ("[[minimums]] 2 altitude_ft = 760: [[minimums]] 1 altitude_ft = 640 is a "
         "straight-in mda for the same category")),
        ({"runway": None}, "[[minimums]] 1 visual_descent_point_nm = 1.6: counted from the threshold, and there is no"),
        ({"missed_approach.time_at_kt": None}, "[missed_approach] time_at_kt: missing, and time_s = 168 needs it"),
        ({"missed_approach.time_s": None}, "[missed_approach] time_s: missing, and time_at_kt = 90 needs it"),
        ({"missed_approach.to": "NOWHR"}, ('[missed_approach] to = "NOWHR": no fix or hold has that name; there are WND, '
         "TARRO, KESTA, MAPAR, PELTO")),
        ({"missed_approach.to": None}, '[missed_approach] turn = "right": where to is missing: give course_deg, or to'),
        ({"missed_approach.climb_ft": 3100}, "[missed_approach] climb_ft = 3100: above altitude_ft = 3000"),
        ({"holds.0.minimum_ft": 5100}, "[[holds]] 1 minimum_ft = 5100: above maximum_ft = 5000"),
        ({"holds.0.leg_length_nm": 4.0}, "[[holds]] 1 leg_length_nm = 4: given with leg_time_s = 60"),
        ({"holds.1.leg_length_nm": None}, '[[holds]] 2 leg_length_nm: missing, and leg_by = "along-track" needs it'),
        ({"holds.1.longitude_deg": None}, "[[holds]] 2 longitude_deg: missing: latitude_deg and longitude_deg go together"),
        ({"holds.1.longitude_deg": None, "holds.1.latitude_deg": None}, ("[[holds]] 2 latitude_deg: missing, and no fix is "
         "named PELTO")),
        ({"reversal.leg_length_nm": None}, '[reversal] leg_length_nm: missing, and leg_by = "dme" needs it'),
        ({"reversal.within_nm": None}, '[reversal] within_nm: missing, and within_by = "dme" needs it'),
        ({"reversal.within_from": {"latitude_deg": 47.0, "longitude_deg": -31.0}}, ('[reversal] within_by = "dme": given with '
         "within_from")),
        ({"reversal.maximum_time_s": 100}, "[reversal] maximum_time_s = 100: less than leg_time_s = 120"),
        ({"altitudes.reversal_maximum_ft": 2100}, "[altitudes] reversal_maximum_ft = 2100: below reversal_ft = 2200"),
    ],
)  # fmt: skip
def test_contradictions_name_both_sides(write, everything, changes, said):
    for place, value in changes.items():
        change(everything, place, value)
    assert fault(write, everything).startswith(said)


def test_what_reads_a_dme_needs_a_station(write, everything):
    everything["fix"]["kind"] = "ndb"
    del everything["dme"]
    assert [line.split(":")[0] for line in faults(write, everything)] == [
        '[reversal] leg_by = "dme"',
        '[reversal] within_by = "dme"',
        "[[fixes]] 2 dme_nm = 2.5",
    ]
    assert '[fix] kind = "ndb" is no VOR; give [dme]' in faults(write, everything)[0]
    everything["fix"]["kind"] = "vor"  # a VOR is taken to have one
    assert read_procedure(write(everything)).dme is None


def test_a_line_for_all_categories_stands_beside_one_for_some(write, everything):
    change(everything, "minimums.1.category", None)
    assert len(read_procedure(write(everything)).minimums) == 3


@pytest.mark.parametrize("category", ["A", "E", "A-B", "A-E", "C-D"])
def test_categories_that_are_accepted(write, everything, category):
    everything["holds"][0]["category"] = category
    assert read_procedure(write(everything)).holds[0].category == category


@pytest.mark.parametrize("category", ["F", "a", "A,B", "A-A", "D-B", "", "A-B-C", 2])
def test_categories_that_are_not(write, everything, category):
    everything["holds"][0]["category"] = category
    assert fault(write, everything).startswith("[[holds]] 1 category = ")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"fixes.1.minimum_ft": 2200}, "[[fixes]] 2 (KESTA) minimum_ft = 2200 is above [[fixes]] 1 (TARRO) minimum_ft = 2100"),
        ({"missed_approach.course_deg": 31}, '[missed_approach] course_deg = 31 and to = "WND" are both given'),
        ({"missed_approach.climb_ft": 500, "missed_approach.altitude_ft": 600, "holds.0.minimum_ft": None},
         "[missed_approach] altitude_ft = 600 is below the minimum, [[minimums]] 1 altitude_ft = 640"),
        ({"minimums.0.kind": "da"}, "[[minimums]] 1 visual_descent_point_nm = 1.6 is ignored"),
        ({"minimums": None, "minimum": {"kind": "mda", "altitude_ft": 1400}, "missed_approach.climb_ft": 1500},
         "[[fixes]] 2 (KESTA) minimum_ft = 1300 is below [minimum] altitude_ft = 1400"),
        ({"minimums": None, "altitudes.final_ft": 30}, "[altitudes] final_ft = 30 is below [runway] threshold_elevation_ft"),
    ],
)  # fmt: skip
def test_what_is_odd_but_possible_is_warned_about(write, everything, changes, said):
    before = read_procedure(write(everything)).warnings
    for place, value in changes.items():
        change(everything, place, value)
    (found,) = [line for line in read_procedure(write(everything)).warnings if line not in before]
    assert found.startswith(said)
