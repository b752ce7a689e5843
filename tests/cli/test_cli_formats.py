"""Where `debrief` writes what: `--format` and `-o`, what does not fit together, and the same bytes for the same flight."""

import gc
import io
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from command_line import CLEAN, PROCEDURE, STRONG_WIND, Command, run_all, run_here

from analyzer.cli.app import main
from analyzer.cli.options import folder_of
from analyzer.cli.output import destination
from analyzer.errors import AnalyzerError

ALL = "html,pdf,png,svg,json,csv,markdown,geojson,kml"
STEM = "2026-06-28-1540-strong_wind"  # when the log begins, and its name
NAMES = {
    *(f"{STEM}.{kind}" for kind in ("html", "pdf", "json", "md", "geojson", "kml")),
    *(f"{STEM}-{name}.{kind}" for name in ("plan", "profile", "final", "strips") for kind in ("png", "svg")),
    *(f"{STEM}-{name}.csv" for name in ("track", "parts", "findings")),
}  # fmt: skip


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.fixture(scope="session")
def twice(tmp_path_factory):
    """All formats of one flight, written by two processes with different hash seeds in different folders."""
    folders = [tmp_path_factory.mktemp(name) for name in ("one", "other")]
    arguments = ["debrief", STRONG_WIND, "-p", PROCEDURE, "--format", ALL, "-o", "out"]
    outcomes = run_all({str(seed): Command(arguments, folder, hash_seed=seed) for seed, folder in enumerate(folders, 1)})
    return [(outcome, files(folder / "out")) for outcome, folder in zip(outcomes.values(), folders, strict=True)]


def test_all_formats_are_written_and_told(twice):
    outcome, written = twice[0]
    assert (outcome.code, outcome.err) == (0, "")
    assert set(written) == NAMES
    written = outcome.out[outcome.out.index("Report:") :].removeprefix("Report:").split()
    assert {Path(one) for one in written} == {Path("out", name) for name in NAMES}
    assert written[0] == str(Path("out", f"{STEM}.html"))


@pytest.mark.parametrize("name", sorted(NAMES))
def test_the_same_flight_gives_the_same_bytes(twice, name):
    (_, one), (_, other) = twice
    assert one[name] == other[name]


@dataclass(frozen=True)
class Done:
    code: int
    out: bytes
    err: str


@pytest.fixture
def here(tmp_path, monkeypatch) -> Iterator[Callable[..., Done]]:
    """Debriefs a flight by the command line in this process, in a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def runs(*arguments: str) -> Done:
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True) for _ in range(2))
        monkeypatch.setattr(sys, "argv", ["analyzer", "debrief", str(STRONG_WIND), "-p", str(PROCEDURE), *arguments])
        monkeypatch.setattr(sys, "stdout", out)
        monkeypatch.setattr(sys, "stderr", err)
        with pytest.raises(SystemExit) as stopped:
            main()
        return Done(int(stopped.value.code or 0), out.buffer.getvalue(), err.buffer.getvalue().decode())

    collecting = gc.isenabled()
    yield runs
    if collecting:
        gc.enable()  # the program switches it off for its short life


SUFFIXES = ("html", "pdf", "json", "md", "geojson", "kml")


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_file_is_named_by_its_suffix(here, twice, tmp_path, suffix):
    """The same bytes as in a folder, under the name that was asked for, and nothing else."""
    done = here("-o", f"deep/mine.{suffix}")
    assert (done.code, done.err) == (0, "")
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [tmp_path / "deep" / f"mine.{suffix}"]
    assert (tmp_path / "deep" / f"mine.{suffix}").read_bytes() == twice[0][1][f"{STEM}.{suffix}"]
    assert done.out.decode().endswith(f"\nReport: {Path('deep', f'mine.{suffix}')}\n")


@pytest.mark.parametrize(("arguments", "suffix"), [((), "html"), (("--format", "json"), "json"), (("--format", "pdf"), "pdf")])
def test_on_standard_output_it_stands_alone(here, twice, tmp_path, arguments, suffix):
    done = here("-o", "-", *arguments)
    assert done == Done(0, twice[0][1][f"{STEM}.{suffix}"], "")
    assert list(tmp_path.iterdir()) == []


def test_json_beside_a_report_and_alone(here, twice, tmp_path):
    """`--json -` writes a report only where one is asked for, and says so on standard error."""
    json = twice[0][1][f"{STEM}.json"]
    assert here("--json", "-") == Done(0, json, "")
    assert list(tmp_path.iterdir()) == []
    done = here("--json", "-", "--format", "markdown")
    assert (done.code, done.out) == (0, json)
    assert done.err.split() == ["Report:", str(Path("reports", f"{STEM}.md"))]
    done = here("--json", "beside.json", "-o", "page.html")
    assert done.code == 0
    assert (tmp_path / "beside.json").read_bytes() == json
    assert {path.name for path in tmp_path.iterdir()} == {"reports", "beside.json", "page.html"}


# What was asked for, and what the one line that refuses it must say.
REFUSED = {
    "no format": (("--format", "docx"), ("--format docx", "html, pdf, png, svg, json, csv, markdown, geojson, kml")),
    "one of them is none": (("--format", "html,htm"), ("--format htm", "choose from")),
    "empty": (("--format", " , "), ("--format", "names no format")),
    "several into a file": (("--format", "html,pdf", "-o", "x.html"), ("-o x.html", "name a folder")),
    "another suffix": (("--format", "pdf", "-o", "x.html"), ("-o x.html", "file of format html")),
    "several to standard output": (("--format", "html,pdf", "-o", "-"), ("-o -", "takes one format")),
    "pictures to a file": (("-o", "x.png"), ("-o x.png", "png makes several files", "name a folder")),
    "drawings to a file": (("-o", "x.svg"), ("-o x.svg", "svg makes several files")),
    "tables to a file": (("-o", "x.csv"), ("-o x.csv", "csv makes several files")),
    "pictures to standard output": (("--format", "png", "-o", "-"), ("-o -", "png makes several files")),
    "both on standard output": (("--json", "-", "-o", "-"), ("--json -", "-o -", "leave out one")),
    "paper of no PDF": (("--paper", "a4"), ("--paper a4", "--format pdf")),
    "paper of a knee card": (("--format", "pdf", "--paper", "a5"), ("--paper a5", "a4, letter")),
    "explained on paper": (("--explain", "turn_bank", "--paper", "a4"), ("--explain", "--paper")),
    "explained and written": (("--explain", "turn_bank", "--format", "pdf"), ("--explain", "--format")),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_does_not_fit_together_is_refused_in_one_line(here, tmp_path, case):
    arguments, words = REFUSED[case]
    done = here(*arguments)
    assert (done.code, done.out) == (2, b"")
    assert done.err.startswith("analyzer: ")
    assert done.err.count("\n") == 1
    assert all(word in done.err for word in words)
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_report_is_left_alone_unless_forced(here, tmp_path):
    (tmp_path / "mine.html").write_text("<p>my own page", encoding="utf-8")
    done = here("-o", "mine.html")
    assert done.code == 2
    assert done.err.count("\n") == 1
    assert "mine.html: exists and is not a report" in done.err
    assert "--force" in done.err
    assert files(tmp_path) == {"mine.html": b"<p>my own page"}
    assert here("-o", "mine.html", "--force").code == 0
    page = files(tmp_path)["mine.html"]
    assert page.startswith(b"<!doctype html>")
    assert here("-o", "mine.html").code == 0  # now it is a report
    assert files(tmp_path) == {"mine.html": page}


def test_a_folder_with_such_a_name_is_a_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "d.html").mkdir()
    assert destination("d.html", None, force=False).folder == Path("d.html")
    assert destination("d.html", "pdf,png", force=False).formats == ("pdf", "png")


@pytest.mark.parametrize(
    ("output", "formats", "folder", "file", "meant"),
    [
        (None, None, "reports", None, ("html",)),
        (None, "pdf", "reports", None, ("pdf",)),
        ("out", "PDF, png,pdf", "out", None, ("pdf", "png")),
        ("out.d/x", None, "out.d/x", None, ("html",)),
        ("report.htm/", None, "report.htm", None, ("html",)),
        ("flights.2026", None, "flights.2026", None, ("html",)),
        ("..", None, "..", None, ("html",)),
        ("x.HTML", None, None, "x.HTML", ("html",)),
        ("x.md", "markdown", None, "x.md", ("markdown",)),
        ("-", "kml", None, None, ("kml",)),
    ],
)
def test_what_is_meant(output, formats, folder, file, meant):
    found = destination(output, formats, force=False)
    assert (found.folder, found.file) == (Path(folder) if folder else None, Path(file) if file else None)
    assert found.formats == meant


@pytest.mark.parametrize("output", ["report.htm", "x/Report.DOCX", "flight.txt"])
def test_a_name_like_that_of_a_file_is_no_folder_unless_it_says_so(output):
    """Whoever writes report.htm means a page, and would find a folder."""
    with pytest.raises(AnalyzerError, match=r"files end in \.html, .*; write .*/ if it is to be a folder"):
        destination(output, None, force=False)


@pytest.mark.parametrize("output", ["best.html", "x/Sheet.PDF", "marks.xlsx"])
def test_so_is_it_where_a_command_names_the_files_itself(output, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(AnalyzerError, match=f"-o {output}: must be a folder.*Write {output}/ for one of that name"):
        folder_of(output)
    assert folder_of(f"{output}/") == Path(output)
    Path(output).mkdir(parents=True)
    assert folder_of(output) == Path(output)


@pytest.mark.parametrize("command", ["compare", "grade", "brief"])
def test_commands_that_make_folders_refuse_the_name_of_a_file(command, tmp_path):
    given = [PROCEDURE] if command == "brief" else [CLEAN, "-p", PROCEDURE]
    outcome = run_here(Command([command, *given, "-o", "best.html"], tmp_path))
    assert "best.html/" in outcome.refused()[0]
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_format_is_told_before_the_log_is_read(here):
    """Else a long log would be read in vain."""
    with pytest.raises(AnalyzerError, match="not a format"):
        destination("out", "docx", force=False)
    assert "docx" in here("--format", "docx", "--unit", "nonsense").err
