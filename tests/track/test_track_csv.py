"""CSV in any ordinary dialect: the same track comes back however it was written."""

import codecs
import csv
import io
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from flights import HEADER, START, Flight, Reader, csv_text, flown, iso, rows
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analyzer.errors import LogError
from analyzer.track.csv_log import read_csv
from analyzer.track.raw_table import numbers
from analyzer.track.read import ReadOptions
from analyzer.track.track import Track

FLIGHT = flown(30, step_s=2.0)
METRE_IN_DEGREES = 1.0 / 111_195.0


@dataclass(frozen=True)
class Dialect:
    """One way to write a log."""

    delimiter: str
    decimal: str
    encoding: str
    quoting: int
    ending: str
    order: tuple[int, ...]
    names: tuple[str, str, str]
    altitude: tuple[str, str, float]
    time: str
    has_units_row: bool
    comments: bool
    trailing: bool
    repeated_header: bool
    final_break: bool


NAMES = [("Latitude", "Longitude", "Größe"), ("lat_deg", "lon_deg", "note"), ("LAT (°)", "LNG (°)", "#")]


@st.composite
def dialects(draw: st.DrawFn) -> Dialect:
    delimiter = draw(st.sampled_from(",;\t| "))
    quoting = draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
    decimal = draw(st.sampled_from(".,"))
    suffix = draw(st.booleans())
    return Dialect(
        delimiter=delimiter,
        decimal=decimal,
        encoding=draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"])),
        quoting=quoting,
        ending=draw(st.sampled_from(["\n", "\r\n", "\r"])),
        order=tuple(draw(st.permutations(range(6)))),
        names=draw(
            st.sampled_from([("Latitude", "Longitude", "Größe"), ("lat_deg", "lon_deg", "note"), ("LAT (°)", "LNG (°)", "#")])
        ),
        altitude=draw(
            st.sampled_from(
                [("altitude (m)", "m", 0.3048), ("Alt [ft]", "ft", 1.0), ("AltitudeFeet", "ft", 1.0)]
                if suffix
                else [("alt", "m", 0.3048), ("Altitude", "ft", 1.0)]
            )
        ),
        time=draw(st.sampled_from(["iso", "iso-no-zone", "iso-offset", "epoch", "epoch-ms", "date-and-time", "elapsed"])),
        has_units_row=not suffix,
        comments=draw(st.booleans()),
        trailing=draw(st.booleans()),
        repeated_header=draw(st.booleans()),
        final_break=draw(st.booleans()),
    )


def written(flight: Flight, dialect: Dialect) -> bytes:
    """The flight in that dialect."""
    times = {
        "iso": [iso(value) for value in flight.time_s],
        "iso-no-zone": [iso(value).rstrip("Z") for value in flight.time_s],
        "iso-offset": [iso(value + 7200.0).rstrip("Z") + "+02:00" for value in flight.time_s],
        "epoch": [f"{value:.3f}" for value in flight.time_s],
        "epoch-ms": [f"{value * 1e3:.0f}" for value in flight.time_s],
        "date-and-time": [iso(value)[11:19] for value in flight.time_s],
        "elapsed": [f"{value - flight.time_s[0] + 12.5:.2f}" for value in flight.time_s],
    }[dialect.time]
    name, unit, size = dialect.altitude
    columns = [
        ("time", "", times),
        (dialect.names[0], "deg", [f"{value:.8f}" for value in flight.latitude_deg]),
        (dialect.names[1], "deg", [f"{value:.8f}" for value in flight.longitude_deg]),
        (name, unit, [f"{value * size:.2f}" for value in flight.altitude_ft]),
        (dialect.names[2], "", ["ß" if place % 3 else "" for place in range(len(flight))]),
        ("date", "", [iso(value)[:10] for value in flight.time_s]),
    ]
    columns = [columns[place] for place in dialect.order if dialect.time == "date-and-time" or columns[place][0] != "date"]
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=dialect.delimiter, quoting=dialect.quoting, lineterminator=dialect.ending)
    tail = [""] if dialect.trailing and dialect.delimiter != " " else []
    if dialect.delimiter == " ":  # an empty cell cannot be written between blanks
        columns = [(name.replace("#", "nr"), unit or "-", [cell or "-" for cell in cells]) for name, unit, cells in columns]
    heading = [column[0] for column in columns] + tail
    if dialect.comments:
        stream.write(f"# a flight; of two, or three{dialect.ending}// {dialect.ending}{dialect.ending}")
    writer.writerow(heading)
    if dialect.has_units_row:
        writer.writerow([column[1] for column in columns] + tail)
    for place in range(len(flight)):
        if dialect.repeated_header and place == 11:
            writer.writerow(heading)
        if dialect.comments and place == 17:
            stream.write(f"  # a pause{dialect.ending}")
        cells = [column[2][place] for column in columns]
        if dialect.decimal == ",":
            cells = [
                cell.replace(".", ",") if column[1].strip("-") or column[0] == "time" else cell
                for cell, column in zip(cells, columns, strict=True)
            ]
        writer.writerow(cells + tail)
    text = stream.getvalue()
    return (text if dialect.final_break else text.removesuffix(dialect.ending)).encode(dialect.encoding)


def assert_same(track: Track, flight: Flight) -> None:
    np.testing.assert_allclose(track.time_s, flight.time_s, atol=1e-3, rtol=0)
    np.testing.assert_allclose(np.degrees(track.latitude_rad), flight.latitude_deg, atol=1e-8, rtol=0)
    np.testing.assert_allclose(np.degrees(track.longitude_rad), flight.longitude_deg, atol=1e-8, rtol=0)
    np.testing.assert_allclose(track.altitude_m / 0.3048, flight.altitude_ft, atol=0.02, rtol=0)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=300, deadline=None)
@given(dialect=dialects())
def test_the_same_track_comes_back_from_any_dialect(read: Reader, dialect: Dialect) -> None:
    start = START if dialect.time == "elapsed" else None
    assert_same(read(written(FLIGHT, dialect), ReadOptions(start=start)), FLIGHT)


def test_the_dialect_is_named(read: Reader) -> None:
    assert read(csv_text(FLIGHT)).format == "CSV (comma)"
    decimal_comma = "\n".join([HEADER.replace(",", ";"), *(row.replace(",", ";").replace(".", ",") for row in rows(FLIGHT))])
    assert read(decimal_comma).format == "CSV (semicolon, decimal comma)"


def test_text_that_is_not_utf8_is_latin_with_a_note(read: Reader) -> None:
    track = read(csv_text(FLIGHT).replace("alt_ft", "alt_ft,Größe").encode("cp1252"))
    assert any("Latin-1" in note.text for note in track.notes)
    assert "Größe" in {column.name for column in track.columns}


def test_bytes_that_windows_leaves_undefined_are_still_read(read: Reader) -> None:
    assert len(read(csv_text(FLIGHT).encode() + b"# \x81\xff\n")) == len(FLIGHT)


def test_lines_before_the_header_are_left_aside(read: Reader) -> None:
    assert_same(read(f"Flight of the day, with 2 on board\nAircraft;none\n\n{csv_text(FLIGHT)}"), FLIGHT)


def test_a_header_may_be_a_comment(read: Reader) -> None:
    assert_same(read(f"# made by hand\n# {csv_text(FLIGHT)}"), FLIGHT)


def test_without_a_header_columns_are_called_by_number(read: Reader) -> None:
    numbered = {"time": "1", "latitude": "2", "longitude": "3", "altitude": "4"}
    content = "\n".join(rows(FLIGHT))
    assert_same(read(content, ReadOptions(columns=numbered, units={"altitude": "ft"})), FLIGHT)
    with pytest.raises(LogError, match=r"no header.*no column for time, latitude, longitude and altitude among 1, 2, 3, 4"):
        read(content)


def test_names_chosen_by_the_user_find_the_header(read: Reader) -> None:
    chosen = {"time": "wann", "latitude": "breite", "longitude": "länge", "altitude": "höhe"}
    content = "Export, von, Hand\nwann,breite,länge,höhe\n" + "\n".join(rows(FLIGHT))
    assert_same(read(content, ReadOptions(columns=chosen, units={"altitude": "ft"})), FLIGHT)


def test_repeated_headers_are_counted(read: Reader) -> None:
    lines = rows(FLIGHT)
    track = read("\n".join([HEADER, *lines[:5], HEADER, *lines[5:9], HEADER, *lines[9:], ""]))
    assert [note.count for note in track.notes if "repeated header" in note.text] == [2]
    assert_same(track, FLIGHT)


def test_a_row_with_too_many_cells_is_left_out_and_counted(read: Reader) -> None:
    lines = rows(FLIGHT)
    track = read("\n".join([HEADER, *lines[:5], lines[5] + ",7", *lines[6:], ""]))
    assert [note.count for note in track.notes if "more cells" in note.text] == [1]
    assert len(track) == len(FLIGHT) - 1


def test_a_last_line_cut_short_is_left_out(read: Reader) -> None:
    track = read(csv_text(FLIGHT)[:-12])
    assert len(track) == len(FLIGHT) - 1
    assert any(f"the last line ({len(FLIGHT) + 1}) is cut short" in note.text for note in track.notes)


def test_quoted_cells_may_hold_delimiters_and_lines_and_rows_keep_their_place(read: Reader) -> None:
    lines = [row + ',"a, ""b""\nc"' for row in rows(FLIGHT)]
    assert_same(read("\n".join([HEADER + ",remark", *lines])), FLIGHT)
    table = read_csv("\n".join([HEADER + ",remark", *lines]).encode(), "log.csv")
    assert list(table.lines) == [2 + 2 * place for place in range(len(FLIGHT))]
    assert table.column("remark")[0].startswith('a, "b"')


def test_a_name_that_is_missing_is_made_up_where_its_column_is_filled() -> None:
    table = read_csv(b"time,lat,lon,,\n1,2,3,x,\n4,5,6,,\n", "log.csv")
    assert table.names == ("time", "lat", "lon", "column 4")


@pytest.mark.parametrize(
    ("cells", "decimal", "values"),
    [
        (["1.5", " -2 ", "1e3", "", "x", "inf"], ".", [1.5, -2.0, 1000.0, np.nan, np.nan, np.nan]),
        (["4,604.6", "12,345", "1,2", "604"], ".", [4604.6, 12345.0, np.nan, 604.0]),
        (["1,5", "-0,25", "7", ""], ",", [1.5, -0.25, 7.0, np.nan]),
        (["4.604,6", "1.5", "12.345"], ",", [4604.6, 1.5, 12345.0]),
    ],
)
def test_numbers_with_either_decimal_mark(cells: list[str], decimal: str, values: list[float]) -> None:
    np.testing.assert_array_equal(numbers(cells, decimal), values)


def test_thousands_marks_beside_decimal_points_are_no_decimal_commas(read: Reader) -> None:
    lines = [f'{row.rpartition(",")[0]},"4,604"' for row in rows(FLIGHT)]
    track = read("\n".join([HEADER, *lines]))
    assert track.altitude_m[0] == pytest.approx(4604 * 0.3048)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"# only\n\n// comments\n", "log.csv: the file holds no rows"),
        (
            b"the quick brown fox\n",
            "log.csv, line 1: not a table: no comma, semicolon, tab or pipe stands in 'the quick",
        ),
        (HEADER.encode() + b"\n", "log.csv: no rows below the header on line 1: this log is empty"),
        (b"\x7fELF\0\0\0\0", "log.csv: not a text file, so no log in a format that is read here"),
        (codecs.BOM_UTF16_LE + b"t\0i\0m", "log.csv: begins as utf-16 text but is not"),
        (b"t\0i\0m\0e\0,", "log.csv: looks like utf-16-le text but is not: save it as UTF-8"),
        (b'time,lat,lon,alt_ft\n1,"2,3,4\n' + b"1,2,3,4\n" * 300, "log.csv, line 2: a quotation mark is opened and not closed"),
    ],
)
def test_what_is_no_table_is_refused(read: Reader, content: bytes, message: str) -> None:
    with pytest.raises(LogError) as caught:
        read(content)
    assert message in str(caught.value)


def test_mostly_unreadable_rows_are_an_error_that_shows_the_first(read: Reader) -> None:
    start = datetime(2026, 5, 1, tzinfo=UTC)
    lines = [f"{start + timedelta(seconds=place):%Y-%m-%dT%H:%M:%SZ},E44 11.2,N009 01.3,4000" for place in range(9)]
    message = "line 2, column 'lat_deg': 'E44 11.2' is no number (decimal degrees are needed), and most other rows"
    with pytest.raises(LogError) as caught:
        read("\n".join([HEADER, *lines, *rows(FLIGHT)[:4]]))
    assert message in str(caught.value)


def test_some_unreadable_and_blank_rows_are_left_out_and_counted(read: Reader) -> None:
    lines = rows(FLIGHT)
    lines[3] = lines[3].replace(",47", ",forty-seven", 1)
    lines[5] = "not a time" + lines[5][lines[5].index(",") :]
    for place in (8, 9, 10):
        cells = lines[place].split(",")
        lines[place] = ",".join([cells[0], "", "nan", cells[3]])
    track = read("\n".join([HEADER, *lines]))
    assert len(track) == len(FLIGHT) - 5
    unreadable = next(note for note in track.notes if "cannot be read" in note.text)
    assert unreadable.count == 2
    assert "line 5, column 'lat_deg': 'forty-seven" in unreadable.text
    assert [note.count for note in track.notes if "without time or position" in note.text] == [3]


def test_rows_never_filled_together_are_an_error(read: Reader) -> None:
    with pytest.raises(LogError, match="no row has both time and place: 'time_utc', 'lat_deg', 'lon_deg' are not"):
        read(HEADER + "\n2026-05-01T14:00:00Z,,,1\n,47.0,8.0,1\n")
