"""`analyzer grade` and `analyzer rubric`: what is said, what is written, what is refused."""

import contextlib
import os
import shutil
import subprocess

import pytest
from command_line import CLEAN, EARLY_DESCENT, MODULE, PROCEDURE, STRONG_WIND, TRACED, Command, run_all, run_all_here

FILES = {
    "own.toml": "title = 'Quorl club'\n[weights]\nturn_bank = 1\n",
    "wrong.toml": "[weights]\nturn_bonk = 1\n",
    "roster.csv": "file,pilot,date\nclean.csv,Ada Quorl,2026-06-14\n",
    "twice.csv": "file,pilot\na,b\na,c\n",
}
GRADE = ("grade", "logs", "-p", PROCEDURE)
ANSWERED = {
    "list": ("rubric", "list"),
    "show protection": ("rubric", "show", "protection"),
    "show even": ("rubric", "show", "even"),
    "show own": ("rubric", "show", "own.toml"),
    "check": ("rubric", "check", "own.toml"),
    "toml": ("rubric", "show", "even", "--toml"),
    "help": ("grade", "--help"),
}
# Each with what its error must say.
REFUSED = {
    "nowhere": (("grade", "lost", "-p", PROCEDURE), "lost: no such folder; give the folder with the logs"),
    "a file": (("grade", CLEAN, "-p", PROCEDURE), "a file, not a folder"),
    "no procedure": (("grade", "logs"), "give either --procedure FILE or --procedures DIR"),
    "two": ((*GRADE, "--procedures", "logs"), "give either --procedure FILE or --procedures DIR"),
    "no procedures": (("grade", "logs", "--procedures", "logs"), "logs: no procedure files (*.toml) there"),
    "no workers": ((*GRADE, "--workers", "0"), "--workers 0: at least 1"),
    "workers of a cluster": ((*GRADE, "--workers", "2", "--cluster", "tcp://x:1"), "leave out one"),
    "a format": ((*GRADE, "--format", "pdf"), "--format pdf: not a format of a class"),
    "a rubric": ((*GRADE, "--rubric", "wrong.toml"), '[weights] turn_bonk: not one of the choices; did you mean "turn_bank"?'),
    "a roster": ((*GRADE, "--roster", "twice.csv"), "line 3: a is on line 2 too"),
    "largest": ((*GRADE, "--largest", "-1"), "--largest -1: must be more than 0, in MB"),
    "no samples": ((*GRADE, "--max-samples", "0"), "--max-samples 0: must be a whole number above zero"),
    "empty": (("grade", "none", "-p", PROCEDURE), "none: no logs there; put in files whose names end in .csv"),
    "check wrong": (("rubric", "check", "wrong.toml"), "turn_bonk: not one of the choices"),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("grade")


@pytest.fixture(scope="module")
def outcomes(folder):
    (folder / "logs").mkdir()
    (folder / "none").mkdir()
    for log in (CLEAN, STRONG_WIND, EARLY_DESCENT):
        shutil.copy(log, folder / "logs")
    (folder / "logs" / "notes.md").write_text("no log", encoding="utf-8")
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    arguments = {**ANSWERED, **{name: arguments for name, (arguments, _) in REFUSED.items()}}
    commands = {name: Command(given, folder) for name, given in arguments.items()}
    found = run_all_here(commands)
    graded = Command(
        [*GRADE, "--roster", "roster.csv", "--workers", "1", "-o", "out", "--rubric", "own.toml"], folder, program=TRACED
    )
    found |= run_all({"graded": graded})
    again = Command([*GRADE, "--roster", "roster.csv", "--workers", "1", "-o", "out", "--rubric", "own.toml"], folder)
    return {**found, **run_all({"again": again})}


@pytest.mark.parametrize("name", REFUSED)
def test_an_error_names_what_is_wrong(outcomes, name):
    assert REFUSED[name][1] in "\n".join(outcomes[name].refused())


@pytest.mark.parametrize("name", ANSWERED)
def test_what_is_asked_is_answered(outcomes, name):
    assert (outcomes[name].code, outcomes[name].err) == (0, "")
    assert max(map(len, outcomes[name].out.splitlines())) <= 80


def test_a_class_is_told_in_80_columns_and_nothing_on_the_side(outcomes):
    graded = outcomes["graded"]
    assert (graded.code, graded.said_on_the_side()) == (0, "")
    lines = graded.out.splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[0] == "Wendle Island VOR 24"
    assert lines[1] == "3 logs, 3 approaches: 2 outside, 1 inside."
    assert any("early_descent.gpx" in line and "outside" in line for line in lines)
    assert any("Ada Quorl" in line and "100%" in line for line in lines)
    assert "roster.csv does not name 2 of 3 logs; they have no pilot." in lines
    assert "1 file is no log by name: notes.md" in lines
    assert lines[-4:] == ["Written:", "  out/class.html", "  out/grades.csv", "  out/details.csv"]


def test_run_again_it_says_what_it_used_again(outcomes):
    assert "Written: 3 of 3 logs were graded before and used again." in outcomes["again"].out
    table = outcomes["graded"].out.partition("Written:")[0]
    assert outcomes["again"].out.startswith(table)


def test_what_is_written(outcomes, folder):
    assert sorted(path.relative_to(folder / "out").as_posix() for path in (folder / "out").rglob("*")) == [
        "class.html", "details.csv", "grades.csv", "rows", "rows/part-00000.jsonl",
    ]  # fmt: skip


def test_it_loads_neither_pandas_nor_what_only_extras_need(outcomes):
    packages = {module.partition(".")[0] for module in outcomes["graded"].loaded()}
    assert not {"pandas", "pyarrow", "distributed", "fsspec"} & packages


def test_rubrics_are_listed_and_shown(outcomes):
    assert [line.split()[0] for line in outcomes["list"].out.splitlines()] == ["even", "protection"]
    shown = outcomes["show protection"].out
    assert "  distance limit          20  1 NM                  fails outright" in shown.splitlines()
    assert "Quorl club (own.toml)" in outcomes["show own"].out
    assert outcomes["check"].out == "Quorl club: 1 check counts, 0 fail outright.\nok\n"


def test_on_a_terminal_it_tells_how_far_it_is(outcomes, folder):
    """On standard error alone, which here is a terminal; standard output is not."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    command = [*MODULE, *map(str, GRADE), "--workers", "1", "-o", "shown", "--format", "csv"]
    environment = {**os.environ, "TERM": "xterm", "COLUMNS": "80"}
    with subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, stderr=theirs, env=environment) as process:  # noqa: S603
        os.close(theirs)
        shown = b""
        with contextlib.suppress(OSError):  # the end of a terminal
            while piece := os.read(ours, 4096):
                shown += piece
        out, _ = process.communicate()
    os.close(ours)
    assert process.returncode == 0
    assert b"grading" in shown
    assert b"3/3" in shown
    assert b"grading" not in out
    assert out.decode().partition("Written:")[0] != ""
