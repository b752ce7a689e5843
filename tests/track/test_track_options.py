"""What the user says about a log, on the command line and in a log-format file."""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from analyzer.errors import LogError
from analyzer.track.log_format import read_log_format
from analyzer.track.options import ReadOptions


def test_a_log_format_holds_every_choice(tmp_path: Path) -> None:
    file = tmp_path / "simulator.toml"
    file.write_text(
        'start = 2026-05-01T14:00:00Z\nutc_offset = "-03:30"\naltitude_required = false\nonly = ["tail", "AB-CDE"]\n'
        '[columns]\naltitude = "GPS Alt"\n[units]\naltitude = "m"\nlatitude = "1e-7 deg"\n',
        encoding="utf-8",
    )
    assert read_log_format(file) == ReadOptions(
        columns={"altitude": "GPS Alt"},
        units={"altitude": "m", "latitude": "1e-7 deg"},
        start=datetime(2026, 5, 1, 14, tzinfo=UTC),
        utc_offset_s=-12600.0,
        altitude_required=False,
        only=("tail", "AB-CDE"),
    )


def test_an_empty_log_format_leaves_all_to_the_log(tmp_path: Path) -> None:
    file = tmp_path / "empty.toml"
    file.write_text("", encoding="utf-8")
    assert read_log_format(file) == ReadOptions()


def test_the_command_line_goes_over_the_log_format() -> None:
    kept = ReadOptions(
        columns={"altitude": "a", "time": "t"}, units={"altitude": "m"}, only=("id", "1"), altitude_required=False
    )
    given = ReadOptions(columns={"altitude": "b"}, start=datetime(2026, 5, 1, tzinfo=UTC))
    merged = given.over(kept)
    assert merged.columns == {"altitude": "b", "time": "t"}
    assert merged.units == {"altitude": "m"}
    assert merged.start == given.start
    assert merged.only == ("id", "1")
    assert not merged.altitude_required
    assert ReadOptions().over(ReadOptions()) == ReadOptions()
    # UTC, said of one log, goes over a local time of its kind
    assert ReadOptions(utc_offset_s=0.0).over(ReadOptions(utc_offset_s=7200.0)).utc_offset_s == 0.0
    assert ReadOptions().over(ReadOptions(utc_offset_s=7200.0)).utc_offset_s == 7200.0


def test_a_start_without_zone_is_utc() -> None:
    zoned = datetime(2026, 5, 1, 16, tzinfo=timezone(timedelta(hours=2)))
    assert ReadOptions(start=datetime(2026, 5, 1, 14)).start_s == ReadOptions(start=zoned).start_s == zoned.timestamp()
    assert ReadOptions().start_s is None


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("[columns", "not valid TOML"),
        ('column = "x"', r'column = "x": unknown key; did you mean \[columns\]\?'),
        (
            "pilot = 1",
            "pilot = 1: unknown key; accepted: columns, units, start, utc_offset, altitude_required, altitude_from, only, ",
        ),
        ("max_bytes = " + "9" * 5000, "not valid TOML: Exceeds the limit"),
        ("columns = " + "[" * 20_000, "not valid TOML: nested too deep for a log format"),
        ("start = 1066-10-14T09:00:00Z", "--start 1066-10-14T09:00:00.00:00: give an instant of the years 1900 to 2199"),
        ("columns = 3", r"columns = 3: not a table; accepted: a table of quantities with texts"),
        ("[units]\naltitude = 3", r"\[units\] altitude = 3: not text in quotes"),
        ('start = "noon"', 'start = "noon": not a date with a time; accepted: .* like 2026-05-01T14:00:00Z'),
        ('altitude_required = "no"', 'altitude_required = "no": neither true nor false'),
        ('only = "tail"', r'only = "tail": not a list; accepted: two texts, \["COLUMN", "VALUE"\]'),
        ('[columns]\nheight = "x"', "'height' is not a quantity of a log: use one of time, date, latitude"),
        ('[units]\naltitude = "kt"', "--unit altitude=kt: not a unit of altitude: use one of m, ft, km, cm, mm, FL"),
    ],
)
def test_a_wrong_log_format_is_refused_by_file_and_key(tmp_path: Path, content: str, message: str) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text(content, encoding="utf-8")
    with pytest.raises(LogError, match=message) as caught:
        read_log_format(file)
    assert str(caught.value).startswith(str(file))


def test_a_log_format_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(LogError, match=r"none\.toml: cannot be read: No such file"):
        read_log_format(tmp_path / "none.toml")
