"""The rights of what is written: those of any new file and folder, which the umask takes away from (POSIX, umask())."""

import os
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from command_line import CLEAN, EARLY_DESCENT, MODULE, PROCEDURE, Command, run_here

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such rights")

FIX = "48.35,-24.7"
COMMANDS = {
    "debrief": ("debrief", CLEAN, "-p", PROCEDURE, "-o", "made/below", "--format", "html,json,csv", "--json", "made/d.json"),
    "brief": ("brief", PROCEDURE, "--speed", "90", "-o", "made", "--json", "made/b.json"),
    "compare": ("compare", CLEAN, EARLY_DESCENT, "-p", PROCEDURE, "-o", "made"),
    "draft": ("procedure", "draft", CLEAN, "--fix", FIX, "-o", "made/drafted.toml"),
    "one worker": ("grade", "logs", "-p", PROCEDURE, "-o", "made", "--pages", "--workers", "1"),
    "two workers": ("grade", "logs", "-p", PROCEDURE, "-o", "made/below", "--pages", "--workers", "2"),
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "logs").mkdir()
    shutil.copy(CLEAN, tmp_path / "logs")
    shutil.copy(EARLY_DESCENT, tmp_path / "logs")
    return tmp_path


@pytest.mark.parametrize("umask", [0o022, 0o077, 0o002])
@pytest.mark.parametrize("name", COMMANDS)
def test_the_umask_decides(folder, name, umask):
    if name == "two workers":  # which are forked from a process that has the umask with which it was started
        command = [*MODULE, *map(str, COMMANDS[name])]
        subprocess.run(command, cwd=folder, umask=umask, check=True, capture_output=True)  # noqa: S603 (our own program)
    else:
        before = os.umask(umask)
        try:
            assert run_here(Command(COMMANDS[name], folder)).code == 0
        finally:
            os.umask(before)
    made = [folder / "made", *(folder / "made").rglob("*")]
    rights = {path.relative_to(folder).as_posix(): (path.is_dir(), stat.S_IMODE(path.stat().st_mode)) for path in made}
    assert sum(not is_folder for is_folder, _ in rights.values()) >= 1
    assert rights == {path: (is_folder, (0o777 if is_folder else 0o666) & ~umask) for path, (is_folder, _) in rights.items()}


def test_what_is_written_over_gets_them_too(folder):
    """As a new file, whatever the rights of the old one."""
    (folder / "made").mkdir()
    command = [*MODULE, *map(str, COMMANDS["one worker"])]
    for umask in (0o077, 0o022):
        subprocess.run(command, cwd=folder, umask=umask, check=True, capture_output=True)  # noqa: S603
    for name in ("grades.csv", "class.html", "rows/part-00000.jsonl"):
        assert stat.S_IMODE((folder / "made" / name).stat().st_mode) == 0o644
