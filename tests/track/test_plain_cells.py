"""Plain CSV read by columns, against Python's own reading of each cell and against the general reader."""

import datetime as dt
import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.track.plain_cells import PlainCells, plain_columns
from analyzer.track.read import read_track

DIGITS = st.text("0123456789", max_size=8)
PLAIN = st.builds("{}{}.{}".format, st.sampled_from(["", "-", "+"]), st.text("0123456789", min_size=1, max_size=6), DIGITS)
WILD = st.sampled_from(["", "1e5", "nan", "-", ".", "1.2.3", "12a", "--1", "1_0", "123456789012345678", "0.12345678901234567"])


def column(cells: list[str]) -> PlainCells:
    columns = plain_columns("".join(f"x,{cell}\n" for cell in cells).encode(), ",", 2, "#")
    assert columns is not None
    return columns[1]


def as_float(cell: str) -> float:
    return float(cell) if cell else math.nan


@settings(deadline=None)
@given(st.lists(PLAIN | st.just("") | DIGITS, min_size=1, max_size=30))
def test_numbers_are_those_that_python_makes_of_the_texts(cells):
    plain = column(cells)
    assert list(plain) == cells
    assert plain.numbers is not None or not any(cells)
    if plain.numbers is not None:
        assert [value.hex() for value in plain.numbers.tolist()] == [as_float(cell).hex() for cell in cells]


@settings(deadline=None)
@given(st.lists(PLAIN | WILD, min_size=1, max_size=20))
def test_what_is_no_plain_number_is_left_to_the_general_reader(cells):
    numbers = column(cells).numbers
    if numbers is not None:
        assert [value.hex() for value in numbers.tolist()] == [as_float(cell).hex() for cell in cells]


@given(
    st.lists(st.datetimes(dt.datetime(1990, 1, 1), dt.datetime(2099, 12, 31)), min_size=1, max_size=20),
    st.sampled_from(["seconds", "milliseconds", "microseconds"]),
    st.sampled_from(["", "Z"]),
)
def test_instants_are_those_of_the_standard_library(times, timespec, zone):
    cells = [time.isoformat(timespec=timespec) + zone for time in times]
    instants = column(cells).instants()
    assert instants is not None
    assert instants[1] is (zone == "Z")
    exact = [dt.datetime.fromisoformat(cell.removesuffix("Z")).replace(tzinfo=dt.UTC).timestamp() for cell in cells]
    np.testing.assert_allclose(instants[0], exact, rtol=0.0, atol=5e-7)


def test_instants_that_there_are_not_are_left_to_the_general_reader():
    for cell in ("2026-02-30T10:00:00Z", "2026-02-03T24:00:00Z", "2026-02-03T10:60:00Z", "2026-02-03T10:00:60Z", "10:00:00"):
        assert column(["2026-02-03T10:00:00Z", cell]).instants() is None


def test_a_log_is_the_same_by_the_general_reader(tmp_path):
    """A comment below its rows makes a file wild: all else is the same, to the last bit, and so are the notes."""
    rows = [
        f"2026-05-01T14:{k // 60:02d}:{k % 60:02d}Z,{48.0 + 5e-4 * k:.6f},{-24.0 - 1e-5 * k * k:.5f},{3000 + k % 7}"
        for k in range(600)
    ]
    text = "\n".join(["time_utc,latitude_deg,longitude_deg,altitude_ft", *rows]) + "\n"
    (tmp_path / "plain.csv").write_text(text, encoding="utf-8")
    (tmp_path / "wild.csv").write_text(text + "# the end\n", encoding="utf-8")
    plain, wild = read_track(tmp_path / "plain.csv"), read_track(tmp_path / "wild.csv")
    for name in ("time_s", "latitude_rad", "longitude_rad", "altitude_m"):
        np.testing.assert_array_equal(getattr(plain, name), getattr(wild, name))
    assert (plain.notes, plain.columns, plain.format) == (wild.notes, wild.columns, wild.format)
