"""Desks for the tests: one that several tests share, and a browser."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from desk_here import served_here, workers
from desk_served import Served, ServedApart, served

from analyzer.desk.jobs import Jobs


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedApart]:
    """A desk in a process of its own that was entered; tests that share it use files of their own."""
    with served(tmp_path_factory.mktemp("shared") / "desk") as desk:
        desk.enter()
        yield desk


@pytest.fixture(scope="session")
def jobs() -> Iterator[Jobs]:
    with workers() as made:
        yield made


@pytest.fixture
def desk(tmp_path: Path, jobs: Jobs) -> Iterator[Served]:
    """A desk of one test's own, not entered yet."""
    with served_here(tmp_path / "desk", jobs) as started:
        yield started
