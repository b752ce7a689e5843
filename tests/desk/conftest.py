"""Desks for the tests: one that several tests share, and a browser."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from desk_browser import CHROMIUM
from desk_served import Served, served
from playwright.sync_api import Browser, sync_playwright


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A desk that was entered; tests that share it use files of their own."""
    with served(tmp_path_factory.mktemp("shared") / "desk") as desk:
        desk.enter()
        yield desk


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Served]:
    """A desk of one test's own, not entered yet."""
    with served(tmp_path / "desk") as started:
        yield started


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield started
        started.close()
