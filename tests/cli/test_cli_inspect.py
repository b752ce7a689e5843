"""`analyzer inspect`: the formats, standard input, limits, and how a log was read kept in a file."""

import gc
import io
import shlex
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from command_line import CLEAN, EARLY_DESCENT, Outcome

from analyzer.cli.app import main

NO_UNIT = CLEAN.read_text(encoding="utf-8").replace("altitude_ft", "altitude", 1)
STEER = "\x1b[2J\x07"


@pytest.fixture
def inspect(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Iterator[Callable[..., Outcome]]:
    """Runs the command in this process, in a folder of its own, with bytes for standard input."""
    monkeypatch.chdir(tmp_path)
    collecting = gc.isenabled()

    def runs(*arguments: str, given: bytes = b"") -> Outcome:
        monkeypatch.setattr(sys, "argv", ["analyzer", "inspect", *arguments])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given)))
        with pytest.raises(SystemExit) as stopped:
            main()
        return Outcome(int(stopped.value.code or 0), *capsys.readouterr())

    yield runs
    if collecting:
        gc.enable()  # the program switches it off for its short life


def test_standard_input_is_read_like_the_file(inspect):
    from_file, from_input = inspect(str(EARLY_DESCENT)), inspect("-", given=EARLY_DESCENT.read_bytes())
    assert from_input.out == from_file.out.replace(EARLY_DESCENT.name, "standard input")
    assert "Format    GPX 1.1" in from_input.out


def test_the_choices_kept_are_read_back(inspect, tmp_path):
    log = tmp_path / "log.csv"
    log.write_text(NO_UNIT, encoding="utf-8")
    assert "--unit altitude=ft" in "\n".join(inspect("log.csv").refused())
    first = inspect("log.csv", "--unit", "altitude=ft", "--save-format", "kept.toml")
    assert first.out.endswith("\nLog format: kept.toml\n")
    again = inspect("log.csv", "--log-format", "kept.toml")
    assert again.code == 0
    head = first.out.partition("\nColumns")[0]
    assert again.out.partition("\nColumns")[0] == head
    assert "chosen by the user, unit by the user" in " ".join(again.out.split())


def test_the_start_of_one_flight_is_not_kept_for_the_next_and_it_is_said(inspect, tmp_path):
    lines = NO_UNIT.splitlines()
    header = lines[0].replace("altitude", "altitude_ft")
    elapsed = [header, *(f"{k},{row.partition(',')[2]}" for k, row in enumerate(lines[1:]))]
    (tmp_path / "log.csv").write_text("\n".join(elapsed), encoding="utf-8")
    kept = inspect("log.csv", "--start", "2026-06-14T09:00:00Z", "--save-format", "kept.toml")
    assert "give each log its own --start" in kept.out
    assert "2026" not in (tmp_path / "kept.toml").read_text(encoding="utf-8")
    refused = inspect("log.csv", "--log-format", "kept.toml").refused()
    assert refused[1] == "analyzer: try: analyzer inspect log.csv --log-format kept.toml --start 2026-05-01T14:00:00Z"


def test_all_that_is_open_comes_with_one_command(inspect, tmp_path):
    lines = NO_UNIT.splitlines()
    elapsed = [lines[0], *(f"{k},{row.partition(',')[2]}" for k, row in enumerate(lines[1:]))]
    (tmp_path / "a log.csv").write_text("\n".join(elapsed), encoding="utf-8")
    said, command = inspect("a log.csv").refused()
    assert "2 things are open" in said
    assert command.startswith("analyzer: try: analyzer inspect 'a log.csv' --unit altitude=ft --start 2026-")
    again = inspect(*shlex.split(command.removeprefix("analyzer: try: analyzer inspect ")))
    assert again.code == 0


def test_choices_are_not_written_over_what_is_there(inspect, tmp_path):
    (tmp_path / "kept.toml").write_text("mine", encoding="utf-8")
    refused = "\n".join(inspect(str(CLEAN), "--save-format", "kept.toml").refused())
    assert "kept.toml: exists already" in refused
    assert "--force" in refused
    assert (tmp_path / "kept.toml").read_text(encoding="utf-8") == "mine"
    assert inspect(str(CLEAN), "--save-format", "kept.toml", "--force").code == 0
    assert "[columns]" in (tmp_path / "kept.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(("option", "value"), [("--max-bytes", "1000"), ("--max-samples", "100")])
def test_limits_are_named_by_their_option(inspect, option, value):
    assert option in "\n".join(inspect(str(CLEAN), option, value).refused())
    assert "must be a whole number above zero" in "\n".join(inspect(str(CLEAN), option, "0").refused())
    assert inspect(str(CLEAN), option, "10000000").code == 0


@pytest.mark.parametrize(
    "arguments",
    [[f"none{STEER}.csv"], [f"--{STEER}"], [str(CLEAN), "--column", f"altitude={STEER}"], [str(CLEAN), "--unit", STEER]],
)
def test_nothing_in_an_argument_steers_the_terminal(inspect, arguments):
    refused = "\n".join(inspect(*arguments).refused())
    assert refused.replace("\n", "").isprintable()
