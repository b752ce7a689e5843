"""Reports and command line where it is hard: gaps, wrong sides, odd names and terminals, wrong usage."""

import ast
import copy
import itertools
import json
import math
import os
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest
from command_line import Command, run_here
from drawn import inks, line_through, points
from report_flights import LOGS, PROCEDURE, charted

import analyzer
from analyzer.procedure.schema import Procedure
from analyzer.report.pages.debrief_page import debrief_page
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.page_pictures import draw_pictures
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.profile import profile
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.style import INK, LEG_COLOUR
from analyzer.report.pictures.subject import Subject
from analyzer.report.words.summary import summary_text

ROOT = Path(analyzer.__file__).resolve().parents[1]

CLEAN, CHART = LOGS["clean.csv"], PROCEDURE


def run(*arguments, cwd: Path, **environment):
    return subprocess.run(  # noqa: S603 - our own interpreter
        [sys.executable, "-m", "analyzer", *map(str, arguments)],
        cwd=cwd, env={**os.environ, **environment}, capture_output=True, timeout=120, check=False,
    )  # fmt: skip


def test_a_reversal_on_the_wrong_side_is_told_and_not_a_crash(tmp_path):
    """A finding in words has no margin, outside or not."""
    chart = tmp_path / "right.toml"
    text = CHART.read_text(encoding="utf-8")
    chart.write_text(re.sub(r"offset_course_deg.*\n", "", text.replace('side = "left"', 'side = "right"')), encoding="utf-8")
    done = run_here(Command(["debrief", CLEAN, "-p", chart, "--strict"], tmp_path))
    assert "Traceback" not in done.err
    assert done.code == 1
    assert "charted right" in " ".join(done.out.split())


def test_a_straight_in_where_a_reversal_is_charted_is_no_pass(debriefs):
    """The log does not tell whether a clearance excused it, so no verdict is given."""
    debrief = debriefs["straight_in.csv"]
    assert debrief.approaches[0].reversal.flown == "straight-in"
    assert "\nINSIDE: " not in summary_text(debrief)


def test_nothing_is_drawn_across_a_gap(debriefs):
    """A minute is missing on the inbound leg: profile and plan view leave it open."""
    debrief = debriefs["with_gap.csv"]
    (gap,) = debrief.motion.track.gaps
    subject = Subject(debrief, debrief.approaches[0])
    for name, width, figure in (("profile", 2.2, profile(subject, WIDE)), ("plan", 1.8, plan_view(subject, WIDE))):
        (line,) = line_through(figure, LEG_COLOUR["inbound"], width)
        steps = np.hypot(*np.diff(points(line), axis=0).T) if name == "plan" else np.diff(points(line)[:, 0])
        assert np.nanmax(steps) < 0.5, f"{name}: a step of {np.nanmax(steps):.2f} NM across the gap"
    assert gap.end_s - gap.start_s == 61.0


def test_no_minute_is_marked_in_a_gap(debriefs):
    """Its tick would stand at the far side of the gap, where the aircraft was not yet."""
    debrief = debriefs["with_gap.csv"]
    states = debrief.motion.states.between(debrief.approaches[0].reversal.parts[0].start_s, math.inf)
    whole = np.arange(math.ceil(states.time_s[0] / 60.0), math.floor(states.time_s[-1] / 60.0) + 1) * 60.0
    (gap,) = debrief.motion.track.gaps
    figure = plan_view(Subject(debrief, debrief.approaches[0]), WIDE)
    middles = [points(line).mean(axis=0) for line in line_through(figure, INK, 0.9)]
    marked = sum(not gap.start_s < minute < gap.end_s for minute in whole)
    assert len(middles) == marked < len(whole)


def test_the_final_leg_ends_where_the_log_does(debriefs):
    """Two flights in one log, 45 minutes apart."""
    first = debriefs["two_approaches.csv"].approaches[0]
    final = first.reversal.parts[-1]
    assert final.name == "final"
    assert final.duration_s < 300.0


def test_strips_show_all_of_a_straight_in(debriefs):
    """Its first passage of the fix is the inbound one."""
    debrief = debriefs["straight_in.csv"]
    start = strips(Subject(debrief, debrief.approaches[0]), WIDE).panels[0].frame.x[0]
    assert start <= debrief.approaches[0].reversal.part("inbound").start_s + 1.0


@pytest.mark.parametrize("name", ["cut_short.csv", "straight_in.csv", "with_gap.csv", "two_approaches.csv"])
@pytest.mark.parametrize("draw", [plan_view, profile, strips])
def test_no_word_lies_on_another(debriefs, name, draw):
    debrief = debriefs[name]
    figure = draw(Subject(debrief, debrief.approaches[0]), WIDE)
    over = [
        (one, other) for (one, ink), (other, other_ink) in itertools.combinations(inks(figure), 2) if (ink & other_ink).any()
    ]
    assert over == []


@pytest.mark.skipif(sys.platform == "win32" or sys.platform == "darwin", reason="file names are Unicode there")
@pytest.mark.parametrize("json_too", [False, True])
def test_a_file_name_that_is_not_utf_8_is_no_crash(tmp_path, json_too):
    """A name in Latin-1 on Linux."""
    log = os.fsdecode(os.fsencode(tmp_path) + b"/flug_\xfc.csv")
    shutil.copy(CLEAN, log)
    done = run("debrief", log, "-p", CHART, *(["--json", "-"] if json_too else []), cwd=tmp_path)
    assert b"Traceback" not in done.stderr
    if json_too:
        json.loads(done.stdout.decode("utf-8"))


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii"])
def test_json_on_standard_output_is_utf_8_wherever_it_runs(tmp_path, encoding):
    """RFC 8259, 8.1: UTF-8, whatever the terminal's code page."""
    done = run("debrief", CLEAN, "-p", CHART, "--json", "-", cwd=tmp_path, PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    assert b"Traceback" not in done.stderr
    assert json.loads(done.stdout.decode("utf-8"))["version"] == 2


def test_a_terminal_without_the_signs_is_no_crash(tmp_path):
    """The degree sign on an ASCII terminal."""
    done = run("inspect", CLEAN, cwd=tmp_path, PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert b"Traceback" not in done.stderr
    assert done.returncode == 0


def test_letters_that_the_font_lacks_make_no_noise(tmp_path):
    """A fix named in kanji."""
    chart = tmp_path / "kanji.toml"
    chart.write_text(CHART.read_text(encoding="utf-8").replace('name = "WND"', 'name = "\u7a7a\u6e2f"'), encoding="utf-8")
    done = run("debrief", CLEAN, "-p", chart, cwd=tmp_path)
    assert done.returncode == 0
    assert done.stderr == b""


@pytest.mark.skipif(sys.platform == "win32", reason="such names cannot be made there")
def test_control_characters_of_a_file_name_do_not_reach_the_terminal(tmp_path):
    """A line break would split the title, an escape sequence recolour the terminal."""
    log = tmp_path / "a\nb\x1b[31mc.csv"
    shutil.copy(CLEAN, log)
    done = run_here(Command(["debrief", log, "-p", CHART], tmp_path))
    assert done.out.splitlines()[1] == ""
    assert "\x1b" not in done.out


class _Texts(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.inside, self.found = False, []
        self.feed(page)

    def handle_starttag(self, tag, attrs):  # noqa: ARG002 - the signature is the parser's
        self.inside = tag == "text"

    def handle_data(self, data):
        if self.inside:
            self.found.append(data.strip())
            self.inside = False


@pytest.mark.parametrize("name", ['id="W', "url(#W", 'href="#W'])
def test_names_are_not_taken_for_names_of_the_drawing(name):
    """Ids inside the pictures are made unique on the page; words that look like one stay as they are, in both layouts."""
    tables = copy.deepcopy(charted())
    tables["fix"]["name"] = name
    debrief = analyzer.debrief(analyzer.read_track(CLEAN), Procedure.model_validate(tables))
    page = debrief_page(debrief, [draw_pictures(Subject(debrief, debrief.approaches[0]), "a1")])
    assert _Texts(page).found.count(name) == 2 * 4


def test_a_failed_write_leaves_nothing_behind(tmp_path):
    """The target is a folder, so that the renaming fails."""
    (tmp_path / "out.json").mkdir()
    before = sorted(tmp_path.rglob("*"))
    done = run_here(Command(["debrief", CLEAN, "-p", CHART, "--json", "out.json", "-o", "out"], tmp_path))
    assert done.code == 2
    assert sorted(tmp_path.rglob("*")) == before


def test_the_mend_for_json_is_about_json(tmp_path):
    """And not about the folder of the report."""
    (tmp_path / "folder").mkdir()
    done = run_here(Command(["debrief", CLEAN, "-p", CHART, "--json", "folder"], tmp_path))
    assert done.code == 2
    assert "-o" not in done.err
    assert "--json" in done.err


def test_many_things_outside_still_fit_the_terminal(debriefs):
    """The headline names every check."""
    debrief = debriefs["clean.csv"]
    findings = tuple(replace(f, verdict="outside") for f in debrief.approaches[0].findings if f.margin is not None)
    text = summary_text(replace(debrief, approaches=(replace(debrief.approaches[0], findings=findings),)))
    assert max(len(line) for line in text.splitlines()) <= 80


def test_a_long_title_still_fits_the_terminal():
    """Titles may have 120 characters."""
    tables = copy.deepcopy(charted())
    tables["title"] = "Wendle Island VOR 24 for training, as it is charted for the winter season and flown from the north side"
    debrief = analyzer.debrief(analyzer.read_track(CLEAN), Procedure.model_validate(tables))
    assert max(len(line) for line in summary_text(debrief).splitlines()) <= 80


@pytest.mark.parametrize(
    ("arguments", "mend"),
    [
        (("debrief", "none.csv", "-p", CHART), r"none\.csv: .*(name|give|check)"),
        (("debrief", "empty.csv", "-p", CHART), r"empty\.csv: .*(export|record|another|name|give)"),
        (("debrief", CLEAN, "-p", CHART, "--log-format", "none.toml"), r"none\.toml: .*(name|give|check)"),
        (("debrief", CLEAN, "-p", CHART, "--only", "tail"), r"--only tail: .*like (?!altitude=m)\w+="),
        (("debrief", CLEAN, "-p", CHART, "--column", "altitude"), r"--column altitude: .*like (?!altitude=m)\w+="),
    ],
)  # fmt: skip
def test_errors_name_a_mend_that_fits(tmp_path, arguments, mend):
    """Each with an example of its own."""
    (tmp_path / "empty.csv").touch()
    done = run_here(Command([*arguments], tmp_path))
    assert done.code == 2
    assert re.search(mend, done.err), done.err


@pytest.mark.parametrize("arguments", [("debrief", CLEAN), ("debrief", "-p", CHART), ("nonsense",)])
def test_wrong_usage_takes_one_or_two_lines(tmp_path, arguments):
    """What is wrong, and where to look."""
    done = run_here(Command([*arguments], tmp_path))
    assert done.code == 2
    assert len(done.err.splitlines()) <= 2


def test_a_standard_s_error_names_the_file_as_it_was_given(tmp_path):
    """As logs and procedures are."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "own.toml").write_text("title = 'mine'\n", encoding="utf-8")
    done = run_here(Command(["debrief", CLEAN, "-p", CHART, "--standard", "mine/own.toml"], tmp_path))
    assert "mine/own.toml" in done.err


def test_an_unknown_table_is_not_mended_with_a_key_in_brackets(tmp_path):
    """For [reversal.sides], side is meant, which is a key and not a table."""
    chart = tmp_path / "key.toml"
    chart.write_text(f"{CHART.read_text(encoding='utf-8')}\n[reversal.sides]\n", encoding="utf-8")
    done = run_here(Command(["procedure", "check", chart], tmp_path))
    assert "[side]" not in done.err


def test_a_log_that_ends_before_the_fix_did_not_pass_it(debriefs):
    """It ends a mile before, still on the way."""
    text = " ".join(summary_text(debriefs["arrival_only.csv"]).split())
    assert "passes WND" not in text


def test_what_other_modules_take_is_offered():
    """Names that one module takes from another are in its `__all__`."""
    missing = set()
    for path in (ROOT / "analyzer").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("analyzer."):
                source = import_module(node.module)
                offered = getattr(source, "__all__", None)
                if offered is not None:
                    missing |= {f"{node.module}.{alias.name}" for alias in node.names if alias.name not in offered}
    assert missing == set()
