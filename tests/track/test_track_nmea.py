"""NMEA 0183, beside an independent parser."""

import numpy as np
import pynmea2
import pytest
from flights import START, Reader, flown
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from log_writers import nmea, sentence

from analyzer.errors import LogError
from analyzer.track.nmea_log import read_nmea
from analyzer.track.options import ReadOptions

FLIGHT = flown(60)
MINUTE_STEP = 1.0 / 6_000_000.0  # degrees in the fifth decimal of a minute that the flight is written with


def test_a_published_sentence() -> None:
    """The GGA example that many references print, whose checksum is 47."""
    table = read_nmea(b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n", "log.nmea")
    assert table.column("time UTC") == ["12:35:19"]
    assert float(table.column("latitude")[0]) == pytest.approx(48 + 7.038 / 60, abs=1e-9)
    assert float(table.column("longitude")[0]) == pytest.approx(11 + 31.0 / 60, abs=1e-9)
    assert table.column("altitude") == ["545.4"]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=40)
@given(
    at=st.tuples(st.floats(-80, 80), st.floats(-180, 180)),
    step_s=st.sampled_from([0.2, 1.0, 5.0]),
    talkers=st.tuples(*[st.sampled_from(["GP", "GN", "GL", "GA"])] * 2),
    kinds=st.permutations(["RMC", "GSV", "GGA"]),
    ending=st.sampled_from(["\r\n", "\n"]),
)
def test_a_flight_comes_back(
    read: Reader, at: tuple[float, float], step_s: float, talkers: tuple[str, str], kinds: list[str], ending: str
) -> None:
    flight = flown(40, step_s, at=at)
    track = read(nmea(flight, talkers, tuple(kinds)).replace("\r\n", ending))
    assert track.format == "NMEA 0183"
    np.testing.assert_allclose(track.time_s, flight.time_s, atol=1e-3)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=0.51 * MINUTE_STEP)
    away = np.degrees(track.longitude_rad) - flight.longitude_deg
    np.testing.assert_allclose((away + 180.0) % 360.0 - 180.0, 0.0, atol=0.51 * MINUTE_STEP)
    np.testing.assert_allclose(track.altitude_m, flight.altitude_ft * 0.3048, atol=0.051)
    assert track.recorded["ground_speed_mps"][1] == pytest.approx(117.4 * 1852 / 3600)
    assert np.degrees(track.recorded["track_rad"][:2]) == pytest.approx([0.5, 1.5])


def test_sentences_of_an_independent_writer_are_read_as_its_parser_reads_them() -> None:
    fields = ("101112.50", "A", "0530.1234", "S", "07015.5000", "W", "120.5", "271.3", "300226"[:4] + "26", "", "", "A")
    rmc = str(pynmea2.RMC("GN", "RMC", fields))
    gga = str(pynmea2.GGA("GN", "GGA", ("101112.50", *fields[2:6], "2", "11", "0.7", "-12.3", "M", "3.0", "M", "", "")))
    table = read_nmea(f"{rmc}\r\n{gga}\r\n".encode(), "log.nmea")
    parsed = pynmea2.parse(rmc, check=True)
    assert [float(table.column(name)[0]) for name in ("latitude", "longitude")] == pytest.approx(
        [parsed.latitude, parsed.longitude], abs=1e-9
    )
    assert table.column("time UTC") == ["10:11:12.50"]
    assert float(table.column("speed over ground")[0]) == parsed.spd_over_grnd
    assert float(table.column("course over ground")[0]) == parsed.true_course
    assert float(table.column("altitude")[0]) == pynmea2.parse(gga).altitude
    assert len(table) == 1


def test_the_date_is_day_month_year() -> None:
    body = "GPRMC,120000,A,5130.0,N,00830.0,E,100.0,90.0,090526,,"
    assert read_nmea(sentence(body).encode(), "log").column("date") == ["2026-05-09"]
    assert read_nmea(sentence(body.replace("090526", "090594")).encode(), "log").column("date") == ["1994-05-09"]


def test_a_date_that_is_none_is_asked_for(read: Reader) -> None:
    bodies = [line[1:].partition("*")[0].replace("010526", "1-5-26") for line in nmea(FLIGHT, kinds=("RMC",)).splitlines()]
    content = "\n".join(map(sentence, bodies))
    with pytest.raises(LogError, match=r"is a time of day without a date.*--start"):
        read(content, ReadOptions(altitude_required=False))
    track = read(content, ReadOptions(altitude_required=False, start=START))
    np.testing.assert_allclose(track.time_s, FLIGHT.time_s)


def test_bad_sentences_are_dropped_and_counted(read: Reader) -> None:
    lines = nmea(FLIGHT).splitlines()
    lines[0] = lines[0].replace("140000", "140001")  # a false checksum
    lines[2] = lines[2].partition("*")[0]  # none, where others have one
    lines[9] = sentence(lines[9][1:].partition("*")[0].replace(",A,", ",V,", 1))
    lines[15] = sentence("GPRMC,140005")
    track = read("\n".join(lines))
    assert {note.count for note in track.notes if "checksum" in note.text} == {2}
    assert {note.count for note in track.notes if "valid position" in note.text} == {1}
    assert {note.count for note in track.notes if "cannot be read: dropped" in note.text} == {1}
    np.testing.assert_allclose(track.time_s, FLIGHT.time_s[1:])  # the other sentence of the instants 3 and 5 is whole


def test_sentences_without_checksums_are_taken_where_none_has_one(read: Reader) -> None:
    track = read("\n".join(line.partition("*")[0] for line in nmea(FLIGHT).splitlines()))
    np.testing.assert_allclose(track.time_s, FLIGHT.time_s)
    assert any("without a checksum, like all in this log" in note.text and note.count == 120 for note in track.notes)


def test_sentences_apart_are_merged_by_time(read: Reader) -> None:
    apart = nmea(FLIGHT, kinds=("RMC",)) + nmea(FLIGHT, kinds=("GGA",))
    track = read(apart)
    assert len(track) == len(FLIGHT)
    assert np.isfinite(track.altitude_m).all()
    assert np.isfinite(track.recorded["ground_speed_mps"]).all()


@pytest.mark.parametrize("kinds", [("RMC", "GGA"), ("GGA", "RMC")])
def test_a_flight_over_midnight_goes_on(read: Reader, kinds: tuple[str, ...]) -> None:
    flight = flown(60, times=np.arange(60) + 10 * 3600.0 - 30.0)
    np.testing.assert_allclose(read(nmea(flight, kinds=kinds)).time_s, flight.time_s)


def test_a_log_that_begins_with_gga_before_midnight_begins_the_day_before(read: Reader) -> None:
    flight = flown(60, times=np.arange(60) + 10 * 3600.0 - 30.0)
    content = nmea(flight.take(slice(0, 40)), kinds=("GGA",)) + nmea(flight.take(slice(40, None)))
    np.testing.assert_allclose(read(content).time_s, flight.time_s)


def test_a_log_of_gga_alone_is_asked_for_its_date(read: Reader) -> None:
    flight = flown(60, times=np.arange(60) + 10 * 3600.0 - 30.0)
    content = nmea(flight, kinds=("GGA",))
    with pytest.raises(LogError, match=r"is a time of day without a date.*--start"):
        read(content)
    np.testing.assert_allclose(read(content, ReadOptions(start=START)).time_s, flight.time_s)


def test_a_prefix_before_the_sentence_is_left_aside() -> None:
    content = "".join(f"\\s:recorder,c:1*0A\\{line}\n" for line in nmea(FLIGHT).splitlines())
    assert len(read_nmea(content.encode(), "log")) == len(FLIGHT)


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("$GPGSV,1,1,00*79\n", "none is there"),
        (sentence("GPGGA,120000,5130.0,N,00830.0,E,0,00,,,M,,M,,"), "1 sentence marked as without a valid position: dropped"),
        ("$GPGGA,120000,5130.0,N,00830.0,E,1,08,0.9,545.4,M,46.9,M,,*00", "1 sentence whose checksum is wrong or missing"),
        (sentence("GPGGA,120000,51:30,N,00830.0,E,1,08,0.9,545.4,M,46.9,M,,"), "1 sentence that cannot be read: dropped"),
    ],
)
def test_a_log_without_a_position_is_refused_with_the_reason(read: Reader, content: str, reason: str) -> None:
    with pytest.raises(LogError) as caught:
        read(content)
    assert f"log.csv: no RMC or GGA sentence with a position ({reason}" in str(caught.value)


def test_rows_know_their_lines() -> None:
    assert list(read_nmea(nmea(FLIGHT).encode(), "log").lines) == [1 + 3 * place for place in range(len(FLIGHT))]


def test_a_date_of_twenty_years_ago_is_said_to_be_perhaps_one_of_today() -> None:
    """IS-GPS-200, 20.3.3.3.1.1: weeks have ten bits, so on 2019-04-07 they began again, as on 1999-08-22."""
    body = "GPRMC,120000,A,5130.0,N,00830.0,E,100.0,90.0,220899,,"
    (note,) = read_nmea(sentence(body).encode(), "log").notes
    assert "dated 1999-08-22: true, or 2019-04-07 by a receiver that counts weeks wrongly" in note.text
    assert read_nmea(sentence(body.replace("220899", "070419")).encode(), "log").notes == ()
