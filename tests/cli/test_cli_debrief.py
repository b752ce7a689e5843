"""`analyzer debrief`: what it prints, writes and exits with."""

import json
import os
import stat
from pathlib import Path

import pytest
from command_line import CLEAN, EARLY_DESCENT, PROCEDURE, SCRIPT

import analyzer
from analyzer.report.exports.json_text import json_text
from analyzer.report.words.summary import summary_text


def files(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def test_it_exits_with_nought_and_says_nothing_on_the_side(debriefed):
    for name in ("clean", "clean_again", "descent", "wind_again"):
        assert debriefed[name].code == 0, debriefed[name].err
    for name in ("clean", "clean_again", "descent", "wind"):
        assert debriefed[name].err == ""


def test_strict_exits_with_one_where_something_is_outside(debriefed):
    """The strong wind's reversal runs past the limit; the clean flight stays inside."""
    assert debriefed["wind"].code == 1
    assert "OUTSIDE" in debriefed["wind"].out
    assert debriefed["clean_again"].code == 0
    assert "INSIDE" in debriefed["clean_again"].out


def test_without_strict_it_exits_with_nought_all_the_same(debriefed):
    assert debriefed["descent"].code == debriefed["wind_again"].code == 0
    for name in ("descent", "wind_again"):
        findings = json.loads(debriefed[name].out)["reversals"][0]["findings"]
        assert "outside" in {finding["verdict"] for finding in findings}


def test_it_prints_the_summary_and_where_the_report_is(debriefed):
    expected = summary_text(analyzer.debrief(analyzer.read_track(CLEAN), analyzer.read_procedure(PROCEDURE)))
    assert debriefed["clean"].out == f"{expected}\nReport: {Path('reports', 'clean.html')}\n"


def test_module_and_script_are_one_program(debriefed):
    if SCRIPT is None:
        pytest.skip("the console script is not installed")
    assert debriefed["clean"].out == debriefed["clean_again"].out


def test_the_report_goes_to_the_folder_reports_unless_told(debriefed, places):
    assert debriefed["clean"].code == 0
    """One file, the page; pictures and other formats only where they are asked for."""
    assert set(files(places["clean"] / "reports")) == {"clean.html"}
    assert set(files(places["wind"])) == {"out/strong_wind.html", "deep/er/wind.json"}


def test_a_report_is_written_over_and_nothing_is_left_behind(debriefed, places):
    assert debriefed["clean_again"].code == 0
    assert files(places["clean"] / "reports") == files(places["clean"] / "kept")
    assert {path.name for path in places["clean"].iterdir()} == {"reports", "kept", "first.json", "second.json"}


def test_files_are_what_their_names_say(debriefed, places):
    for content in files(places["clean"] / "reports").values():
        assert content.startswith(b"<!doctype html>")


def test_others_may_read_what_is_written(debriefed, places):
    for path in (places["clean"] / "reports").iterdir():
        assert stat.S_IMODE(path.stat().st_mode) & 0o444 == 0o444 & ~umask()


def umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def test_the_same_flight_gives_the_same_bytes(debriefed, places):
    """JSON and page (with its SVG) from processes with different hash seeds, in different folders."""
    assert files(places["clean"] / "reports") == files(places["clean"] / "kept")
    assert files(places["clean"])["first.json"] == files(places["clean"])["second.json"]
    wind, again = files(places["wind"]), files(places["wind_again"])
    assert {name: wind[name] for name in wind if name.startswith("out/")} == again
    assert wind["deep/er/wind.json"].decode() == debriefed["wind_again"].out
    procedure = analyzer.read_procedure(PROCEDURE)
    assert debriefed["descent"].out == json_text(analyzer.debrief(analyzer.read_track(EARLY_DESCENT), procedure))


def test_json_on_standard_output_stands_alone(debriefed, places):
    """No summary, and no report unless a folder is named; then the place of the report goes to standard error."""
    document = json.loads(debriefed["descent"].out)
    assert document["track"]["file"] == "early_descent.gpx"
    assert files(places["descent"]) == {}
    assert json.loads(debriefed["wind_again"].out)["track"]["file"] == "strong_wind.csv"
    assert set(files(places["wind_again"])) == {"out/strong_wind.html"}
    assert debriefed["wind_again"].said_on_the_side().split() == ["Report:", str(Path("out", "strong_wind.html"))]


def test_json_is_the_library_s(debriefed, places):
    """The command writes what `to_dict` gives."""
    procedure = analyzer.read_procedure(PROCEDURE)
    document = analyzer.debrief(analyzer.read_track(CLEAN), procedure).to_dict()
    assert json.loads(files(places["clean"])["first.json"]) == document


def test_the_page_and_the_json_tell_of_no_folder(debriefed, places):
    for name, content in files(places["clean"]).items():
        assert str(places["clean"]).encode() not in content, name
        assert str(CLEAN.parent).encode() not in content, name
