"""What all tests share: this folder on the path, so that any of them can build flights with `synthetic`, and one browser."""

import gc
import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser

# A shell has what it starts in the background ignore an interrupt, and so would the programs that tests interrupt
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
if hasattr(signal, "SIGHUP") and signal.getsignal(signal.SIGHUP) is signal.SIG_IGN:  # as `nohup` has it
    signal.signal(signal.SIGHUP, signal.SIG_DFL)

# Some hundred tests start the program in a process of its own: compiled anew each time, its modules take longer than its work
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# The same examples in every run, so that a run that fails fails again, however long one takes on a machine under load; new ones
# with --hypothesis-profile=default
settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")

sys.path.insert(0, str(Path(__file__).parent))

# All that is collected stays until the end; to look for garbage in it takes a third of the time of collecting
gc.disable()


def pytest_collection_finish() -> None:
    gc.enable()
    gc.freeze()


@pytest.fixture(scope="session")
def browser() -> "Iterator[Browser]":
    """Debian's chromium, one for all tests, since playwright runs once in a process; each test has a tab of its own in it."""
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=30_000)  # a machine under load takes as long; what never comes still fails
    arguments = ["--no-sandbox", "--disable-gpu", "--process-per-site"]  # of a context, so that its tabs start warm
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=arguments)
        yield started
        started.close()
