"""The one private name of a library that the program reads: the process of multiprocessing's fork server."""

import multiprocessing
import subprocess
import sys

import pytest

ENDED = """
import os, time
from multiprocessing import forkserver
from analyzer.grade.worker_processes import _end_server

forkserver.ensure_running()
pid = forkserver._forkserver._forkserver_pid
os.kill(pid, 0)
_end_server()
until = time.monotonic() + 20.0
while os.waitpid(pid, os.WNOHANG) == (0, 0):
    assert time.monotonic() < until, "the fork server is still there"
    time.sleep(0.01)
print("ended")
"""


@pytest.mark.skipif("forkserver" not in multiprocessing.get_all_start_methods(), reason="processes are not forked here")
def test_the_server_that_forks_is_found_and_ended():
    """Its process id has no public name. Where this fails, a release of Python has moved it, and `_end_server` ends nothing."""
    command = [sys.executable, "-c", ENDED]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)  # noqa: S603 (our own text)
    assert (done.stdout, done.returncode) == ("ended\n", 0), done.stderr
