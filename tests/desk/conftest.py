"""Desks for the tests: one that several tests share, and a browser."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from desk_served import Served, served


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
