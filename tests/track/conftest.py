"""Logs written to a folder of the test's own, and read."""

from pathlib import Path

import pytest
from flights import Reader

from analyzer.track.read import ReadOptions, read_track
from analyzer.track.track import Track


@pytest.fixture
def read(tmp_path: Path) -> Reader:
    """Write a log and read it; the file is called ``log.csv`` unless told."""

    def reader(content: str | bytes, options: ReadOptions | None = None, name: str = "log.csv") -> Track:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_track(path, options)

    return reader
