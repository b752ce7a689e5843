"""Coded records for tests: those of the sample island, changed, and read back from a file of their own."""

import importlib
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from analyzer.procedure.coded.file import CodedFile, read_coded
from analyzer.procedure.coded.select import Chosen, choose

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
CODED = SAMPLES / "wendle_island_coded.txt"
sys.path.insert(0, str(SAMPLES))
encode: Any = importlib.import_module("coded")


def written(folder: Path, records: Sequence[str]) -> CodedFile:
    """A file of some records, read."""
    path = folder / "coded.txt"
    path.write_text("".join(f"{record}\n" for record in records), encoding="latin-1", newline="\n")
    return read_coded(path)


def island(folder: Path, change: Callable[[str], str | None] = lambda record: record, more: Sequence[str] = ()) -> CodedFile:
    """The sample island with each record changed, or left out where it becomes None, and with more records."""
    changed = (change(record) for record in encode.records())
    return written(folder, [*(record for record in changed if record is not None), *more])


def chosen(file: CodedFile, approach: str, route: str | None = None) -> Chosen:
    return choose(file, "XWND", approach, route)


def tables(file: CodedFile, approach: str, route: str | None = None) -> dict[str, Any]:
    """The tables of a procedure, those that it leaves out absent."""
    return chosen(file, approach, route).made.procedure.to_json()


def with_columns(record: str, first: int, text: str) -> str:
    """A record with other text from a column on."""
    return record[: first - 1] + text + record[first - 1 + len(text) :]
