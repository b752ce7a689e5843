"""What is loaded when: nothing before it is needed, no pandas for a debrief."""

import importlib
import re
import tomllib
from pathlib import Path

import pytest
from command_line import CLEAN, PROCEDURE, STRONG_WIND, TRACED, Command, run_all

import analyzer

# What each command loads of the packages that the program builds on: these, and no other. scipy's routines for banded matrices
# are loaded alone, without its packages.
LOADS = {
    "help": set(),
    "help of a command": {"typer"},
    "inspect": {"typer", "numpy"},
    "json": {"typer", "numpy", "pydantic", "pygeomag"},
    "page and json": {"typer", "numpy", "pydantic", "pygeomag", "jinja2", "markupsafe"},
    "png": {"typer", "numpy", "pydantic", "pygeomag", "matplotlib"},
    "pdf": {"typer", "numpy", "pydantic", "pygeomag", "typst"},
    "page and knee card": {"typer", "numpy", "pydantic", "pygeomag", "jinja2", "markupsafe", "typst"},
    "comparison": {"typer", "numpy", "pydantic", "pygeomag", "jinja2", "markupsafe"},
}


@pytest.fixture(scope="session")
def loaded(debriefed, tmp_path_factory) -> dict[str, set[str]]:
    """The modules that each command loads."""
    folder = tmp_path_factory.mktemp("traced")
    debrief = ["debrief", CLEAN, "-p", PROCEDURE]
    traced = {
        "help": ["--help"],
        "help of a command": ["debrief", "--help"],
        "inspect": ["inspect", CLEAN],
        "json": [*debrief, "--json", "-"],
        "png": [*debrief, "--format", "png"],
        "pdf": [*debrief, "--format", "pdf"],
        "page and knee card": [
            "brief",
            PROCEDURE,
            "--speed",
            "110",
            "--outbound",
            "90s",
            "--date",
            "2026-06-14",
            "-o",
            "brief",
        ],
        "comparison": ["compare", CLEAN, STRONG_WIND, "-p", PROCEDURE, "-o", "compared"],
    }
    outcomes = run_all({name: Command(arguments, folder, program=TRACED) for name, arguments in traced.items()})
    outcomes["page and json"] = debriefed["wind_again"]
    for outcome in outcomes.values():
        assert outcome.code == 0, outcome.said_on_the_side()
        assert "analyzer" in outcome.loaded()
    return {name: outcome.loaded() for name, outcome in outcomes.items()}


def packages(modules: set[str]) -> set[str]:
    return {module.partition(".")[0] for module in modules}


def depended_on() -> set[str]:
    """The packages that the program's own description names, as they are imported."""
    description = tomllib.loads(Path(__file__).parents[2].joinpath("pyproject.toml").read_text(encoding="utf-8"))["project"]
    optional = description["optional-dependencies"]
    wanted = [*description["dependencies"], *(one for extra in ("parquet", "xlsx", "cluster") for one in optional[extra])]
    return {re.split("[><=]", one)[0].lower() for one in wanted}


@pytest.mark.parametrize("command", LOADS)
def test_a_command_loads_what_it_needs_and_nothing_else(loaded, command):
    """A page draws its own pictures; matplotlib is for PNG, and the typesetting for PDF."""
    known = depended_on()
    assert known >= {"typer", "scipy", "pyproj", "pandas", "pyarrow", "xlsxwriter", "distributed", *LOADS["png"]}
    assert known & packages(loaded[command]) == LOADS[command]


def test_help_loads_nothing_heavy(loaded):
    """Not even what reads a command line: of this program two small modules, and of Python what it starts with."""
    assert not {"typing", "dataclasses", "re", "enum", "signal"} & packages(loaded["help"])
    assert {name for name in loaded["help"] if name.startswith("analyzer")} == {
        "analyzer",
        "analyzer.cli",
        "analyzer.cli.commands",
    }


def test_a_command_loads_nothing_of_other_commands(loaded):
    """What asks for a chart, and what ends a class."""
    for name in ("help of a command", "json", "png"):
        assert "analyzer.cli.options" in loaded[name]
        assert not {"analyzer.cli.procedure_new", "analyzer.cli.interrupt"} & loaded[name]


def test_pictures_are_drawn_without_a_screen(loaded):
    """Matplotlib's figures alone, and not the module that looks for windows and keeps figures alive."""
    assert "matplotlib.figure" in loaded["png"]
    assert "matplotlib.pyplot" not in loaded["png"]


@pytest.mark.parametrize("name", analyzer.__all__)
def test_public_names_resolve(name):
    value = getattr(analyzer, name)
    assert value.__doc__
    assert getattr(importlib.import_module(value.__module__), name) is value


def test_public_names_are_these():
    assert set(analyzer.__all__) >= {"Debrief", "debrief", "read_procedure", "read_track"}
    assert len(set(analyzer.__all__)) == len(analyzer.__all__)


def test_a_name_that_is_none_is_refused():
    with pytest.raises(AttributeError, match="nonsense"):
        _ = analyzer.nonsense
