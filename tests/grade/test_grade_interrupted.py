"""Asked to end, a run ends at once, whatever it is at: in a line, without a traceback, a process or a half file left."""

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from class_logs import content, write_class, write_procedure

HERE = Path(__file__).parent
PATIENCE_S = 60.0  # where the work would take an hour
AT_ONCE_S = 20.0  # generous: it is well below a second where nothing else runs
LOGS = 4
GOES_ON = "kept in out: run the same command again to go on"
BEFORE = "analyzer: interrupted before any log was graded; the same command begins again\n"

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="looks for processes as Linux shows them")


@pytest.fixture(scope="module")
def graded(tmp_path_factory):
    """A class, and what a run that nothing disturbed writes."""
    base = tmp_path_factory.mktemp("interrupted")
    write_class(base / "logs", LOGS)
    write_procedure(base / "quorl.toml")
    subprocess.run([sys.executable, "-m", "analyzer", *arguments(base, base / "whole", 1)], check=True, capture_output=True)  # noqa: S603
    return base, content(base / "whole")


def arguments(base: Path, output: Path | str, workers: int) -> list[str]:
    where = [str(base / "logs"), "-p", str(base / "quorl.toml"), "-o", str(output), "--workers", str(workers)]
    return ["grade", *where, "--format", "csv"]


class Stuck:
    """The program, stuck at a place of its work, in a folder of its own and a session of its own as a terminal gives it."""

    def __init__(self, base: Path, folder: Path, place: str, workers: int, **options) -> None:
        self.folder = folder
        command = [sys.executable, str(HERE / "stuck.py"), place, *arguments(base, "out", workers)]
        pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
        self.process = subprocess.Popen(command, cwd=folder, start_new_session=True, **(pipes | options))  # noqa: S603
        self.wait_for(lambda: (folder / ".begun").exists() or self.process.poll() is not None)
        self.below = descendants(self.process.pid)

    def wait_for(self, ready) -> None:
        deadline = time.monotonic() + PATIENCE_S
        while not ready():
            assert time.monotonic() < deadline
            time.sleep(0.01)

    def ended_by(self, number: int, *, times: int = 1) -> tuple[int, str]:
        """The exit code, and what was said on standard error."""
        for _ in range(times):
            os.killpg(self.process.pid, number)
        _, said = self.process.communicate(timeout=AT_ONCE_S)
        self.wait_for(lambda: not any(alive(pid) for pid in self.below))
        assert not list(self.folder.rglob(".writing-*"))
        return self.process.returncode, (said or b"").decode()


PLACES = [("listing", 1), ("work", 1), ("work", 2), ("keeping", 1), ("keeping", 2), ("publishing", 1), ("publishing", 2)]


@pytest.mark.parametrize(("place", "workers"), PLACES)
def test_it_ends_at_once_and_goes_on(graded, tmp_path, place, workers):
    base, whole = graded
    code, said = Stuck(base, tmp_path, place, workers).ended_by(signal.SIGINT)
    assert code == 130
    assert "Traceback" not in said
    assert said.count("\n") == 1
    done = said_done(said)
    if place in ("listing", "keeping"):
        assert done == 0
    elif (place, workers) == ("work", 2):  # the other worker may be at any log, and what it has done not be counted yet
        assert done < LOGS
    else:
        assert LOGS - 2 <= done <= (LOGS - 1 if place == "work" else LOGS)
    again = [sys.executable, "-m", "analyzer", *arguments(base, "out", workers)]
    after = subprocess.run(again, cwd=tmp_path, check=True, capture_output=True, text=True)  # noqa: S603
    assert content(tmp_path / "out") == whole
    used_again = re.search(r"(\d) of 4 logs were graded before", after.stdout)
    assert done <= (int(used_again[1]) if used_again is not None else 0)


def said_done(said: str) -> int:
    """How many logs are graded by what is said: those that are kept, unless one more was kept just then."""
    if said == BEFORE:
        return 0
    found = re.match(r"analyzer: interrupted; the (\d) logs? graded so far (?:are|is) ", said)
    assert found is not None
    assert said.endswith(f"{GOES_ON}\n")
    return int(found[1])


@pytest.mark.parametrize("workers", [1, 2])
@pytest.mark.parametrize(("number", "code"), [(signal.SIGTERM, 143), (signal.SIGHUP, 129)])
def test_other_signals_end_it_too(graded, tmp_path, workers, number, code):
    """128 and the signal's number, as shells have it (POSIX, exit status of a command that a signal ended)."""
    found, said = Stuck(graded[0], tmp_path, "work", workers).ended_by(number)
    assert (found, said.count("\n")) == (code, 1)
    assert GOES_ON in said or (workers == 2 and said == BEFORE)  # the other worker's may not be counted yet


@pytest.mark.parametrize("workers", [1, 2])
def test_pressed_again_and_again_it_ends_the_same(graded, tmp_path, workers):
    code, said = Stuck(graded[0], tmp_path, "work", workers).ended_by(signal.SIGINT, times=5)
    assert (code, said.count("\n")) == (130, 1)


def test_while_it_loads_it_ends_without_a_word(graded, tmp_path):
    assert Stuck(graded[0], tmp_path, "loading", 1).ended_by(signal.SIGINT) == (130, "")


def test_killed_outright_its_workers_end_in_the_middle_of_their_work(graded, tmp_path):
    stuck = Stuck(graded[0], tmp_path, "work", 2)
    assert len(stuck.below) >= 3  # the server that forks, and the workers
    stuck.process.kill()
    stuck.process.communicate(timeout=AT_ONCE_S)
    stuck.wait_for(lambda: not any(alive(pid) for pid in stuck.below))


def test_what_the_caller_ignores_is_ignored(graded, tmp_path):
    """As ``nohup`` and shells that run it in the background ask for."""
    stuck = Stuck(graded[0], tmp_path, "work", 2, preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_IGN))
    os.killpg(stuck.process.pid, signal.SIGINT)
    with pytest.raises(subprocess.TimeoutExpired):
        stuck.process.wait(timeout=1.0)
    assert stuck.ended_by(signal.SIGTERM)[0] == 143


@pytest.mark.parametrize("workers", [1, 2])
def test_on_a_terminal_the_bar_makes_room_and_the_cursor_comes_back(graded, tmp_path, workers):
    """The terminal itself sends the interrupt, to all processes on it, for the letter of Ctrl-C."""
    pty = pytest.importorskip("pty")
    fcntl, termios = pytest.importorskip("fcntl"), pytest.importorskip("termios")
    ours, theirs = pty.openpty()
    stuck = Stuck(
        graded[0], tmp_path, "work", workers, stdin=theirs, stdout=theirs, stderr=theirs,
        preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
    )  # fmt: skip
    os.close(theirs)
    os.write(ours, b"\x03")
    said = b""
    while piece := read(ours):
        said += piece
    os.close(ours)
    assert stuck.process.wait(timeout=AT_ONCE_S) == 130
    stuck.wait_for(lambda: not any(alive(pid) for pid in stuck.below))
    assert b"Traceback" not in said
    assert said.rstrip().endswith((GOES_ON.encode(), BEFORE.rstrip().encode()))  # as far as the other worker came by then
    assert said.rindex(b"\x1b[?25h") > said.rfind(b"\x1b[?25l")


def read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 4096)
    except OSError:  # the end of a terminal
        return b""


def descendants(pid: int) -> list[int]:
    found = []
    for children in Path(f"/proc/{pid}/task").glob("*/children"):  # whichever of its threads began them
        for child in children.read_text().split():
            found += [int(child), *descendants(int(child))]
    return found


def alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state != "Z"
