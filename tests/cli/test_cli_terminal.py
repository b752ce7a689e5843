"""Output on a terminal: colour unless refused, plain text in a pipe, 80 columns, and a status message during long work."""

import io
import os
import re
import sys
import time
from pathlib import Path

import pytest
from command_line import CLEAN, EARLY_DESCENT, MODULE, PROCEDURE, STRONG_WIND, Command, run, run_all_here, run_here

import analyzer
from analyzer.cli import terminal
from analyzer.report.words.summary import summary_lines, summary_text

pty = pytest.importorskip("pty", reason="needs pseudo-terminals")

SEQUENCE = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")  # control sequences, ECMA-48 5.4
TONE = re.compile(r"\x1b\[[0-9;]*m")  # SGR, ECMA-48 8.3.117


def on_a_terminal(folder: Path, **environment: str) -> str:
    """What the debrief of the windy sample writes where both streams are a terminal of 80 columns."""
    arguments = [*MODULE, "debrief", str(STRONG_WIND), "-p", str(PROCEDURE), "-o", str(folder)]
    settings = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24", **environment}
    for name in ("NO_COLOR", "FORCE_COLOR"):
        if name not in environment:
            settings.pop(name, None)
    child, terminal_end = pty.fork()
    if child == 0:
        os.execve(arguments[0], arguments, settings)  # noqa: S606 (our own program)
    said = b""
    while True:
        try:
            piece = os.read(terminal_end, 65536)
        except OSError:  # Linux says so where the other end is closed
            break
        if not piece:
            break
        said += piece
    os.close(terminal_end)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    return said.decode().replace("\r\n", "\n")


@pytest.fixture(scope="module")
def debrief():
    return analyzer.debrief(analyzer.read_track(STRONG_WIND), analyzer.read_procedure(PROCEDURE))


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    """By how it is asked for."""
    ways = {"colour": {}, "no colour": {"NO_COLOR": "1"}, "dumb": {"TERM": "dumb"}}
    return {way: on_a_terminal(tmp_path_factory.mktemp("shown"), **environment) for way, environment in ways.items()}


@pytest.fixture(scope="module")
def piped(tmp_path_factory):
    folder = tmp_path_factory.mktemp("piped")
    logs = {"clean": CLEAN, "wind": STRONG_WIND, "descent": EARLY_DESCENT}
    commands = {name: Command(["debrief", log, "-p", PROCEDURE, "-o", "out"], folder) for name, log in logs.items()}
    return {name: run(command) if name == "clean" else run_here(command) for name, command in commands.items()}


@pytest.mark.parametrize("name", ["clean", "wind", "descent"])
def test_into_a_pipe_it_is_plain(piped, name):
    assert (piped[name].code, piped[name].err) == (0, "")
    assert "\x1b" not in piped[name].out
    assert all(character.isprintable() or character == "\n" for character in piped[name].out)
    assert max(map(len, piped[name].out.splitlines())) <= 80


def without_status(text: str) -> str:
    """What is left on the screen: without what was written over a line and wiped away, and without control sequences."""
    return SEQUENCE.sub("", re.sub(r"[^\n]*\r(?!\n)", "", text))


def test_on_a_terminal_it_says_the_same_in_tones(shown, debrief):
    """Verdict and headings stand out; without the sequences it is the plain summary, line by line."""
    assert summary_text(debrief) in without_status(shown["colour"])
    for line in summary_lines(debrief):
        if line.tone in ("title", "heading", "outside", "inside", "lesson", "quiet") and line.text:
            (found,) = {one for one in shown["colour"].splitlines() if SEQUENCE.sub("", one).rstrip() == line.text} or {""}
            assert TONE.search(found), line


def test_what_is_outside_is_red_and_told_in_words(shown):
    """Red is 31 (ECMA-48 8.3.117), the terminal's own."""
    (headline,) = [line for line in shown["colour"].splitlines() if "OUTSIDE" in line]
    assert re.search(r"\x1b\[(1;)?31m", headline)


@pytest.mark.parametrize("way", ["no colour", "dumb"])
def test_colour_can_be_refused(shown, way, debrief):
    """NO_COLOR (no-color.org): any value that is not empty; and a terminal that says it has no colours gets none."""
    colours = [code for tone in TONE.findall(shown[way]) for code in tone[2:-1].split(";") if code and 30 <= int(code) <= 49]
    assert colours == []
    assert summary_text(debrief) in without_status(shown[way])


@pytest.mark.parametrize("way", ["colour", "no colour", "dumb"])
def test_no_line_is_broken_by_the_terminal(shown, way):
    text = without_status(shown[way])
    assert max(len(line) for line in text.splitlines() if not line.startswith("Report: ")) <= 80


class Screen(io.StringIO):
    """Standard error that is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def terminals(monkeypatch):
    """Makes standard error a terminal. To be called in the test: before that the stream is pytest's to set."""

    def made() -> Screen:
        screen = Screen()
        monkeypatch.setattr(sys, "stderr", screen)
        for name, value in {"TERM": "xterm", "COLUMNS": "80"}.items():
            monkeypatch.setenv(name, value)
        return screen

    return made


def test_quick_work_shows_nothing(terminals):
    screen = terminals()
    with terminal.patience("reading the log") as show:
        show("debriefing")
    assert screen.getvalue() == ""


def test_a_message_that_comes_too_late_is_not_shown(terminals):
    """The timer ran out just as the work ended."""
    screen = terminals()
    waiting = terminal._Waiting("reading the log")
    waiting.end()
    waiting._begin()
    assert screen.getvalue() == ""


@pytest.mark.parametrize(("messages", "shown_last"), [((), "reading the log"), (("debriefing",), "debriefing")])
def test_slow_work_shows_its_status(terminals, messages, shown_last):
    """What the timer does when it runs out, without waiting for it. The last message is drawn before it is erased."""
    screen = terminals()
    waiting = terminal._Waiting("reading the log")
    waiting._begin()
    for message in messages:
        waiting.show(message)
    waiting.end()
    written = screen.getvalue()
    assert shown_last in written
    assert written.index("\x1b[?25l") < written.rindex("\x1b[?25h")  # the cursor is shown again (DECTCEM)
    assert written.endswith("\x1b[2K")  # and the line erased (ECMA-48 8.3.41, EL)


def test_the_first_message_shown_is_the_latest(terminals):
    screen = terminals()
    waiting = terminal._Waiting("reading the log")
    waiting.show("debriefing")
    waiting._begin()
    waiting.end()
    assert "debriefing" in screen.getvalue()
    assert "reading" not in screen.getvalue()


def test_the_timer_says_it_by_itself(terminals, monkeypatch):
    """Slow work, as slow as it must be: until the word is there."""
    screen = terminals()
    monkeypatch.setattr(terminal, "_SOON_S", 0.0)
    with terminal.patience("writing the report"):
        for _ in range(2000):
            if "writing the report" in screen.getvalue():
                break
            time.sleep(0.01)
        assert "writing the report" in screen.getvalue()


def test_into_a_file_no_word_is_said(monkeypatch):
    into = io.StringIO()
    monkeypatch.setattr(sys, "stderr", into)
    monkeypatch.setattr(terminal, "_SOON_S", 0.0)
    with terminal.patience("reading the log") as show:
        show("debriefing")
    assert into.getvalue() == ""


def test_work_that_fails_leaves_no_word_behind(terminals, monkeypatch):
    screen = terminals()
    monkeypatch.setattr(terminal, "_SOON_S", 3600.0)
    with pytest.raises(ZeroDivisionError), terminal.patience("reading the log"):
        raise ZeroDivisionError
    assert screen.getvalue() == ""


def test_without_a_command_the_help_is_printed_as_it_is_asked_for(tmp_path):
    groups = ([], ["procedure"], ["standard"], ["rubric"])
    commands = {str((*group, *asked)): Command([*group, *asked], tmp_path) for group in groups for asked in ([], ["--help"])}
    outcomes = run_all_here(commands)
    for group in groups:
        bare, asked = outcomes[str((*group,))], outcomes[str((*group, "--help"))]
        assert bare.out == asked.out
        assert bare.code == asked.code == 0
        assert len(bare.out.splitlines()) > 5


@pytest.fixture(scope="module")
def narrow(tmp_path_factory):
    """What every command says where `COLUMNS` is less than 80, by command and width."""
    folder = tmp_path_factory.mktemp("narrow")
    (folder / "class").mkdir()
    for log in (CLEAN, STRONG_WIND, EARLY_DESCENT):
        (folder / "class" / log.name).write_bytes(log.read_bytes())
    (folder / "roster.csv").write_text("file,pilot\nclean.csv,Bento Ashwick-Farnborough\n", encoding="utf-8")
    asked = {
        "debrief": ["debrief", STRONG_WIND, "-p", PROCEDURE, "-o", "out/"],
        "brief": ["brief", PROCEDURE, "--speed", "110", "--wind", "240/25"],
        "compare": ["compare", CLEAN, STRONG_WIND, EARLY_DESCENT, "-p", PROCEDURE, "-o", "out/", "--roster", "roster.csv"],
        "grade": ["grade", "class", "-p", PROCEDURE, "--roster", "roster.csv", "--workers", "1", "-o", "out/"],
    }
    commands = {
        (name, width): Command(
            [f"{argument}{name}{width}" if argument == "out/" else argument for argument in arguments], folder, columns=width
        )
        for name, arguments in asked.items()
        for width in (40, 60, 80)
    }
    return run_all_here(commands)


def _no_paths(lines):
    return [line for line in lines if not line.startswith(("Report: ", "Page: ", "  out"))]


@pytest.mark.parametrize("width", [40, 60, 80])
@pytest.mark.parametrize("name", ["debrief", "brief", "compare", "grade"])
def test_text_is_as_wide_as_the_terminal(narrow, name, width):
    """Only the paths of what was written may be longer, as they are to be copied."""
    said = narrow[name, width]
    assert (said.code, said.err) == (0, "")
    lines = _no_paths(said.out.splitlines())
    assert max(map(len, lines)) <= width
    assert max(map(len, lines)) > width - 8  # and none of the room is left


@pytest.mark.parametrize("name", ["debrief", "brief", "compare", "grade"])
def test_a_narrow_terminal_is_told_as_much(narrow, name):
    """Every number of the 80 columns stands in the 40."""
    said = ("\n".join(_no_paths(narrow[name, width].out.splitlines())) for width in (80, 40))
    numbers = [set(re.findall(r"\d[\d,.:]*\d", text)) for text in said]
    assert numbers[0] <= numbers[1]
