"""What a log leaves open, as one form: fields, answers, and what is seen with each."""

import json
import tomllib
from datetime import UTC, datetime
from pathlib import Path

import pytest
from desk_flights import without_unit
from desk_served import CHART, CLEAN, SAMPLES

from analyzer.desk.asked import Listed, Look
from analyzer.desk.cards import read_card, read_settings
from analyzer.desk.flights import answer, choose, describe, open_flight, procedures_for
from analyzer.desk.listing import list_flights
from analyzer.desk.looking import look, options_from
from analyzer.desk.store import Store, open_store
from analyzer.desk.waiting import debrief_waiting
from analyzer.errors import LogError
from analyzer.procedure.schema import Procedure
from analyzer.procedure.write import procedure_toml
from analyzer.track.options import ReadOptions
from analyzer.track.read import read_track

ROWS = [(f"09:12:{k:02}", 48.3 + 0.0005 * k, -24.7 - 0.0003 * k, 3000 - k) for k in range(60)]


def write(path: Path, header: str, rows: list[tuple[object, ...]]) -> Path:
    path.write_text("\n".join([header, *(",".join(map(str, row)) for row in rows)]) + "\n", encoding="utf-8")
    return path


def test_all_that_is_open_is_asked_in_one_form(tmp_path: Path):
    """A time of day without a date and an altitude without a unit: both at once."""
    log = write(tmp_path / "a.csv", "time,lat,lon,alt", ROWS)
    seen = look(log, ReadOptions())
    assert [(ask.field, ask.kind) for ask in seen.asks] == [
        ("unit altitude", "choice"),
        ("start", "date"),
        ("utc_offset", "column"),
    ]
    assert "<svg" in seen.sketch
    feet, metres = seen.asks[0].choices
    assert feet.seen == "from 2,941 to 3,000 ft"
    assert metres.seen == "from 2,941 to 3,000 m, which is 9,649 to 9,843 ft"  # over 0.3048
    options = options_from({"unit altitude": "ft", "start": "2026-05-01", "utc_offset": "+00:00"}, ReadOptions())
    track = read_track(log, options)
    assert datetime.fromtimestamp(float(track.time_s[0]), tz=UTC) == datetime(2026, 5, 1, 9, 12, tzinfo=UTC)
    assert look(log, options).asks == ()


def test_a_column_that_has_no_name_of_its_own(tmp_path: Path):
    rows = [(f"2026-05-01T{time}Z", latitude, longitude, height) for time, latitude, longitude, height in ROWS]
    seen = look(write(tmp_path / "a.csv", "when,lat,lon,level of flight", rows), ReadOptions())
    fields = {ask.field: ask for ask in seen.asks}
    assert {"column altitude", "unit altitude"} <= set(fields) or "column time" in fields
    names = [choice.value for choice in next(iter(fields.values())).choices]
    assert {"when", "lat", "lon", "level of flight"} <= set(names)


def test_a_log_of_places_alone_has_no_altitude_as_the_answer_that_is_suggested(tmp_path: Path):
    rows = [(f"2026-05-01T{time}Z", latitude, longitude) for time, latitude, longitude, _ in ROWS]
    log = write(tmp_path / "a.csv", "time,lat,lon", rows)
    (ask,) = look(log, ReadOptions()).asks
    assert ask.field == "column altitude"
    assert ask.words == "No column for altitude among time, lat, lon."
    (chosen,) = (choice for choice in ask.choices if choice.chosen)
    assert chosen.words == "None: the log has no altitude"
    options = options_from({ask.field: chosen.value}, ReadOptions())
    assert len(read_track(log, options)) == len(ROWS)


def test_what_is_said_of_several_columns_is_said_once(tmp_path: Path):
    rows = [(f"09:12:{k:02}", f"{48.3 + 0.0005 * k:.4f}", f"{-24.7 - 0.0003 * k:.4f}", "900") for k in range(60)]
    seen = look(write(tmp_path / "a.csv", "Uhrzeit,Breite,Laenge,Hoehe", rows), ReadOptions())
    columns = [ask for ask in seen.asks if ask.kind == "column" and ask.field.startswith("column ")]
    assert len(columns) == 4
    assert [bool(ask.words) for ask in columns] == [True, False, False, False]


def test_several_aircraft_are_asked_for_without_paths_or_options(tmp_path: Path):
    rows = [
        (f"2026-05-01T{time}Z", name, round(latitude + north, 4), longitude, height)
        for time, latitude, longitude, height in ROWS
        for name, north in (("ALFA1", 0.0), ("BRAVO2", 0.3))
    ]
    seen = look(write(tmp_path / "a.csv", "time,callsign,lat,lon,altitude_ft", rows), ReadOptions())
    (ask,) = seen.asks
    assert (ask.label, [choice.value for choice in ask.choices]) == ("Aircraft", ["ALFA1", "BRAVO2"])
    assert str(tmp_path) not in seen.said
    assert "=" not in seen.said


def test_a_unit_that_a_column_states_is_not_asked_for(tmp_path: Path):
    """A height of 900 m: whoever has to say feet or metres may say feet, and the name of the column says metres."""
    rows = [
        ("14.06.2026", f"09:12:{k:02}", f"{48.3 + 0.0005 * k:.4f}", f"{-24.7 - 0.0003 * k:.4f}", "900.0") for k in range(60)
    ]
    log = write(tmp_path / "a.csv", "Datum,Uhrzeit,Breite,Laenge,Hoehe (m)", rows)
    seen = look(log, ReadOptions())
    assert [ask.field for ask in seen.asks] == ["column time", "column latitude", "column longitude", "column altitude"]
    answers = dict(zip((ask.field for ask in seen.asks), ("Uhrzeit", "Breite", "Laenge", "Hoehe (m)"), strict=True))
    options = options_from(answers, ReadOptions())
    by_field = {ask.field: ask for ask in look(log, options).asks}
    assert list(by_field) == ["column date", "start", "utc_offset"]
    assert [(choice.value, choice.chosen) for choice in by_field["column date"].choices] == [("Datum", True), ("", False)]
    assert not by_field["start"].needed
    track = read_track(log, options_from({"column date": "Datum", "start": "", "utc_offset": "+00:00"}, options))
    assert float(track.altitude_m[0]) == pytest.approx(900.0)
    assert datetime.fromtimestamp(float(track.time_s[0]), tz=UTC) == datetime(2026, 6, 14, 9, 12, tzinfo=UTC)


def test_a_unit_that_the_chosen_column_does_not_state_is_asked_for_next(tmp_path: Path):
    rows = [(f"2026-05-01T{time}Z", latitude, longitude, height, 3) for time, latitude, longitude, height in ROWS]
    log = write(tmp_path / "a.csv", "time,lat,lon,Hoehe,Umkreis (m)", rows)
    assert [ask.field for ask in look(log, ReadOptions()).asks] == ["column altitude"]
    options = options_from({"column altitude": "Hoehe"}, ReadOptions())
    assert [ask.field for ask in look(log, options).asks] == ["unit altitude"]


def test_days_and_months_that_cannot_be_told_apart(tmp_path: Path):
    rows = [(f"05/06/2026 {time}", latitude, longitude, height) for time, latitude, longitude, height in ROWS]
    seen = look(write(tmp_path / "a.csv", "time,lat,lon,alt_ft", rows), ReadOptions())
    ask, zone = seen.asks
    assert (ask.kind, zone.field) == ("choice", "utc_offset")
    assert {choice.value for choice in ask.choices} == {"d/m/y", "m/d/y"}
    answered = options_from({ask.field: "d/m/y"}, ReadOptions())
    assert datetime.fromtimestamp(float(read_track(tmp_path / "a.csv", answered).time_s[0]), tz=UTC).month == 6


def test_one_of_several_aircraft(tmp_path: Path):
    rows = [(f"2026-05-01T{time}Z", latitude, longitude, height, "A1") for time, latitude, longitude, height in ROWS]
    rows += [(time, latitude + 1.0, longitude, height, "B2") for time, latitude, longitude, height, _ in rows]
    log = write(tmp_path / "a.csv", "time,lat,lon,alt_ft,registration", rows)
    (ask,) = look(log, ReadOptions()).asks
    assert (ask.field, [choice.value for choice in ask.choices]) == ("only registration", ["A1", "B2"])
    assert len(read_track(log, options_from({ask.field: "B2"}, ReadOptions()))) == 60


@pytest.mark.parametrize("answers", [{"start": "yesterday"}, {"unit altitude": "miles per hour"}, {"start": "9999-99-99"}])
def test_answers_that_are_none_are_refused(answers: dict[str, str]):
    with pytest.raises(LogError):
        options_from(answers, ReadOptions())


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = open_store(tmp_path / "desk")
    write(made.folder / "logs" / "a.csv", "time,lat,lon,alt", ROWS)
    write(made.folder / "logs" / "b.csv", "time,lat,lon,alt", ROWS)
    return made


def test_answers_are_kept_for_logs_of_a_kind_but_never_the_date(store: Store):
    folder = str(store.folder)
    said = {"unit altitude": "ft", "start": "2026-05-01", "utc_offset": "-02:00", "altitude_from": "sea-level", "qnh": "1002"}
    assert answer(folder, "a.csv", said).asks == ()
    seen = open_flight(folder, "b.csv")
    assert isinstance(seen, Look)
    assert [ask.field for ask in seen.asks] == ["start"]
    assert [ask.given for ask in seen.also if ask.field == "qnh"] == [""]  # the air is that of the day
    assert read_card(store, "a.csv").reading.start == datetime(2026, 5, 1, tzinfo=UTC)
    (kept,) = read_settings(store).readings
    assert (kept.units, kept.utc_offset, kept.altitude_from) == ({"altitude": "ft"}, "-02:00", "sea-level")
    assert read_card(store, "a.csv").reading.qnh == 1002.0


def test_the_zone_is_asked_with_what_each_makes_of_the_first_row(tmp_path: Path):
    """48.3 N 24.7 W: 24.7 / 15 is 1.6 h, so clocks there are about two hours behind, one in summer."""
    rows = [(f"2026-05-01T{time}", latitude, longitude, height) for time, latitude, longitude, height in ROWS]
    log = write(tmp_path / "a.csv", "time,lat,lon,alt_ft", rows)
    (zone,) = look(log, ReadOptions()).asks
    assert zone.field == "utc_offset"
    shown = {choice.value: (choice.words, choice.seen) for choice in zone.choices}
    assert [choice.value for choice in zone.choices if choice.chosen] == ["+00:00"]
    assert shown["+00:00"] == ("UTC", "first row at 09:12 UTC")
    assert list(shown)[1:3] == ["-02:00", "-01:00"]
    assert shown["-02:00"] == ("UTC-02:00, likely by the longitude", "first row at 11:12 UTC")
    assert shown["+05:45"][1] == "first row at 03:27 UTC"
    assert len(shown) == len(zone.choices)
    for value, (_, seen) in shown.items():
        options = options_from({"utc_offset": value}, ReadOptions())
        first = datetime.fromtimestamp(float(read_track(log, options).time_s[0]), tz=UTC)
        assert seen == f"first row at {first:%H:%M} UTC"
        assert look(log, options).asks == ()
    zoned = write(tmp_path / "b.csv", "time,lat,lon,alt_ft", [(f"{row[0]}Z", *row[1:]) for row in rows])
    assert look(zoned, ReadOptions()).asks == ()
    called = write(tmp_path / "c.csv", "time utc,lat,lon,alt_ft", rows)
    assert look(called, ReadOptions()).asks == ()


def test_what_altitudes_count_from_may_be_said_and_taken_back(tmp_path: Path):
    rows = [(f"2026-05-01T{time}Z", latitude, longitude, height) for time, latitude, longitude, height in ROWS]
    log = write(tmp_path / "a.csv", "time,lat,lon,alt_ft", rows)
    said = options_from({"altitude_from": "pressure", "qnh": "29,92", "temperature": "-4"}, ReadOptions())
    assert read_track(log, said).altitude_reference == "pressure altitude, QNH applied"
    counts_from, qnh, temperature, *_ = look(log, said).also
    assert [choice.value for choice in counts_from.choices if choice.chosen] == ["pressure"]
    assert (qnh.given, temperature.given) == ("1013", "-4")  # 29.92 inHg are 1013.2 hPa
    again = options_from({"altitude_from": "", "qnh": "", "temperature": ""}, said)
    assert (again.altitude_from, again.air) == (None, ReadOptions().air)
    for wrong in (
        {"qnh": "high"},
        {"qnh": "5000"},
        {"temperature": "-200"},
        {"altitude_from": "moon"},
        {"utc_offset": "+25:00"},
    ):
        with pytest.raises(LogError):
            options_from(wrong, ReadOptions())


def test_a_wrong_answer_is_said_and_not_kept(store: Store):
    seen = answer(str(store.folder), "a.csv", {"unit altitude": "ft", "start": "tomorrow"})
    assert "tomorrow" in seen.fault
    assert len(seen.asks) == 3
    assert read_card(store, "a.csv").reading.units == {}


def test_the_list_without_its_cache_is_the_same(tmp_path: Path):
    store = open_store(tmp_path / "desk")
    for name in ("b.csv", "a.csv"):
        (store.folder / "logs" / name).write_bytes(CLEAN.read_bytes())
    folder = str(store.folder)
    first = list_flights(folder)
    assert [flight.file for flight in first.flights] == ["a.csv", "b.csv"]
    cache = store.folder / ".cache" / "flights.json"
    assert list_flights(folder) == first
    for content in (b"", b"{}", b'{"version": 2, "flights": {"a.csv": 3}}', b"\xff"):
        cache.write_bytes(content)
        assert list_flights(folder) == first
    cache.unlink()
    assert list_flights(folder) == first
    assert list_flights(folder, "B.CSV").flights == first.flights[1:]
    assert list_flights(folder, "nobody").count == 0
    assert list_flights(folder, first=1, most=1) == Listed(first.flights[1:], 2)


@pytest.mark.parametrize(
    "title", ["Plain", 'Quoted " and \\', '"overall": {"verdict": "outside"}, "start": "x"', "N44°12.8′ {[}"]
)
def test_a_row_of_the_list_is_what_the_report_says(tmp_path: Path, title: str):
    """The list looks a few values up in the text of a report; a reader of JSON must find the same."""
    store = open_store(tmp_path / "desk")
    (store.folder / "logs" / "a.csv").write_bytes(CLEAN.read_bytes())
    chart = tomllib.loads(CHART.read_text(encoding="utf-8")) | {"title": title}
    procedure = Procedure.model_validate(chart)
    (store.folder / "procedures" / "x.toml").write_text(procedure_toml(procedure, ""), encoding="utf-8")
    choose(str(store.folder), "a.csv", "x.toml")
    open_flight(str(store.folder), "a.csv")
    report = json.loads((store.folder / "reports" / "a.csv.json").read_text(encoding="utf-8"))
    (row,) = list_flights(str(store.folder)).flights
    assert row.begins == report["track"]["start"]
    assert row.procedure == report["procedure"]["title"] == title
    assert [row.verdict] == [one["overall"]["verdict"] for one in report["reversals"]] == ["inside"]


def test_no_chart_and_spoiled_charts(tmp_path: Path):
    store = open_store(tmp_path / "desk")
    (store.folder / "logs" / "a.csv").write_bytes(CLEAN.read_bytes())
    assert procedures_for(str(store.folder), "a.csv") == ()
    (store.folder / "procedures" / "x.toml").write_text("title = 3\n", encoding="utf-8")
    (store.folder / "procedures" / "notes.txt").write_text("no chart", encoding="utf-8")
    (only,) = procedures_for(str(store.folder), "a.csv")
    assert (only.file, only.fits) == ("x.toml", False)
    assert "title = 3" in only.fault
    assert str(tmp_path) not in only.fault


def test_a_chart_that_fits_poorly_says_what_was_flown_otherwise(tmp_path: Path):
    """The barb drawn on the other side: a turn back to the left, where the flight turns to the right."""
    store = open_store(tmp_path / "desk")
    (store.folder / "logs" / "a.csv").write_bytes(CLEAN.read_bytes())
    drawn = CHART.read_text(encoding="utf-8").replace('side = "left"', 'side = "right"').replace("offset_course_deg = 16", "")
    (store.folder / "procedures" / "other_side.toml").write_text(drawn, encoding="utf-8")
    (only,) = procedures_for(str(store.folder), "a.csv")
    assert only.fit == "Fits poorly: it turns to the right, where the chart has turns to the left."


def test_what_waits_and_leaves_no_choice_is_debriefed_at_once(tmp_path: Path):
    """Of four logs one has an open question and one has its pilot already; with a second chart that fits, none is debriefed."""
    store = open_store(tmp_path / "desk")
    folder = str(store.folder)
    for log in (CLEAN, SAMPLES / "early_descent.gpx"):
        store.add("logs", log.name, log.read_bytes())
    store.add("logs", "open.csv", without_unit(CLEAN.read_text(encoding="utf-8")).encode())
    assert debrief_waiting(folder, "A. Pilot", 60.0) == 0  # no chart yet
    store.add("procedures", "vor24.toml", CHART.read_bytes())
    store.add("procedures", "again.toml", CHART.read_bytes())
    assert debrief_waiting(folder, "A. Pilot", 60.0) == 0
    store.take_out("procedures", "again.toml")
    describe(folder, "early_descent.gpx", {"pilot": "B. Pilot"})
    assert debrief_waiting(folder, "A. Pilot", 60.0) == 2
    seen = {flight.file: (flight.verdict, flight.pilot) for flight in list_flights(folder).flights}
    assert seen == {"clean.csv": ("inside", "A. Pilot"), "early_descent.gpx": ("outside", "B. Pilot"), "open.csv": ("", "")}
    assert debrief_waiting(folder, "A. Pilot", 60.0) == 0


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("inbound 3,000 ft", ["inbound=3000"]),
        ("vectors, Inbound=3000; final: 900", ["vectors", "inbound=3000", "final=900"]),
        ("straight-in", ["straight-in"]),
        ("Radar vectors to the final approach course", ["vectors"]),
        ("vectors to final, inbound 3,000", ["vectors", "inbound=3000"]),
        ("Straight in approach", ["straight-in"]),
        ("inbound", ["inbound"]),
    ],
)
def test_an_assigned_altitude_is_typed_as_it_is_said(tmp_path: Path, typed: str, kept: list[str]):
    store = open_store(tmp_path / "desk")
    store.add("logs", CLEAN.name, CLEAN.read_bytes())
    describe(str(store.folder), CLEAN.name, {"cleared": typed})
    assert read_card(store, CLEAN.name).cleared == kept
