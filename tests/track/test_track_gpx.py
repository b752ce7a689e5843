"""GPX, beside an independent parser, and files made to do harm."""

from datetime import UTC, datetime, timedelta

import gpxpy
import gpxpy.gpx
import numpy as np
import pytest
from flights import Flight, Reader, flown, iso
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.errors import LogError
from analyzer.track.gpx_log import read_gpx
from analyzer.track.options import ReadOptions

FLIGHT = flown(40)


def gpx(flight: Flight, inside: str = "", prefix: str = "", version: str = "1.1") -> str:
    """The flight as GPX; `inside` is put into each point, `prefix` before each name."""
    p = f"{prefix}:" if prefix else ""
    points = "\n".join(
        f'<{p}trkpt lat="{latitude:.7f}" lon="{longitude:.7f}"><{p}ele>{altitude * 0.3048:.2f}</{p}ele>'
        f"<{p}time>{iso(time_s)}</{p}time>{inside}</{p}trkpt>"
        for time_s, latitude, longitude, altitude in zip(
            flight.time_s, flight.latitude_deg, flight.longitude_deg, flight.altitude_ft, strict=True
        )
    )
    space = f'xmlns{":" + prefix if prefix else ""}="http://www.topografix.com/GPX/{version.replace(".", "/")}"'
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<{p}gpx version="{version}" creator="test" {space} xmlns:x="urn:extra">'
        f"<{p}trk><{p}trkseg>\n{points}\n</{p}trkseg></{p}trk></{p}gpx>\n"
    )


times = st.datetimes(datetime(1970, 1, 2), datetime(2100, 1, 1)).map(lambda instant: instant.replace(tzinfo=UTC))
points = st.builds(
    gpxpy.gpx.GPXTrackPoint,
    latitude=st.floats(-90, 90, allow_subnormal=False),
    longitude=st.floats(-180, 179.999999, allow_subnormal=False),
    elevation=st.none() | st.floats(-500, 20_000, allow_subnormal=False),
    time=st.none() | times,
    speed=st.none() | st.floats(0, 400, allow_subnormal=False),
)


@st.composite
def documents(draw: st.DrawFn) -> gpxpy.gpx.GPX:
    document = gpxpy.gpx.GPX()
    for _ in range(draw(st.integers(1, 3))):
        track = gpxpy.gpx.GPXTrack(name=draw(st.none() | st.sampled_from(["ß & <b>", "first"])))
        for _ in range(draw(st.integers(0, 3))):
            track.segments.append(gpxpy.gpx.GPXTrackSegment(draw(st.lists(points, max_size=4))))
        document.tracks.append(track)
    document.waypoints.append(gpxpy.gpx.GPXWaypoint(1.0, 2.0))
    return document


@settings(deadline=None)
@given(document=documents(), version=st.sampled_from(["1.0", "1.1"]))
def test_the_points_are_those_that_an_independent_parser_reads(document: gpxpy.gpx.GPX, version: str) -> None:
    text = document.to_xml(version=version)
    expected = [point for track in gpxpy.parse(text).tracks for segment in track.segments for point in segment.points]
    if not expected:
        with pytest.raises(LogError, match="no track points"):
            read_gpx(text.encode(), "log.gpx")
        return
    table = read_gpx(text.encode(), "log.gpx")
    assert table.format == f"GPX {version}"
    assert [float(cell) for cell in table.column("lat")] == [point.latitude for point in expected]
    assert [float(cell) for cell in table.column("lon")] == [point.longitude for point in expected]
    for name, values in (
        ("ele", [point.elevation for point in expected]),
        ("speed", [point.speed for point in expected]),
    ):
        cells = table.column(name) if name in table.names else [""] * len(expected)
        assert [float(cell) if cell else None for cell in cells] == values
    cells = table.column("time") if "time" in table.names else [""] * len(expected)
    assert [datetime.fromisoformat(cell) if cell else None for cell in cells] == [point.time for point in expected]


@settings(deadline=None, max_examples=25)
@given(st.integers(2, 60), st.sampled_from([0.2, 1.0, 5.0]), st.floats(-60, 60), st.floats(-180, 180))
def test_a_flight_comes_back_from_what_another_program_wrote(
    count: int, step_s: float, latitude: float, longitude: float
) -> None:
    flight = flown(count, step_s, at=(latitude, longitude))
    segment = gpxpy.gpx.GPXTrackSegment(
        [
            gpxpy.gpx.GPXTrackPoint(
                *place, elevation=altitude * 0.3048, time=datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=time_s)
            )
            for *place, altitude, time_s in zip(
                flight.latitude_deg, flight.longitude_deg, flight.altitude_ft, flight.time_s, strict=True
            )
        ]
    )
    document = gpxpy.gpx.GPX()
    document.tracks.append(gpxpy.gpx.GPXTrack())
    document.tracks[0].segments.append(segment)
    table = read_gpx(document.to_xml().encode(), "log.gpx")
    np.testing.assert_allclose([float(cell) for cell in table.column("lat")], flight.latitude_deg, atol=1e-9)
    np.testing.assert_allclose([float(cell) for cell in table.column("ele")], flight.altitude_ft * 0.3048, atol=1e-6)


@pytest.mark.parametrize("prefix", ["", "gpx", "a"])
@pytest.mark.parametrize("version", ["1.0", "1.1"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_any_namespace_prefix_version_and_encoding(read: Reader, prefix: str, version: str, encoding: str) -> None:
    content = gpx(FLIGHT, prefix=prefix, version=version)
    content = content if encoding.startswith("utf-8") else content.replace("UTF-8", "UTF-16")
    track = read(content.encode(encoding), name="log.xml")
    assert track.format == f"GPX {version}"
    np.testing.assert_allclose(track.time_s, FLIGHT.time_s, atol=1e-6)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), FLIGHT.latitude_deg, atol=1e-7)
    np.testing.assert_allclose(track.altitude_m, FLIGHT.altitude_ft * 0.3048, atol=0.01)
    assert track.notes == ()


def test_speed_and_course_are_metres_a_second_and_true_degrees(read: Reader) -> None:
    content = gpx(FLIGHT, version="1.0")
    for place in range(len(FLIGHT)):
        content = content.replace(
            "</time></trkpt>", f"</time><course>{350 + place}</course><speed>{60 + place % 3}</speed></trkpt>", 1
        )
    track = read(content)
    np.testing.assert_allclose(track.recorded["ground_speed_mps"][:3], [60.0, 61.0, 62.0])
    np.testing.assert_allclose(np.degrees(track.recorded["track_rad"][[0, 9, 11]]), [350.0, 359.0, 1.0])


def test_extensions_are_matched_by_the_same_words(read: Reader) -> None:
    inside = "<extensions><x:box><x:bank_deg>{0}</x:bank_deg><x:speed>9</x:speed></x:box><x:gs_kt>{1}</x:gs_kt></extensions>"
    content = gpx(FLIGHT, inside)
    for place in range(len(FLIGHT)):
        content = content.replace("{0}", f"{place / 2}", 1).replace("{1}", f"{100 + place}", 1)
    track = read(content)
    np.testing.assert_allclose(np.degrees(track.recorded["bank_rad"]), np.arange(len(FLIGHT)) / 2)
    assert track.recorded["ground_speed_mps"][1] == pytest.approx(101 * 1852 / 3600)
    assert {column.name: column.quantity for column in track.columns}["speed (extension)"] == "unused"


def test_an_extension_named_like_the_elevation_is_no_second_altitude(read: Reader) -> None:
    track = read(gpx(FLIGHT, "<extensions><x:altitude_m>7</x:altitude_m></extensions>"))
    np.testing.assert_allclose(track.altitude_m, FLIGHT.altitude_ft * 0.3048, atol=0.01)


def test_segments_and_tracks_are_joined_in_order_of_time(read: Reader) -> None:
    one, two, three = (FLIGHT.take(slice(*part)) for part in ((0, 10), (10, 25), (25, 40)))
    body = [gpx(part).split("<trk>")[1].split("</trk>")[0] for part in (one, two, three)]
    head, tail = gpx(FLIGHT).split("<trk>")[0], "</gpx>"
    track = read(f"{head}<trk>{body[2]}</trk><trk><name>x</name>{body[0]}{body[1]}</trk>{tail}")
    np.testing.assert_allclose(track.time_s, FLIGHT.time_s, atol=1e-6)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), FLIGHT.latitude_deg, atol=1e-7)
    assert any(note.text.startswith("2 tracks with 3 segments in all") for note in track.notes)
    assert any("out of order in time: sorted" in note.text and note.count == 25 for note in track.notes)


def test_points_without_a_time_are_left_out_and_counted(read: Reader) -> None:
    content = gpx(FLIGHT)
    for place in (3, 4):
        content = content.replace(f"<time>{iso(FLIGHT.time_s[place])}</time>", "<time/>" if place == 3 else "")
    track = read(content)
    assert len(track) == len(FLIGHT) - 2
    assert [note.count for note in track.notes if "without time" in note.text] == [2]


def test_points_without_elevation_are_kept(read: Reader) -> None:
    content = gpx(FLIGHT).replace(f"<ele>{FLIGHT.altitude_ft[7] * 0.3048:.2f}</ele>", "", 1)
    track = read(content)
    assert len(track) == len(FLIGHT)
    assert np.isnan(track.altitude_m).sum() == 1


def test_a_file_that_breaks_off_is_read_as_far_as_it_goes(read: Reader) -> None:
    content = gpx(FLIGHT)
    track = read(content[: content.index(iso(FLIGHT.time_s[20])) + 8])
    assert len(track) == 20
    assert any("the file breaks off on line 23" in note.text for note in track.notes)


def test_a_missing_attribute_is_an_unreadable_row(read: Reader) -> None:
    track = read(gpx(FLIGHT).replace(f'lat="{FLIGHT.latitude_deg[5]:.7f}" ', ""))
    assert len(track) == len(FLIGHT) - 1


BILLION = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))


@pytest.mark.parametrize(
    "doctype",
    [
        f'<!DOCTYPE gpx [<!ENTITY l0 "lol">{BILLION}]>',
        '<!DOCTYPE gpx [<!ENTITY file SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE gpx SYSTEM "http://localhost/evil.dtd">',
        '<!DOCTYPE gpx [<!ENTITY % outside SYSTEM "http://localhost/evil.dtd"> %outside;]>',
        "<!DOCTYPE gpx>",
    ],
)
def test_document_types_are_refused_before_anything_is_expanded(read: Reader, doctype: str) -> None:
    content = gpx(FLIGHT).replace("?>\n", f"?>\n{doctype}", 1).replace("<ele>", "<ele>&l9;&file;", 1)
    with pytest.raises(LogError, match=r"log\.csv: holds an XML document type, which is refused"):
        read(content)


def test_an_entity_that_nobody_declared_is_not_well_formed(read: Reader) -> None:
    with pytest.raises(LogError, match="not well-formed XML"):
        read(gpx(FLIGHT).replace("<ele>", "<ele>&file;", 1))


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (gpx(FLIGHT).replace("trkpt", "wpt"), "this GPX file has no track points (trkpt): export the track flown"),
        (gpx(FLIGHT).replace("</trkseg>", "</trksag>"), "log.csv, line 43: not well-formed XML (mismatched tag): export"),
        (gpx(FLIGHT)[:60], "log.csv, line 2: not well-formed XML (unclosed token)"),
        (gpx(FLIGHT).replace("time>", "when>"), "log.csv: the points have no time: export the track with it"),
        (
            gpx(FLIGHT).replace("ele>", "mount>"),
            "log.csv: the points have no altitude: export the track with it, or do",
        ),
        (gpx(FLIGHT).replace("UTF-8", "of-my-own"), "log.csv: the encoding that the XML declares is not known"),
        (gpx(FLIGHT).replace("UTF-8", "shift_jis"), "log.csv: the encoding that the XML declares is not known"),
        ('<?xml version="1.0"?><svg/>', "log.csv: XML, but neither GPX nor KML: export the log as GPX or CSV"),
        ("<!DOCTYPE html><html></html>", "log.csv: XML, but neither GPX nor KML"),
        (
            gpx(FLIGHT).replace("<ele>", f"<e>{'<d>' * 99}{'</d>' * 99}</e><ele>", 1),
            "log.csv, line 3: more than 100 XML elements within each other: no GPX log is nested like that",
        ),
    ],
)
def test_what_cannot_be_read_is_refused(read: Reader, content: str, message: str) -> None:
    with pytest.raises(LogError) as caught:
        read(content)
    assert message in str(caught.value)


def test_the_user_may_overrule_the_unit_of_a_writer_that_is_wrong(read: Reader) -> None:
    track = read(gpx(FLIGHT), ReadOptions(units={"altitude": "ft"}))
    assert track.altitude_m[0] == pytest.approx(4000 * 0.3048**2, abs=0.01)
