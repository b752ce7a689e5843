"""The process that grades a class for the desk: how far it says it is, that it ends at once, and that it goes on."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from desk_classes import graded, many_alike, spring
from desk_served import served

from analyzer.desk.class_files import ClassFiles
from analyzer.desk.class_pages import count_class
from analyzer.desk.class_run import run_workers
from analyzer.desk.class_runs import Run
from analyzer.errors import GradeError

SOON_S = 60.0


@contextmanager
def begun(files: ClassFiles) -> Iterator[subprocess.Popen[bytes]]:
    """A run, whose input is closed afterwards if it was not before."""
    command = [sys.executable, "-m", "analyzer.desk.class_run", str(files.store.folder), files.name]
    process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)  # noqa: S603 (our own program)
    try:
        yield process
    finally:
        stopped(process)


def stopped(process: subprocess.Popen[bytes]) -> int:
    """The exit code of a run whose input ends."""
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.close()
    code = process.wait(SOON_S)
    process.stdout.close()
    return code


def heard(process: subprocess.Popen[bytes], enough: Callable[[dict[str, int]], bool]) -> dict[str, int]:
    """What it says first that is enough."""
    assert process.stdout is not None
    for line in process.stdout:
        said = json.loads(line)
        if enough(said):
            return dict(said)
    raise AssertionError("it ended")


def gone(pid: int) -> bool:
    """Whether a process has ended; one that nobody waited for yet counts as ended."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


@pytest.fixture
def many(tmp_path: Path) -> ClassFiles:
    files = spring(tmp_path / "desk", roster="")
    many_alike(files, 60)
    return files


def test_it_ends_at_once_with_its_input_and_goes_on_from_there(many: ClassFiles):
    with begun(many) as process:
        heard(process, lambda said: said["done"] >= 5)
        assert stopped(process) == 0
    count = count_class(str(many.store.folder), many.name)
    assert 5 <= count.graded < count.logs == 63
    kept = {path: path.read_bytes() for path in (many.folder / "graded" / "unfinished").iterdir()}
    progress = graded(many)
    assert progress[0] == (0, 63)
    assert progress[-1] == (63, 63)
    assert count_class(str(many.store.folder), many.name).waiting == 0
    rows = b"".join(path.read_bytes() for path in (many.folder / "graded" / "rows").iterdir())
    assert all(line in rows for content in kept.values() for line in content.splitlines())  # used, not made again
    assert not (many.folder / "graded" / "unfinished").exists()


def test_one_that_is_killed_leaves_what_it_graded(many: ClassFiles):
    with begun(many) as process:
        heard(process, lambda said: said["done"] >= 5)
        process.kill()
    assert 5 <= count_class(str(many.store.folder), many.name).graded < 63
    graded(many)
    assert count_class(str(many.store.folder), many.name).waiting == 0


@pytest.mark.skipif(not hasattr(os, "nice"), reason="priorities as POSIX has them")
def test_it_runs_at_low_priority_and_nothing_of_it_is_left(many: ClassFiles):
    with begun(many) as process:
        heard(process, lambda said: said["done"] >= 1)
        tree = [process.pid, *below(process.pid)]
        assert min(os.getpriority(os.PRIO_PROCESS, pid) for pid in tree) >= min(19, os.getpriority(os.PRIO_PROCESS, 0) + 15)
    until = time.monotonic() + SOON_S
    while not all(map(gone, tree)) and time.monotonic() < until:
        time.sleep(0.05)
    assert all(map(gone, tree))


def below(pid: int) -> list[int]:
    """The processes below one."""
    found = []
    for one in Path("/proc").iterdir():
        if one.name.isdigit():
            try:
                parent = int((one / "stat").read_text().rpartition(")")[2].split()[1])
            except OSError:
                continue
            if parent == pid:
                found += [int(one.name), *below(int(one.name))]
    return found


def test_a_second_one_on_the_same_class_is_refused(many: ClassFiles):
    with begun(many) as first:
        heard(first, lambda said: said["done"] >= 1)
        with pytest.raises(GradeError, match="another run is grading into it"):
            graded(many)
        with begun(many) as second:
            assert "another run is grading into it" in str(heard(second, lambda said: "fault" in said)["fault"])


def test_it_ends_with_a_desk_that_is_ended_and_nothing_is_complained_of(many: ClassFiles):
    with served(many.store.folder) as desk:
        desk.enter()
        assert desk.ask("POST", "/classes/Spring/grade", b"").status == 303
        until = time.monotonic() + SOON_S
        while '"done":0' in desk.ask("GET", "/classes/Spring/progress").text and time.monotonic() < until:
            time.sleep(0.1)
        tree = below(desk.process.pid)
        desk.process.send_signal(signal.SIGINT)
        _, complaints = desk.process.communicate(timeout=SOON_S)
    assert (desk.process.returncode, complaints) == (0, "")
    while not all(map(gone, tree)) and time.monotonic() < until:
        time.sleep(0.05)
    assert all(map(gone, tree))


def test_a_core_is_left_to_the_desk():
    assert [run_workers(cores) for cores in (1, 2, 4, 64)] == [1, 1, 3, 63]


def test_what_is_said_of_a_run():
    run = Run("Spring", sheets=False)
    assert run.words() == "Beginning."
    run.heard(b'{"done": 40, "total": 200}\n')
    assert run.words() == "40 of 200 logs graded."
    run.heard(b"not JSON\n")
    run.heard(b'{"done": 120, "total": 200}\n')
    assert run.words().startswith("120 of 200 logs graded, about ")
    run.under_way, run.stopped = False, True
    assert run.words() == "Stopped. 120 of 200 logs graded; what is done is kept."
    run.heard(b'{"fault": "no logs there"}\n')
    assert run.words() == "no logs there"
