"""Reading a procedure file: what is accepted, and how a fault is told."""

import copy
import datetime as dt
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wendle import COMPLETE, toml

from analyzer.errors import ProcedureError
from analyzer.procedure.read import read_procedure

# The example of the file format's own description, with all tables and keys.
EVERY_KEY = """
title    = "Wendle Island VOR 24"
category = "B"
[fix]
name = "WND"
kind = "vor"
latitude_deg = 0.0
longitude_deg = 0.0
elevation_ft = 0                    # optional
variation_deg_east = 0.0
variation_date = 1987-06-01
[reversal]
kind = "procedure-turn"
side = "left"
turn = "right"
outbound_course_deg = 61            # magnetic
inbound_course_deg = 241
within_nm = 10
within_from = {latitude_deg = 0.01, longitude_deg = -0.01}
maximum_speed_kias = 200
offset_course_deg = 16
depicted_track = false
[guidance]
kind = "localizer"
latitude_deg = 0.0
longitude_deg = 0.0
full_scale_deg = 2.5
[glide_path]
angle_deg = 3.0
threshold_crossing_height_ft = 50
[altitudes]
arrival_ft = 3000
outbound_ft = 3000
reversal_ft = 2200
inbound_ft = 2200
final_ft = 640
[runway]
name = "24"
threshold_latitude_deg = 0.0
threshold_longitude_deg = 0.0
threshold_elevation_ft = 40
true_heading_deg = 229.0
"""


def fault(write, content) -> str:
    """The one line that is said about a file with one fault, without the file's name."""
    path = write(content)
    with pytest.raises(ProcedureError) as caught:
        read_procedure(path)
    lines = str(caught.value).splitlines()
    assert len(lines) == 1, lines
    assert lines[0].startswith(f"{path}: ")
    return lines[0].removeprefix(f"{path}: ")


def test_every_key_is_read_in_the_units_of_the_file(write):
    procedure = read_procedure(write(EVERY_KEY))
    assert procedure.title == "Wendle Island VOR 24"
    assert procedure.category == "B"
    assert procedure.fix.variation_date == dt.date(1987, 6, 1)
    assert (procedure.reversal.side, procedure.reversal.turn) == ("left", "right")
    assert procedure.reversal.outbound_course_deg == 61.0
    assert isinstance(procedure.reversal.outbound_course_deg, float)
    assert procedure.reversal.within_from is not None
    assert procedure.reversal.within_from.latitude_deg == 0.01
    assert procedure.guidance is not None
    assert procedure.guidance.full_scale_deg == 2.5
    assert procedure.altitudes.by_leg() == {"arrival": 3000, "outbound": 3000, "reversal": 2200, "inbound": 2200, "final": 640}
    assert procedure.runway is not None
    assert procedure.runway.true_heading_deg == 229.0
    assert procedure.warnings == ()


def test_optional_tables_may_be_left_out(write, tables):
    for name in ("category", "altitudes", "runway"):
        del tables[name]
    procedure = read_procedure(write(tables))
    assert (procedure.category, procedure.runway, procedure.glide_path) == (None, None, None)
    assert procedure.altitudes.by_leg() == {}


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "base-turn", "turn": "left", "outbound_course_deg": 6, "inbound_course_deg": 158},
        {"kind": "hold", "turn": "right", "inbound_course_deg": 26, "leg_time_s": 60},
        {"kind": "hold", "turn": "right", "inbound_course_deg": 26, "leg_length_nm": 4.0, "within_nm": 12.5},
        {"kind": "none", "inbound_course_deg": 26},
    ],
)
def test_each_kind_is_content_with_what_it_needs(write, tables, change):
    tables["reversal"] = change
    assert read_procedure(write(tables)).reversal.kind == change["kind"]


def test_an_arc_has_a_table_of_its_own(write, tables):
    tables["reversal"] = {"kind": "arc", "turn": "right", "inbound_course_deg": 117}
    assert fault(write, tables).startswith(
        "[arc]: missing, and a reversal of kind arc needs it; accepted: a table with the keys"
    )
    tables["arc"] = {"latitude_deg": 47.25, "longitude_deg": -31.5, "radius_nm": 10}
    arc = read_procedure(write(tables)).arc
    assert arc is not None
    assert arc.radius_nm == 10.0


NORTH = "degrees from -90 to 90, north positive"
EAST = "degrees from -180 to 180, east positive"
COURSE = "degrees from 0 to 360"
LINE = "a line of 1 to 120 characters"
FIX_KINDS = '"vor", "ndb", "marker" or "waypoint"'


@pytest.mark.parametrize(
    ("table", "key", "value", "said", "accepted"),
    [
        ("fix", "latitude_deg", 95, "95: too large", NORTH),
        ("fix", "longitude_deg", -181.5, "-181.5: too small", EAST),
        ("fix", "latitude_deg", "47.25", '"47.25": not a number', NORTH),
        ("fix", "latitude_deg", True, "true: not a number", NORTH),
        ("fix", "latitude_deg", float("nan"), "nan: not a finite number", NORTH),
        ("fix", "elevation_ft", float("inf"), "inf: not a finite number", "feet above mean sea level, -1500 to 20000"),
        ("fix", "name", "", '"": empty', LINE),
        ("fix", "name", 7, "7: not text in quotes", LINE),
        ("fix", "name", "A\nB", '"A\\nB": holds a line break, or a control or directing character', LINE),
        ("fix", "name", "A\u009b31m", '"A\ufffd31m": holds a line break, or a control or directing character', LINE),
        ("fix", "name", "A\u202eB", '"A\ufffdB": holds a line break, or a control or directing character', LINE),
        ("fix", "variation_date", "2020-01-01", '"2020-01-01": not a date', "a date without quotes, like 2026-11-25"),
        ("fix", "kind", "dme", '"dme": not one of the choices', FIX_KINDS),
        ("reversal", "side", "port", '"port": not one of the choices', '"left" or "right"'),
        ("reversal", "inbound_course_deg", 361, "361: too large", COURSE),
        ("reversal", "within_nm", 0.5, "0.5: too small", "nautical miles from 1 to 30"),
        ("reversal", "within_from", 3, "3: not a table", "a table with the keys latitude_deg, longitude_deg"),
        ("reversal", "depicted_track", "yes", '"yes": neither true nor false', "true or false"),
        ("altitudes", "final_ft", 70000, "70000: too large", "feet above mean sea level, -1500 to 60000"),
    ],
)
def test_a_wrong_value_is_named_with_its_place_and_what_is_accepted(write, tables, table, key, value, said, accepted):
    tables[table][key] = value
    assert fault(write, tables) == f"[{table}] {key} = {said}; accepted: {accepted}"


def test_a_near_miss_among_choices_is_guessed(write, tables):
    tables["fix"]["kind"] = "VOR"
    assert fault(write, tables) == f'[fix] kind = "VOR": not one of the choices; did you mean "vor"? accepted: {FIX_KINDS}'


@pytest.mark.parametrize(
    ("table", "key", "advice"),
    [
        ("reversal", "within", "did you mean within_nm?"),
        ("fix", "lat", "did you mean latitude_deg?"),
        ("fix", "Latitude_Deg", "did you mean latitude_deg?"),
        ("fix", "within_nm", "it belongs under [reversal]"),
        ("altitudes", "category", "it belongs under no table, at the top or [[minimums]] or [[holds]]"),
        ("glide_path", "zz", "accepted: angle_deg, threshold_crossing_height_ft"),
    ],
)
def test_an_unknown_key_is_guessed_or_sent_home(write, tables, table, key, advice):
    tables["glide_path"] = {"angle_deg": 3.0}
    tables[table][key] = 10
    assert fault(write, tables) == f"[{table}] {key} = 10: unknown key; {advice}"


@pytest.mark.parametrize("category", ["F", "b", "", 3])
def test_category_is_one_of_five(write, tables, category):
    tables["category"] = category
    assert fault(write, tables).endswith('accepted: "A", "B", "C", "D" or "E"')


NEEDS = {
    "procedure-turn": {"side": "left", "outbound_course_deg": 61, "inbound_course_deg": 241, "within_nm": 10},
    "base-turn": {"turn": "right", "outbound_course_deg": 45, "inbound_course_deg": 241},
    "hold": {"turn": "right", "inbound_course_deg": 241, "leg_time_s": 60},
    "none": {"inbound_course_deg": 241},
}


@pytest.mark.parametrize(
    ("kind", "key", "accepted"),
    [
        ("procedure-turn", "side", '"left" or "right"'),
        ("procedure-turn", "within_nm", "nautical miles from 1 to 30"),
        ("procedure-turn", "outbound_course_deg", COURSE),
        ("base-turn", "turn", '"left" or "right"'),
        ("base-turn", "outbound_course_deg", COURSE),
        ("hold", "turn", '"left" or "right"'),
    ],
)
def test_what_a_kind_needs_is_asked_for(write, tables, kind, key, accepted):
    tables["reversal"] = {"kind": kind, **NEEDS[kind]}
    read_procedure(write(tables))  # complete as it stands
    del tables["reversal"][key]
    assert fault(write, tables) == f"[reversal] {key}: missing, and a reversal of kind {kind} needs it; accepted: {accepted}"


@pytest.mark.parametrize("kind", ["procedure-turn", "base-turn", "hold", "none"])
def test_every_kind_needs_an_inbound_course(write, tables, kind):
    tables["reversal"] = {"kind": kind, **NEEDS[kind]}
    read_procedure(write(tables))  # complete as it stands
    del tables["reversal"]["inbound_course_deg"]
    assert fault(write, tables) == f"[reversal] inbound_course_deg: missing; accepted: {COURSE}"


def test_a_hold_needs_a_leg(write, tables):
    tables["reversal"] = {"kind": "hold", "turn": "right", "inbound_course_deg": 241}
    assert fault(write, tables) == (
        "[reversal] leg_length_nm: missing, and so is leg_time_s: a hold needs the one or the other; "
        "accepted: nautical miles from 0.5 to 50"
    )


def test_a_missing_table_and_a_table_within_a_table(write, tables):
    tables["reversal"]["within_from"] = {"latitude_deg": 95, "longitude_deg": 0}
    assert fault(write, tables) == f"[reversal.within_from] latitude_deg = 95: too large; accepted: {NORTH}"
    del tables["reversal"]["within_from"], tables["fix"]
    assert fault(write, tables).startswith("[fix]: missing; accepted: a table with the keys name, kind, latitude_deg, ")


def test_contradictions_are_told(write, tables):
    tables["reversal"]["turn"] = "left"
    assert fault(write, tables).startswith('[reversal] turn = "left": contradicts side = "left"')
    tables["reversal"] = {"kind": "hold", "turn": "left", "inbound_course_deg": 1, "leg_time_s": 60, "leg_length_nm": 4}
    assert fault(write, tables).startswith("[reversal] leg_length_nm = 4: given with leg_time_s")
    tables["reversal"] = {"kind": "none", "inbound_course_deg": 1}
    tables["guidance"] = {"kind": "gps", "full_scale_deg": 2.5}
    assert fault(write, tables) == "[guidance] full_scale_deg = 2.5: does not go with kind gps; use full_scale_nm instead"
    tables["guidance"] = {"kind": "vor", "full_scale_nm": 1}
    assert fault(write, tables) == "[guidance] full_scale_nm = 1: does not go with kind vor; use full_scale_deg instead"
    tables["guidance"] = {"kind": "vor", "latitude_deg": 47.0}
    assert fault(write, tables).startswith("[guidance] longitude_deg: latitude_deg and longitude_deg go together")


def test_every_fault_has_its_line(write, tables):
    tables["category"] = "Z"
    tables["fix"]["latitude_deg"] = 200
    tables["fix"]["colour"] = "red"
    del tables["reversal"]["side"]
    tables["runwy"] = {"name": "24"}
    del tables["title"]
    path = write(tables)
    with pytest.raises(ProcedureError) as caught:
        read_procedure(path)
    assert [line.removeprefix(f"{path}: ").split(":")[0] for line in str(caught.value).splitlines()] == [
        "title",
        'category = "Z"',
        "[fix] latitude_deg = 200",
        '[fix] colour = "red"',
        "[reversal] side",
        "[runwy]",
    ]
    assert "did you mean [runway]?" in str(caught.value)


def test_a_syntax_error_has_its_line(write):
    assert "line 3" in fault(write, 'title = "x"\n[fix]\nname = \n')


@pytest.mark.parametrize(
    "content",
    [
        "a = " + "[" * 5000,  # nested beyond the parser
        "a = " + "9" * 5000,  # a number that Python does not take
        "time,latitude,longitude\n1,2,3\n",
        "title = 'a'\ntitle = 'b'\n",
        "[fix]\n[fix]\n",
        "d = 2020-13-45\n",
    ],
)
def test_what_is_not_toml_is_one_error(write, content):
    assert fault(write, content).startswith("not TOML: ")


@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        ("48,35", "write 48.35 for 48,35, with a decimal point"),
        ("-24,7  # as printed", "write -24.7 for -24,7, with a decimal point"),
        ("1800ft", "write 1800 without ft: the key says the unit"),
        ("061", "write 61 for 061, without the leading zero"),
    ],
)
def test_numbers_as_charts_and_other_countries_write_them(write, value, remedy):
    assert remedy in fault(write, f'title = "A"\n[fix]\nlatitude_deg = {value}\n')


def test_numbers_beyond_measure(write, tables):
    tables["reversal"]["within_nm"] = "@"
    text = toml(tables)
    # A hexadecimal integer of any length is TOML, but cannot be printed, nor made a float.
    assert "a number of more than 19 digits: not a number" in fault(write, text.replace('"@"', "0x" + "f" * 6000))
    assert "within_nm = 1e+400" not in fault(write, text.replace('"@"', "1e400"))


def test_long_values_are_cut(write, tables):
    tables["fix"]["name"] = "x" * 5000
    assert len(fault(write, tables)) < 200


def test_arrays_where_tables_belong(write, tables):
    runway = tables.pop("runway")
    text = toml(tables) + "[[runway]]\n" + "".join(f"{key} = {json.dumps(value)}\n" for key, value in runway.items())
    assert fault(write, text).startswith("runway = [...]: not a table; accepted: a table with the keys name, ")


@pytest.mark.parametrize("prefix", [b"\xef\xbb\xbf", b"# \xc3\xa9\r\n"])
def test_byte_order_mark_and_carriage_returns_are_no_fault(tmp_path, tables, prefix):
    path = tmp_path / "wendle.toml"
    path.write_bytes(prefix + toml(tables).replace("\n", "\r\n").encode())
    assert read_procedure(str(path)).title == "Wendle Island VOR 24"


def test_files_that_cannot_be_read(tmp_path):
    for path, words in [
        (tmp_path / "none.toml", "No such file"),
        (tmp_path, "directory"),
        (Path(f"{tmp_path}/a\0b"), "null"),
    ]:
        with pytest.raises(ProcedureError, match=words):
            read_procedure(path)
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'title = "a"\n# caf\xe9\n')
    with pytest.raises(ProcedureError, match="line 2 is not UTF-8"):
        read_procedure(latin)
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 1_000_001)
    with pytest.raises(ProcedureError, match="is it a log"):
        read_procedure(large)


scalars = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=8)
)


@given(st.sampled_from(["", "fix", "reversal", "altitudes", "runway"]), st.data())
@settings(deadline=None, max_examples=300)
def test_any_value_anywhere_is_accepted_or_explained(tmp_path_factory, table, data):
    tables = copy.deepcopy(COMPLETE)
    place = tables[table] if table else tables
    key = data.draw(st.sampled_from(sorted(place)))
    value = data.draw(scalars | st.dictionaries(st.sampled_from(["a", "kind", "latitude_deg"]), st.integers(), max_size=2))
    if value is None:
        del place[key]
    else:
        place[key] = value
    path = tmp_path_factory.getbasetemp() / f"any-{os.getpid()}.toml"
    path.write_text(toml(tables), encoding="utf-8")
    try:
        procedure = read_procedure(path)
    except ProcedureError as error:
        assert all(line.startswith(f"{path}: ") for line in str(error).split("\n"))  # noqa: PT017 - or none is raised at all
    else:
        assert procedure.reversal.kind == "procedure-turn"


@given(st.binary(max_size=200))
@settings(deadline=None, max_examples=100)
def test_any_bytes_are_read_or_explained(tmp_path_factory, content):
    path = tmp_path_factory.getbasetemp() / f"bytes-{os.getpid()}.toml"
    path.write_bytes(content)
    with pytest.raises(ProcedureError):
        read_procedure(path)


def test_reading_needs_neither_geodesy_nor_tables():
    code = "import sys, analyzer.procedure.read; sys.exit(bool({'pyproj', 'pandas', 'numpy', 'scipy'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0  # noqa: S603 - our own code
