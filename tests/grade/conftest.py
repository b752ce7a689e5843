"""A class graded once, for all tests that look at what came out."""

from pathlib import Path

import pytest
from class_logs import LARGEST_BYTES, write_mixed, write_procedure

from analyzer.grade.grading import Class, grade
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.settings import read_settings

ROSTER = (
    "Log file;Student;Day\r\nGOOD.csv;Ada Quorl;2026-06-01\r\nfar;Bo Wendle;2026-06-03\r\nelsewhere.csv;Bo Wendle;\r\n"
    "lost.csv;Cy Tarn;2026-06-02\r\n;;\r\n=cmd().csv;=Dee;2026-06-01\r\n"
)


@pytest.fixture(scope="session")
def mixed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with everything that may lie in one; its procedure and a roster beside it."""
    folder = tmp_path_factory.mktemp("mixed")
    write_mixed(folder / "logs")
    write_procedure(folder / "quorl.toml")
    (folder / "roster.csv").write_text(ROSTER, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def mixed_graded(mixed: Path) -> tuple[Class, Path]:
    """The class graded in this process, in all formats, and where."""
    settings = read_settings(mixed / "quorl.toml", largest_bytes=LARGEST_BYTES)
    with local_pool(1) as pool:
        roster = read_roster(mixed / "roster.csv")
        graded = grade(str(mixed / "logs"), settings, pool, str(mixed / "out"), roster, ("csv", "html", "parquet"))
    return graded, mixed / "out"
