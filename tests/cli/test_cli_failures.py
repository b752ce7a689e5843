"""What the program exits with when things go wrong around it: readers that leave, full disks, its own faults."""

import subprocess
import sys
from pathlib import Path

import pytest
from command_line import CLEAN, MODULE, PROCEDURE, Command, run_here

FULL = Path("/dev/full")
DEBRIEF = ("debrief", str(CLEAN), "--procedure", str(PROCEDURE), "--json", "-")


def ran(arguments, **streams):
    return subprocess.run([*MODULE, *arguments], stderr=subprocess.PIPE, text=True, check=False, **streams)  # noqa: S603


@pytest.mark.skipif(not FULL.exists(), reason="needs /dev/full")
@pytest.mark.parametrize("arguments", [DEBRIEF, ("inspect", str(CLEAN)), ("procedure", "check", str(PROCEDURE))])
def test_a_full_disk_is_told_in_a_line(arguments):
    with FULL.open("w") as full:
        done = ran(arguments, stdout=full)
    assert done.returncode == 2
    assert done.stderr == "analyzer: standard output: No space left on device\n"


def test_a_reader_that_leaves_is_no_error_of_ours():
    """As a shell reports a program ended by SIGPIPE."""
    with subprocess.Popen([*MODULE, *DEBRIEF], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:  # noqa: S603
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        said = process.stderr.read()
        code = process.wait(60)
    assert (code, said) == (141, b"")


@pytest.mark.parametrize("place", [0, 1, 3])
def test_debug_adds_the_traceback_wherever_it_stands(place, tmp_path):
    arguments = ["debrief", str(tmp_path / "none.csv"), "--procedure", str(PROCEDURE)]
    plain = run_here(Command([*arguments], tmp_path))
    arguments.insert(place if place < 3 else len(arguments), "--debug")
    debugged = run_here(Command(arguments, tmp_path))
    assert plain.code == debugged.code == 2
    assert "Traceback" not in plain.err
    assert "Traceback" in debugged.err
    assert debugged.err.endswith(plain.err)


def test_a_fault_of_the_program_is_told_in_a_line_and_by_its_own_code():
    """A command that is broken on purpose, in the program as it is otherwise."""
    broken = (
        "import sys; import analyzer.track.read as read\n"
        "def fails(*_): raise ZeroDivisionError('by\\nnought')\n"
        "read.read_track = fails\n"
        "from analyzer.cli.app import main; main()"
    )
    for more, traced in ((), False), (("--debug",), True):
        command = [sys.executable, "-c", broken, "inspect", str(CLEAN), *more]
        done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603
        assert ("Traceback" in done.stderr) == traced
        if not traced:
            assert done.returncode == 70
            assert done.stderr.count("\n") == 1
            assert "ZeroDivisionError: by nought" in done.stderr
