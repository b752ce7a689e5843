"""Which files are logs, in what order; patterns; logs and results at addresses."""

import json
import os

import pytest
from class_logs import csv_text, write_procedure

from analyzer.errors import GradeError
from analyzer.grade.grading import grade
from analyzer.grade.logs import find_logs, skipped
from analyzer.grade.one_log import grade_some
from analyzer.grade.task import Task
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.settings import read_settings


@pytest.fixture
def tree(tmp_path):
    for name in (
        "b/x.csv",
        "b.csv",
        "b-1.csv",
        "a/z/y.gpx",
        "B.csv",
        "b/x.txt.gz",
        "Ü.igc",
        ".git/c.csv",
        "b/.c.csv",
        "notes.md",
    ):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("1", encoding="utf-8")
    (tmp_path / "c.gpx").mkdir()
    (tmp_path / "c.gpx" / "inside.csv").write_text("1", encoding="utf-8")
    return tmp_path


def test_logs_come_in_order_of_their_whole_names(tree):
    names = [log.name for log in find_logs(str(tree))]
    assert names == ["B.csv", "a/z/y.gpx", "b-1.csv", "b.csv", "b/x.csv", "b/x.txt.gz", "c.gpx", "Ü.igc"]
    assert names == sorted(names)
    assert [log.name for log in find_logs(str(tree)) if log.size_bytes is None] == ["c.gpx"]


def test_links_to_folders_are_not_followed_round_in_circles(tree):
    before = list(find_logs(str(tree)))
    (tree / "a" / "loop").symlink_to(tree, target_is_directory=True)
    assert list(find_logs(str(tree))) == before


def test_links_and_pipes_are_not_read(tmp_path):
    """A link within the folder is; one out of it is not, and nobody waits for a pipe."""
    logs = tmp_path / "logs"
    logs.mkdir()
    (tmp_path / "secret.csv").write_text(csv_text(), encoding="utf-8")
    (logs / "own.csv").write_text(csv_text(), encoding="utf-8")
    (logs / "within.csv").symlink_to(logs / "own.csv")
    (logs / "out.csv").symlink_to(tmp_path / "secret.csv")
    os.mkfifo(logs / "pipe.csv")
    found = {log.name: log.leads_out for log in find_logs(str(logs))}
    assert found == {"own.csv": False, "within.csv": False, "out.csv": True, "pipe.csv": False}
    settings = read_settings(write_procedure(tmp_path / "quorl.toml"))
    tasks = [Task(log.name, log.address, log.size_bytes, None, log.leads_out) for log in find_logs(str(logs))]
    documents = {done.name: json.loads(done.line) for done in grade_some(settings, tasks)}
    assert documents["out.csv"]["status"] == documents["pipe.csv"]["status"] == "not read"
    assert "outside the folder" in documents["out.csv"]["reason"]
    assert "pipe" in documents["pipe.csv"]["reason"]
    assert documents["own.csv"]["status"] == documents["within.csv"]["status"] == "graded"


def test_what_is_left_out_is_no_log(tree):
    left = frozenset({str((tree / "b.csv").resolve()), str((tree / "b").resolve())})
    assert [log.name for log in find_logs(str(tree), left)] == ["B.csv", "a/z/y.gpx", "b-1.csv", "c.gpx", "Ü.igc"]
    assert skipped(str(tree)) == (1, "notes.md")


def test_a_pattern_takes_what_it_fits(tree):
    assert [log.name for log in find_logs(f"{tree}/b*.csv")] == ["b-1.csv", "b.csv"]
    assert [log.name for log in find_logs(f"{tree}/**/*.csv")] == ["B.csv", "b-1.csv", "b.csv", "b/x.csv", "c.gpx/inside.csv"]
    assert [log.name for log in find_logs(f"{tree}/notes.*")] == ["notes.md"]
    assert list(find_logs(f"{tree}/q*.csv")) == []


@pytest.mark.parametrize(("name", "said"), [("lost", "no such folder"), ("b.csv", "a file, not a folder")])
def test_a_place_that_is_no_folder_is_refused(tree, name, said):
    with pytest.raises(GradeError, match=said):
        list(find_logs(str(tree / name)))


def test_logs_and_results_may_be_at_addresses(tmp_path):
    fsspec = pytest.importorskip("fsspec")
    memory = fsspec.filesystem("memory")
    folder = tmp_path / "logs"
    for name, kind in (("a.csv", "good"), ("deep/b.csv", "far"), ("empty.csv", None)):
        text = csv_text(kind) if kind else ""
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
        memory.pipe_file(f"/class/{name}", text.encode())
    settings = read_settings(write_procedure(tmp_path / "quorl.toml"))
    formats = ("csv", "html", "parquet")
    with local_pool(1) as pool:
        grade(str(folder), settings, pool, str(tmp_path / "out"), formats=formats)
        grade(f"file://{folder}", settings, pool, f"file://{tmp_path}/by file", formats=formats)
        for anew in (3, 0):
            graded = grade("memory://class", settings, pool, "memory://graded", formats=formats)
            assert (graded.logs, graded.graded_anew) == (3, anew)
        by_pattern = grade("memory://class/*.csv", settings, pool, "memory://pattern", formats=("csv",))
    assert by_pattern.logs == 2
    local = {path.relative_to(tmp_path / "out").as_posix(): path.read_bytes() for path in (tmp_path / "out").rglob("*.*")
             if path.is_file()}  # fmt: skip
    assert {name: memory.cat_file(f"/graded/{name}") for name in local} == local
    assert {name.removeprefix("/graded/") for name in memory.find("/graded")} == set(local)
    assert {name: (tmp_path / "by file" / name).read_bytes() for name in local} == local


def test_a_scheme_that_is_none_is_said():
    pytest.importorskip("fsspec")
    with pytest.raises(GradeError, match=r"nowhere://class: fsspec cannot open it"):
        list(find_logs("nowhere://class"))
