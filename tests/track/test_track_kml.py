"""KML tracks, beside an independent writer, and files made to do harm."""

from datetime import UTC, datetime

import numpy as np
import pytest
import simplekml
from flights import Flight, Reader, flown, iso
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from log_writers import kml, kml_track

from analyzer.errors import LogError
from analyzer.track.kml_log import read_kml
from analyzer.track.options import ReadOptions
from analyzer.track.track import Track

FLIGHT = flown(40)


def assert_same(track: Track, flight: Flight) -> None:
    np.testing.assert_allclose(track.time_s, flight.time_s, atol=1e-5)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=0.51e-7)
    away = np.degrees(track.longitude_rad) - flight.longitude_deg
    np.testing.assert_allclose((away + 180.0) % 360.0 - 180.0, 0.0, atol=0.51e-7)
    np.testing.assert_allclose(track.altitude_m, flight.altitude_ft * 0.3048, atol=0.0051)


def test_a_published_track() -> None:
    """The example of the announcement of ``gx:Track`` ("Making tracks: new KML extensions", July 2010), as far as printed."""
    content = b"""<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2"><Placemark><gx:Track>
    <when>2010-04-07T23:32:11Z</when><gx:coord>-83.671639 1.675732 7.827881000000001</gx:coord></gx:Track></Placemark></kml>"""
    table = read_kml(content, "log.kml")
    assert table.format == "KML 2.2"
    cells = {name: cells[0] for name, cells in zip(table.names, table.cells, strict=True)}
    assert cells == {
        "when": "2010-04-07T23:32:11Z", "longitude": "-83.671639", "latitude": "1.675732", "altitude": "7.827881000000001",
    }  # fmt: skip


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=40)
@given(
    at=st.tuples(st.floats(-80, 80), st.floats(-180, 180)),
    step_s=st.sampled_from([0.2, 1.0, 5.0]),
    prefix=st.sampled_from(["gx:", "", "g:"]),
    paired=st.booleans(),
    cut=st.integers(0, 39),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_a_flight_comes_back(
    read: Reader, at: tuple[float, float], step_s: float, prefix: str, paired: bool, cut: int, encoding: str
) -> None:
    flight = flown(40, step_s, at=at)
    parts = [flight.take(slice(*part)) for part in ((0, cut), (cut, 40)) if part[0] < part[1]]
    content = kml(*(kml_track(part, prefix, paired=paired) for part in parts))
    if encoding == "utf-16":
        content = content.replace("UTF-8", "UTF-16")
    track = read(content.encode(encoding), name="log.csv")
    assert track.format == "KML 2.2"
    assert_same(track, flight)
    assert any("2 tracks, joined" in note.text for note in track.notes) is (len(parts) == 2)


def test_what_an_independent_program_wrote_is_read(read: Reader) -> None:
    document = simplekml.Kml()
    track = document.newgxmultitrack(name="ß & <b>").newgxtrack(altitudemode=simplekml.AltitudeMode.absolute)
    track.newwhen([iso(time_s) for time_s in FLIGHT.time_s])
    track.newgxcoord(
        [
            (lon, lat, alt)
            for lat, lon, alt in zip(FLIGHT.latitude_deg, FLIGHT.longitude_deg, FLIGHT.altitude_ft * 0.3048, strict=True)
        ]
    )
    schema = document.newschema()
    schema.newgxsimplearrayfield(name="gs_kt", type=simplekml.Types.float)
    track.extendeddata.schemadata.schemaurl = schema.id
    track.extendeddata.schemadata.newgxsimplearraydata("gs_kt", [100 + place for place in range(40)])
    read_back = read(document.kml())
    assert_same(read_back, FLIGHT)
    np.testing.assert_allclose(read_back.recorded["ground_speed_mps"], (100 + np.arange(40)) * 1852 / 3600)


@pytest.mark.parametrize("mode", ["", "clampToGround", "clampToSeaFloor"])
def test_altitudes_that_kml_would_not_show_are_noted(read: Reader, mode: str) -> None:
    track = read(kml(kml_track(FLIGHT, mode=mode)))
    assert_same(track, FLIGHT)
    assert any("altitudeMode is not absolute" in note.text for note in track.notes)


def test_heights_above_ground_are_no_altitudes(read: Reader) -> None:
    with pytest.raises(LogError, match=r"the points have no altitude: .*--no-altitude"):
        read(kml(kml_track(FLIGHT, mode="relativeToGround")))
    track = read(kml(kml_track(FLIGHT, mode="relativeToGround")), ReadOptions(altitude_required=False))
    assert not track.has_altitude
    assert any("count from the ground" in note.text for note in track.notes)


def test_two_aircraft_are_told_apart(read: Reader) -> None:
    other = flown(40, at=(48.0, 9.0))
    with pytest.raises(LogError, match=r"'track number' tells several aircraft apart.*--only \"track number=1\""):
        read(kml(kml_track(FLIGHT), kml_track(other)))


def test_samples_without_a_place_are_left_out(read: Reader) -> None:
    content = kml(kml_track(FLIGHT))
    begin = content.index("<gx:coord>")
    track = read(content[:begin] + "<gx:coord/>" + content[content.index("</gx:coord>") + 11 :])
    assert len(track) == 39


def test_a_file_that_breaks_off_is_read_as_far_as_it_goes(read: Reader) -> None:
    content = kml(kml_track(FLIGHT, paired=True))
    track = read(content[: content.index(iso(FLIGHT.time_s[20])) + 30])
    assert len(track) == 20
    assert any("the file breaks off" in note.text for note in track.notes)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (kml(kml_track(FLIGHT)).replace("Track>", "Trail>"), "log.csv: this KML file has no track with times (gx:Track,"),
        (
            kml(kml_track(FLIGHT)).replace("<when>", "<at>", 1).replace("</when>", "</at>", 1),
            "line 3: a track with 39 times (when)",
        ),
        (kml(kml_track(FLIGHT)).replace("?>", '?><!DOCTYPE kml [<!ENTITY a "b">]>', 1), "KML needs none: take the DOCTYPE out"),
        (kml("<Folder>" * 120 + "</Folder>" * 120), "more than 100 XML elements within each other: no KML log is nested"),
    ],
)
def test_what_cannot_be_read_is_refused(read: Reader, content: str, message: str) -> None:
    with pytest.raises(LogError) as caught:
        read(content)
    assert message in str(caught.value)


def test_times_with_an_offset_are_brought_to_utc(read: Reader) -> None:
    content = kml(kml_track(FLIGHT))
    for time_s in FLIGHT.time_s:
        local = datetime.fromtimestamp(time_s + 7200.0, UTC).strftime("%Y-%m-%dT%H:%M:%S+02:00")
        content = content.replace(f"<when>{iso(time_s)}", f"<when>{local}")
    assert_same(read(content), FLIGHT)
