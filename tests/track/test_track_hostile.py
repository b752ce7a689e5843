"""Damaged logs of every format, and text that would steer a terminal: read, or refused in words."""

import numpy as np
import pytest
from flights import HEADER, Reader, csv_text, flown, rows
from log_writers import WRITERS, geojson, igc, kml, kml_track, positions
from mutations import damaged

from analyzer.errors import AnalyzerError, LogError, printable
from analyzer.report.words.inspect_text import inspect_text
from analyzer.track.options import ReadOptions

FLIGHT = flown(40)
VALID = {name: [write(FLIGHT), write(flown(120, step_s=0.5))] for name, write in WRITERS.items()}
STEER = "\x1b]0;x\x07\x1b[2J\x9b31m\u202e"
INPUTS = 40  # of each kind; benchmarks/fuzz.py tries as many as there is time for


@pytest.mark.parametrize("name", VALID)
def test_a_damaged_log_is_read_or_refused_in_words(read: Reader, name: str) -> None:
    for seed in range(INPUTS):
        said = ""
        try:
            track = read(damaged(VALID[name], seed))
        except LogError as error:
            said = str(error)
            assert "log.csv" in said, seed
            assert said.count("\n") < 2, seed
        else:
            said = inspect_text(track)
            assert (np.diff(track.time_s) > 0.0).all(), seed
            assert np.abs(track.latitude_rad).max() <= np.pi / 2, seed
        assert said.replace("\n", "").isprintable(), seed


def test_damages_are_damages() -> None:
    """Most inputs differ from the valid files, and the same seed gives the same one."""
    for valid in VALID.values():
        made = [damaged(valid, seed) for seed in range(INPUTS)]
        assert made == [damaged(valid, seed) for seed in range(INPUTS)]
        assert sum(one in valid for one in made) < INPUTS / 4
        assert len(set(made)) > INPUTS * 3 / 4


@pytest.mark.parametrize(
    "content",
    [
        "\n".join([f"{HEADER},gs{STEER},{STEER}", *(f"{row},1,{STEER}" for row in rows(FLIGHT))]),
        "\n".join([f"time_utc,lat,lon,alt{STEER} ft", *rows(FLIGHT)]),
        geojson({"type": "LineString", "coordinates": positions(FLIGHT)}, {STEER: [f"{t:.3f}" for t in FLIGHT.time_s]}),
        kml(kml_track(FLIGHT)).replace("kml/2.2", "kml/\u202e2.2"),
        igc(FLIGHT).replace("HFPLT", f"I0136380\x1bX\nHFPLT{STEER}"),
        csv_text(FLIGHT).replace("alt_ft", f"alt{STEER}"),
        csv_text(FLIGHT).replace("47.", f"47{STEER}."),
        f"{STEER},b\n1,2\n",
    ],
)
def test_nothing_in_a_file_steers_a_terminal(read: Reader, content: str) -> None:
    try:
        said = inspect_text(read(content, ReadOptions(altitude_required=False)))
    except LogError as error:
        said = str(error)
    assert said.replace("\n", "").isprintable()


@pytest.mark.parametrize("name", [f"a{STEER}.csv", "a\udcff.csv", "a\n\rb.csv"])
def test_nothing_in_a_name_steers_a_terminal(read: Reader, name: str) -> None:
    assert read(csv_text(FLIGHT), name=name).file.isprintable()
    with pytest.raises(LogError) as caught:
        read("", name=name)
    assert str(caught.value).isprintable()


def test_two_names_that_look_alike_once_fit_to_print_stay_two(read: Reader) -> None:
    lines = [f"{row},1,2" for row in rows(FLIGHT)]
    track = read("\n".join([f"{HEADER},x\x01,x\x02", *lines]))
    assert [column.name for column in track.columns][-2:] == ["x\ufffd", "x\ufffd (2)"]


def test_every_error_is_fit_to_print() -> None:
    assert str(AnalyzerError(f"one{STEER}\ntwo")) == f"one{printable(STEER)}\ntwo"
    assert printable("Größe 30° – ok") == "Größe 30° – ok"
    assert printable("a\u00a0b\tc\udc80") == "a b c\ufffd"
