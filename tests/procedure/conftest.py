"""The invented procedure for each test to change, and a way to write it as a file."""

import copy
from collections.abc import Callable
from pathlib import Path

import pytest
from wendle import COMPLETE, Tables, toml


@pytest.fixture
def tables() -> Tables:
    return copy.deepcopy(COMPLETE)


@pytest.fixture
def write(tmp_path: Path) -> Callable[[Tables | str], Path]:
    def writer(content: Tables | str) -> Path:
        path = tmp_path / "wendle.toml"
        path.write_text(content if isinstance(content, str) else toml(content), encoding="utf-8")
        return path

    return writer
