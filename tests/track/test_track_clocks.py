"""Times that could be taken for others: numbers of the day, minutes and seconds, hours past 24, GPS time, dates out of step.

Each log is one flight at a step of a second, written in one of these ways, and must come back as it was flown.
"""

import re
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from flights import START, Reader, flown, rows

from analyzer.errors import LogError
from analyzer.track.dates import day_order, possible_orders, read_date
from analyzer.track.gps_time import gps_to_utc
from analyzer.track.options import ReadOptions
from analyzer.track.track import Track

FLIGHT = flown(130)  # over two changes of the minute
COUNT = len(FLIGHT)
DAY = datetime(2026, 5, 1, tzinfo=UTC)
Write = Callable[[int, datetime], Sequence[str]]


def log(names: str, write: Write, first: datetime = START) -> str:
    """The flight, begun at `first`, with what `write` makes of each row's number and instant before its place."""
    lines = [f"{names},lat,lon,alt_ft"]
    for number, row in enumerate(rows(FLIGHT)):
        lines.append(",".join([*write(number, first + timedelta(seconds=number)), row.partition(",")[2]]))
    return "\n".join(lines)


def assert_flown(track: Track, first: datetime = START) -> None:
    np.testing.assert_allclose(track.time_s, first.timestamp() + np.arange(COUNT), atol=2e-3)


def noted(track: Track, words: str) -> bool:
    return any(words in note.text for note in track.notes)


def of_day(at: datetime) -> int:
    return at.hour * 3600 + at.minute * 60 + at.second


class TestSecondsOfTheDay:
    def test_with_a_date_beside_them(self, read: Reader) -> None:
        track = read(log("date,time", lambda _, at: (f"{at:%Y-%m-%d}", str(of_day(at)))))
        assert_flown(track)
        assert noted(track, "'time' counts s from midnight")

    def test_with_the_day_given_as_the_start(self, read: Reader) -> None:
        track = read(log("time", lambda _, at: (str(of_day(at)),)), ReadOptions(start=DAY))
        assert_flown(track)
        assert noted(track, "'time' counts s from midnight")

    @pytest.mark.parametrize("dated", [True, False])
    def test_over_midnight(self, read: Reader, dated: bool) -> None:
        first = datetime(2026, 5, 1, 23, 59, 0, tzinfo=UTC)
        options = ReadOptions() if dated else ReadOptions(start=DAY)
        names = "date,time" if dated else "time"
        assert_flown(
            read(log(names, lambda _, at: (*((f"{at:%Y-%m-%d}",) if dated else ()), str(of_day(at))), first), options), first
        )

    def test_elapsed_time_beside_a_date_is_still_asked_for_its_start(self, read: Reader) -> None:
        with pytest.raises(LogError, match=r"0 is elapsed time, not a date.*--start"):
            read(log("date,time", lambda number, at: (f"{at:%Y-%m-%d}", str(number))))

    def test_the_error_without_a_day_names_both_ways(self, read: Reader) -> None:
        with pytest.raises(
            LogError, match=r"50400 is elapsed time.*--start \S+Z or, if it counts from midnight, the day: --st"
        ):
            read(log("time", lambda _, at: (str(of_day(at)),)))

    def test_clock_times_without_colons(self, read: Reader) -> None:
        for track in (
            read(log("date,time", lambda _, at: (f"{at:%Y-%m-%d}", f"{at:%H%M%S}"))),
            read(log("time", lambda _, at: (f"{at:%H%M%S}.0",)), ReadOptions(start=START)),
        ):
            assert_flown(track)
            assert noted(track, "hhmmss")

    def test_five_digits_of_seconds_are_not_taken_for_a_clock(self, read: Reader) -> None:
        """A second above 59 among them shows that they are none."""
        track = read(log("date,time", lambda _, at: (f"{at:%Y-%m-%d}", str(of_day(at)))), None)
        assert not noted(track, "hhmmss")


class TestMinutesAndSeconds:
    @staticmethod
    def cells(number: int, begin: int = 0) -> str:
        return f"{(number + begin) // 60 % 60:02d}:{(number + begin) % 60:02d}"

    def test_two_parts_that_change_with_each_row_are_asked_for(self, read: Reader) -> None:
        """Read as hours and minutes, a flight of two minutes would take two hours."""
        with pytest.raises(LogError, match=r"--unit time=hh:mm, or --unit time=mm:ss and the first row: --start") as caught:
            read(log("time", lambda number, _: (self.cells(number),)))
        assert caught.value.options[0] == "--unit time=mm:ss"
        assert caught.value.options[1].startswith("--start ")

    @pytest.mark.parametrize("begin", [0, 3550])  # the second goes over the full hour
    def test_they_are_read_as_the_user_says(self, read: Reader, begin: int) -> None:
        content = log("time", lambda number, _: (self.cells(number, begin),))
        assert_flown(read(content, ReadOptions(start=START, units={"time": "mm:ss"})))

    @pytest.mark.parametrize("name", ["time (mm:ss)", "Time [MM:SS]"])
    def test_or_as_the_header_says(self, read: Reader, name: str) -> None:
        assert_flown(read(log(name, lambda number, _: (self.cells(number),)), ReadOptions(start=START)))

    def test_tenths_or_a_minute_above_23_show_it(self, read: Reader) -> None:
        for write in (lambda number, _: (f"{self.cells(number)}.0",), lambda number, _: (self.cells(number, 1500),)):
            track = read(log("time", write), ReadOptions(start=START))
            assert_flown(track)
            assert noted(track, "minutes and seconds")

    def test_hours_and_minutes_that_stay_for_a_minute_are_hours(self, read: Reader) -> None:
        """Their seconds are missing, which is said of minutes of the hour alone."""
        with pytest.raises(LogError, match=r"records share \d+ whole minutes: the seconds are missing"):
            read(log("date,time", lambda _, at: (f"{at:%Y-%m-%d}", f"{at:%H:%M}")))


class TestHours:
    @staticmethod
    def cell(seconds: int) -> str:
        return f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"

    @pytest.mark.parametrize("begin", [0, 86_400 - 60, 26 * 3600, 126 * 3600])
    def test_elapsed_hours_may_be_any_number(self, read: Reader, begin: int) -> None:
        assert_flown(read(log("elapsed", lambda number, _: (self.cell(number + begin),)), ReadOptions(start=START)))

    def test_hours_beyond_24_are_elapsed_whatever_the_column_is_called(self, read: Reader) -> None:
        track = read(log("time", lambda number, _: (self.cell(number + 26 * 3600),)), ReadOptions(start=START))
        assert_flown(track)
        assert noted(track, "hours go beyond 24")

    def test_with_a_date_they_are_a_clock_that_counts_on(self, read: Reader) -> None:
        first = datetime(2026, 5, 1, 23, 59, 0, tzinfo=UTC)
        content = log("date,time", lambda number, _: ("2026-05-01", self.cell(86_340 + number)), first)
        assert_flown(read(content), first)

    def test_a_first_row_at_zero_is_elapsed_where_the_start_is_at_another_time(self, read: Reader) -> None:
        content = log("time", lambda number, _: (self.cell(number),))
        track = read(content, ReadOptions(start=START))
        assert_flown(track)
        assert noted(track, "read as elapsed time")
        assert_flown(read(content, ReadOptions(start=DAY)), DAY)

    def test_a_start_at_another_time_than_the_first_row_is_said(self, read: Reader) -> None:
        track = read(log("time", lambda _, at: (f"{at:%H:%M:%S}",)), ReadOptions(start=START + timedelta(hours=2)))
        assert_flown(track)
        assert noted(track, "of the start given only the day is used: the first row says 14:00:00, not 16:00:00 UTC")


class TestDates:
    def test_a_day_a_month_or_a_two_digit_year_may_come_first(self) -> None:
        assert possible_orders(["26-05-01"]) == ("d/m/y", "y/m/d")
        assert possible_orders(["26-05-14", "26-05-15"]) == ("y/m/d",)  # else a flight of a year
        assert possible_orders(["31-05-26"]) == ("d/m/y", "y/m/d")
        assert possible_orders(["32-05-26"]) == ("y/m/d",)
        assert possible_orders(["03/04/2026"]) == ("d/m/y", "m/d/y")
        assert possible_orders(["03/04/2026", "04/04/2026"]) == ("d/m/y",)  # else a flight of a month
        assert day_order(["26.05.01"], None) == "d/m/y"  # the custom with dots (common practice, no source)
        assert read_date("26-05-01", "y/m/d") == read_date("260501", "y/m/d") == read_date("2026-05-01", None)
        assert read_date("1-May-2026", None) == read_date("01may26", None) == read_date("2026-05-01", None)
        assert np.isnan(read_date("1 Mad 2026", None))

    @pytest.mark.parametrize("dates", ["%y-%m-%d", "%d-%m-%y", "%y%m%d", "%d%m%y"])
    def test_two_digits_everywhere_are_asked_for(self, read: Reader, dates: str) -> None:
        first = START.replace(day=14)
        content = log("date,time", lambda _, at: (f"{at:{dates}}", f"{at:%H:%M:%S}"), first)
        with pytest.raises(LogError, match=r"day, month and year of .* cannot be told apart.*--unit date=y/m/d"):
            read(content)
        order = "y/m/d" if dates.startswith("%y") else "d/m/y"
        assert_flown(read(content, ReadOptions(units={"date": order})), first)

    def test_with_slashes_the_day_is_first_and_it_is_said(self, read: Reader) -> None:
        first = START.replace(day=14)
        track = read(log("date,time", lambda _, at: (f"{at:%d/%m/%y}", f"{at:%H:%M:%S}"), first))
        assert_flown(track, first)
        assert noted(track, "'14/05/26' is read with the day first; if the year is first: --unit date=y/m/d")

    @pytest.mark.parametrize("ahead_s", [-7200, -40, 40, 7200])
    def test_a_date_that_turns_before_or_after_the_clock(self, read: Reader, ahead_s: int) -> None:
        """A date ahead by two hours is one of another zone, which turns at another time than the clock of this log."""
        first = datetime(2026, 5, 1, 23 if abs(ahead_s) < 3600 else (22 if ahead_s < 0 else 21), 59, 0, tzinfo=UTC)
        if ahead_s < -3600:
            first = first + timedelta(hours=3)
        track = read(log("date,time", lambda _, at: (f"{at + timedelta(seconds=ahead_s):%Y-%m-%d}", f"{at:%H:%M:%S}"), first))
        steps = np.diff(track.time_s)
        np.testing.assert_array_equal(steps, np.ones(COUNT - 1))
        assert abs(track.time_s[0] - first.timestamp()) % 86400.0 == 0.0
        assert noted(track, "midnight") or noted(track, "the date changes while the clock goes on")


class TestGpsTime:
    """2026-05-01T14:00:00Z is 16,917 days, 14 hours and 18 leap seconds after 1980-01-06, in week 2416 (worked by hand)."""

    SECONDS, WEEK, OF_WEEK = 16_917 * 86_400 + 14 * 3600 + 18, 2416, (16_917 - 2416 * 7) * 86_400 + 14 * 3600 + 18

    @pytest.mark.parametrize(("name", "factor"), [("gps time", 1), ("GPS seconds", 1), ("gps_time_ms", 1000)])
    def test_by_its_name(self, read: Reader, name: str, factor: int) -> None:
        track = read(log(name, lambda number, _: (str((self.SECONDS + number) * factor),)))
        assert_flown(track)
        assert noted(
            track, "from GPS time, which is 18 s ahead and counts from 1980-01-06, by its name; if it counts from 1970"
        )

    def test_by_the_unit(self, read: Reader) -> None:
        content = log("time", lambda number, _: (str(self.SECONDS + number),))
        assert_flown(read(content, ReadOptions(units={"time": "GPS s"})))

    def test_an_epoch_of_1970_under_that_name_where_the_user_says_so_or_it_would_be_far_ahead(self, read: Reader) -> None:
        content = log("gps time", lambda number, _: (str(int(START.timestamp()) + number),))
        assert_flown(read(content))
        assert_flown(read(content, ReadOptions(units={"time": "s"})))

    @pytest.mark.parametrize("names", ["gps week,gps tow", "week,seconds of week", "GPS Week Number,TOW"])
    def test_weeks_and_seconds_of_the_week(self, read: Reader, names: str) -> None:
        track = read(log(names, lambda number, _: (str(self.WEEK), f"{self.OF_WEEK + number}.0")))
        assert_flown(track)
        assert noted(track, "GPS time")

    def test_weeks_of_ten_bits_are_of_no_known_year(self, read: Reader) -> None:
        content = log("gps week,tow", lambda number, _: (str(self.WEEK % 1024), str(self.OF_WEEK + number)))
        with pytest.raises(LogError, match="begin again after each 1,024, so 368 is of no known year"):
            read(content)
        assert_flown(read(content, ReadOptions(start=START)))

    def test_a_week_of_the_calendar_beside_a_time_is_no_gps_week(self, read: Reader) -> None:
        track = read(log("week,time", lambda _, at: ("18", f"{at:%Y-%m-%dT%H:%M:%SZ}")))
        assert_flown(track)
        assert next(column.quantity for column in track.columns if column.name == "week") == "unused"

    def test_leap_seconds_are_those_that_were_published(self) -> None:
        """Against the list of the IERS in the system's time zones: NTP seconds, TAI - UTC; GPS time is 19 s behind TAI."""
        published = Path("/usr/share/zoneinfo/leap-seconds.list")
        if not published.exists():
            pytest.skip("the system has no list of leap seconds")
        for ntp, tai_utc in re.findall(r"^(\d{10})\s+(\d\d)\s", published.read_text(encoding="ascii"), re.MULTILINE):
            utc = float(ntp) - 2_208_988_800.0  # seconds from 1900 to 1970 (RFC 5905, figure 4)
            behind = float(tai_utc) - 19.0
            if behind < 1.0:
                continue
            gps = utc - datetime(1980, 1, 6, tzinfo=UTC).timestamp() + behind
            assert gps_to_utc(np.array([gps, gps + 1e5])) == pytest.approx([utc, utc + 1e5])


def test_all_that_is_open_is_asked_at_once(read: Reader) -> None:
    content = log("time", lambda number, _: (str(number),)).replace("alt_ft", "alt")
    with pytest.raises(LogError, match="2 things are open") as caught:
        read(content)
    assert caught.value.options == ("--unit altitude=ft", "--start 2026-05-01T14:00:00Z")
    with pytest.raises(LogError, match="no column for time, latitude, longitude and altitude among when, y, x, z") as caught:
        read(log("when", lambda number, _: (str(number),)).replace("when,lat,lon,alt_ft", "when,y,x,z"))
    assert caught.value.options == tuple(f"--column {one}=NAME" for one in ("time", "latitude", "longitude", "altitude"))
    with pytest.raises(LogError, match="no header, so the columns are numbered, and the first row is 2026-05-01T14:00:00Z, 47"):
        read("\n".join(rows(FLIGHT)))


class TestClockSet:
    @pytest.mark.parametrize("hours", [-1.0, 1.0, -0.5, 2.0, -12.0])
    def test_in_flight_the_positions_go_on_and_so_does_the_time(self, read: Reader, hours: float) -> None:
        def at(number: int, instant: datetime) -> Sequence[str]:
            return (f"{instant + timedelta(hours=hours if number > 70 else 0.0):%Y-%m-%dT%H:%M:%SZ}",)

        track = read(log("time", at))
        assert_flown(track)
        assert noted(track, f"the clock is set {'forward' if hours > 0 else 'back'} by {abs(hours):g} h in flight")

    def test_a_second_flight_that_begins_elsewhere_is_no_change_of_the_clock(self, read: Reader) -> None:
        lines = rows(FLIGHT)
        moved = [row.replace(",47.", ",48.") for row in rows(flown(130, times=np.arange(130) + 3600.0))]
        track = read("\n".join(["time,lat,lon,alt_ft", *lines, *moved]))
        assert track.time_s[-1] - track.time_s[0] == 3600.0 + 129.0
        assert not noted(track, "the clock is set")

    def test_nor_is_a_record_whose_clock_is_years_off(self, read: Reader) -> None:
        lines = rows(FLIGHT)
        lines[70] = "2006" + lines[70][4:]
        track = read("\n".join(["time,lat,lon,alt_ft", *lines]))
        np.testing.assert_allclose(track.time_s, np.delete(FLIGHT.time_s, 70))
        assert not noted(track, "the clock is set")

    def test_nor_is_an_hour_without_samples(self, read: Reader) -> None:
        """After an hour and a second at 60 m/s the aircraft is somewhere else."""
        flight = flown(130, times=np.concatenate((np.arange(70.0), 3600.0 + np.arange(70.0, 130.0))))
        track = read("\n".join(["time,lat,lon,alt_ft", *rows(flight)]))
        np.testing.assert_allclose(track.time_s, flight.time_s)
        assert not noted(track, "the clock is set")
