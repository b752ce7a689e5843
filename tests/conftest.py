"""What all tests share: this folder on the path, so that any of them can build flights with `synthetic`, and one browser."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def browser() -> "Iterator[Browser]":
    """Debian's chromium, one for all tests, since playwright runs once in a process; each test opens a context of its own."""
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=30_000)  # a machine under load takes as long; what never comes still fails
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"])
        yield started
        started.close()
