"""What an earlier run left is used again, finished or not: what is interrupted goes on, and ends in the same bytes."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from class_logs import content, csv_text, write_class, write_procedure

from analyzer.errors import GradeError
from analyzer.grade.grading import grade
from analyzer.grade.kept_rows import Earlier
from analyzer.grade.output_folder import open_folder
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.settings import read_settings

LOGS = 16
CSV = ("csv",)
PATIENCE_S = 60.0
EMPTY = {
    "page": False,
    "sheet": None,
    "procedure": None,
    "approaches": [],
    "flown_as": [],
}  # of a row, as far as it is looked at


@pytest.fixture(scope="module")
def graded(tmp_path_factory):
    """A class, its settings, and the output of a run that nothing disturbed."""
    base = tmp_path_factory.mktemp("resume")
    write_class(base / "logs", LOGS)
    settings = read_settings(write_procedure(base / "quorl.toml"))
    with local_pool(1) as pool:
        grade(str(base / "logs"), settings, pool, str(base / "whole"), formats=CSV)
    return base, settings


def again(base: Path, settings, output: str, tell=lambda _: None):
    with local_pool(1) as pool:
        return grade(str(base / "logs"), settings, pool, str(base / output), formats=CSV, tell=tell)


def test_a_second_run_grades_nothing_and_writes_the_same(graded):
    base, settings = graded
    before = content(base / "whole")
    assert again(base, settings, "whole").graded_anew == 0
    assert content(base / "whole") == before


@pytest.mark.parametrize("after", [1, 7])
def test_an_interruption_loses_at_most_what_is_in_work(graded, after):
    base, settings = graded
    output, told = f"interrupted{after}", []

    def tell(number):
        told.append(number)
        if sum(told) >= after:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        again(base, settings, output, tell)
    kept = content(base / output)
    assert all(name.startswith("unfinished/") for name in kept)
    assert again(base, settings, output).graded_anew == LOGS - sum(told)
    assert content(base / output) == content(base / "whole")


def test_interruptions_of_a_grown_class_add_up(graded, monkeypatch):
    """Parts of two logs. Interrupted, logs come before and between, interrupted again: what was graded is graded once."""
    base, settings = graded
    monkeypatch.setattr("analyzer.grade.kept_rows.PART_LOGS", 2)
    folder = base / "growing"
    names = sorted(path.name for path in (base / "logs" / "group0").iterdir())
    anew, kept = [], []

    def run(most: int | None) -> None:
        told = []

        def tell(number):
            told.append(number)
            if most is not None and sum(told) >= most:
                kept.append(sum(told))
                raise KeyboardInterrupt

        with local_pool(1) as pool:
            done = grade(str(folder), settings, pool, str(base / "grown"), formats=CSV, tell=tell)
            anew.append(done.graded_anew)

    folder.mkdir()
    for name in names[2:6]:
        shutil.copy(base / "logs" / "group0" / name, folder / name)
    with pytest.raises(KeyboardInterrupt):
        run(3)
    for name in names[:2]:
        shutil.copy(base / "logs" / "group0" / name, folder / name)
    with pytest.raises(KeyboardInterrupt):
        run(1)
    for name in names[6:]:
        shutil.copy(base / "logs" / "group0" / name, folder / name)
    run(None)
    assert anew == [len(names) - sum(kept)]
    run(None)
    assert anew[1] == 0
    with local_pool(1) as pool:
        grade(str(folder), settings, pool, str(base / "at once"), formats=CSV)
    assert content(base / "grown") == content(base / "at once")


def test_what_changed_is_graded_again_and_what_is_gone_goes(graded):
    base, settings = graded
    shutil.copytree(base / "logs", base / "changing")
    with local_pool(1) as pool:
        grade(str(base / "changing"), settings, pool, str(base / "changed"), formats=CSV)
        (base / "changing" / "group0" / "flight000.csv").write_text(csv_text("far", seed=99), encoding="utf-8")
        (base / "changing" / "group1" / "flight001.csv").unlink()
        done = grade(str(base / "changing"), settings, pool, str(base / "changed"), formats=CSV)
    assert (done.logs, done.graded_anew) == (LOGS - 1, 1)
    assert b"flight001" not in b"".join(content(base / "changed").values())


def test_other_settings_grade_all_anew(graded):
    base, settings = graded
    shutil.copytree(base / "whole", base / "other")
    rubric = read_settings(base / "quorl.toml", rubric="even")
    standard = read_settings(base / "quorl.toml", standard="icao-ops")
    assert len({settings.fingerprint, rubric.fingerprint, standard.fingerprint}) == 3
    assert settings.fingerprint == read_settings(base / "quorl.toml").fingerprint
    with local_pool(1) as pool:
        assert grade(str(base / "logs"), rubric, pool, str(base / "other"), formats=CSV).graded_anew == LOGS


def test_with_pages_asked_for_logs_without_are_graded_again(graded):
    base, settings = graded
    folder = base / "few"
    folder.mkdir()
    shutil.copy(base / "logs" / "group0" / "flight000.csv", folder)
    with_pages = read_settings(base / "quorl.toml", pages=True)
    with local_pool(1) as pool:
        anew = [
            grade(str(folder), chosen, pool, str(base / "paged"), formats=CSV).graded_anew
            for chosen in (settings, with_pages, with_pages, settings)
        ]
        (base / "paged" / "pages" / "2026-06-01-1000-flight000.html").unlink()
        anew.append(grade(str(folder), with_pages, pool, str(base / "paged"), formats=CSV).graded_anew)
    assert anew == [1, 1, 0, 0, 1]


def test_earlier_runs_are_read_in_order_whatever_their_files(tmp_path):
    settings = read_settings(write_procedure(tmp_path / "quorl.toml"))
    out = tmp_path / "out"

    def put(name: str, *logs: str, made_by: str = settings.fingerprint) -> None:
        (out / name).parent.mkdir(parents=True, exist_ok=True)
        lines = [json.dumps({**EMPTY, "file": log, "sha256": f"{name}", "made_by": made_by}) for log in logs]
        (out / name).write_text("\n".join([*lines, ""]), encoding="utf-8")

    put("rows/part-00000.jsonl", "b", "d", "f")
    put("rows/part-00001.jsonl", "h", "k", "x")
    put("unfinished/part-1.jsonl", "a", "c", "x")
    put("unfinished/chunk-2.jsonl", "d", "e")
    put("unfinished/chunk-3.jsonl", "g", "i", made_by="another")
    earlier = Earlier(open_folder(str(out)), settings)
    found = {log: earlier.line(log) for log in "aabcdefghijklmxyz"}
    assert {log: line[0] for log, line in found.items() if line is not None and log != "a"} == {
        "b": "rows/part-00000.jsonl", "c": "unfinished/part-1.jsonl", "d": "rows/part-00000.jsonl",
        "e": "unfinished/chunk-2.jsonl",
        "f": "rows/part-00000.jsonl", "h": "rows/part-00001.jsonl", "k": "rows/part-00001.jsonl",
        "x": "unfinished/part-1.jsonl",
    }  # fmt: skip


def grading(base: Path, output: Path, workers: int) -> list[str]:
    """The command that grades the class."""
    where = [str(base / "logs"), "-p", str(base / "quorl.toml"), "-o", str(output)]
    return [sys.executable, "-m", "analyzer", "grade", *where, "--workers", str(workers), "--format", "csv"]


def test_a_run_that_is_killed_leaves_no_half_files_and_no_workers(graded):
    base, _ = graded
    output = base / "killed"
    command = grading(base, output, 2)
    environment = {**os.environ, "PYTHONWARNINGS": "error"}
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment)  # noqa: S603
    wait_for(lambda: any(output.glob("unfinished/*.jsonl")) or process.poll() is not None)
    below = [pid for pid in descendants(process.pid) if alive(pid)]
    assert len(below) >= 3 or process.poll() is not None  # the server that forks, and the workers
    process.send_signal(signal.SIGKILL)
    process.wait()
    for path in output.glob("unfinished/*.jsonl"):
        if not path.name.startswith("."):
            assert all(json.loads(line)["file"] for line in path.read_bytes().splitlines())
    wait_for(lambda: not any(alive(pid) for pid in below))
    done = subprocess.run(command, capture_output=True, env=environment, check=True)  # noqa: S603
    assert b"were graded before and used again" in done.stdout
    assert content(output) == content(base / "whole")


def test_a_folder_that_another_run_grades_into_is_left_alone(graded):
    base, settings = graded
    output = base / "held"
    with open_folder(str(output)).held(), pytest.raises(GradeError, match=r"held: another run is grading into it; wait for it"):
        again(base, settings, "held")
    assert not output.exists()  # made to be held, and taken away as nothing came into it
    assert again(base, settings, "held").graded_anew == LOGS
    before = content(output)
    with open_folder(str(output)).held(), pytest.raises(GradeError):
        again(base, settings, "held")
    assert content(output) == before
    assert again(base, settings, "held").graded_anew == 0


def test_runs_into_one_folder_at_once(graded):
    """Whichever of them holds it grades; the others say so; what they leave is what one run leaves."""
    base, _ = graded
    output = base / "at once by three"
    command = grading(base, output, 1)
    runs = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(3)]  # noqa: S603
    told = [run.communicate(timeout=PATIENCE_S)[1].decode() for run in runs]
    codes = [run.returncode for run in runs]
    assert 0 in codes
    for code, said in zip(codes, told, strict=True):
        assert (code == 0) if not said else (code == 2 and "another run is grading into it" in said)
    assert content(output) == content(base / "whole")


def wait_for(ready) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while not ready():
        assert time.monotonic() < deadline
        time.sleep(0.01)


def descendants(pid: int) -> list[int]:
    found = []
    for children in Path(f"/proc/{pid}/task").glob("*/children"):  # whichever of its threads began them
        for child in children.read_text().split():
            found += [int(child), *descendants(int(child))]
    return found


def alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state != "Z"
