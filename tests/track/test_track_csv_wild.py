"""CSV as it is found: headers, comments, blanks, units and numbers in forms that no standard asks for."""

from collections.abc import Sequence

import numpy as np
import pytest
from flights import HEADER, START, Flight, Reader, flown, iso, rows
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analyzer.errors import LogError
from analyzer.track.air import Air
from analyzer.track.options import ReadOptions
from analyzer.track.track import Track

FLIGHT = flown(30, step_s=2.0)
CELLS = [row.split(",") for row in rows(FLIGHT)]


def table(header: str, cells: Sequence[Sequence[str]] = CELLS, mark: str = ",") -> str:
    return "\n".join([header, *(mark.join(row) for row in cells), ""])


def assert_same(track: Track, flight: Flight = FLIGHT) -> None:
    np.testing.assert_allclose(track.time_s, flight.time_s, atol=1e-3)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=1.01e-7)
    np.testing.assert_allclose(np.degrees(track.longitude_rad), flight.longitude_deg, atol=1.01e-7)
    np.testing.assert_allclose(track.altitude_m / 0.3048, flight.altitude_ft, atol=0.04)


@pytest.mark.parametrize(
    "header",
    [
        "time,lat,lon,alt_ft",
        '"time","lat (°)","lon (°)","altitude, ft"',
        "Time [UTC];LAT;LNG;Altitude (feet)".replace(";", ","),
        "utc,Latitude/deg,Longitude/deg,altitude/ft",
        'time,lat,lon,"Altitude\n(ft)"',
        '"time\nUTC",lat,lon,"Altitude\nabove mean\nsea level (ft)"',
        "sep=,\ntime,lat,lon,alt ft",
        "% made by hand\n%\ntime,lat,lon,alt ft",
        "## block\n# of comments, with a comma\n//and more\n\n   \ntime,lat,lon,alt ft",
        "Pilot,Nobody\nTime lost, none\ntime,lat,lon,alt ft",
        "\ufefftime,lat,lon,alt ft",
        "  time , lat , lon , alt ft  ",
        "time,lat,lon,alt\n,,,ft",
        "time,lat,lon,alt\nUTC,°,°,(ft)",
    ],
)
def test_headers(read: Reader, header: str) -> None:
    assert_same(read(table(header)))


@pytest.mark.parametrize("gap", ["  ", "\t ", "     ", " \t\t"])
def test_blanks_and_tabs_in_any_number_stand_between_cells(read: Reader, gap: str) -> None:
    assert_same(read(table(f"time{gap}lat{gap}lon{gap}alt_ft", [[f"  {row[0]}", *row[1:]] for row in CELLS], gap)))
    lines = table(HEADER).replace(",", gap).split("\n")
    assert_same(read("\n".join(["# a flight, with words", lines[0], *lines[1:9], "# a pause", "", lines[0], *lines[9:]])))


def test_numbers_between_blanks_without_a_header_are_called_by_number(read: Reader) -> None:
    chosen = {"time": "1", "latitude": "2", "longitude": "3", "altitude": "4"}
    content = "\n".join("   ".join([f"{k * 2}", *row[1:]]) for k, row in enumerate(CELLS))
    assert_same(read(content, ReadOptions(columns=chosen, units={"altitude": "ft"}, start=START)))


@pytest.mark.parametrize(
    ("name", "unit", "size"),
    [
        ("alt (m)", "", 0.3048),
        ("alt (km)", "", 0.0003048),
        ("alt [FT]", "", 1.0),
        ("alt", "m", 0.3048),
        ("alt", "[feet]", 1.0),
    ],
)
def test_units_of_altitude(read: Reader, name: str, unit: str, size: float) -> None:
    cells = [[*row[:3], f"{float(row[3]) * size:.7f}"] for row in CELLS]
    content = table(f"time,lat,lon,{name}" + (f"\n,,,{unit}" if unit else ""), cells)
    assert_same(read(content))


@pytest.mark.parametrize(
    ("unit", "metres_a_second"),
    [("kt", 1852 / 3600), ("m/s", 1.0), ("km/h", 1 / 3.6), ("m·s⁻¹", 1.0), ("mph", 0.44704), ("knots", 1852 / 3600)],
)
@pytest.mark.parametrize("form", ["ground speed ({})", "Ground Speed [{}]", "ground_speed {}", "GS/{}"])
def test_units_of_speed(read: Reader, unit: str, metres_a_second: float, form: str) -> None:
    track = read(table(f"time,lat,lon,alt_ft,{form.format(unit)}", [[*row, f"{100 + k}"] for k, row in enumerate(CELLS)]))
    np.testing.assert_allclose(track.recorded["ground_speed_mps"], (100 + np.arange(30)) * metres_a_second)


@pytest.mark.parametrize(
    ("name", "times"),
    [
        ("time (s)", [f"{time_s:.2f}" for time_s in FLIGHT.time_s]),
        ("timestamp_ms", [f"{time_s * 1e3:.0f}" for time_s in FLIGHT.time_s]),
        ("time (µs)", [f"{time_s * 1e6:.0f}" for time_s in FLIGHT.time_s]),
        ("time (μs)", [f"{time_s * 1e6:.0f}" for time_s in FLIGHT.time_s]),
        ("unix time", [f"{time_s * 1e6:.0f}" for time_s in FLIGHT.time_s]),
        ("time_ns", [f"{time_s * 1e9:.0f}" for time_s in FLIGHT.time_s]),
        ("time", [iso(time_s)[:19] + ("", ".0", ".000", ".000000")[k % 4] + "Z" for k, time_s in enumerate(FLIGHT.time_s)]),
        ("time", [iso(time_s)[:19] + (",0", ".00", "", "Z")[k % 4] for k, time_s in enumerate(FLIGHT.time_s)]),
        ("time", [iso(time_s + 5400)[:19] + " +01:30" for time_s in FLIGHT.time_s]),
        ("time", [iso(time_s - 18000)[:19].replace("T", " ") + "-0500" for time_s in FLIGHT.time_s]),
    ],
)
def test_times(read: Reader, name: str, times: list[str]) -> None:
    assert_same(read(table(f"{name};lat;lon;alt_ft", [[time, *row[1:]] for time, row in zip(times, CELLS, strict=True)], ";")))


def test_elapsed_seconds_with_a_start(read: Reader) -> None:
    cells = [[f"{100.5 + 2 * k}", *row[1:]] for k, row in enumerate(CELLS)]
    with pytest.raises(LogError, match="--start 2026-05-01T14:00:00Z"):
        read(table("elapsed (s),lat,lon,alt_ft", cells))
    assert_same(read(table("elapsed (s),lat,lon,alt_ft", cells), ReadOptions(start=START)))


@pytest.mark.parametrize(
    "names", ["lat,lon", "lat_1e7,lon_1e7", "lat (1e-7 deg),lon (1e-7 deg)", "lat [deg*1e7],lon [deg*1e7]"]
)
def test_whole_numbers_of_ten_millionths(read: Reader, names: str) -> None:
    cells = [[row[0], *(f"{float(cell) * 1e7:.0f}" for cell in row[1:3]), row[3]] for row in CELLS]
    assert_same(read(table(f"time,{names},alt_ft", cells)))


@pytest.mark.parametrize("nothing", ["", "NaN", "nan", "-", "--", "N/A", "null", "None", "NA"])
def test_cells_that_hold_nothing(read: Reader, nothing: str) -> None:
    cells = [list(row) for row in CELLS]
    cells[3][3] = cells[9][3] = nothing
    cells[5][1] = nothing
    track = read(table(HEADER, cells))
    assert len(track) == 29
    assert np.flatnonzero(np.isnan(track.altitude_m)).tolist() == [3, 8]


@pytest.mark.parametrize(("header_tail", "row_tail"), [("", ";"), (";", ""), (";;", ";;"), (";", ";;;")])
def test_trailing_delimiters(read: Reader, header_tail: str, row_tail: str) -> None:
    content = table("time;lat;lon;alt_ft" + header_tail, [[*row[:3], row[3] + row_tail] for row in CELLS], ";")
    assert_same(read(content))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=25)
@given(
    st.permutations(range(7)),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16-le", "utf-16-be", "cp1252"]),
    st.booleans(),
    st.booleans(),
)
def test_any_order_encoding_and_headers_in_the_middle(
    read: Reader, order: list[int], encoding: str, again: bool, marked: bool
) -> None:
    columns = ["time", "lat (°)", "lon (°)", "alt ft", "Größe", "", "squawk"]
    body = [[*row, "ü", "", "7000"] for row in CELLS]
    lines = table(",".join(columns[place] for place in order), [[row[place] for place in order] for row in body]).split("\n")
    if again:
        lines[12:12] = ["", lines[0], "# again"]
    bom = "\ufeff" if marked and encoding.startswith("utf-16") else ""
    track = read((bom + "\n".join(lines)).encode(encoding))
    assert_same(track)
    said = any("UTF-16 without the mark" in note.text for note in track.notes)
    assert said == (encoding.startswith("utf-16") and not marked)


def test_two_columns_that_could_be_the_altitude_are_an_error_that_names_the_flag(read: Reader) -> None:
    cells = [[*row, row[3]] for row in CELLS]
    content = table("time,lat,lon,gps altitude (ft),altitude msl (ft)", cells)
    with pytest.raises(
        LogError, match=r"could each be altitude. Choose one, such as --column altitude=\"altitude msl \(ft\)\""
    ):
        read(content)
    assert_same(read(content, ReadOptions(columns={"altitude": "altitude msl (ft)"})))


def test_a_pressure_altitude_that_is_chosen_is_corrected_by_a_qnh(read: Reader) -> None:
    content = table("time,lat,lon,gps_alt_ft,pressure_alt_ft", [[*row, row[3]] for row in CELLS])
    options = ReadOptions(columns={"altitude": "pressure_alt_ft"}, air=Air.given(1003.25, None))
    # 10 hPa near sea level are 83 to 84 m (ICAO Doc 7488, table of pressure against altitude)
    np.testing.assert_allclose(FLIGHT.altitude_ft * 0.3048 - read(content, options).altitude_m, 83.5, atol=1.0)


def test_a_line_that_is_far_too_long_is_no_header(read: Reader) -> None:
    with pytest.raises(LogError, match=r"line 1: longer than 65,536 letters: this is no header of a table"):
        read("a," * 40_000 + "\n1,2\n")


@pytest.mark.parametrize("text", ["x" * 200_000, "x" * 70_000])
def test_a_cell_that_is_far_too_long_is_no_units_row_and_no_crash(read: Reader, text: str) -> None:
    lines = table(HEADER + ",remark", [[*row, "a"] for row in CELLS]).split("\n")
    assert_same(read("\n".join([lines[0], f'"x","","","","{text[:60_000]}"', *lines[1:]])))
    content = "\n".join([lines[0], f',,,,"{text}"', *lines[1:]])
    if len(text) > 131_072:  # the longest cell in quotation marks that the standard library reads
        with pytest.raises(LogError, match=r"log\.csv, line 2: a quotation mark is opened and not closed"):
            read(content)
    else:
        assert_same(read(content))


def test_a_name_that_is_opened_and_not_closed_is_no_crash(read: Reader) -> None:
    lines = table(HEADER).split("\n")
    assert_same(read("\n".join(['"opened, and', "x" * 60_000, *lines])))
    with pytest.raises(LogError, match=r"log\.csv"):
        read("\n".join(['"opened, and', "x" * 200_000, *lines]))
