"""The same bytes from a Dask scheduler whose workers are processes of their own, one of which is killed in mid-run."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

import pytest
from class_logs import content, write_class, write_procedure

from analyzer.errors import GradeError
from analyzer.grade.grading import grade
from analyzer.grade.worker_pool import cluster_pool, local_pool
from analyzer.gradebook.settings import read_settings

pytest.importorskip("distributed")
LOGS = 40
PATIENCE_S = 60.0


@contextmanager
def running(module: str, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    command = [sys.executable, "-m", f"distributed.cli.{module}", *arguments]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # noqa: S603
    try:
        yield process
    finally:
        process.kill()
        process.wait()


def until(ready) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while not ready():
        assert time.monotonic() < deadline
        time.sleep(0.05)


def test_a_worker_that_is_killed_costs_nothing_and_the_bytes_are_the_same(tmp_path):
    logs, procedure = write_class(tmp_path / "logs", LOGS), write_procedure(tmp_path / "quorl.toml")
    settings = read_settings(procedure)
    with local_pool(1) as pool:
        grade(str(logs), settings, pool, str(tmp_path / "one"), formats=("csv",))
    told = tmp_path / "scheduler.json"
    with ExitStack() as stack:
        stack.enter_context(
            running("dask_scheduler", "--scheduler-file", str(told), "--host", "127.0.0.1", "--port", "0", "--no-dashboard")
        )
        until(lambda: told.exists() and told.read_text(encoding="utf-8").strip().endswith("}"))
        workers = [
            stack.enter_context(
                running(
                    "dask_worker", "--scheduler-file", str(told), "--nthreads", "1", "--no-nanny", "--no-dashboard",
                    "--local-directory", str(tmp_path / f"worker{k}"),
                )
            )
            for k in range(2)
        ]  # fmt: skip
        address = json.loads(told.read_text(encoding="utf-8"))["address"]
        from distributed import Client

        with Client(address, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=PATIENCE_S)
        done: list[int] = []

        def tell(number: int) -> None:
            if not done:
                os.kill(workers[0].pid, signal.SIGKILL)
            done.append(number)

        with cluster_pool(address) as pool:
            assert pool.size == 2
            graded = grade(str(logs), settings, pool, str(tmp_path / "cluster"), formats=("csv",), tell=tell)
        assert workers[0].wait(PATIENCE_S) == -signal.SIGKILL
        assert workers[1].poll() is None
    assert sum(done) == LOGS
    assert (graded.logs, graded.graded_anew) == (LOGS, LOGS)
    assert content(tmp_path / "cluster") == content(tmp_path / "one")


def test_a_scheduler_that_does_not_answer_is_said(monkeypatch):
    monkeypatch.setattr("analyzer.grade.worker_pool._CONNECT_S", 0.5)
    with pytest.raises(GradeError, match=r"--cluster tcp://127.0.0.1:1: no scheduler answers there"):
        cluster_pool("tcp://127.0.0.1:1")
