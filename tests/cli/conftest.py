"""Debriefs run once by the command line, for all tests of it, and the command line run in the tests' own process."""

from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from command_line import (
    CLEAN,
    EARLY_DESCENT,
    MODULE,
    PROCEDURE,
    SCRIPT,
    STRONG_WIND,
    TRACED,
    Command,
    Outcome,
    Runs,
    in_this_process,
    run_all,
)

OLDER = b'<!doctype html>\n<meta name="generator" content="approach-analyzer 0.0.1">\nan older report'


@pytest.fixture(scope="session")
def places(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Path]:
    """The folder that each of the debriefs below was run in."""
    return {name: tmp_path_factory.mktemp(name) for name in ("clean", "wind", "wind_again", "descent")}


@pytest.fixture(scope="session")
def debriefed(places: Mapping[str, Path]) -> Mapping[str, Outcome]:
    """The samples debriefed, two of them twice in processes with different hash seeds, in the ways that users do it."""
    by_script = (SCRIPT,) if SCRIPT is not None else MODULE
    with_procedure = ("-p", PROCEDURE)
    first = {
        "clean": Command(
            ["debrief", CLEAN, "--procedure", PROCEDURE, "--json", "first.json"],
            places["clean"],
            hash_seed=1,
            program=by_script,
        ),
        "wind": Command(
            ["debrief", STRONG_WIND, *with_procedure, "--strict", "-o", "out", "--json", "deep/er/wind.json"], places["wind"], 1
        ),
        "wind_again": Command(
            ["debrief", STRONG_WIND, *with_procedure, "--json", "-", "-o", "out"], places["wind_again"], 2, program=TRACED
        ),
        "descent": Command(["debrief", EARLY_DESCENT, *with_procedure, "--json", "-"], places["descent"], 3),
    }
    outcomes = run_all(first)
    # the same flight in the same folder again, over what is there
    kept = {path.name: path.read_bytes() for path in (places["clean"] / "reports").iterdir()}
    (places["clean"] / "kept").mkdir()
    for name, content in kept.items():
        (places["clean"] / "kept" / name).write_bytes(content)
        (places["clean"] / "reports" / name).write_bytes(OLDER)
    again = Command(["debrief", CLEAN, *with_procedure, "--strict", "--json", "second.json"], places["clean"], hash_seed=2)
    return {**outcomes, **run_all({"clean_again": again})}


@pytest.fixture
def here(tmp_path, monkeypatch, capsys) -> Iterator[Runs]:
    """Runs the command line in this process, in a folder of its own."""
    with in_this_process(tmp_path, monkeypatch, capsys) as runs:
        yield runs
