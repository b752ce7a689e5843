"""How a log was read, kept in a file and read back: the same track comes out without asking again."""

from pathlib import Path

import numpy as np
import pytest
from flights import START, Reader, flown, rows
from log_writers import WRITERS

from analyzer.errors import LogError
from analyzer.track.limits import Limits
from analyzer.track.log_format import log_format_text, read_log_format
from analyzer.track.options import ReadOptions

FLIGHT = flown(60)
PLAIN = "\n".join(['t,lat,lon,alt,gs,Höhe \\ "x",note', *(f'{row},116.{k % 9},5,"a"' for k, row in enumerate(rows(FLIGHT)))])
ELAPSED = "\n".join(["after,y,x,z", *(f"{k}{row[row.index(',') :]}" for k, row in enumerate(rows(FLIGHT)))])


def kept(read: Reader, tmp_path: Path, content: str | bytes, options: ReadOptions) -> ReadOptions:
    """The choices that come back from the file which keeps how the log was read, after a check that it reads the same log."""
    track = read(content, options)
    path = tmp_path / "format.toml"
    path.write_text(log_format_text(track, options), encoding="utf-8")
    assert START.strftime("%Y") not in path.read_text(encoding="utf-8")  # no date of one flight goes to the next
    back = ReadOptions(start=options.start).over(read_log_format(path))
    again = read(content, back)
    for field in ("time_s", "latitude_rad", "longitude_rad", "altitude_m"):
        np.testing.assert_array_equal(getattr(again, field), getattr(track, field))
    assert set(again.recorded) == set(track.recorded)
    for name, values in track.recorded.items():
        np.testing.assert_array_equal(again.recorded[name], values)
    return back


@pytest.mark.parametrize("name", WRITERS)
def test_every_format_is_read_again_alike(read: Reader, tmp_path: Path, name: str) -> None:
    kept(read, tmp_path, WRITERS[name](FLIGHT), ReadOptions())


def test_what_the_user_said_need_not_be_said_again(read: Reader, tmp_path: Path) -> None:
    with pytest.raises(LogError, match="the unit of the altitude column 'alt' is not stated"):
        read(PLAIN)
    said = ReadOptions(columns={"altitude": 'Höhe \\ "x"'}, units={"altitude": "0.3 m", "ground_speed": "km/h"})
    back = kept(read, tmp_path, PLAIN, said)
    assert back.columns["altitude"] == 'Höhe \\ "x"'
    assert back.units["altitude"] == "0.3 m"
    assert back.units["ground_speed"] == "km/h"
    assert back.columns["time"] == "t"


def test_all_but_the_start_is_kept(read: Reader, tmp_path: Path) -> None:
    said = ReadOptions(
        columns={"time": "after", "latitude": "y", "longitude": "x"},
        start=START,
        altitude_required=False,
        limits=Limits(max_samples=99),
    )
    back = kept(read, tmp_path, ELAPSED, said)
    assert (back.altitude_required, back.limits) == (False, Limits(max_samples=99))
    (tmp_path / "format.toml").write_text(log_format_text(read(ELAPSED, said), said), encoding="utf-8")
    with pytest.raises(LogError, match="is elapsed time"):
        read(ELAPSED, ReadOptions().over(read_log_format(tmp_path / "format.toml")))


def test_an_offset_from_utc_is_kept(read: Reader, tmp_path: Path) -> None:
    lines = [f"{row.replace('Z', '')},+02:00" for row in rows(FLIGHT)]
    for name, said in (("local time", {}), ("time", {"utc_offset": "UTC offset"})):
        back = kept(read, tmp_path, "\n".join([f"{name},lat,lon,alt_ft,UTC offset", *lines]), ReadOptions(columns=said))
        assert back.columns["utc_offset"] == "UTC offset"
    local = "\n".join(["time,lat,lon,alt_ft", *(row.replace("Z", "") for row in rows(FLIGHT))])
    assert kept(read, tmp_path, local, ReadOptions(utc_offset_s=-12600.0)).utc_offset_s == -12600.0


def test_the_one_aircraft_that_was_chosen_is_kept(read: Reader, tmp_path: Path) -> None:
    other = rows(flown(60, at=(48.0, 9.0)))
    lines = [line for one, two in zip(rows(FLIGHT), other, strict=True) for line in (f"{one},A,1", f'{two},B "2",2')]
    content = "\n".join(["time,lat,lon,alt_ft,tail,n", *(line.replace('B "2"', '"B ""2"""') for line in lines)])
    assert kept(read, tmp_path, content, ReadOptions(only=("tail", 'B "2"'))).only == ("tail", 'B "2"')


def test_limits_in_a_file_are_whole_numbers(tmp_path: Path) -> None:
    path = tmp_path / "wrong.toml"
    for text, message in (
        ("max_bytes = 1.5", "max_bytes = 1.5: not a whole number; accepted: a whole number"),
        ("max_samples = 0", "--max-samples 0: must"),
    ):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(LogError, match=message):
            read_log_format(path)
