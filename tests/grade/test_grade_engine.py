"""Handing out the work: chunks, what fails, and workers that end over a log."""

import multiprocessing
import os
import signal
import time
from collections.abc import Sequence
from contextlib import suppress

import pytest
from class_logs import content, csv_text, write_class, write_procedure

from analyzer.errors import GradeError
from analyzer.grade.engine import in_chunks
from analyzer.grade.grading import grade
from analyzer.grade.one_log import Graded, grade_some
from analyzer.grade.task import Task
from analyzer.grade.worker_pool import _ProcessPool, _ThreadPool, local_pool
from analyzer.grade.worker_processes import Processes
from analyzer.gradebook.settings import Settings, read_settings


def tasks(number: int) -> list[Task]:
    return [Task(f"{k:04d}", f"{k:04d}", 1) for k in range(number)]


@pytest.mark.parametrize("number", [0, 1, 5, 500])
def test_chunks_hold_all_in_order_and_grow(number):
    chunks = list(in_chunks(tasks(number), pages=False))
    assert [task for chunk in chunks for task in chunk] == tasks(number)
    assert max((len(chunk) for chunk in chunks), default=0) <= 25
    assert [len(chunk) for chunk in chunks[:4]] == [1] * min(4, number)
    assert max((len(chunk) for chunk in in_chunks(tasks(number), pages=True)), default=0) <= 4


class TwoArgumentsError(Exception):
    """An error that is sent, and cannot be put together again where it comes to."""

    def __init__(self, one: str, two: str) -> None:
        super().__init__(one + two)


def grade_or_cannot_say(settings: Settings, chosen: Sequence[Task]) -> tuple[Graded, ...]:
    """The work with an error that does not come through a pipe as it is."""
    if any("odd" in task.name for task in chosen):
        raise TwoArgumentsError("neither here ", "nor there")
    return grade_some(settings, chosen)


def grade_or_fail(settings: Settings, chosen: Sequence[Task]) -> tuple[Graded, ...]:
    """The work with a defect, and with a log that ends the process."""
    if any("defect" in task.name for task in chosen):
        raise ZeroDivisionError("by nothing\nat all")
    if any("deadly" in task.name for task in chosen):
        os._exit(9)
    return grade_some(settings, chosen)


class FailingThread(_ThreadPool):
    def submit(self, settings, tasks):
        return self._executor.submit(grade_or_fail, settings, tasks)


class FailingProcesses(_ProcessPool):
    def __init__(self):
        super().__init__(2)
        self._processes = Processes(2, grade_or_fail)


@pytest.mark.parametrize(("failing", "deadly"), [(FailingThread, False), (FailingProcesses, True)])
def test_a_log_that_the_program_fails_on_costs_one_row(tmp_path, failing, deadly):
    folder = tmp_path / "logs"
    folder.mkdir()
    names = [f"log{k:02d}.csv" for k in range(12)]
    names += ["log05-defect.csv", *(["log08-deadly.csv"] if deadly else [])]
    for k, name in enumerate(names):
        (folder / name).write_text(csv_text(seed=k % 3), encoding="utf-8")
    settings = read_settings(write_procedure(tmp_path / "quorl.toml"))
    with failing() as pool:
        graded = grade(str(folder), settings, pool, str(tmp_path / "out"), formats=("csv",))
    assert graded.logs == len(names)
    listed = {listed.row["file"]: listed.row for listed in graded.published.tally.worst()}
    assert sorted(listed) == sorted(names)
    failed = {name: row for name, row in listed.items() if row["status"] == "not analysed"}
    assert failed["log05-defect.csv"]["reason"] == (
        "this program fails on it, which is a bug in the program: ZeroDivisionError: by nothing at all"
    )
    if deadly:
        assert failed["log08-deadly.csv"]["reason"].startswith("two workers ended while grading it")
    assert len(failed) == 1 + deadly
    with local_pool(1) as pool:  # what failed is tried again, and nothing else
        again = grade(str(folder), settings, pool, str(tmp_path / "out"), formats=("csv",))
    assert again.graded_anew == 1 + deadly
    assert again.published.tally.statuses["not analysed"] == 0


def test_workers_killed_at_any_moment_cost_nothing(tmp_path):
    logs, procedure = write_class(tmp_path / "logs", 30), write_procedure(tmp_path / "quorl.toml")
    settings = read_settings(procedure)
    with local_pool(1) as pool:
        grade(str(logs), settings, pool, str(tmp_path / "undisturbed"), formats=("csv",))
    killed: list[int] = []

    def tell(number: int) -> None:
        with pool._processes._book:
            alive = sorted(worker.pid for worker in multiprocessing.active_children())
        if alive:
            killed.append(alive[len(killed) % len(alive)])
            with suppress(ProcessLookupError):
                os.kill(killed[-1], signal.SIGKILL)
                while True:  # until it is gone: a log is given up that loses two workers, were it two killed before they had it
                    os.kill(killed[-1], 0)
                    time.sleep(0.001)

    with local_pool(2) as pool:
        graded = grade(str(logs), settings, pool, str(tmp_path / "disturbed"), formats=("csv",), tell=tell)
    assert (graded.logs, graded.graded_anew) == (30, 30)
    assert len(set(killed)) > 3
    assert content(tmp_path / "disturbed") == content(tmp_path / "undisturbed")
    assert not multiprocessing.active_children()


def test_an_error_that_cannot_be_sent_is_told_all_the_same(tmp_path):
    folder = tmp_path / "logs"
    folder.mkdir()
    for name in ("good.csv", "odd.csv"):
        (folder / name).write_text(csv_text(), encoding="utf-8")
    with _ProcessPool(2) as pool:
        pool._processes = Processes(2, grade_or_cannot_say)
        graded = grade(
            str(folder), read_settings(write_procedure(tmp_path / "quorl.toml")), pool, str(tmp_path / "out"), formats=("csv",)
        )
    rows = {listed.row["file"]: listed.row for listed in graded.published.tally.worst()}
    assert rows["odd.csv"]["reason"].endswith("a bug in the program: TwoArgumentsError: neither here nor there")
    assert rows["good.csv"]["status"] == "graded"
    assert not multiprocessing.active_children()


@pytest.mark.parametrize("error", [BlockingIOError(11, "Resource temporarily unavailable"), EOFError("unexpected EOF")])
def test_where_no_worker_can_be_begun_every_log_says_so(tmp_path, monkeypatch, error):
    logs = write_class(tmp_path / "logs", 2)
    settings = read_settings(write_procedure(tmp_path / "quorl.toml"))

    def refused(self):
        raise error

    monkeypatch.setattr(Processes, "_begun", refused)
    with local_pool(2) as pool:
        graded = grade(str(logs), settings, pool, str(tmp_path / "out"), formats=("csv",))
    assert graded.published.tally.statuses["not analysed"] == 2
    assert all("more memory than there is" in listed.row["reason"] for listed in graded.published.tally.worst())


def test_no_workers_are_refused():
    with pytest.raises(GradeError, match="--workers 0: at least 1"):
        local_pool(0)
