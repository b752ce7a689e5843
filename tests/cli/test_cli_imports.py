"""What is loaded when: nothing heavy before it is needed, no pandas for a debrief."""

import importlib

import pytest
from command_line import CLEAN, PROCEDURE, TRACED, Command, run_all

import analyzer

HEAVY = {
    "numpy",
    "pandas",
    "scipy",
    "matplotlib",
    "pyproj",
    "pydantic",
    "jinja2",
    "ppigrf",
    "pygeomag",
    "typst",
    "starlette",
    "uvicorn",
}


@pytest.fixture(scope="session")
def loaded(debriefed, tmp_path_factory) -> dict[str, set[str]]:
    """The modules that each command loads; the debrief is one that writes a report and JSON."""
    folder = tmp_path_factory.mktemp("traced")
    outcomes = run_all(
        {
            "help": Command(["--help"], folder, program=TRACED),
            "inspect": Command(["inspect", CLEAN], folder, program=TRACED),
            "png": Command(["debrief", CLEAN, "-p", PROCEDURE, "--format", "png"], folder, program=TRACED),
            "pdf": Command(["debrief", CLEAN, "-p", PROCEDURE, "--format", "pdf"], folder, program=TRACED),
        }
    )
    outcomes["debrief"] = debriefed["wind_again"]
    for outcome in outcomes.values():
        assert outcome.code == 0, outcome.said_on_the_side()
        assert "analyzer" in outcome.loaded()
    return {name: outcome.loaded() for name, outcome in outcomes.items()}


def packages(modules: set[str]) -> set[str]:
    return {module.partition(".")[0] for module in modules}


def test_help_loads_nothing_heavy(loaded):
    """Not even what reads a command line: of this program two small modules, and of Python what it starts with."""
    assert not {*HEAVY, "typer", "typing", "dataclasses", "re", "enum"} & packages(loaded["help"])
    assert {name for name in loaded["help"] if name.startswith("analyzer")} == {
        "analyzer",
        "analyzer.cli",
        "analyzer.cli.commands",
    }


def test_a_debrief_never_loads_pandas(loaded):
    assert {"numpy", "pydantic", "jinja2"} <= packages(loaded["debrief"])  # the trace does name what is loaded
    for command in ("debrief", "png", "pdf"):
        assert "pandas" not in packages(loaded[command])


def test_what_draws_or_sets_is_loaded_where_it_is_asked_for(loaded):
    """A page draws its own pictures; matplotlib is for PNG, and the typesetting for PDF."""
    assert not {"matplotlib", "typst"} & packages(loaded["debrief"])
    assert {"matplotlib", "typst"} & packages(loaded["png"]) == {"matplotlib"}
    assert {"matplotlib", "typst"} & packages(loaded["pdf"]) == {"typst"}


def test_pictures_are_drawn_without_a_screen(loaded):
    """Matplotlib's figures alone, and not the module that looks for windows and keeps figures alive."""
    assert "matplotlib.figure" in loaded["png"]
    assert "matplotlib.pyplot" not in loaded["png"]


def test_inspect_draws_nothing(loaded):
    assert not {"matplotlib", "pandas", "jinja2"} & packages(loaded["inspect"])


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
