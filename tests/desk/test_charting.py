"""The chart form: what charts write is understood, contradictions stand at their fields, and what is saved is the procedure."""

import re
import tomllib
from collections.abc import Iterator
from typing import get_args

import pytest
from desk_served import CHART, SAMPLES, STRONG_WIND
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

import analyzer
from analyzer.desk.asked import ChartField, ChartSeen
from analyzer.desk.chart_files import draw_saved, save_chart, texts_of
from analyzer.desk.chart_forms import see_form
from analyzer.desk.chart_questions import SECTIONS
from analyzer.desk.charting import see_chart
from analyzer.desk.coded_charts import save_coded, see_coded
from analyzer.desk.store import Store, open_store
from analyzer.errors import DeskError
from analyzer.procedure.schema import Procedure

DAY = "2026-06-28"
BASE = {
    "title": "Anywhere VOR 24", "fix.name": "WND", "fix.kind": "vor", "fix.latitude_deg": "N48 21.0",
    "fix.longitude_deg": "W024 42.0",
    "fix.variation_deg_east": "8W", "reversal.kind": "procedure-turn", "reversal.inbound_course_deg": "241",
    "reversal.outbound_course_deg": "061", "reversal.side": "left", "reversal.within_nm": "10",
}  # fmt: skip


def field(seen: ChartSeen, name: str) -> ChartField:
    return next(one for one in seen.fields if one.name == name)


# AIM and ICAO Doc 8168 charts print positions in degrees and decimal minutes, or in minutes and seconds; 48' is 0.8'.
@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("fix.latitude_deg", "N44°12.8'", "N44°12.800′"),
        ("fix.latitude_deg", "44 12 48 N", "N44°12.800′"),
        ("fix.longitude_deg", "9 05 10 E", "E009°05.167′"),
        ("fix.latitude_deg", "S44°12.8′", "S44°12.800′"),
        ("fix.longitude_deg", "W029 18.0", "W029°18.000′"),
        ("reversal.inbound_course_deg", "024°", ""),
        ("reversal.inbound_course_deg", "24", "024°"),
        ("fix.variation_deg_east", "3E", "3° east"),
        ("fix.variation_deg_east", "8W", "8° west"),
        ("altitudes.arrival_ft", "1,900", "1,900 ft"),
        ("altitudes.arrival_ft", "640 ft", ""),
        ("altitudes.arrival_ft", "900 m", "2,952.8 ft"),  # 900 / 0.3048
        ("reversal.side", "R", "right"),
        ("reversal.leg_time_s", "2:30", "150 s"),
        ("fixes 1.name", "DULVE", ""),
    ],
)
def test_what_charts_write_is_understood(name: str, text: str, said: str):
    one = field(see_chart({**BASE, name: text}, DAY), name)
    assert (one.fault, one.understood) == ("", said)


@pytest.mark.parametrize(
    ("text", "role"), [("FAF", "final-approach-fix"), ("IF", "intermediate-fix"), ("MAP", "missed-approach-point")]
)
def test_roles_by_their_letters(text: str, role: str):
    seen = see_chart({**BASE, "fixes 1.name": "DULVE", "fixes 1.role": text, "fixes 1.distance_nm": "4"}, DAY)
    assert field(seen, "fixes 1.role").understood == role
    assert seen.whole


@pytest.mark.parametrize(
    ("name", "text"), [("fix.latitude_deg", "N91"), ("reversal.within_nm", "far"), ("reversal.inbound_course_deg", "400")]
)
def test_what_is_none_of_its_kind_is_marked_where_it_stands(name: str, text: str):
    seen = see_chart({**BASE, name: text}, DAY)
    assert "accepted" in field(seen, name).fault
    assert not seen.whole
    assert [one.name for one in seen.fields if one.fault] == [name]


def test_what_is_offered():
    """The reciprocal, the courses of a 45° barb and the limits that AIM 5-4-9 a.3 calls normal: 10 NM and 200 kt."""
    known = {key: text for key, text in BASE.items() if key not in ("reversal.outbound_course_deg", "reversal.within_nm")}
    seen = see_chart(known, DAY)
    assert field(seen, "reversal.outbound_course_deg").offer == "061"
    assert field(seen, "reversal.within_nm").offer == "10"
    assert field(seen, "reversal.maximum_speed_kias").offer == "200"
    assert field(see_chart(BASE, DAY), "reversal.offset_course_deg").offer == "016"
    right = see_chart({**BASE, "reversal.side": "right"}, DAY)
    assert field(right, "reversal.offset_course_deg").offer == "106"


def test_the_leg_of_a_hold_is_needed_by_its_time_which_is_offered_until_a_distance_is_typed():
    """The usual minute is asked for first: charts print it seldom, and a distance where it takes its place."""
    hold = {name: text for name, text in BASE.items() if not name.startswith("reversal.")}
    hold |= {"reversal.kind": "hold", "reversal.inbound_course_deg": "312", "reversal.turn": "R"}
    seen = see_chart(hold, DAY)
    assert seen.said == "1 more value is needed; next: Outbound leg."
    assert [one.name for one in seen.fields if one.needed and not one.text] == ["reversal.leg_time_s"]
    for name, text in (("reversal.leg_time_s", "1:00"), ("reversal.leg_length_nm", "4")):
        assert "is needed" not in see_chart({**hold, name: text}, DAY).said


def test_what_is_offered_in_a_hold():
    """A minute up to 14,000 ft and a minute and a half above (AIM 5-3-8 j.4); the missed approach climbs to its hold."""
    hold = {"missed_approach.altitude_ft": "3000", "holds 1.name": "WND", "holds 2.name": "WND", "holds 2.role": "published"}
    seen = see_chart({**BASE, **hold}, DAY)
    assert field(seen, "holds 1.leg_time_s").offer == "60"
    assert field(seen, "holds 1.minimum_ft").offer == "3000"
    assert field(seen, "holds 2.minimum_ft").offer == ""
    assert field(seen, "missed_approach.to").offer == "WND"
    high = see_chart({**BASE, **hold, "holds 2.minimum_ft": "15,000"}, DAY)
    assert field(high, "holds 2.leg_time_s").offer == "90"
    assert field(see_chart({**BASE, "arrivals 1.name": "ALFA"}, DAY), "arrivals 1.reversal").offer == "yes"


@given(course=st.integers(1, 360))
@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_reciprocals_are_180_degrees_apart(course: int):
    known = {**BASE, "reversal.inbound_course_deg": str(course), "reversal.outbound_course_deg": ""}
    offered = int(field(see_chart(known, DAY), "reversal.outbound_course_deg").offer)
    assert 1 <= offered <= 360
    assert (offered - course) % 360 == 180


def test_a_chart_is_drawn_before_it_is_whole_and_says_with_what():
    known = {
        key: text
        for key, text in BASE.items()
        if key not in ("title", "fix.name", "reversal.outbound_course_deg", "reversal.within_nm")
    }
    seen = see_chart(known, DAY)
    assert "<svg" in seen.pictures.plan
    assert not seen.whole
    assert any("061" in note and "until that is typed" in note for note in seen.notes)
    assert see_chart({"title": "x"}, DAY).pictures.plan == ""


@pytest.mark.parametrize(
    ("more", "marked", "values"),
    [
        ({"altitudes.final_ft": "30", "runway.name": "24", "runway.threshold_latitude_deg": "48.3069",
          "runway.threshold_longitude_deg": "-24.7857", "runway.threshold_elevation_ft": "40",
          "runway.true_heading_deg": "231"},
         {"altitudes.final_ft", "runway.threshold_elevation_ft"}, ("30", "40")),
        ({"reversal.outbound_course_deg": "090"},
         {"reversal.outbound_course_deg", "reversal.inbound_course_deg"}, ("90", "241")),
        ({"reversal.within_nm": "20"}, {"reversal.within_nm"}, ("20", "15")),
    ],
)  # fmt: skip
def test_what_contradicts_itself_stands_at_its_fields_with_both_values(
    more: dict[str, str], marked: set[str], values: tuple[str, str]
):
    seen = see_chart({**BASE, **more}, DAY)
    told = {one.name: one.fault or one.doubt for one in seen.fields if one.fault or one.doubt}
    assert marked & set(told)
    for name in marked & set(told):
        assert all(value in told[name] for value in values)


def test_a_contradiction_that_makes_no_chart_cannot_be_saved(tmp_path):
    store = open_store(tmp_path / "desk")
    texts = {**BASE, "reversal.leg_time_s": "180", "reversal.maximum_time_s": "60"}
    seen = see_chart(texts, DAY)
    assert "less than “Outbound leg, by time” (180 s)" in field(seen, "reversal.maximum_time_s").fault
    with pytest.raises(DeskError, match="not complete"):
        save_chart(str(store.folder), texts, DAY)
    assert list(store.entries("procedures")) == []


def opened(store: Store, name: str) -> dict[str, str]:
    """What the form of a chart of the folder sends when it is opened and saved unchanged."""
    texts, drafted, was = texts_of(str(store.folder), name, DAY)
    return {**texts, "file": name, "was": was, "drafted": ",".join(drafted)}


# a chart with a value for every key that a procedure file may have
EVERY_KEY = """
title = "Anywhere ILS Y 24"
category = "C"
fix = { name = "ANY", kind = "ndb", latitude_deg = 48.3512345678, longitude_deg = -24.70, \
elevation_ft = 12.5, variation_date = 2026-06-01 }
altitudes = { arrival_ft = 4000, outbound_ft = 3000, reversal_ft = 2600, inbound_ft = 2100, arrival_maximum_ft = 6000, \
outbound_maximum_ft = 5000, reversal_maximum_ft = 2600, inbound_maximum_ft = 3000, final_maximum_ft = 2000 }
reversal = { kind = "base-turn", turn = "right", side = "left", outbound_course_deg = 40, inbound_course_deg = 241, \
within_nm = 12, within_from = { latitude_deg = 48.36, longitude_deg = -24.69 }, maximum_speed_kias = 180, \
leg_time_s = 120, leg_length_nm = 6, \
leg_by = "dme", maximum_time_s = 150, entry_within_deg = 30, depicted_track = true, offset_course_deg = 16 }
arc = { latitude_deg = 48.35, longitude_deg = -24.7, radius_nm = 10 }
guidance = { kind = "localizer", latitude_deg = 48.28, longitude_deg = -24.83, full_scale_deg = 2.4, variation_deg_east = -8.5 }
glide_path = { angle_deg = 3.2, threshold_crossing_height_ft = 55 }
missed_approach = { climb_ft = 1200, turn = "left", course_deg = 90, to = "HOLDY", altitude_ft = 4000, \
time_s = 154, time_at_kt = 90 }
runway = { name = "24", threshold_latitude_deg = 48.306868, threshold_longitude_deg = -24.785736, threshold_elevation_ft = 40, \
true_heading_deg = 231.0, length_ft = 6000 }
speeds = { arrival = 140, outbound = 120, reversal = 115, inbound = 110, final = 95, missed = 100, hold = 110 }
dme = { name = "DEM", latitude_deg = 48.36, longitude_deg = -24.69, elevation_ft = 50 }
fixes = [ { name = "ANY", role = "final-approach-fix", distance_nm = 0, minimum_ft = 1800, maximum_ft = 1800 }, \
{ name = "LOWER", role = "step-down", dme_nm = 2.7, minimum_ft = 900 }, \
{ name = "MAPAR", role = "missed-approach-point", latitude_deg = 48.311, longitude_deg = -24.778, course_deg = 241 } ]
minimums = [ { kind = "da", altitude_ft = 240 }, \
{ line = "straight-in", category = "A-B", kind = "mda", altitude_ft = 460, visual_descent_point_nm = 1.1 }, \
{ line = "circling", category = "C", kind = "mda", altitude_ft = 900 } ]
holds = [ { name = "HOLDY", role = "missed-approach", latitude_deg = 48.4, longitude_deg = -24.5, inbound_course_deg = 270, \
turn = "left", leg_length_nm = 5, leg_by = "dme", minimum_ft = 4000, maximum_ft = 8000, \
maximum_speed_kias = 200, category = "A-B", \
variation_deg_east = -8.2 }, { name = "ANY", inbound_course_deg = 241, turn = "right", leg_time_s = 60 } ]
arrivals = [ { name = "WESTO", course_deg = 240, minimum_ft = 4000, reversal = false }, { name = "NORTA", course_deg = 180 } ]
""".replace("\\\n", "")
METRIC = CHART.read_text(encoding="utf-8").replace("title ", 'units = { altitude = "m" }\ntitle ', 1).replace("_ft = ", "_m = ")
GPS = """
title = "x"
fix = { name = "ANY", kind = "waypoint", latitude_deg = 48.35, longitude_deg = -24.70, variation_deg_east = 0 }
reversal = { kind = "hold", turn = "left", inbound_course_deg = 241, leg_length_nm = 4, leg_by = "along-track", \
within_nm = 9, within_by = "dme" }
guidance = { kind = "gps", full_scale_nm = 0.3 }
minimum = { kind = "mda", altitude_ft = 640, visual_descent_point_nm = 1.1 }
runway = { name = "24", threshold_latitude_deg = 48.306868, threshold_longitude_deg = -24.785736, threshold_elevation_ft = 40, \
true_heading_deg = 231.0 }
dme = { name = "DEM", latitude_deg = 48.36, longitude_deg = -24.69 }
""".replace("\\\n", "")
CHARTS = {
    **{name: (SAMPLES / f"wendle_island_{name}.toml").read_text(encoding="utf-8") for name in ("vor24", "vorz24", "rnav06")},
    "every key": EVERY_KEY,
    "in metres": METRIC,
    "by GPS": GPS,
}


@pytest.mark.parametrize("name", CHARTS)
def test_a_chart_goes_through_the_form_and_stays_the_same(tmp_path, name: str):
    store = open_store(tmp_path / "desk")
    path = store.folder / "procedures" / "given.toml"
    path.write_text(CHARTS[name], encoding="utf-8")
    given = analyzer.read_procedure(path)
    sent = opened(store, "given.toml")
    assert see_chart(texts_of(str(store.folder), "given.toml", DAY)[0], DAY).whole
    assert save_chart(str(store.folder), sent, DAY) == ("given.toml", "")
    assert path.read_text(encoding="utf-8") == CHARTS[name]
    saved, _ = save_chart(str(store.folder), {**sent, "file": ""}, DAY)
    assert saved != "given.toml"
    assert analyzer.read_procedure(store.there("procedures", saved)) == given
    assert "never for navigation" in store.there("procedures", saved).read_text(encoding="utf-8")


def keys_of(model: type[BaseModel], table: str = "") -> Iterator[str]:
    """The keys of a model and of the tables in it, by table and key, those of lists once."""
    for key, about in model.model_fields.items():
        inner = [one for one in (*get_args(about.annotation), about.annotation) if isinstance(one, type)]
        tables = [one for one in inner if issubclass(one, BaseModel)]
        if tables:
            yield from keys_of(tables[0], f"{table}.{key}" if table else key)
        else:
            yield f"{table}.{key}" if table else key


def test_the_form_has_a_field_for_every_key_of_a_procedure_file():
    fields = [one for section in SECTIONS for part in section.parts for one in getattr(part, "fields", (part,))]
    assert sorted(f"{one.table}.{one.key}" if one.table else one.key for one in fields) == sorted(keys_of(Procedure))


def test_the_charts_of_the_tests_hold_every_key():
    """So that the round trip above is of all that there is."""
    keys = set[str]()
    for text in CHARTS.values():
        for name in _texts(text):
            table, _, key = name.rpartition(".")
            keys.add(f"{table.split()[0]}.{key}" if table else key)
    assert keys >= set(keys_of(Procedure)) - {"altitudes.final_ft"}


def _texts(text: str) -> Iterator[str]:
    from analyzer.desk.chart_fields import answers_of

    for table, key in answers_of(Procedure.model_validate(tomllib.loads(text))):
        yield f"{table}.{key}" if table else key


def test_a_chart_that_the_form_would_change_is_not_opened_in_it(tmp_path):
    store = open_store(tmp_path / "desk")
    path = store.folder / "procedures" / "odd.toml"
    path.write_text(CHART.read_text(encoding="utf-8").replace('"Wendle Island VOR 24"', '" Blank before"'), encoding="utf-8")
    with pytest.raises(DeskError, match="without changing it"):
        texts_of(str(store.folder), "odd.toml", DAY)
    assert "<svg" in draw_saved(str(store.folder), "odd.toml", DAY).pictures.plan


def test_a_saved_chart_opens_as_a_chart_prints_it(tmp_path):
    """48.35° is 48°21.0′; a position that is no whole thousandth of a minute stays as the file has it."""
    store = open_store(tmp_path / "desk")
    (store.folder / "procedures" / "vor24.toml").write_bytes(CHART.read_bytes())
    texts = opened(store, "vor24.toml")
    assert (texts["fix.latitude_deg"], texts["fix.longitude_deg"]) == ("N48°21.0′", "W024°42.0′")
    assert texts["runway.threshold_latitude_deg"] == "48.306868"  # 18.41208 minutes
    assert (texts["fix.variation_deg_east"], texts["reversal.outbound_course_deg"]) == ("8W", "061")
    typed = {**texts, "runway.threshold_latitude_deg": "N48 18.412", "runway.threshold_longitude_deg": "W024 47.144"}
    save_chart(str(store.folder), typed, DAY)
    again = opened(store, "vor24.toml")
    assert again["runway.threshold_latitude_deg"] == "N48°18.412′"
    assert again["runway.threshold_longitude_deg"] == "W024°47.144′"
    assert analyzer.read_procedure(store.folder / "procedures" / "vor24.toml").fix.latitude_deg == 48.35


@pytest.mark.parametrize("typed", ["N48 61.0", "W024 42.0", "abc"])
def test_a_position_that_is_none_is_answered_with_how_charts_write_one(typed):
    fault = field(see_chart({"fix.latitude_deg": typed}, DAY), "fix.latitude_deg").fault
    assert "degrees and minutes, which end at 60, like N44 12.8; or degrees from -90 to 90" in fault


def test_a_chart_that_was_changed_meanwhile_is_not_written_over(tmp_path):
    store = open_store(tmp_path / "desk")
    path = store.folder / "procedures" / "vor24.toml"
    path.write_bytes(CHART.read_bytes())
    one, other = opened(store, "vor24.toml"), opened(store, "vor24.toml")
    save_chart(str(store.folder), {**one, "category": "C"}, DAY)
    with pytest.raises(DeskError, match="changed by another page"):
        save_chart(str(store.folder), {**other, "category": "D"}, DAY)
    assert analyzer.read_procedure(path).category == "C"


ROWS = {
    **BASE, "fixes 1.name": "FIRST", "fixes 1.role": "IF", "fixes 1.distance_nm": "-3", "fixes 2.name": "THIRD",
    "fixes 2.role": "MAP", "fixes 2.distance_nm": "4",
}  # fmt: skip


def names(seen: ChartSeen) -> list[str]:
    return [one.text for one in seen.fields if re.fullmatch(r"fixes \d+\.name", one.name)]


def test_rows_are_put_in_between_and_taken_out():
    before = see_form("", {**ROWS, "change": "before fixes 2"}, DAY)
    assert names(before) == ["FIRST", "", "THIRD", ""]
    assert "<svg" in before.pictures.plan
    filled = {one.name: one.text for one in before.fields} | {
        "fixes 2.name": "SECOND",
        "fixes 2.role": "FAF",
        "fixes 2.distance_nm": "1",
    }
    assert see_form("", filled, DAY).whole
    out = see_form("", {**filled, "change": "out fixes 1"}, DAY)
    assert names(out) == ["SECOND", "THIRD", ""]
    assert out.whole
    with pytest.raises(DeskError):
        see_form("", {**ROWS, "change": "out runway 1"}, DAY)


def test_a_row_without_its_name_is_asked_for_and_keeps_those_after_it():
    seen = see_form("", {**ROWS, "fixes 1.name": ""}, DAY)
    assert not seen.whole
    assert field(seen, "fixes 1.name").needed
    assert names(seen) == ["", "THIRD", ""]


def test_what_was_flown_is_offered_apart_from_what_was_typed(tmp_path):
    """The draft of a flight measures its courses; whatever was typed is not offered another value."""
    store = open_store(tmp_path / "desk")
    (store.folder / "logs" / "flight.csv").write_bytes(STRONG_WIND.read_bytes())
    known = {
        "fix.latitude_deg": "48.35",
        "fix.longitude_deg": "-24.7",
        "fix.variation_deg_east": "-8",
        "reversal.kind": "procedure-turn",
    }
    seen = see_chart(known, DAY, str(store.folder), "flight.csv")
    inbound = field(seen, "reversal.inbound_course_deg")
    assert abs(int(inbound.offer) - 241) <= 2  # the sample's own chart
    assert "flown so" in inbound.offer_words
    typed = see_chart({**known, "reversal.inbound_course_deg": "240"}, DAY, str(store.folder), "flight.csv")
    assert field(typed, "reversal.inbound_course_deg").offer == ""


@pytest.fixture
def coded(tmp_path) -> Store:
    store = open_store(tmp_path / "desk")
    (store.folder / "procedures" / "coded.txt").write_bytes((SAMPLES / "wendle_island_coded.txt").read_bytes())
    return store


def test_from_coded_records_by_airport_approach_and_route(coded: Store):
    folder = str(coded.folder)
    airports = see_coded(folder, "coded.txt", "", "", "", DAY)
    assert (airports.choosing, [one.value for one in airports.choices]) == ("airport", ["XWND"])
    approaches = see_coded(folder, "coded.txt", "xwnd", "", "", DAY)
    assert approaches.choosing == "approach"
    assert ("N06", "NDB 06") in [(one.value, one.words) for one in approaches.choices]
    routes = see_coded(folder, "coded.txt", "XWND", "D24", "", DAY)
    assert (routes.choosing, len(routes.choices)) == ("route", 2)
    for approach, route in (("N06", ""), ("D24", routes.choices[0].value)):
        drawn = see_coded(folder, "coded.txt", "XWND", approach, route, DAY)
        assert "<svg" in drawn.pictures.plan
        saved = save_coded(folder, "coded.txt", "XWND", approach, route)
        assert analyzer.read_procedure(coded.there("procedures", saved)).title == drawn.title
    assert "no airport NOPE" in see_coded(folder, "coded.txt", "NOPE", "", "", DAY).fault


def test_contradictions_of_profile_missed_approach_and_hold_stand_at_their_fields(tmp_path):
    """Both values at both fields: an approach is not flown uphill, a missed approach reaches its hold's lowest altitude."""
    chart = {
        **ROWS, "fixes 1.minimum_ft": "1,400", "fixes 2.minimum_ft": "1,900", "minimum.kind": "mda",
        "minimum.altitude_ft": "640",
        "missed_approach.altitude_ft": "2,000", "missed_approach.to": "WND", "holds 1.name": "WND",
        "holds 1.role": "missed-approach", "holds 1.inbound_course_deg": "241",
        "holds 1.turn": "R", "holds 1.leg_time_s": "1:00", "holds 1.minimum_ft": "3,000",
    }  # fmt: skip
    seen = see_chart(chart, DAY)
    for name in ("fixes 1.minimum_ft", "fixes 2.minimum_ft"):
        assert "1400" in field(seen, name).doubt
        assert "1900" in field(seen, name).doubt
    for name in ("missed_approach.altitude_ft", "holds 1.minimum_ft"):
        assert "2000" in field(seen, name).doubt
        assert "3000" in field(seen, name).doubt
    empty = dict.fromkeys(("fixes 2.name", "fixes 2.role", "fixes 2.distance_nm", "fixes 2.minimum_ft"), "")
    third = {"name": "LAST", "role": "MAP", "distance_nm": "4", "minimum_ft": "900", "maximum_ft": "800"}
    third = {f"fixes 3.{key}": text for key, text in third.items()}
    crossed = see_chart({**chart, **empty, **third, "holds 1.maximum_ft": "2,500"}, DAY)
    both = "“At or above” of hold 1 (3000 ft): above “At or below” (2500 ft)"
    assert both in field(crossed, "holds 1.minimum_ft").fault
    # the row is the third, the second is empty
    assert field(crossed, "fixes 3.minimum_ft").fault.startswith(
        "“At or above until passed” of fix 3 (900 ft): above “At or below"
    )


def test_what_was_drafted_is_told_from_what_was_typed(tmp_path):
    store = open_store(tmp_path / "desk")
    folder = str(store.folder)
    (store.folder / "logs" / "flight.csv").write_bytes(STRONG_WIND.read_bytes())
    typed = {
        "title": "Drafted", "fix.name": "WND", "fix.kind": "vor", "fix.latitude_deg": "48.35", "fix.longitude_deg": "-24.7",
        "fix.variation_deg_east": "-8", "altitudes.outbound_ft": "2,345", "for": "flight.csv",
    }  # fmt: skip
    seen = see_form(folder, {**typed, "change": "fill"}, DAY)
    assert seen.flown == 0
    drafted = [one.name for one in seen.fields if one.drafted]
    assert {"reversal.kind", "reversal.inbound_course_deg", "altitudes.inbound_ft"} <= set(drafted)
    assert field(seen, "altitudes.outbound_ft").text == "2,345"  # what was typed stays
    assert not field(seen, "altitudes.outbound_ft").drafted
    sent = {one.name: one.text for one in seen.fields} | {"drafted": ",".join(drafted), "reversal.within_nm": "10"}
    sent["drafted"] = ",".join(name for name in drafted if name != "reversal.kind")  # as if that was compared with the chart
    name, _ = save_chart(folder, sent, DAY)
    lines = store.there("procedures", name).read_text(encoding="utf-8").splitlines()
    said = {line.split(" = ")[0]: "flown so" in line for line in lines if " = " in line}
    assert said["inbound_course_deg"]
    assert not said["kind"]
    assert not said["outbound_ft"]
    again = see_form(folder, opened(store, name), DAY)
    assert {one.name for one in again.fields if one.drafted} == set(sent["drafted"].split(",")) - {"reversal.within_nm"}


@pytest.mark.parametrize(
    ("kind", "asked"), [("procedure-turn", True), ("hold", True), ("", True), ("arc", False), ("none", False)]
)
def test_a_leg_out_is_asked_for_only_where_there_is_one(kind: str, asked: bool):
    names = {one.name for one in see_chart({**BASE, "reversal.kind": kind}, DAY).fields}
    own = {"reversal.leg_time_s", "reversal.maximum_time_s", "reversal.entry_within_deg", "reversal.depicted_track"}
    assert own & names == (own if asked else set())
