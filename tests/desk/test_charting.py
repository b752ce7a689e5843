"""The chart form: what charts write is understood, contradictions stand at their fields, and what is saved is the procedure."""

import tomllib

import pytest
from desk_served import CHART, SAMPLES, STRONG_WIND
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import analyzer
from analyzer.desk.asked import ChartField, ChartSeen
from analyzer.desk.charting import draw_saved, save_chart, see_chart, texts_of
from analyzer.desk.coded_charts import save_coded, see_coded
from analyzer.desk.store import Store, open_store
from analyzer.errors import DeskError

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
        ("fix.latitude_deg", "S44°12.8′", "S44°12.800′"),
        ("fix.longitude_deg", "W029 18.0", "W29°18.000′"),
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
    assert "<svg" in seen.plan
    assert not seen.whole
    assert any("061" in note and "until that is typed" in note for note in seen.notes)
    assert see_chart({"title": "x"}, DAY).plan == ""


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
    assert "leg_time_s = 180" in field(seen, "reversal.maximum_time_s").fault
    with pytest.raises(DeskError, match="not whole"):
        save_chart(str(store.folder), texts, DAY)
    assert list(store.entries("procedures")) == []


@pytest.mark.parametrize("name", ["wendle_island_vor24.toml", "wendle_island_vorz24.toml", "wendle_island_rnav06.toml"])
def test_a_chart_goes_through_the_form_and_stays_the_same(tmp_path, name: str):
    store = open_store(tmp_path / "desk")
    (store.folder / "procedures" / name).write_bytes((SAMPLES / name).read_bytes())
    texts = texts_of(str(store.folder), name)
    assert see_chart(texts, DAY).whole
    saved = save_chart(str(store.folder), texts, DAY)
    assert saved != name
    made, given = (analyzer.read_procedure(store.there("procedures", one)) for one in (saved, name))
    assert made == given
    save_chart(str(store.folder), {**texts, "category": "C"}, DAY, saved)
    assert analyzer.read_procedure(store.there("procedures", saved)).category == "C"
    assert "never for navigation" in store.there("procedures", saved).read_text(encoding="utf-8")


def test_what_the_form_has_no_field_for_is_not_lost(tmp_path):
    store = open_store(tmp_path / "desk")
    path = store.folder / "procedures" / "odd.toml"
    text = CHART.read_text(encoding="utf-8").replace('title    = "Wendle', 'units = { altitude = "m" }\ntitle    = "Wendle')
    path.write_text(text.replace("_ft = ", "_m = "), encoding="utf-8")
    with pytest.raises(DeskError, match="more than the form"):
        texts_of(str(store.folder), "odd.toml")
    with pytest.raises(DeskError, match="more than the form"):
        save_chart(str(store.folder), BASE, DAY, "odd.toml")
    assert "<svg" in draw_saved(str(store.folder), "odd.toml", DAY).plan
    assert tomllib.loads(path.read_text(encoding="utf-8"))["units"] == {"altitude": "m"}


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
        assert "<svg" in drawn.plan
        saved = save_coded(folder, "coded.txt", "XWND", approach, route)
        assert analyzer.read_procedure(coded.there("procedures", saved)).title == drawn.title
    assert "no airport NOPE" in see_coded(folder, "coded.txt", "NOPE", "", "", DAY).fault
