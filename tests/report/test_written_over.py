"""What a report may be written over: older reports, and nothing else; never what was read, and no other log's report."""

import os
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

import analyzer
from analyzer.errors import AnalyzerError
from analyzer.report.exports import formats
from analyzer.report.exports.formats import FORMATS, Format, Output
from analyzer.report.exports.write import check_ours, write_file, write_json, write_new, write_report
from analyzer.report.words.caution import CAUTION

README = f"# My aeroplane\n\nDebriefed with approach-analyzer.\n\n{CAUTION}\n".encode()


@pytest.fixture(scope="module")
def debrief(debriefs):
    return debriefs["clean.csv"]


def called(debrief: analyzer.Debrief, name: str) -> analyzer.Debrief:
    """The same debrief of a log of another name."""
    motion = debrief.motion
    curves = replace(motion.curves, track=replace(motion.track, file=name))
    return replace(debrief, motion=replace(motion, curves=curves))


@pytest.mark.parametrize("name", FORMATS)
def test_a_file_that_only_names_the_program_is_no_report(debrief, name, tmp_path):
    """A README that recommends it, and quotes its caution, is its author's own."""
    suffix = FORMATS[name].suffix
    (tmp_path / f"mine{suffix}").write_bytes(README)
    with pytest.raises(AnalyzerError, match="is not a report"):
        check_ours(tmp_path / f"mine{suffix}", b"time,height\r\n", force=False)
    (tmp_path / f"mine{suffix}").write_bytes(b"")
    check_ours(tmp_path / f"mine{suffix}", README, force=False)  # nothing is lost of a file that is empty


def test_a_text_of_another_kind_is_no_report_whatever_it_is_called(debrief, tmp_path):
    """The page does not take the place of JSON, nor the JSON that of a page, though both are ours."""
    (page,) = write_report(debrief, tmp_path)
    with pytest.raises(AnalyzerError, match="is not a report"):
        write_json(page.rename(tmp_path / "page.json"), "{}", force=False)


@pytest.fixture
def small(monkeypatch) -> None:
    """Formats that write a word each, by the names that they have."""

    def word(form: Format) -> Format:
        return replace(form, write=lambda _: iter([Output(form.suffix, b"a report")]))

    monkeypatch.setattr(formats, "FORMATS", {name: word(form) for name, form in FORMATS.items()})


@pytest.mark.usefixtures("small")
@pytest.mark.parametrize("name", FORMATS)
def test_what_was_read_is_never_written_over(debrief, name, tmp_path):
    """Not with `force`, and not by another name."""
    suffix = FORMATS[name].suffix
    report = tmp_path / f"2026-06-14-0912-clean{suffix}"
    report.write_bytes(b"what was read")
    (tmp_path / "link").symlink_to(report)
    with pytest.raises(AnalyzerError, match="is an input file and is not overwritten"):
        write_report(debrief, tmp_path, (name,), force=True, inputs=[tmp_path / "link"])
    for write in (write_json, lambda path, text, **rest: write_new(path, text.encode(), **rest)):
        with pytest.raises(AnalyzerError, match="is an input file"):
            write(report, "{}", force=True, inputs=[report])
    assert report.read_bytes() == b"what was read"


@pytest.mark.usefixtures("small")
def test_two_logs_of_one_name_have_two_reports(debrief, tmp_path):
    names = ["x.csv", "x.gpx", "x.igc", "x.kml", "x.txt", "x-2.csv", "x", "x.csv.gz", "x.gpx.gz", "x.gz", "x.csv.zip"]
    written = [path for name in names for path in write_report(called(debrief, name), tmp_path, force=True)]
    assert len(set(written)) == len({"x.csv" if name == "x" else name for name in names})
    names = {path.name.removeprefix("2026-06-14-0912-") for path in written}
    assert {"x.html", "x.gpx.html", "x.igc.html", "x-2.html", "x.csv.gz.html", "x.gpx.gz.html"} < names


@pytest.mark.usefixtures("small")
def test_two_logs_of_one_name_flown_at_other_times_have_two_reports(debriefs, tmp_path):
    """As a simulator names them: every flight is log.csv."""
    flown = [called(debriefs[name], "log.csv") for name in ("clean.csv", "strong_wind.csv")]
    written = [path.name for debrief in flown for path in write_report(debrief, tmp_path)]
    assert written == ["2026-06-14-0912-log.html", "2026-06-28-1540-log.html"]


class Unpainted:
    """A picture whose drawing is not painted, where only its name is looked at."""

    def savefig(self, content, **_) -> None:
        content.write(b"a picture")


def test_the_second_approach_of_one_log_is_not_the_first_of_another(debriefs, debrief, tmp_path, monkeypatch):
    """Whatever logs are called, no two pictures of them have one name."""
    monkeypatch.setattr("analyzer.report.pictures.figures.figure_of", lambda _: Unpainted())
    several = called(debriefs["two_approaches.csv"], "x.csv")
    made = [path.name for path in write_report(several, tmp_path, ("png",))]
    assert "2026-06-14-0912-x-plan-2.png" in made
    for other in ("x-2.csv", "x-plan.csv", "x-plan-2.csv", "x-hold.csv"):
        made += [path.name for path in write_report(called(debrief, other), tmp_path / other, ("png",))]
    assert len(set(made)) == len(made)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_nothing_is_written_into_a_pipe_or_a_device(tmp_path):
    """A pipe would be waited for, and a device replaced by a file."""
    os.mkfifo(tmp_path / "pipe.json")
    (tmp_path / "null.json").symlink_to("/dev/null")
    for name in ("pipe.json", "null.json"):
        for force in (False, True):
            with pytest.raises(AnalyzerError, match="not an ordinary file"):
                write_json(tmp_path / name, "{}", force=force)
        with pytest.raises(AnalyzerError, match="not an ordinary file"):
            write_file(tmp_path / name, b"{}")


def test_a_log_that_is_an_export_of_ours_stays(debriefs, tmp_path):
    """The map file of a debrief is a log that can be debriefed in its turn, in its own folder."""
    (exported,) = write_report(debriefs["clean.csv"], tmp_path, ("kml",))
    log = tmp_path / "clean.csv.kml"
    shutil.move(exported, log)
    before = log.read_bytes()
    with pytest.raises(AnalyzerError, match="is an input file"):
        check_ours(log, before, force=False, inputs=[log])
    assert log.read_bytes() == before
    assert Path(log).exists()


@pytest.mark.usefixtures("small")
def test_a_log_with_a_long_name_has_a_report_of_its_own(debrief, tmp_path):
    """Linux allows names of 255 bytes, to which day, hour and ending are added."""
    names = ["a" * 250 + ".csv", "a" * 249 + "b.csv", "é" * 120 + ".csv"]
    written = [path for name in names for path in write_report(called(debrief, name), tmp_path)]
    assert len(set(written)) == len(names)
    assert all(path.exists() and len(path.name.encode()) < 255 for path in written)
