"""The help of the program is printed without typer, and as typer would print it."""

import inspect
import sys
from importlib import import_module

import pytest
from command_line import MODULE, Command, run
from typer.main import get_command
from typer.testing import CliRunner

from analyzer.cli.app import program
from analyzer.cli.commands import COMMANDS, GROUPS, help_asked_for, program_help


@pytest.mark.parametrize("called", ["analyzer", "python -m analyzer", "a_name_of_forty_letters_and_more_than_that"])
@pytest.mark.parametrize("columns", [1, 20, 51, 52, *range(53, 83), 100, 300])
def test_it_is_what_typer_prints(columns, called, monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", str(columns))
    get_command(program()).main(["--help"], called, standalone_mode=False)
    assert program_help(called, columns) == capsys.readouterr().out


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_summed_up_as_it_describes_itself(name):
    assert inspect.getdoc(getattr(import_module(f"analyzer.cli.{name}"), name)) == COMMANDS[name]


def test_it_is_plain_enough_for_any_terminal():
    assert program_help("analyzer", 80).isascii()


@pytest.mark.parametrize("arguments", [[], ["-h"], ["--help"], ["--debug"], ["--debug", "--help"]])
def test_it_is_asked_for_by_an_option_or_by_nothing(arguments, monkeypatch):
    assert help_asked_for(arguments)
    monkeypatch.setenv("_ANALYZER_COMPLETE", "complete_bash")  # as the shell asks for what may follow
    assert not help_asked_for(arguments)


@pytest.mark.parametrize("arguments", [["debrief"], ["debrief", "--help"], ["--version"], ["--help", "more"], ["-x"]])
def test_anything_else_is_left_to_the_command_line(arguments):
    assert not help_asked_for(arguments)


@pytest.mark.parametrize("name", [*COMMANDS, *GROUPS])
def test_each_command_alone_is_as_it_is_among_all(name):
    alone, among_all = (CliRunner().invoke(made, [name, "--help"], prog_name="analyzer") for made in (program(name), program()))
    assert alone.exit_code == 0
    assert alone.output == among_all.output


def test_a_full_disk_is_told(tmp_path):
    if not sys.platform.startswith("linux"):
        pytest.skip("needs /dev/full")
    shell = ("/bin/sh", "-c", 'exec "$@" > /dev/full', "sh", *MODULE)
    told = run(Command(["--help"], tmp_path, program=shell))
    assert (told.code, told.out, told.err) == (2, "", "analyzer: standard output: No space left on device\n")
