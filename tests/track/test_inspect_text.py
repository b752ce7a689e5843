"""The plain-text account of a log."""

import numpy as np
import pytest
from flights import HEADER, Reader, csv_text, flown, rows

from analyzer.report.words.inspect_text import inspect_text
from analyzer.track.read import ReadOptions

FLIGHT = flown(300)


def value(text: str, label: str) -> str:
    """What stands after the label, over its lines, in one."""
    lines = text.split("\n")
    first = next(number for number, line in enumerate(lines) if line.startswith(label + " "))
    last = next(number for number in range(first + 1, len(lines)) if not lines[number].startswith(" " * 10))
    return " ".join(line[10:].strip() for line in lines[first:last])


def test_span_samples_altitudes_and_place(read: Reader) -> None:
    text = inspect_text(read(csv_text(FLIGHT)))
    assert value(text, "Log") == "log.csv"
    assert value(text, "Format") == "CSV (comma)"
    assert value(text, "Time") == "2026-05-01 14:00:00 to 14:04:59 UTC, 4 min 59 s"
    assert value(text, "Samples") == "300, every 1 s in 100% of the intervals"
    low, high = round(FLIGHT.altitude_ft.min()), round(FLIGHT.altitude_ft.max())
    assert value(text, "Altitude") == f"{low:,} to {high:,} ft; the log does not state their reference"
    south, north = FLIGHT.latitude_deg.min(), FLIGHT.latitude_deg.max()
    west, east = FLIGHT.longitude_deg.min(), FLIGHT.longitude_deg.max()
    assert value(text, "Position") == f"{south:.4f}° N to {north:.4f}° N, {west:.4f}° E to {east:.4f}° E"
    assert value(text, "Gaps") == "none"
    assert text.endswith("Inferred, repaired and left out\n  nothing\n")


def test_a_span_over_midnight_and_of_hours_gives_both_days(read: Reader) -> None:
    flight = flown(300, step_s=150.0)
    assert (
        value(inspect_text(read(csv_text(flight))), "Time")
        == "2026-05-01 14:00:00 to 2026-05-02 02:27:30 UTC, 12 h 27 min 30 s"
    )


def test_the_place_across_180_degrees_is_the_short_way(read: Reader) -> None:
    flight = flown(300, at=(-17.0, 179.998))
    place = value(inspect_text(read(csv_text(flight))), "Position")
    west = flight.longitude_deg[flight.longitude_deg > 0.0].min()
    east = flight.longitude_deg[flight.longitude_deg < 0.0].max()
    assert place.endswith(f" S, {west:.4f}° E to {-east:.4f}° W")


def test_columns_gaps_and_notes_are_shown(read: Reader) -> None:
    lines = [f"{row},{place},{place % 5}" for place, row in enumerate(rows(FLIGHT))]
    kept = [*lines[:100], *lines[160:220], lines[219], *lines[290:]]
    text = inspect_text(read("\n".join([HEADER + ",heading,counter", *kept])))
    assert value(text, "Gaps") == "2: 14:01:39 to 14:02:40, 14:03:39 to 14:04:50"
    assert "  alt_ft                altitude           ft            by its name\n" in text
    assert "not used: counter" in text
    assert "true or magnetic" in text
    assert "  - 1 record repeated unchanged: dropped\n" in text


def test_many_gaps_are_not_all_listed(read: Reader) -> None:
    times = np.concatenate([np.arange(20) + 200.0 * block for block in range(13)])
    assert value(inspect_text(read(csv_text(flown(times=times)))), "Gaps").endswith(" and 2 more")


def test_a_log_without_altitude_says_none(read: Reader) -> None:
    options = ReadOptions(altitude_required=False)
    text = inspect_text(read(csv_text(FLIGHT).replace("alt_ft", "load"), options))
    assert value(text, "Altitude") == "none"


def test_altitudes_that_are_missing_are_counted(read: Reader) -> None:
    lines = rows(FLIGHT)
    lines[7] = lines[7].rpartition(",")[0] + ","
    assert value(inspect_text(read("\n".join([HEADER, *lines]))), "Altitude").endswith("; 1 sample without altitude")


@pytest.mark.parametrize("width", [10, 70])
def test_no_line_is_longer_than_80(read: Reader, width: int) -> None:
    lines = [f"{row},{place % 7},x" for place, row in enumerate(rows(FLIGHT))]
    names = "ground speed without any unit that could be told", "w" * width
    text = inspect_text(read("\n".join([f"{HEADER},gs,{','.join(names[1:])}", *lines])))
    assert max(len(line) for line in text.split("\n")) <= 80
    assert not any(line != line.rstrip() for line in text.split("\n"))
