"""The files that start the desk from a double click: what they install and when, and what they say where they cannot.

The file of Windows cannot run here: its parts are compared with those of the other, which runs with a Python that only notes
what it is asked to do.
"""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parents[2]
NOTING = """#!/bin/sh
echo "$*" >> "$NOTES"
case "$*" in
    -c*) exit "$OLD" ;;
    *venv*) mkdir -p .venv/bin && cp "$0" .venv/bin/python ;;
    *pip*) exit "$OFFLINE" ;;
esac
"""

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a shell starts it elsewhere")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The program's folder as unpacked, with a blank and an umlaut in its name, and the Python that only notes."""
    unpacked = tmp_path / "neuer Ordner für Anflüge"
    (tmp_path / "bin").mkdir()
    unpacked.mkdir()
    (tmp_path / "bin" / "python3").write_text(NOTING, encoding="utf-8")
    (tmp_path / "bin" / "python3").chmod(0o755)
    for name in ("start-desk.command", "pyproject.toml"):
        shutil.copy(HERE / name, unpacked / name)
    return unpacked


def started(folder: Path, old: bool = False, offline: bool = False) -> tuple[int, str, list[str]]:
    """Start the desk as a double click does. Returns its exit code, what it prints, and what Python was asked to do."""
    notes = folder.parent / "notes"
    notes.write_text("", encoding="utf-8")
    path = f"{folder.parent / 'bin'}:/usr/bin:/bin"
    environment = {"PATH": path, "NOTES": str(notes), "OLD": str(int(old)), "OFFLINE": str(int(offline))}
    run = subprocess.run(  # noqa: S603 - our own file
        [folder / "start-desk.command"], cwd="/", env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True
    )  # fmt: skip
    asked = [line for line in notes.read_text(encoding="utf-8").splitlines() if not line.startswith("-c")]
    return run.returncode, run.stdout, asked


START = "-m analyzer desk"
INSTALL = ["-m venv .venv", "-m pip install --quiet --editable ."]


def test_it_installs_the_first_time_alone(folder):
    opens = "The desk opens in your browser.\n"
    installs = "Installing, once. It takes a minute or two, and needs the internet.\n"
    assert started(folder) == (0, installs + opens, [*INSTALL, START])
    assert started(folder) == (0, opens, [START])


def test_a_new_version_in_the_same_folder_is_installed(folder):
    started(folder)
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write("# another library\n")
    assert started(folder)[2] == [*INSTALL, START]
    assert started(folder)[2] == [START]


def test_a_folder_that_was_moved_starts_from_where_it_is(folder):
    started(folder)
    moved = folder.rename(folder.parent / "elsewhere")
    assert started(moved)[2] == [START]


def test_an_installation_that_failed_is_tried_once_more(folder):
    code, printed, asked = started(folder, offline=True)
    assert (code, asked) == (1, INSTALL)
    assert "could not be installed" in printed
    assert "Press Enter" in printed  # the window stays, so that the reason can be read
    assert started(folder)[2] == [*INSTALL, START]


def test_a_python_that_is_too_old_is_not_tried(folder):
    for name in ("python3.11", "python3.12", "python3.13", "python3.14"):  # those of this computer are not asked
        shutil.copy(folder.parent / "bin" / "python3", folder.parent / "bin" / name)
    code, printed, asked = started(folder, old=True)
    assert (code, asked) == (1, [])
    assert "Python 3.11 or newer is needed: install it from https://www.python.org" in printed


def test_the_file_of_windows_does_and_says_the_same():
    windows = (HERE / "start-desk.bat").read_bytes().decode("ascii")
    assert windows.count("\n") == windows.count("\r\n")
    lines = windows.splitlines()
    labels = {line.removeprefix(":") for line in lines if line.startswith(":")}
    assert set(re.findall(r"goto (\w+)", windows)) <= labels
    unix = (HERE / "start-desk.command").read_text(encoding="utf-8")
    for words in re.findall(r'(?:echo|fail) "([^"$]+)"', unix):
        assert words == "Press Enter to close." or f"echo {words}" in lines
    for asked in ("-m venv .venv", "-m pip install --quiet --editable .", "-m analyzer desk", "sys.version_info < (3, 11)"):
        assert asked in windows
        assert asked in unix
