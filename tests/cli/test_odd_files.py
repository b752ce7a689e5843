"""Files that are no files, or hold what no person writes: each reader of a file from outside says so and comes to an end."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import CLEAN, PROCEDURE

from analyzer.brief.brief_file import read_card
from analyzer.checks.standard import read_standard
from analyzer.errors import AnalyzerError, LogError, bounded
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.rubric import read_rubric
from analyzer.procedure.read import read_procedure
from analyzer.track.log_format import read_log_format
from analyzer.track.read import read_track

Reader = Callable[[Path], object]
READERS: dict[str, Reader] = {
    "log": read_track,
    "log format": read_log_format,
    "procedure": read_procedure,
    "standard": read_standard,
    "rubric": read_rubric,
    "roster": read_roster,
    "brief": read_card,
}
LONGEST = 40 * 1010  # letters: so many lines, each so long


def refusal(read: Reader, path: Path) -> str:
    """What the reader says of a file that it does not take: bounded, and nothing in it steers a terminal."""
    with pytest.raises(AnalyzerError) as caught:
        read(path)
    said = str(caught.value)
    assert len(said) < LONGEST
    assert all(line.isprintable() for line in said.split("\n"))
    return said


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
@pytest.mark.parametrize("reader", READERS)
def test_a_pipe_that_nobody_writes_to_is_not_waited_for(reader: str, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "it is a pipe, not an ordinary file" in refusal(READERS[reader], tmp_path / "pipe")


@pytest.mark.skipif(not Path("/dev/zero").is_char_device(), reason="needs a device without an end")
@pytest.mark.parametrize("reader", READERS)
def test_a_device_is_not_read_not_even_through_a_link(reader: str, tmp_path: Path) -> None:
    (tmp_path / "link.csv").symlink_to("/dev/zero")
    assert "it is a device, not an ordinary file" in refusal(READERS[reader], tmp_path / "link.csv")


ODD = {
    "nested deep": "a = " + "[" * 50_000,
    "nested deep in JSON": "[" * 100_000 + "]" * 100_000,
    "a number of thousands of digits": "a = " + "9" * 10_000,
    "a number of thousands of digits in JSON": '{"version": ' + "9" * 10_000 + "}",
    "a long name": '"' + "x" * 200_000 + '" = 1',
    "a name that steers a terminal": '"a\\u001b[2Jb" = 1',
    "half a character": '{"version": "\\ud800", "\\ud800": 1}',
    "half a character in TOML": 'title = "\\ud800"',
    "nothing but NULs": "\0" * 300,
}


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("reader", READERS)
def test_what_no_person_writes_is_refused_with_a_message(reader: str, odd: str, tmp_path: Path) -> None:
    file = tmp_path / "odd"
    file.write_text(ODD[odd], encoding="utf-8")
    assert refusal(READERS[reader], file).startswith(str(file))


@pytest.mark.parametrize("weight", ["1" + "0" * 400, "inf", "nan", "-1"])
def test_a_weight_beyond_all_numbers_is_refused(weight: str, tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(f"[weights]\ndistance_limit = {weight}", encoding="utf-8")
    assert "accepted: a number from 0 to 1000" in refusal(read_rubric, tmp_path / "mine.toml")


@pytest.mark.parametrize("reader", ["log format", "procedure", "standard", "rubric"])
def test_a_log_in_the_place_of_a_small_file_is_not_parsed(reader: str, tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_bytes(b"# a log\n" * 200_000)
    assert "is it a log?" in refusal(READERS[reader], tmp_path / "log.csv")


def test_a_log_that_a_shell_pipes_in_is_read() -> None:
    """``analyzer inspect <(zcat log.gz)``: the shell puts the name of a pipe that it writes to in the place of the log's."""
    reading, writing = os.pipe()
    os.write(writing, CLEAN.read_bytes()[:4000])
    os.close(writing)
    try:
        assert len(read_track(f"/dev/fd/{reading}")) > 50
    finally:
        os.close(reading)


def test_a_log_with_half_a_character_can_be_told_of(tmp_path: Path) -> None:
    line = {"type": "LineString", "coordinates": [[1.0, 2.0 + k / 1000.0, 300.0] for k in range(60)]}
    properties = {"name": "\ud800", "coordTimes": [f"2026-01-01T00:00:{k:02d}Z" for k in range(60)]}
    feature = {"type": "Feature", "properties": properties, "geometry": line}
    (tmp_path / "half.geojson").write_text(json.dumps(feature), encoding="ascii")
    track = read_track(tmp_path / "half.geojson")
    assert "".join(note.text for note in track.notes).isprintable()


def test_a_message_keeps_its_beginning_and_its_end() -> None:
    said = bounded("log.csv: no column " + "x" * 5000 + ". Name it: --column time=NAME")
    assert said.startswith("log.csv: no column x")
    assert said.endswith("Name it: --column time=NAME")
    assert len(str(LogError("\n".join("wrong" * 400 for _ in range(1000))))) < LONGEST


CLOSED = {
    "output": (">&-", 0),
    "errors": ("2>&-", 0),
    "both": (">&- 2>&-", 0),
    "input": ("<&-", 0),
}


@pytest.mark.skipif(sys.platform == "win32", reason="needs a shell that closes streams")
@pytest.mark.parametrize("closed", CLOSED)
@pytest.mark.parametrize("command", [f"debrief {CLEAN} -p {PROCEDURE} --format json", f"inspect {CLEAN}"])
def test_closed_streams_are_no_failure(command: str, closed: str, tmp_path: Path) -> None:
    how, expected = CLOSED[closed]
    line = f"exec {sys.executable} -m analyzer {command} {how}"
    done = subprocess.run(["/bin/sh", "-c", line], cwd=tmp_path, capture_output=True, timeout=120, check=False)  # noqa: S603
    assert done.returncode == expected
    assert done.stderr == b""
    if command.startswith("debrief"):
        assert json.loads((tmp_path / "reports" / "2026-06-14-0912-clean.json").read_bytes())["version"]


@pytest.mark.skipif(sys.platform == "win32", reason="needs a shell that closes streams")
def test_a_log_from_a_closed_input_is_refused(tmp_path: Path) -> None:
    line = f"exec {sys.executable} -m analyzer inspect - <&-"
    done = subprocess.run(["/bin/sh", "-c", line], cwd=tmp_path, capture_output=True, timeout=120, check=False)  # noqa: S603
    assert done.returncode == 2
    assert b"standard input: it is closed" in done.stderr
