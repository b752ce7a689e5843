"""Wherever users read which logs are accepted, every format is named, and a class folder is searched for it."""

import pytest
from typer.testing import CliRunner

import analyzer
from analyzer.cli.app import program
from analyzer.errors import LogError
from analyzer.grade.logs import LOG_SUFFIXES
from analyzer.track.formats import FORMATS

NAMES = [known.name.split()[0] for known in FORMATS if known.name != "XML"]  # which is refused


@pytest.mark.parametrize("name", NAMES)
def test_the_help_names_every_format(name):
    helped = CliRunner().invoke(program(), ["inspect", "--help"], env={"COLUMNS": "200"})
    assert name in helped.output


@pytest.mark.parametrize("name", NAMES)
def test_the_error_on_what_is_no_log_names_every_format(name, tmp_path):
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear instructor\nhere is my flight\n", encoding="utf-8")
    with pytest.raises(LogError, match=rf"A log is .*\b{name}\b"):
        analyzer.read_track(letter)


@pytest.mark.parametrize("name", NAMES)
def test_a_class_is_searched_for_every_format(name):
    assert f".{name.lower()}" in LOG_SUFFIXES
