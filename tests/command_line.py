"""Running the command line, in separate processes, two at a time, or in the tests' own, and the outcomes."""

import gc
import io
import os
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from analyzer.cli.app import main

SAMPLES = Path(__file__).resolve().parents[1] / "sample_tracks"
PROCEDURE = SAMPLES / "wendle_island_vor24.toml"
CLEAN, STRONG_WIND, EARLY_DESCENT = SAMPLES / "clean.csv", SAMPLES / "strong_wind.csv", SAMPLES / "early_descent.gpx"

MODULE = (sys.executable, "-m", "analyzer")
TRACED = (sys.executable, "-X", "importtime", "-m", "analyzer")  # says on standard error what is imported
SCRIPT = shutil.which("analyzer", path=sysconfig.get_path("scripts"))
_TRACE = "import time:"


@dataclass(frozen=True)
class Command:
    """Arguments after the program's name, where to run it, the seed of Python's hashes, how it is called, and the width."""

    arguments: Sequence[str | Path]
    folder: Path
    hash_seed: int = 0
    program: Sequence[str] = MODULE
    columns: int = 80


@dataclass(frozen=True)
class Outcome:
    code: int
    out: str
    err: str

    def loaded(self) -> set[str]:
        """The modules that a traced command imported."""
        return {line.rsplit("|", 1)[1].strip() for line in self.err.splitlines() if line.startswith(_TRACE)}

    def said_on_the_side(self) -> str:
        """Standard error without the trace."""
        return "".join(line for line in self.err.splitlines(keepends=True) if not line.startswith(_TRACE))

    def refused(self) -> list[str]:
        """The lines of an error, which must be one or two without a traceback, and nothing else."""
        assert self.code == 2
        assert "Traceback" not in self.out + self.err
        lines = self.err.splitlines()
        assert len(lines) in (1, 2), self.err
        assert lines[0].startswith("analyzer: ")
        return lines


def run(command: Command) -> Outcome:
    environment = {**os.environ, "PYTHONHASHSEED": str(command.hash_seed), "PYTHONWARNINGS": "error"}
    environment["COLUMNS"] = str(command.columns)
    done = subprocess.run(  # noqa: S603 (our own program)
        [*command.program, *map(str, command.arguments)],
        cwd=command.folder,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
    return Outcome(done.returncode, done.stdout, done.stderr)


def run_all(commands: Mapping[str, Command]) -> dict[str, Outcome]:
    """The outcome of each by name. Two run at a time; those that share files must not be in one call."""
    with ThreadPoolExecutor(2) as pool:
        return dict(zip(commands, pool.map(run, commands.values()), strict=True))


def run_here(command: Command) -> Outcome:
    """The same in this process, for what is said and written: starting one takes ten times as long as most commands."""
    said, told = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    collecting = gc.isenabled()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(command.folder)
        patch.setenv("COLUMNS", str(command.columns))
        for name, value in {
            "argv": ["analyzer", *map(str, command.arguments)],
            "stdout": said,
            "stderr": told,
            "excepthook": sys.excepthook,  # the program sets its own
        }.items():
            patch.setattr(sys, name, value)
        patch.setattr(os, "_exit", sys.exit)
        with pytest.raises(SystemExit) as stopped:
            main()
    if collecting:
        gc.enable()  # the program switches it off for its short life
    for stream in (said, told):
        stream.flush()
    out, err = (stream.buffer.getvalue().decode() for stream in (said, told))
    return Outcome(int(stopped.value.code or 0), out, err)


def run_all_here(commands: Mapping[str, Command]) -> dict[str, Outcome]:
    """The outcome of each by name, one after the other."""
    return {name: run_here(command) for name, command in commands.items()}


Runs = Callable[..., Outcome]


@contextmanager
def in_this_process(folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Iterator[Runs]:
    """What runs the command line in this process, in a folder."""
    monkeypatch.chdir(folder)

    def runs(*arguments: str) -> Outcome:
        monkeypatch.setattr(sys, "argv", ["analyzer", *arguments])
        with pytest.raises(SystemExit) as stopped:
            main()
        return Outcome(int(stopped.value.code or 0), *capsys.readouterr())

    collecting = gc.isenabled()
    yield runs
    if collecting:
        gc.enable()  # the program switches it off for its short life
