"""Times in every ordinary form."""

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from flights import START, Floats, Reader, flown, rows
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import LogError
from analyzer.track.clock import Clock
from analyzer.track.columns import match_columns
from analyzer.track.dates import day_order, read_date
from analyzer.track.instants import offset_text, stated_offset
from analyzer.track.options import ReadOptions
from analyzer.track.raw_table import RawTable
from analyzer.track.timestamps import read_times

FLIGHT = flown(40)


def clock_of(times: Sequence[str], name: str = "time", options: ReadOptions | None = None, dates: Sequence[str] = ()) -> Clock:
    """The clock of a table with these time cells."""
    options = options or ReadOptions()
    count = len(times)
    cells: list[Sequence[str]] = [times, ["1.0"] * count, ["1.0"] * count, ["1.0"] * count]
    names = [name, "lat", "lon", "alt_ft"]
    if dates:
        names.append("date")
        cells.append(dates)
    table = RawTable("CSV (comma)", tuple(names), tuple(cells), list(range(2, count + 2)))
    return read_times(table, match_columns(table, options, "log.csv"), options, "log.csv")


def seconds(cell: str) -> float:
    return float(clock_of([cell]).seconds[0])


# The five examples of RFC 3339, section 5.8 (from memory), with the instants that it names.
@pytest.mark.parametrize(
    ("cell", "instant"),
    [
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520_000, tzinfo=UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
        ("1990-12-31T23:59:60Z", datetime(1991, 1, 1, tzinfo=UTC)),
        ("1990-12-31T15:59:60-08:00", datetime(1991, 1, 1, tzinfo=UTC)),
        ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870_000, tzinfo=UTC)),
    ],
)
def test_examples_of_the_internet_standard(cell: str, instant: datetime) -> None:
    assert seconds(cell) == pytest.approx(instant.timestamp(), abs=1e-6)


@pytest.mark.parametrize(
    "cell",
    [
        "2026-05-01T14:00:00Z",
        "2026-05-01t14:00:00z",
        "2026-05-01 14:00:00",
        "2026-05-01T14:00:00.000000000Z",
        "2026-05-01T14:00:00,0Z",
        "2026-05-01 14:00:00 UTC",
        "2026-05-01 14:00Z",
        "20260501T140000Z",
        "2026-05-01T16:00:00+02:00",
        "2026-05-01T09:30:00-0430",
        "1777644000",
        "1777644000.0",
        "1777644000000",
        "1777644000000000",
        "1777644000000000000",
        "1.777644e9",
        "2026/05/01 14:00:00",
        "1.5.2026 14:00",
        "13/5/2026 14:00:00",
        "5/13/2026 2:00:00 PM",
        "1 May 2026 14:00:00",
        "01-May-2026 14:00",
        "1. May 26 14:00:00",
        "1 May 2026 at 14:00:00",
        "May 1, 2026 2:00:00 PM",
        "May 1, 2026 at 2:00:00\u202fPM",
        "Fri, 1 May 2026, 2:00:00\u00a0PM",
        "Fri, 01 May 2026 16:00:00 +0200",
        "Friday, May 1, 2026 at 2:00:00 PM",
    ],
)
def test_one_instant_in_many_forms(cell: str) -> None:
    day = datetime(2026, 5, 13 if "13" in cell else 1, 14, tzinfo=UTC)
    assert seconds(cell) == pytest.approx(day.timestamp(), abs=1e-3)


@given(
    st.lists(st.datetimes(datetime(1990, 1, 1), datetime(2099, 1, 1)), min_size=1, max_size=5),
    st.integers(-14 * 60, 14 * 60),
    st.sampled_from(["T", " "]),
)
def test_what_python_writes_is_read_back(instants: list[datetime], offset_min: int, between: str) -> None:
    expected = [instant.replace(tzinfo=UTC).timestamp() for instant in instants]
    naive = clock_of([instant.isoformat(between) for instant in instants])
    np.testing.assert_allclose(naive.seconds, expected, atol=1e-6, rtol=0)
    zoned = [(instant + timedelta(minutes=offset_min)).isoformat(between) for instant in instants]
    sign, minutes = "-" if offset_min < 0 else "+", abs(offset_min)
    clock = clock_of([f"{cell}{sign}{minutes // 60:02d}:{minutes % 60:02d}" for cell in zoned])
    np.testing.assert_allclose(clock.seconds, expected, atol=1e-6, rtol=0)


def test_fractions_of_any_length_may_be_mixed() -> None:
    clock = clock_of(
        ["2026-05-01T14:00:00Z", "2026-05-01T14:00:00.5Z", "2026-05-01T14:00:01.25Z", "2026-05-01T14:00:02.123456Z"]
    )
    np.testing.assert_allclose(clock.seconds - START.timestamp(), [0.0, 0.5, 1.25, 2.123456], atol=1e-6)


def test_a_cell_that_is_no_time_is_nan_and_the_others_are_read() -> None:
    clock = clock_of(["", "n/a", "2026-05-01T14:00:00Z", "2026-13-01T14:00:00Z", "2026-05-01T14:00:02Z", "garbage"])
    np.testing.assert_array_equal(np.isnan(clock.seconds), [True, True, False, True, False, True])


@pytest.mark.parametrize(("name", "noted"), [("time", True), ("time_utc", False), ("GMT", False)])
def test_times_without_zone_are_utc_and_noted_unless_the_name_says_so(name: str, noted: bool) -> None:
    clock = clock_of(["2026-05-01T14:00:00", "2026-05-01T14:00:01"], name)
    assert clock.seconds[0] == START.timestamp()
    assert any("no zone" in note.text and note.count == 2 for note in clock.notes) is noted


def test_no_note_where_each_time_has_a_zone() -> None:
    assert clock_of(["2026-05-01T14:00:00Z"]).notes == ()


class TestElapsed:
    start = datetime(2026, 5, 1, 14, tzinfo=UTC)

    def log(self, elapsed: Floats, name: str) -> str:
        lines = [f"{time:.2f}," + row.split(",", 1)[1] for time, row in zip(elapsed, rows(FLIGHT), strict=True)]
        return "\n".join([name + ",lat,lon,alt_ft", *lines])

    @pytest.mark.parametrize(("name", "scale"), [("elapsed_s", 1.0), ("time", 1.0), ("time_ms", 1000.0)])
    @pytest.mark.parametrize("first", [0.0, 35.2, 619_709_293.2])
    def test_the_first_row_is_at_the_start(self, read: Reader, name: str, scale: float, first: float) -> None:
        track = read(self.log((first + np.arange(40.0)) * scale, name), ReadOptions(start=self.start))
        np.testing.assert_allclose(track.time_s, FLIGHT.time_s, atol=1e-5)

    def test_the_first_row_of_the_log_counts_though_it_be_on_the_ground(self, read: Reader) -> None:
        parked = ["0.0,47.0,8.0,1500", "60.0,47.0,8.0,1500", "120.0,47.0,8.0,1500"]
        flying = self.log(180.0 + np.arange(40.0), "time").split("\n")
        track = read("\n".join([flying[0], *parked, *flying[1:]]), ReadOptions(start=self.start))
        assert track.time_s[-1] == pytest.approx(START.timestamp() + 219.0)

    def test_hours_minutes_and_seconds_may_be_elapsed_too(self) -> None:
        clock = clock_of(["0:00:00", "00:00:01.5"], "Elapsed Time", ReadOptions(start=self.start))
        assert clock.elapsed
        assert clock.seconds[1] - clock.seconds[0] == 1.5

    def test_a_start_that_is_not_needed_is_noted(self) -> None:
        clock = clock_of(["2026-05-01T14:00:00Z"], options=ReadOptions(start=self.start))
        assert any("start given is not used" in note.text for note in clock.notes)


class TestTimeOfDay:
    cells = ("23:59:58", "23:59:59.5", "00:00:01", "0:00:02")
    expected = np.array([0.0, 1.5, 3.0, 4.0]) + datetime(2026, 5, 1, 23, 59, 58, tzinfo=UTC).timestamp()

    def test_midnight_with_a_date_column(self) -> None:
        clock = clock_of(self.cells, dates=["2026-05-01", "2026-05-01", "2026-05-02", "2026-05-02"])
        np.testing.assert_allclose(clock.seconds, self.expected, atol=1e-6)
        assert not any("midnight" in note.text for note in clock.notes)

    @pytest.mark.parametrize("dates", [["20260501"] * 4, ["1.5.2026"] * 3 + ["2.5.2026"]])
    def test_midnight_with_a_date_that_does_not_follow_or_late(self, dates: list[str]) -> None:
        clock = clock_of(self.cells, dates=dates)
        np.testing.assert_allclose(clock.seconds, self.expected, atol=1e-6)
        assert [note.count for note in clock.notes if "midnight" in note.text] == [1]

    def test_midnight_from_the_day_of_the_start(self) -> None:
        clock = clock_of(self.cells, options=ReadOptions(start=datetime(2026, 5, 1, tzinfo=UTC)))
        np.testing.assert_allclose(clock.seconds, self.expected, atol=1e-6)

    def test_an_earlier_flight_of_the_day_listed_later_is_no_midnight(self) -> None:
        clock = clock_of(["20:00:00", "08:00:00"], dates=["2026-05-01", "2026-05-01"])
        assert clock.seconds[1] - clock.seconds[0] == -12 * 3600.0

    def test_a_whole_flight_over_midnight(self, read: Reader) -> None:
        start = datetime(2026, 5, 1, 23, 59, 50, tzinfo=UTC)
        lines = [
            f"{(start + timedelta(seconds=place)):%H:%M:%S}," + row.split(",", 1)[1] for place, row in enumerate(rows(FLIGHT))
        ]
        track = read("\n".join(["time,lat,lon,alt_ft,date", *(line + ",2026-05-01" for line in lines)]))
        np.testing.assert_allclose(track.time_s, start.timestamp() + np.arange(40.0), atol=1e-6)


class TestDates:
    @pytest.mark.parametrize(
        ("cells", "order"),
        [
            (["03/04/2026", "13/04/2026"], "d/m/y"),
            (["03/04/2026", "04/13/2026"], "m/d/y"),
            (["03.04.2026"], "d/m/y"),
            (["03/04/2026"], None),
            (["13/04/2026", "04/13/2026"], None),
        ],
    )
    def test_the_order_is_told_by_a_number_above_12_or_by_dots(self, cells: list[str], order: str | None) -> None:
        assert day_order(cells, None) == order

    def test_days_count_from_1970(self) -> None:
        assert read_date("1970-01-02", None) == 1.0
        assert read_date("2/1/70", "d/m/y") == read_date("2070-01-02", None)
        assert read_date("1/2/1970", "m/d/y") == 1.0
        assert np.isnan(read_date("2026-02-30", None))
        assert np.isnan(read_date("1/2/1970", None))

    @pytest.mark.parametrize(("unit", "month"), [("d/m/y", 4), ("m/d/y", 3)])
    def test_the_user_settles_the_order(self, unit: str, month: int) -> None:
        expected = datetime(2026, month, 7 - month, 14, tzinfo=UTC).timestamp()
        one = clock_of(["03/04/2026 14:00:00"], options=ReadOptions(units={"time": unit}))
        two = clock_of(["14:00:00"], dates=["03/04/2026"], options=ReadOptions(units={"date": unit}))
        assert one.seconds[0] == two.seconds[0] == expected


@pytest.mark.parametrize(
    ("cells", "dates", "message"),
    [
        (["", ""], [], "log.csv: no row has a time: the column 'time' is empty. Name another: --column time=NAME"),
        (["noon", "late"], [], "log.csv, line 2, column 'time': 'noon' is not a time. Known are ISO 8601"),
        (["1 Mai 2026 14:00"], [], "'1 Mai 2026' is not a date"),
        (["", "12.5", "13.5"], [], "log.csv, line 3, column 'time': 12.5 is elapsed time, not a date"),
        (["619709293.2"], [], "Give the instant of the first row: --start 2026-05-01T14:00:00Z"),
        (["20260501140000"], [], "20260501140000 is no time since 1970 in s, ms, us or ns"),
        (["14:00:00"], [], "14:00:00 is a time of day without a date. Name the date's column (--column date=NAME)"),
        (["03/04/2026 14:00"], [], "day and month of '03/04/2026' cannot be told apart. Say which: --unit time=d/m/y or"),
        (
            ["14:00:00"],
            ["03/04/2026"],
            "'date': day and month of '03/04/2026' cannot be told apart. Say which: --unit date=",
        ),
        (["14:00:00"], ["May Day"], "column 'date': 'May Day' is not a date. Known are 2026-05-01"),
    ],
)
def test_what_cannot_be_told_is_an_error_that_names_the_mend(cells: list[str], dates: list[str], message: str) -> None:
    with pytest.raises(LogError, match=re.escape(message)):
        clock_of(cells, dates=dates)


def test_elapsed_hours_without_a_start_are_an_error() -> None:
    with pytest.raises(LogError, match=r"00:01:00 is elapsed time\. Give the instant of the first row: --start"):
        clock_of(["00:01:00"], "elapsed")


def test_a_time_that_no_log_has_is_none(read: Reader) -> None:
    """One absurd number among the times is one row less, and no error of arithmetic."""
    for absurd in ("9" * 60, "-1e300", "99999999999", "1e308"):
        lines = [f"{k},{row.partition(',')[2]}" for k, row in enumerate(rows(FLIGHT))]
        lines[20] = f"{absurd},{rows(FLIGHT)[20].partition(',')[2]}"
        track = read("\n".join(["elapsed_s,lat,lon,alt_ft", *lines]), ReadOptions(start=START))
        np.testing.assert_allclose(track.time_s, np.delete(FLIGHT.time_s, 20))
        assert any("cannot be read left out" in note.text for note in track.notes)


@pytest.mark.parametrize(
    ("cell", "instant"),
    [
        ("2026-05-01 16:00:00 +02:00", START),
        ("2026-05-01 16:00:00 +0200", START),
        ("2026-05-01T09:30:00.0 -04:30", START),
        ("1.5.2026 16:00:00+02:00", START),
        ("5/31/2026 4:00:00 PM +0200", datetime(2026, 5, 31, 14, tzinfo=UTC)),
    ],
)
def test_an_offset_may_stand_apart(cell: str, instant: datetime) -> None:
    clock = clock_of([cell])
    assert clock.seconds[0] == instant.timestamp()
    assert clock.notes == ()


def test_times_of_day_may_have_an_offset() -> None:
    clock = clock_of(["16:00:00+02:00", "16:00:01+02:00"], dates=["2026-05-01"] * 2)
    np.testing.assert_array_equal(clock.seconds - START.timestamp(), [0.0, 1.0])
    assert clock.notes == ()


@pytest.mark.parametrize(
    ("offset", "hours"), [("+02:00", 2.0), ("-0330", -3.5), ("2", 2.0), ("UTC-5", -5.0), ("+00:00", 0.0), ("+5:45", 5.75)]
)
@pytest.mark.parametrize("names", ["local date,local time", "date_local,Time (local)"])
def test_local_time_goes_with_the_offset_beside_it(read: Reader, offset: str, hours: float, names: str) -> None:
    flight = flown(40, times=np.arange(40) + 10 * 3600.0 - 20.0)  # over midnight UTC
    lines = []
    for time_s, row in zip(flight.time_s, rows(flight), strict=True):
        local = datetime.fromtimestamp(time_s + hours * 3600.0, UTC)
        lines.append(f"{local:%Y-%m-%d},{local:%H:%M:%S},{row.partition(',')[2]},{offset}")
    track = read("\n".join([f"{names},lat,lon,alt_ft,UTC offset", *lines]))
    np.testing.assert_array_equal(track.time_s, flight.time_s)
    assert any("local times brought to UTC by the offset in 'UTC offset'" in note.text for note in track.notes)


def test_an_offset_beside_a_time_that_is_not_called_local_is_left_to_the_user(read: Reader) -> None:
    lines = [f"{row.replace('Z', '')},+02:00" for row in rows(FLIGHT)]
    content = "\n".join(["time,lat,lon,alt_ft,utc_offset", *lines])
    track = read(content)
    np.testing.assert_array_equal(track.time_s, FLIGHT.time_s)
    assert any("if it is local: --column utc_offset=utc_offset" in column.basis for column in track.columns)
    track = read(content, ReadOptions(columns={"utc_offset": "utc_offset"}))
    np.testing.assert_array_equal(track.time_s, FLIGHT.time_s - 7200.0)


@pytest.mark.parametrize("offset", ["+15:00", "2:75", "Paris", "+" + "0" * 100])
def test_an_offset_that_is_none_leaves_the_row_out(read: Reader, offset: str) -> None:
    lines = [f"{row.replace('Z', '')},{offset if place == 4 else '+00:00'}" for place, row in enumerate(rows(FLIGHT))]
    track = read("\n".join(["local time,lat,lon,alt_ft,UTC offset", *lines]))
    np.testing.assert_array_equal(track.time_s, np.delete(FLIGHT.time_s, 4))


def test_noon_and_midnight_on_a_clock_of_twelve_hours() -> None:
    clock = clock_of(["12:00:00 AM", "12:00:01 PM", "13:00:00 PM"], dates=["2026-05-01"] * 3)
    midnight = datetime(2026, 5, 1, tzinfo=UTC).timestamp()
    np.testing.assert_array_equal(clock.seconds - midnight, [0.0, 43_201.0, np.nan])


@pytest.mark.parametrize("odd", ["2026-05-01T14:00:1\u0663Z", '"2026-05-01T14:00:13Z\n2026-05-01T14:00:14Z"'])
def test_a_cell_of_other_digits_or_of_two_times_is_one_row_less(read: Reader, odd: str) -> None:
    lines = rows(FLIGHT)
    lines[13] = odd + lines[13][lines[13].index(",") :]
    track = read("\n".join(["time_utc,lat_deg,lon_deg,alt_ft", *lines]))
    np.testing.assert_allclose(track.time_s, np.delete(FLIGHT.time_s, 13))


@pytest.mark.parametrize(("offset", "hours"), [("+02:00", 2.0), ("-03:30", -3.5), ("UTC", 0.0)])
def test_local_time_goes_with_the_offset_that_is_stated(read: Reader, offset: str, hours: float) -> None:
    """The log's own instants, written in local time without a zone: with a date in the cell, and in a column of its own."""
    said = ReadOptions(utc_offset_s=stated_offset(offset))
    assert said.utc_offset_s == hours * 3600.0
    local = [
        instant + timedelta(hours=hours) for instant in (datetime.fromisoformat(row.partition(",")[0]) for row in rows(FLIGHT))
    ]
    rest = [row.partition(",")[2] for row in rows(FLIGHT)]
    in_one = [f"{at:%Y-%m-%dT%H:%M:%S},{row}" for at, row in zip(local, rest, strict=True)]
    apart = [f"{at:%Y-%m-%d},{at:%H:%M:%S},{row}" for at, row in zip(local, rest, strict=True)]
    for content in (["time,lat,lon,alt_ft", *in_one], ["date,time,lat,lon,alt_ft", *apart]):
        np.testing.assert_allclose(
            read("\n".join(content), said).time_s, read("\n".join(["time,lat,lon,alt_ft", *rows(FLIGHT)])).time_s
        )


def test_a_stated_offset_goes_over_the_log_but_not_over_a_zone(read: Reader) -> None:
    lines = [f"{row.replace('Z', '')},+02:00" for row in rows(FLIGHT)]
    content = "\n".join(["local time,lat,lon,alt_ft,UTC offset", *lines])
    by_column, stated = read(content), read(content, ReadOptions(utc_offset_s=0.0))
    np.testing.assert_allclose(stated.time_s, by_column.time_s + 7200.0)
    zoned = "\n".join(["time,lat,lon,alt_ft", *rows(FLIGHT)])
    same = read(zoned, ReadOptions(utc_offset_s=7200.0))
    np.testing.assert_array_equal(same.time_s, read(zoned).time_s)
    assert any("offset from UTC that was given is not used" in note.text for note in same.notes)


@pytest.mark.parametrize("text", ["", "noon", "+15:00", "2:75", "Europe/Paris"])
def test_an_offset_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(LogError, match="no offset from UTC; give how far the clock is ahead"):
        stated_offset(text)


@pytest.mark.parametrize("seconds", [0.0, 7200.0, -12600.0, 20700.0])
def test_an_offset_is_written_as_it_is_read(seconds: float) -> None:
    assert stated_offset(offset_text(seconds)) == seconds


@given(
    at=st.datetimes(min_value=datetime(1990, 1, 2), max_value=datetime(2099, 12, 30)).map(lambda at: at.replace(microsecond=0))
)
def test_leading_zeros_may_be_missing(at: datetime) -> None:
    """Scripts and spreadsheets join year, month, day, hour, minute and second as numbers: 2026-5-1 9:0:5 is 09:00:05."""
    instant = at.replace(tzinfo=UTC).timestamp()
    of_day = f"{at.hour}:{at.minute}:{at.second}"
    assert seconds(f"{at.year}-{at.month}-{at.day} {of_day}") == instant
    assert seconds(f"{at.year}-{at.month}-{at.day}T{of_day}Z") == instant
    assert seconds(f"{at.year}/{at.month}/{at.day} {of_day}") == instant
    assert seconds(f"{at.year}-{at.month}-{at.day} {of_day}.5+01:00") == instant + 0.5 - 3600.0
    assert clock_of([of_day], dates=[f"{at:%Y-%m-%d}"]).seconds[0] == instant


@pytest.mark.parametrize(
    "form", ["{0:%Y-%m-%d} {0.hour}:{0.minute}:{0.second}", "{0.year}-{0.month}-{0.day} {0.hour}:{0.minute}:{0.second}"]
)
def test_rows_with_and_without_leading_zeros_are_all_read(read: Reader, form: str) -> None:
    """From 13:59:50 on: the first rows have two digits everywhere, the later ones do not."""
    instants = [datetime(2026, 10, 12, 13, 59, 50, tzinfo=UTC) + timedelta(seconds=second) for second in range(40)]
    lines = [f"{form.format(at)},{row.partition(',')[2]}" for at, row in zip(instants, rows(FLIGHT), strict=True)]
    track = read("\n".join(["time_utc,lat,lon,alt_ft", *lines]))
    assert track.time_s.tolist() == [at.timestamp() for at in instants]


@pytest.mark.parametrize("cell", ["14:0", "1:2", "14:0:", "14::5", "14:60:5", "2026-13-1 14:0:5"])
def test_what_is_no_time_without_leading_zeros_stays_none(cell: str) -> None:
    with pytest.raises(LogError):
        seconds(cell)
