"""GeoJSON tracks: lines with a list of times under any name, and points with a time each."""

import json
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest
from flights import Flight, Reader, flown, iso
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from log_writers import geojson, geojson_line, geojson_points, positions

from analyzer.errors import LogError
from analyzer.track.geojson_log import read_geojson
from analyzer.track.options import ReadOptions
from analyzer.track.track import Track

FLIGHT = flown(40)
ISO = [iso(time_s) for time_s in FLIGHT.time_s]


def assert_same(track: Track, flight: Flight) -> None:
    np.testing.assert_allclose(track.time_s, flight.time_s, atol=1e-5)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=0.51e-8)
    away = np.degrees(track.longitude_rad) - flight.longitude_deg
    np.testing.assert_allclose((away + 180.0) % 360.0 - 180.0, 0.0, atol=0.51e-8)
    np.testing.assert_allclose(track.altitude_m, flight.altitude_ft * 0.3048, atol=0.0051)


def line(flight: Flight = FLIGHT) -> dict[str, Any]:
    return {"type": "LineString", "coordinates": positions(flight)}


def test_a_published_line_reads_east_before_north() -> None:
    """The LineString of RFC 7946, section 1.5, with times added beside."""
    content = b"""{"type": "Feature", "geometry": {"type": "LineString",
        "coordinates": [[102.0, 0.0], [103.0, 1.0], [104.0, 0.0], [105.0, 1.0]]},
        "properties": {"prop0": "value0", "prop1": 0.0, "prop2": [1777644000, 1777644060, 1777644120, 1777644180]}}"""
    table = read_geojson(content, "log.json", {})
    told = {meaning.quantity: table.column(name) for name, meaning in table.defined.items()}
    assert told == {
        "longitude": ["102.0", "103.0", "104.0", "105.0"],
        "latitude": ["0.0", "1.0", "0.0", "1.0"],
        "time": ["1777644000", "1777644060", "1777644120", "1777644180"],
    }


TIMES = {
    "iso": lambda time_s: iso(time_s),
    "offset": lambda time_s: iso(time_s - 3 * 3600).replace("Z", "-03:00"),
    "s": lambda time_s: round(time_s, 3),
    "ms": lambda time_s: round(time_s * 1e3),
    "us": lambda time_s: round(time_s * 1e6),
    "text": lambda time_s: f"{time_s:.3f}",
}


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60)
@given(
    at=st.tuples(st.floats(-80, 80), st.floats(-180, 180)),
    step_s=st.sampled_from([0.2, 1.0, 5.0]),
    form=st.sampled_from(sorted(TIMES)),
    name=st.text(min_size=1, max_size=12).filter(
        lambda name: name not in ("n", "type", "geometry", "bbox", "id", "crs", "properties")
    ),
    shape=st.sampled_from(["line", "multi", "multi flat", "points", "feature", "member", "nested"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_a_flight_comes_back(
    read: Reader, at: tuple[float, float], step_s: float, form: str, name: str, shape: str, encoding: str
) -> None:
    flight = flown(40, step_s, at=at)
    times = [TIMES[form](time_s) for time_s in flight.time_s]
    places = positions(flight)
    halves = {"type": "MultiLineString", "coordinates": [places[:15], places[15:]]}
    whole = {"type": "LineString", "coordinates": places}
    document: dict[str, Any] = {
        "line": json.loads(geojson(whole, {name: times, "n": list(range(40))})),
        "multi": json.loads(geojson(halves, {name: [times[:15], times[15:]]})),
        "multi flat": json.loads(geojson(halves, {name: times})),
        "feature": {"type": "Feature", "geometry": whole, "properties": {name: times}},
        "member": {"type": "Feature", "geometry": whole, "properties": None, name: times},
        "nested": {"type": "Feature", "geometry": whole, "properties": {"of each position": {name: times}}},
        "points": {
            "type": "FeatureCollection",
            "features": [
                {"type": "Feature", "geometry": {"type": "Point", "coordinates": place}, "properties": {name: time, "n": 3}}
                for place, time in zip(places, times, strict=True)
            ],
        },
    }[shape]
    if shape == "member" and name in ("coordinates", "features"):
        return
    track = read(json.dumps(document, ensure_ascii=name.isascii()).encode(encoding, "surrogatepass"), name="log.csv")
    assert track.format == "GeoJSON"
    assert_same(track, flight)


def test_other_lists_are_columns_by_their_names(read: Reader) -> None:
    more = {"gs_kt": list(range(100, 140)), "seen": [None] * 40, "altitude_ft": list(range(5000, 5040)), "of": [1, 2]}
    track = read(geojson(line(), {"at": ISO, **more}))
    np.testing.assert_allclose(track.recorded["ground_speed_mps"], np.arange(100, 140) * 1852 / 3600)
    np.testing.assert_allclose(track.altitude_m, np.arange(5000, 5040) * 0.3048)
    assert any("taken from 'altitude_ft', not from the third" in note.text for note in track.notes)


def test_the_fourth_coordinate_may_be_the_time(read: Reader) -> None:
    places = [[*place, round(time_s, 3)] for place, time_s in zip(positions(FLIGHT), FLIGHT.time_s, strict=True)]
    assert_same(read(geojson({"type": "LineString", "coordinates": places}, {})), FLIGHT)


def test_elapsed_seconds_are_taken_where_they_are_named_and_started(read: Reader) -> None:
    content = geojson(line(), {"after": list(range(40))})
    with pytest.raises(LogError, match=r"no times with the positions \(after\).*--column time=NAME --start TIME"):
        read(content)
    options = ReadOptions(columns={"time": "after"}, start=datetime.fromtimestamp(FLIGHT.time_s[0], UTC))
    assert_same(read(content, options), FLIGHT)


def test_of_several_times_the_name_decides_or_the_user(read: Reader) -> None:
    later = [iso(time_s + 60) for time_s in FLIGHT.time_s]
    assert_same(read(geojson(line(), {"time": ISO, "received": later})), FLIGHT)
    content = geojson(line(), {"sent": ISO, "received": later})
    with pytest.raises(
        LogError, match=r"'sent' and 'received' could each be the times\. Choose one, such as --column time='sent'"
    ):
        read(content)
    assert_same(read(content, ReadOptions(columns={"time": "sent"})), FLIGHT)


def test_a_bare_geometry_and_a_row_of_points_are_read_too(read: Reader) -> None:
    assert_same(read(json.dumps({**line(), "seen": ISO})), FLIGHT)
    assert_same(read(geojson({"type": "MultiPoint", "coordinates": positions(FLIGHT)}, {"seen": ISO})), FLIGHT)


def test_a_date_and_a_time_of_day_are_found_by_their_names(read: Reader) -> None:
    beside = {"date": [text[:10] for text in ISO], "time": [text[11:19] for text in ISO]}
    assert_same(read(geojson(line(), beside)), FLIGHT)
    with pytest.raises(LogError, match=r"position 1, column 'elapsed_s': 0 is elapsed time.*--start"):
        read(geojson(line(), {"elapsed_s": list(range(40))}))


def test_lines_of_several_features_are_joined(read: Reader) -> None:
    features = [
        {"type": "Feature", "geometry": line(FLIGHT.take(slice(*part))), "properties": {"t": ISO[slice(*part)]}}
        for part in ((0, 10), (10, 40))
    ]
    track = read(json.dumps({"type": "FeatureCollection", "features": features}))
    assert_same(track, FLIGHT)
    assert any(note.text == "2 lines, joined in order of time" for note in track.notes)


def test_points_are_read_where_a_line_has_no_times(read: Reader) -> None:
    document = json.loads(geojson_points(FLIGHT))
    document["features"].insert(0, {"type": "Feature", "geometry": line(), "properties": {"what": "the path"}})
    assert_same(read(json.dumps(document)), FLIGHT)


def test_where_the_times_were_found_is_noted(read: Reader) -> None:
    assert any(note.text == "the times are those of 'moments', by their values" for note in read(geojson_line(FLIGHT)).notes)


def test_what_the_third_coordinate_is_above_is_noted(read: Reader) -> None:
    assert any("above the ellipsoid by RFC 7946" in note.text for note in read(geojson_line(FLIGHT)).notes)


def test_a_row_that_cannot_be_read_is_told_by_its_position(read: Reader) -> None:
    broken = line()
    broken["coordinates"][7][1] = "north"
    track = read(geojson(broken, {"at": ISO}))
    assert any("position 8, column 'coordinate 2': 'north' is no number" in note.text for note in track.notes)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ('{"a": 1}', "log.csv: JSON, but not GeoJSON: export the log as CSV, GPX or GeoJSON"),
        ('{"type": "FeatureCollection", "features": []}', "log.csv: GeoJSON without a line or points"),
        ('{"type": "FeatureCollection",\n "features": [}', "log.csv, line 2: damaged JSON (Expecting value): export"),
        ('{"type": ' + "[" * 100_000, "log.csv: JSON nested too deep"),
        ('{"a":' * 100_000, "log.csv: JSON nested too deep"),
        (b'{"type": "\xff\xfe"}', "log.csv: JSON that is not UTF-8"),
        (geojson(line(), {"name": "x"}), "log.csv: no times with the positions (nothing)"),
        (geojson({"type": "LineString", "coordinates": [[1, 2], 3]}, {}), "log.csv: a line whose coordinates are no list"),
        (geojson({"type": "Polygon", "coordinates": [positions(FLIGHT)]}, {}), "log.csv: GeoJSON without a line or points"),
        (geojson(line(), {"at": ISO[:-1]}), "log.csv: 'at' holds 39 times for 40 positions"),
    ],
)
def test_what_cannot_be_read_is_refused(read: Reader, content: str | bytes, message: str) -> None:
    with pytest.raises(LogError) as caught:
        read(content)
    assert message in str(caught.value)


def test_endless_kinds_of_properties_are_refused(read: Reader) -> None:
    document = json.loads(geojson_points(FLIGHT))
    for number, feature in enumerate(document["features"]):
        feature["properties"] |= {f"p{number}-{k}": 1 for k in range(20)}
    with pytest.raises(LogError, match="more than 500 different properties"):
        read(json.dumps(document))


def test_an_epoch_is_told_by_its_size_whatever_its_name_says(read: Reader) -> None:
    """Milliseconds under a name that means seconds: no instant since 1990 has the same number in both."""
    flight = flown(40, 0.2)
    times = [round(time_s * 1e3) for time_s in flight.time_s]
    track = read(geojson({"type": "LineString", "coordinates": positions(flight)}, {"S": times}).encode())
    assert track.time_s == pytest.approx(flight.time_s, abs=1e-3)
    assert [column.unit for column in track.columns if column.quantity == "time"] == ["ms since 1970"]
