"""Help, version, `analyzer inspect` and `analyzer procedure check`."""

from datetime import datetime
from importlib import metadata

import pytest
from command_line import CLEAN, EARLY_DESCENT, PROCEDURE, SAMPLES, SCRIPT, STRONG_WIND, Command, run_all

LOGS = {"inspect clean": CLEAN, "inspect wind": STRONG_WIND, "inspect descent": EARLY_DESCENT}
COMMANDS = ("debrief", "inspect", "procedure", "standard")


@pytest.fixture(scope="session")
def answered(tmp_path_factory):
    folder = tmp_path_factory.mktemp("asked")
    commands = {
        "-h": Command(["-h"], folder),
        "--help": Command(["--help"], folder),
        "--version": Command(["--version"], folder),
        "debrief -h": Command(["debrief", "-h"], folder),
        "nothing": Command([], folder),
        "check": Command(["procedure", "check", PROCEDURE, "--date", "2026-06-14"], folder),
        **{name: Command(["inspect", log], folder) for name, log in LOGS.items()},
    }
    if SCRIPT is not None:
        commands["script -h"] = Command(["-h"], folder, program=(SCRIPT,))
        commands["script --version"] = Command(["--version"], folder, program=(SCRIPT,))
    outcomes = run_all(commands)
    assert not list(folder.iterdir())
    return outcomes


def test_both_ways_to_ask_for_help_answer_alike(answered):
    assert answered["-h"] == answered["--help"]
    assert (answered["-h"].code, answered["-h"].err) == (0, "")
    assert "never for navigation" in " ".join(answered["-h"].out.split())
    for command in COMMANDS:
        assert f"\n  {command} " in answered["-h"].out


def test_help_fits_a_terminal(answered):
    for name in ("-h", "debrief -h"):
        assert max(len(line) for line in answered[name].out.splitlines()) <= 80


def test_help_names_every_option(answered):
    for option in (
        "--procedure", "--output", "--json", "--standard", "--strict", "--column", "--unit", "--start", "--no-altitude",
        "--only", "--log-format", "--explain", "--qnh", "--temperature", "--brief", "--format", "--force",
    ):  # fmt: skip
        assert f"{option} " in answered["debrief -h"].out


def test_the_version_is_the_package_s(answered):
    assert answered["--version"].out == f"analyzer {metadata.version('approach-analyzer')}\n"
    assert answered["--version"].code == 0


def test_the_script_answers_as_the_module_does(answered):
    """But for the name it is called by."""
    if SCRIPT is None:
        pytest.skip("the console script is not installed")
    assert answered["script -h"].out == answered["-h"].out.replace("Usage: python -m analyzer ", "Usage: analyzer ")
    assert answered["script --version"] == answered["--version"]


def test_without_a_command_help_is_shown(answered):
    """Help that was asked for by asking for nothing is no error."""
    assert answered["nothing"].code == 0
    assert all(command in answered["nothing"].out for command in COMMANDS)


@pytest.mark.parametrize("name", LOGS)
def test_inspect_says_how_the_log_was_read(answered, name):
    outcome, log = answered[name], LOGS[name]
    assert (outcome.code, outcome.err) == (0, "")
    lines = outcome.out.splitlines()
    assert max(map(len, lines)) <= 80
    rows = {line[:10].strip(): line[10:] for line in lines if line[:10].strip() and line[0] != " "}
    assert rows["Log"] == log.name
    truth = (SAMPLES / "truth" / f"{log.stem}.csv").read_text(encoding="utf-8").splitlines()[1:]
    first, last = (datetime.fromisoformat(truth[k].split(",", 1)[0]) for k in (0, -1))
    assert rows["Time"].startswith(f"{first:%Y-%m-%d %H:%M:%S} to {last:%H:%M:%S} UTC")
    assert rows["Samples"].startswith(f"{len(truth)}, every 1 s")
    assert rows["Gaps"] == "none"
    assert "48." in rows["Position"]
    assert "W" in rows["Position"]


@pytest.mark.parametrize(
    ("name", "columns"),
    [
        ("inspect clean", ["time_utc", "latitude_deg", "longitude_deg", "altitude_ft"]),
        ("inspect wind", ["date", "time", "lat", "lon", "alt [m]", "ground speed [kt]"]),
        ("inspect descent", ["time", "lat", "lon", "ele"]),
    ],
)
def test_inspect_shows_every_column(answered, name, columns):
    for column in columns:
        assert any(line.startswith(f"  {column} ") for line in answered[name].out.splitlines()), column


def test_check_says_how_the_procedure_is_understood(answered):
    outcome = answered["check"]
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out.endswith("\nok\n")
    # true = magnetic + variation, which is 8° west
    for words in (
        "061° magnetic, 053° true",
        "241° magnetic, 233° true",
        "016° magnetic, 008° true",
        "within 10 NM",
        "8.0° west",
    ):
        assert words in outcome.out
    assert "never for navigation" in outcome.out
    assert max(map(len, outcome.out.splitlines())) <= 80
