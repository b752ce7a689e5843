"""Times that a spreadsheet left as numbers of days, clock times that lost their leading zeros, and units of elapsed time."""

from datetime import UTC, datetime

import numpy as np
import pytest
from flights import START, Reader, flown, rows

from analyzer.track.options import ReadOptions

FLIGHT = flown(200)
DAY_S = 86_400.0
# ECMA-376-1:2016, 18.17.4: 1900-01-01 is day 1, and a 29th of February that 1900 did not have is counted, too
NEW_YEAR_2008 = datetime(2008, 1, 1, tzinfo=UTC).timestamp()
ITS_SERIAL = 1.0 + (datetime(2008, 1, 1, tzinfo=UTC) - datetime(1900, 1, 1, tzinfo=UTC)).days + 1.0


def text(times: list[str], name: str = "time", more: str = "") -> str:
    rest = [row.partition(",")[2] for row in rows(FLIGHT)]
    head = f"{name},lat,lon,alt_ft{',date' if more else ''}"
    return "\n".join([head, *(f"{time},{row}{',' if more else ''}{more}" for time, row in zip(times, rest, strict=True))])


@pytest.mark.parametrize("digits", [5, 6, 8, 10])
@pytest.mark.parametrize("name", ["time", "time_utc", "timestamp"])
def test_days_of_a_spreadsheet_are_dates(read: Reader, digits: int, name: str) -> None:
    serials = [f"{ITS_SERIAL + (time - NEW_YEAR_2008) / DAY_S:.{digits}f}" for time in FLIGHT.time_s.tolist()]
    track = read(text(serials, name))
    np.testing.assert_allclose(track.time_s, FLIGHT.time_s, atol=1e-3)
    assert any("days since 1899-12-30" in note.text for note in track.notes)


def test_fractions_of_a_day_go_with_their_date(read: Reader) -> None:
    fractions = [f"{time % DAY_S / DAY_S:.7f}" for time in FLIGHT.time_s.tolist()]
    np.testing.assert_allclose(read(text(fractions, more="2026-05-01")).time_s, FLIGHT.time_s, atol=1e-3)


def test_seconds_of_the_day_of_the_same_size_stay_seconds(read: Reader) -> None:
    """From 12:48:44 on: as seconds of the day the log lasts minutes, as days it would last half a year."""
    seconds = [f"{46_124 + second}" for second in range(200)]
    track = read(text(seconds, more="2026-05-01"))
    assert track.time_s[0] == datetime(2026, 5, 1, 12, 48, 44, tzinfo=UTC).timestamp()
    assert track.time_s[-1] - track.time_s[0] == 199.0


@pytest.mark.parametrize("clock", ["00:00:05", "00:29:59", "00:59:10", "08:59:30", "09:58:50"])
def test_clock_times_that_lost_their_leading_zeros_are_read(read: Reader, clock: str) -> None:
    """Half past midnight is 3000 in a column of numbers: each second after 59 is 41 more."""
    first = datetime.fromisoformat(f"2026-05-01T{clock}+00:00").timestamp()
    times = [datetime.fromtimestamp(first + second, UTC) for second in range(200)]
    track = read(text([str(int(f"{time:%H%M%S}")) for time in times], more="2026-05-01"))
    np.testing.assert_array_equal(track.time_s, first + np.arange(200))
    assert any("clock times, hhmmss" in note.text for note in track.notes)


@pytest.mark.parametrize("step_s", [0.5, 1.0, 5.0, 20.0])
@pytest.mark.parametrize("begin", [0, 1000, 3000])
def test_elapsed_seconds_stay_seconds(read: Reader, step_s: float, begin: int) -> None:
    track = read(text([f"{begin + step_s * row:g}" for row in range(200)]), ReadOptions(start=START))
    np.testing.assert_allclose(track.time_s, START.timestamp() + step_s * np.arange(200))


@pytest.mark.parametrize(("unit", "seconds"), [("min", 60.0), ("h", 3600.0), ("d", 86_400.0), ("0.01 s", 0.01), ("ms", 0.001)])
def test_elapsed_time_may_be_in_any_unit_that_is_named(read: Reader, unit: str, seconds: float) -> None:
    times = [f"{second / seconds:.9f}" for second in range(200)]
    track = read(text(times), ReadOptions(start=START, units={"time": unit}))
    np.testing.assert_allclose(track.time_s, FLIGHT.time_s, atol=1e-3)
