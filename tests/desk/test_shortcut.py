"""The sign on the desktop: it runs what it is to run, whatever the folder is called."""

import configparser
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.desk.shortcut import make_shortcut, shortcut_text
from analyzer.errors import DeskError

HARD = ["plain", "with blank", 'a"b', "100 % $HOME `x` \\ '", "Ünï"]


def unquoted(value: str) -> list[str]:
    """A command of a desktop entry, read by its specification (1.5, "The Exec key"): the value's escapes, then the quotes'."""
    text, k = [], 0
    while k < len(value):
        if value[k] == "\\":
            k += 1
            text.append({"s": " ", "n": "\n", "t": "\t", "r": "\r"}.get(value[k], value[k]))
        else:
            text.append(value[k])
        k += 1
    words, word, quoted, letters = [], [], False, iter("".join(text))
    for letter in letters:
        if quoted and letter == "\\":
            word.append(next(letters))
        elif letter == '"':
            quoted = not quoted
            if not quoted:
                words.append("".join(word).replace("%%", "%"))
                word = []
        elif quoted:
            word.append(letter)
    return words


def command_of(text: str) -> list[str]:
    entry = configparser.RawConfigParser()
    entry.optionxform = str
    entry.read_string(text)
    return unquoted(entry["Desktop Entry"]["Exec"])


@given(st.lists(st.text(st.characters(blacklist_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1), min_size=1, max_size=4))
def test_a_desktop_entry_runs_the_command(words: list[str]):
    assert command_of(shortcut_text("linux", words)) == words


@pytest.mark.skipif(sys.platform == "win32", reason="a shell of Unix")
def test_a_command_file_runs_the_command(tmp_path: Path):
    (file,) = make_shortcut("darwin", tmp_path, [sys.executable, "-c", "import sys; print(sys.argv[1:])", *HARD])
    done = subprocess.run([file], capture_output=True, text=True, check=True, timeout=60)  # noqa: S603 (our own text)
    assert done.stdout.strip() == repr(HARD)


@pytest.mark.parametrize(("folder", "there"), [("Desktop", "Desktop"), ("OneDrive - Club/Desktop", "OneDrive - Club/Desktop")])
def test_the_file_of_windows_lies_on_the_desktop_wherever_that_is_kept(tmp_path: Path, folder: str, there: str):
    (tmp_path / folder).mkdir(parents=True)
    (file,) = make_shortcut("win32", tmp_path, ["C:\\Users\\Jörg\\python.exe", "-m", "analyzer", "100 %"])
    assert file.parent.relative_to(tmp_path).as_posix() == there
    # the code page is set before the line whose letters need it; a per cent sign is doubled in a batch file
    lines = file.read_bytes().decode("utf-8").split("\r\n")
    assert lines == ["@echo off", "chcp 65001 >nul", 'start "" /min "C:\\Users\\Jörg\\python.exe" "-m" "analyzer" "100 %%"', ""]


def test_files_lie_where_desktops_look_and_can_be_started(tmp_path: Path):
    (tmp_path / "Desktop").mkdir()
    made = make_shortcut("linux", tmp_path, ["analyzer", "desk"])
    assert [path.relative_to(tmp_path).as_posix() for path in made] == [
        ".local/share/applications/approach-desk.desktop",
        "Desktop/approach-desk.desktop",
    ]
    assert all(path.stat().st_mode & stat.S_IXUSR for path in made)
    assert make_shortcut("linux", tmp_path, ["analyzer", "desk"]) == made


@pytest.mark.parametrize(("system", "words"), [("sunos5", ["x"]), ("linux", ["a\nExec=evil"]), ("win32", ["a\r\ndel"])])
def test_what_cannot_be_written_is_refused(system: str, words: list[str]):
    with pytest.raises(DeskError, match="--shortcut"):
        shortcut_text(system, words)
