"""What the command line refuses: one or two lines that name the place and the remedy, exit 2, no traceback, nothing written."""

import os
import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from command_line import CLEAN, PROCEDURE, Command, Outcome, Runs, in_this_process, run_all_here

JUNK = random.Random(7).randbytes(4000)  # noqa: S311 (a file of any bytes)


@dataclass(frozen=True)
class Refusal:
    """Arguments, and what the error must say: where, and the remedy."""

    arguments: tuple[str, ...]
    place: str
    remedy: str


LOG, CHART = str(CLEAN), str(PROCEDURE)

# Each in a process of its own.
REFUSALS = {
    "missing log": Refusal(("debrief", "none.csv", "-p", CHART), "none.csv", "No such file"),
    "junk for a log": Refusal(("debrief", "junk.csv", "-p", CHART), "junk.csv", "export the log as"),
    "wrong key": Refusal(("debrief", LOG, "-p", "key.toml"), "key.toml: [reversal] sides", "did you mean side?"),
    "unknown standard": Refusal(("debrief", LOG, "-p", CHART, "--standard", "faa"), "faa", "built in are: common-practice"),
    "file for a folder": Refusal(("debrief", LOG, "-p", CHART, "-o", "junk.toml"), "junk.toml", "choose another place with -o"),
    "unknown column": Refusal(("debrief", LOG, "-p", CHART, "--column", "altitude=height"), "'height'", "altitude_ft"),
}

# The same way to the same exit, tried without a process for each.
MORE = {
    "missing procedure": Refusal(("debrief", LOG, "-p", "none.toml"), "none.toml", "give the path of a procedure file"),
    "folder for a log": Refusal(("debrief", "folder", "-p", CHART), "folder", "name one file"),
    "empty log": Refusal(("debrief", "empty.csv", "-p", CHART), "empty.csv", "empty"),
    "folder for a procedure": Refusal(("debrief", LOG, "-p", "folder"), "folder", "give the path of a procedure file"),
    "junk for a procedure": Refusal(("debrief", LOG, "-p", "junk.toml"), "junk.toml", "save the file as UTF-8"),
    "log for a procedure": Refusal(("debrief", LOG, "-p", LOG), CLEAN.name, "is this a log?"),
    "procedure for a log": Refusal(("debrief", CHART, "-p", CHART), PROCEDURE.name, "is this a procedure file?"),
    "no altitude": Refusal(("debrief", "flat.csv", "-p", CHART), "flat.csv", "--no-altitude"),
    "inspect nothing": Refusal(("inspect", "none.csv"), "none.csv", "No such file"),
    "inspect junk": Refusal(("inspect", "junk.csv"), "junk.csv", "export the log as"),
    "check nothing": Refusal(("procedure", "check", "none.toml"), "none.toml", "give the path of a procedure file"),
    "check a wrong key": Refusal(("procedure", "check", "key.toml"), "key.toml: [reversal] sides", "did you mean side?"),
}
USAGE = {
    "column without =": Refusal(("--column", "altitude"), "--column altitude", "with = between"),
    "column of no quantity": Refusal(("--column", "height=altitude_ft"), "'height'", "use one of time"),
    "unit without =": Refusal(("--unit", "altitude"), "--unit altitude", "with = between"),
    "unit that is none": Refusal(("--unit", "altitude=furlong"), "--unit altitude=furlong", "use one of m, ft"),
    "unit of another quantity": Refusal(("--unit", "altitude=kt"), "--unit altitude=kt", "use one of m, ft"),
    "start that is no instant": Refusal(("--start", "noon"), "--start noon", "2026-06-14T09:00:00Z"),
    "only without =": Refusal(("--only", "tail"), "--only tail", "with = between"),
    "only of no column": Refusal(("--only", "tail=A1"), "'tail'", "latitude_deg"),
    "no log format": Refusal(("--log-format", "none.toml"), "none.toml", "No such file"),
    "folder for a standard": Refusal(("--standard", "folder"), "folder", "built in are"),
    "procedure for a standard": Refusal(("--standard", CHART), PROCEDURE.name, "is not a limit of any check"),
    "folder for the JSON": Refusal(("--json", "folder", "-o", "out"), "folder", "Is a directory"),
}


@pytest.fixture(scope="session")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with one of each thing that is no log or procedure."""
    folder = tmp_path_factory.mktemp("scene")
    (folder / "folder").mkdir()
    (folder / "empty.csv").touch()
    (folder / "junk.csv").write_bytes(JUNK)
    (folder / "junk.toml").write_bytes(JUNK)
    chart = PROCEDURE.read_text(encoding="utf-8")
    (folder / "key.toml").write_text(chart.replace("[altitudes]", 'sides = "left"\n[altitudes]'), encoding="utf-8")
    rows = CLEAN.read_text(encoding="utf-8").splitlines()
    (folder / "flat.csv").write_text("\n".join(row.rsplit(",", 1)[0] for row in rows), encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def refused(scene: Path) -> dict[str, Outcome]:
    before = sorted(scene.rglob("*"))
    outcomes = run_all_here({name: Command(refusal.arguments, scene) for name, refusal in REFUSALS.items()})
    assert sorted(scene.rglob("*")) == before, "a refused command wrote something"
    return outcomes


@pytest.mark.parametrize("name", REFUSALS)
def test_the_error_names_the_place_and_the_remedy(refused, name):
    error = "\n".join(refused[name].refused())
    assert REFUSALS[name].place in error
    assert REFUSALS[name].remedy in error


@pytest.mark.parametrize("name", [name for name in REFUSALS if name != "file for a folder"])
def test_nothing_else_is_printed(refused, name):
    assert refused[name].out == ""


@pytest.fixture
def here(scene, monkeypatch, capsys) -> Iterator[Runs]:
    """Runs the command line in this process, in the scene."""
    with in_this_process(scene, monkeypatch, capsys) as runs:
        yield runs


@pytest.mark.parametrize("name", MORE)
def test_more_errors_name_the_place_and_the_remedy(here, name):
    outcome = here(*MORE[name].arguments)
    error = "\n".join(outcome.refused())
    assert MORE[name].place in error
    assert MORE[name].remedy in error
    assert outcome.out == ""


@pytest.mark.parametrize("name", USAGE)
def test_wrong_usage_is_named_with_its_remedy(here, name):
    error = "\n".join(here("debrief", LOG, "-p", CHART, *USAGE[name].arguments).refused())
    assert USAGE[name].place in error
    assert USAGE[name].remedy in error


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_is_named(here, tmp_path):
    locked = tmp_path / "locked"
    locked.mkdir(mode=0o555)
    error = "\n".join(here("debrief", LOG, "-p", CHART, "-o", str(locked)).refused())
    assert str(locked) in error
    assert "choose another place with -o" in error


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (["debrief", LOG], "--procedure"),
        (["debrief", "-p", CHART], "LOG"),
        (["debrief", LOG, "-p", CHART, "--nonsense"], "--nonsense"),
        (["nonsense"], "nonsense"),
        (["debrief", LOG, "-p", CHART, "--nonsense"], "(see analyzer debrief --help)"),
        (["standard", "show", "--nonsense"], "(see analyzer standard show --help)"),
        (["procedure", "check", CHART, "--date", "2026-13-01"], "--date 2026-13-01: not a day like 2026-06-14"),
        (["brief", CHART], "no speed given: add"),
    ],
)
def test_a_wrong_command_is_named(here, arguments, named):
    outcome = here(*arguments)
    assert named in "\n".join(outcome.refused())
    assert outcome.out == ""
