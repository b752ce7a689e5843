"""IGC flight recorder files, beside an independent reader and writer."""

import io
from datetime import UTC, date, datetime

import numpy as np
import pytest
from aerofiles.igc import Reader as IgcReader
from aerofiles.igc import Writer as IgcWriter
from flights import START, Reader, flown
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from log_writers import at_whole_seconds, igc

from analyzer.errors import LogError
from analyzer.track.air import Air
from analyzer.track.igc_log import read_igc
from analyzer.track.options import ReadOptions

FLIGHT = at_whole_seconds(flown(60))
MINUTE_STEP = 1.0 / 60_000.0  # degrees in a thousandth of a minute, the resolution of a fix


def test_a_published_fix() -> None:
    """The example of the Rust crate `igc` (its documentation of `BRecord`)."""
    table = read_igc(b"HFDTE010126\nB0941145152265N00032642WA0011500115\n", "log.igc")
    assert table.column("time UTC") == ["09:41:14"]
    assert float(table.column("latitude")[0]) == pytest.approx(51 + 52.265 / 60, abs=1e-9)
    assert float(table.column("longitude")[0]) == pytest.approx(-32.642 / 60, abs=1e-9)
    assert (table.column("pressure altitude"), table.column("GNSS altitude")) == (["00115"], ["00115"])


@pytest.mark.parametrize(
    ("header", "pilot"),
    [
        ("HFPLTPILOTINCHARGE:Ada Quorl", "Ada Quorl"),
        ("HFPLTPILOT:Ada Quorl  ", "Ada Quorl"),
        ("HOPLT:Ada Quorl", "Ada Quorl"),
        ("HFPLTPILOTINCHARGE:NIL", ""),
        ("HFPLTPILOTINCHARGE:", ""),
        ("HFPLTPILOTINCHARGE:" + "A" * 500, "A" * 60),
        ("HFPLTPILOTINCHARGE:Ada\x1b[31m", "Ada\ufffd[31m"),
        ("HFCM2CREW2:Bento Ashwick", ""),
    ],
)
def test_the_pilot_of_the_header(header: str, pilot: str) -> None:
    """``HFPLTPILOTINCHARGE:`` of the specification, and its shorter spellings; ``NIL`` where there is none."""
    table = read_igc(f"HFDTE010126\n{header}\nB0941145152265N00032642WA0011500115\n".encode(), "log.igc")
    assert table.pilot == pilot


def test_a_published_extension_record() -> None:
    """``I023638FXA3940SIU`` of the specification: fix accuracy in columns 36 to 38, satellites in use in 39 and 40."""
    table = read_igc(b"I023638FXA3940SIU\nB0941145152265N00032642WA001150011503512\n", "log.igc")
    assert (table.column("FXA"), table.column("SIU")) == (["035"], ["12"])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=40)
@given(
    st.floats(-80, 80),
    st.floats(-180, 180),
    st.sampled_from(["HFDTE{}", "HFDTEDATE:{}", "HFDTEDATE:{},01", "HODTE{}", "HFDTEDATE: {},02"]),
    st.sampled_from([1.0, 4.0]),
)
def test_a_flight_comes_back(read: Reader, latitude: float, longitude: float, header: str, step_s: float) -> None:
    flight = at_whole_seconds(flown(40, step_s, at=(latitude, longitude)))
    track = read(igc(flight, header), name="log.csv")
    assert track.format == "IGC"
    np.testing.assert_array_equal(track.time_s, flight.time_s)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=0.51 * MINUTE_STEP)
    away = np.degrees(track.longitude_rad) - flight.longitude_deg
    np.testing.assert_allclose((away + 180.0) % 360.0 - 180.0, 0.0, atol=0.51 * MINUTE_STEP)
    np.testing.assert_allclose(track.altitude_m, flight.altitude_ft * 0.3048, atol=0.51)
    np.testing.assert_allclose(track.recorded["pressure_altitude_m"], track.altitude_m + 60.0, atol=1.01)


def test_what_an_independent_program_wrote_and_reads_is_read_alike(read: Reader) -> None:
    stream = io.BytesIO()
    writer = IgcWriter(stream)
    writer.write_headers(
        {
            "manufacturer_code": "XXX", "logger_id": "001", "date": date(2026, 5, 1), "fix_accuracy": 20, "pilot": "Nobody",
            "copilot": "", "glider_type": "", "glider_id": "", "firmware_version": "", "hardware_version": "",
            "logger_type": "", "gps_receiver": "", "pressure_sensor": "",
        }
    )  # fmt: skip
    writer.write_fix_extensions([("FXA", 3), ("GSP", 3), ("TRT", 3), ("TAS", 3), ("IAS", 3)])
    for place in range(len(FLIGHT)):
        writer.write_fix(
            time=datetime.fromtimestamp(FLIGHT.time_s[place], UTC).time(),
            latitude=FLIGHT.latitude_deg[place],
            longitude=FLIGHT.longitude_deg[place],
            valid=place != 7,
            pressure_alt=1200 + place,
            gps_alt=1250 + place,
            extensions=[
                "020",
                f"{216 + place % 2:03d}",
                f"{(350 + place) % 360:03d}",
                f"{230 + place:03d}",
                f"{210 + place:03d}",
            ],
        )
    content = stream.getvalue()
    track = read(content)
    parsed = IgcReader().read(io.StringIO(content.decode()))
    times, latitudes, longitudes = zip(
        *((fix["datetime"].timestamp(), fix["lat"], fix["lon"]) for fix in parsed["fix_records"][1]), strict=True
    )
    np.testing.assert_array_equal(track.time_s, times)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), latitudes, atol=1e-9)
    np.testing.assert_allclose(np.degrees(track.longitude_rad), longitudes, atol=1e-9)
    assert np.isnan(track.altitude_m[7])
    np.testing.assert_array_equal(np.delete(track.altitude_m, 7), np.delete(1250.0 + np.arange(60), 7))
    np.testing.assert_array_equal(track.recorded["pressure_altitude_m"], 1200.0 + np.arange(60))
    assert track.recorded["ground_speed_mps"][1] == pytest.approx(217 / 3.6)
    assert np.degrees(track.recorded["track_rad"][[0, 12]]) == pytest.approx([350.0, 2.0])
    assert track.recorded["true_airspeed_mps"][0] == pytest.approx(230 / 3.6)
    assert track.recorded["indicated_airspeed_mps"][59] == pytest.approx(269 / 3.6)
    assert any("1 fix marked V" in note.text for note in track.notes)


def test_further_decimals_of_time_and_place_are_used(read: Reader) -> None:
    lines = ["HFDTE010526", "I033637LAD3839LOD4042TDS", "B1200005130000N00830000WA00100002001234250"]
    lines += ["B1200015130100N00830100WA00100002005678500", "B1200025130200N00830200WA00100002000000750"]
    track = read("\n".join(lines))
    np.testing.assert_allclose(track.time_s - track.time_s[0], [0.0, 1.25, 2.5])
    assert np.degrees(track.latitude_rad[1]) == pytest.approx(51 + 30.10056 / 60, abs=1e-10)
    assert np.degrees(track.longitude_rad[0]) == pytest.approx(-(8 + 30.00034 / 60), abs=1e-10)


def test_a_flight_over_midnight_goes_on_and_a_new_date_record_counts(read: Reader) -> None:
    flight = at_whole_seconds(flown(60, times=np.arange(60) + 10 * 3600.0 - 30.0))
    content = igc(flight)
    np.testing.assert_array_equal(read(content).time_s, flight.time_s)
    first_new = content.index("B000000")
    np.testing.assert_array_equal(read(f"{content[:first_new]}HFDTE020526\n{content[first_new:]}").time_s, flight.time_s)


def test_a_log_without_a_date_is_asked_for_it(read: Reader) -> None:
    content = igc(FLIGHT).replace("HFDTEDATE", "HFXXX")
    with pytest.raises(LogError, match=r"14:00:00 is a time of day without a date.*--start"):
        read(content)
    np.testing.assert_array_equal(read(content, ReadOptions(start=START)).time_s, FLIGHT.time_s)


@pytest.mark.parametrize(
    ("header", "noted"), [("", True), ("HFALGALTGPS:ELL", True), ("HFALG:GEO", False), ("HFALGALTGPS:GEO", False)]
)
def test_what_the_altitude_is_above_is_told(read: Reader, header: str, noted: bool) -> None:
    track = read(igc(FLIGHT).replace("HFPLT", f"{header}\nHFPLT"))
    assert any("above the ellipsoid" in note.text for note in track.notes) is noted


def test_pressure_altitude_is_taken_where_it_is_chosen_and_a_qnh_corrects_it(read: Reader) -> None:
    options = ReadOptions(columns={"altitude": "pressure altitude"}, air=Air.given(1003.25, None))
    track = read(igc(FLIGHT), options)
    # 10 hPa near sea level are 83 to 84 m (ICAO Doc 7488, table of pressure against altitude)
    np.testing.assert_allclose(FLIGHT.altitude_ft * 0.3048 + 60.0 - track.altitude_m, 83.5, atol=1.0)


@pytest.mark.parametrize(("place", "left"), [(25, "GNSS"), (30, "pressure")])
def test_an_altitude_that_is_zero_throughout_is_none(read: Reader, place: int, left: str) -> None:
    lines = [f"{line[:place]}00000{line[place + 5 :]}" if line.startswith("B") else line for line in igc(FLIGHT).splitlines()]
    track = read("\n".join(lines))
    lacking = 0.0 if left == "GNSS" else 60.0
    np.testing.assert_allclose(track.altitude_m, FLIGHT.altitude_ft * 0.3048 + lacking, atol=0.51)
    assert any("empty or zero throughout" in note.text for note in track.notes)


def test_an_extension_of_another_width_has_no_unit_until_it_is_given(read: Reader) -> None:
    content = igc(FLIGHT, extension=("TAS", 5, [23_000 + place for place in range(60)]))
    track = read(content)
    assert "true_airspeed_mps" not in track.recorded
    assert any("--unit true_airspeed=" in note.text for note in track.notes)
    track = read(content, ReadOptions(units={"true_airspeed": "0.01 km/h"}))
    assert track.recorded["true_airspeed_mps"][0] == pytest.approx(230.0 / 3.6)


def test_broken_fixes_are_left_out_and_counted(read: Reader) -> None:
    content = igc(FLIGHT).splitlines()
    content[5] = content[5][:20]
    content[9] = content[9].replace("N", "X")
    track = read("\n".join(content))
    assert len(track) == 58
    assert [note.count for note in track.notes if "broken B record" in note.text] == [2]


def test_extensions_that_change_all_the_time_are_refused(read: Reader) -> None:
    fixes = [line for line in igc(FLIGHT).splitlines() if line.startswith("B")]
    records = [f"I013637{chr(65 + k // 26 % 26)}{chr(65 + k % 26)}{k // 676}\n{fixes[k % 60]}00" for k in range(300)]
    with pytest.raises(LogError, match=r"line \d+: more than 200 different extensions \(I record\)"):
        read("\n".join(["HFDTE010526", *records]))


def test_a_file_without_a_fix_is_refused(read: Reader) -> None:
    with pytest.raises(LogError, match=r"log\.csv: this IGC file has no fix \(B record\): export the flight again"):
        read("AXXX001\nHFDTE010526\n")
