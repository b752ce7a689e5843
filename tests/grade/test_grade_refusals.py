"""What grading says where something around it is wrong: files, rights, what is not installed, a cluster that goes."""

import os
import sys
from concurrent.futures import Future

import pytest
from class_logs import csv_text, write_class, write_procedure

from analyzer.errors import GradeError
from analyzer.grade.grading import grade
from analyzer.grade.kept_rows import kept_documents
from analyzer.grade.logs import find_logs
from analyzer.grade.output_folder import open_folder
from analyzer.grade.publish import publish
from analyzer.grade.worker_pool import _ThreadPool, cluster_pool, local_pool
from analyzer.gradebook.index import Index
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.rubric import read_rubric
from analyzer.gradebook.settings import read_settings


@pytest.fixture
def settings(tmp_path):
    return read_settings(write_procedure(tmp_path / "quorl.toml"))


@pytest.mark.parametrize("line", ["no JSON", '["a list"]', '{"file": 7}'])
def test_rows_that_are_none(tmp_path, line):
    (tmp_path / "rows").mkdir()
    (tmp_path / "rows" / "part-00000.jsonl").write_text(line + "\n", encoding="utf-8")
    with pytest.raises(GradeError, match=r"rows/part-00000\.jsonl: not rows of this program; remove the file"):
        list(kept_documents(open_folder(str(tmp_path))))


def test_rows_that_change_while_they_are_read(tmp_path, settings, monkeypatch):
    write_class(tmp_path / "logs", 2)
    with local_pool(1) as pool:
        grade(str(tmp_path / "logs"), settings, pool, str(tmp_path / "out"), formats=("csv",))

    def longer(documents, roster) -> Index:
        made = index_of(documents, roster)
        (part,) = (tmp_path / "out" / "rows").iterdir()
        part.write_bytes(part.read_bytes().splitlines(keepends=True)[0])
        return made

    from analyzer.gradebook.index import index_of

    monkeypatch.setattr("analyzer.grade.publish.index_of", longer)
    with pytest.raises(GradeError, match="the rows changed while they were read; run one grading at a time there"):
        publish(open_folder(str(tmp_path / "out")), settings, None, ("csv",))


def test_a_place_that_cannot_be_written_or_read(tmp_path, settings):
    """A file where a folder should be: no rights get past that."""
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / "a.csv").write_text(csv_text(), encoding="utf-8")
    (tmp_path / "file").touch()
    for output in ("file", "file/below"):
        with local_pool(1) as pool, pytest.raises(GradeError, match=rf"{output}: cannot be written: .*; choose another place"):
            grade(str(tmp_path / "logs"), settings, pool, str(tmp_path / output))
    folder = open_folder(str(tmp_path))
    with pytest.raises(GradeError, match=r"file/table\.csv: cannot be written: .*; choose another place with -o"), \
            folder.writing("file/table.csv"):  # fmt: skip
        pass
    with pytest.raises(GradeError, match=r"file/rows: cannot be written: .*; choose another place with -o"):
        folder.move("file", "file/rows")
    with pytest.raises(GradeError, match=r"gone\.jsonl: cannot be read: No such file or directory; check the permissions"):
        folder.read("gone.jsonl")


def test_a_folder_of_logs_that_goes_while_it_is_listed(tmp_path, monkeypatch):
    write_class(tmp_path / "logs", 2)

    def gone(path):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "scandir", gone)
    with pytest.raises(GradeError, match=r"logs: cannot be read: Permission denied; check the name and the permissions"):
        list(find_logs(str(tmp_path / "logs"), frozenset()))


def test_rosters_and_rubrics_that_are_none(tmp_path, monkeypatch):
    roster, rubric = tmp_path / "roster.csv", tmp_path / "own.toml"
    roster.write_text("file,pilot\n" + '"' + "a" * 200_000 + '",b\n', encoding="utf-8")
    with pytest.raises(GradeError, match=r"roster\.csv: not CSV: field larger than field limit .*; export the roster again"):
        read_roster(roster)
    monkeypatch.setattr("analyzer.gradebook.roster._LARGEST_BYTES", 2**17)
    with pytest.raises(GradeError, match=r"roster\.csv: larger than 0 MiB, too long for a roster; is it a log\?"):
        read_roster(roster)
    rubric.write_bytes(b"title = '\xff'\n")
    with pytest.raises(GradeError, match=r"own\.toml: cannot be read: .*; give a text file in UTF-8"):
        read_rubric(rubric)


@pytest.mark.parametrize(
    ("missing", "call", "said"),
    [
        ("distributed", lambda: cluster_pool("tcp://127.0.0.1:1"), "--cluster needs Dask: install approach-analyzer with the"),
        (
            "fsspec",
            lambda: open_folder("s3://quorl/out"),
            "s3://quorl/out: addresses need fsspec: install approach-",
        ),
    ],
)
def test_what_is_not_installed_is_named(monkeypatch, missing, call, said):
    monkeypatch.setitem(sys.modules, missing, None)
    with pytest.raises(GradeError, match=said):
        call()


class GonePool(_ThreadPool):
    """A cluster that goes: what is handed over is cancelled, as a client of one does."""

    def submit(self, *_work):
        future: Future = Future()
        future.cancel()
        future.set_running_or_notify_cancel()
        return future


def test_a_cluster_that_goes_is_said(tmp_path, settings):
    write_class(tmp_path / "logs", 2)
    with (
        GonePool() as pool,
        pytest.raises(GradeError, match="the cluster is gone; what is graded is kept: run the command again"),
    ):
        grade(str(tmp_path / "logs"), settings, pool, str(tmp_path / "out"))
