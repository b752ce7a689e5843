"""What a dropped file is: a log, a chart, or a file of coded procedures."""

from __future__ import annotations

import tomllib
from contextlib import suppress
from pathlib import Path

from analyzer.desk.store import CHART, Room, Store
from analyzer.errors import DeskError, LogError, ProcedureError
from analyzer.files import read_bounded
from analyzer.procedure.coded.content import coded_lines, looks_coded
from analyzer.procedure.read import read_procedure
from analyzer.track.formats import read_table
from analyzer.track.limits import Limits
from analyzer.track.options import ReadOptions
from analyzer.track.source import read_source

__all__ = ["settle_dropped"]

_HEAD, _LONGEST_CHART = 4096, 1_000_000
_OF_A_CHART = ("fix", "reversal")  # tables, at least one of which a chart has


def settle_dropped(folder: str, temporary: str, name: str) -> tuple[Room, str]:
    """Move a dropped file from its temporary place to the room that it belongs in. Returns the room and the name there.

    What is neither a chart nor coded is taken for a log; its page asks what is open. A chart whose name ends otherwise, as mail
    leaves it, is a chart. Raises `DeskError` for what no answer on any page makes a log.
    """
    store, path = Store(Path(folder)), Path(temporary)
    if not name.lower().endswith(CHART) and _is_chart(path):
        name = f"{name.rpartition('.')[0].removesuffix(CHART) or name}{CHART}"
    room = _room(path, name)
    if name.lower().endswith(CHART):
        # a log of that name would be taken for a card
        name = f"{name}.csv" if room == "logs" else f"{name[: -len(CHART)]}{CHART}"
    if store.holds(room, name, path):
        return room, store.path(room, name).name
    return room, store.settle(room, name, path)


def _room(path: Path, name: str) -> Room:
    """The room of a file by its content; a chart that cannot be read is an error, not a log."""
    if name.lower().endswith(CHART):
        if not _is_chart(path):
            return "logs"
        try:
            read_procedure(path)
        except ProcedureError as error:
            raise DeskError(str(error).replace(str(path), name).removeprefix(f"{name}: ")) from error
        return "procedures"
    if looks_coded(read_bounded(path, _HEAD)):
        with suppress(ProcedureError), coded_lines(path):  # a packed file may also hold a log
            return "procedures"
    _check_log(path, name)
    return "logs"


def _check_log(path: Path, name: str) -> None:
    """Raise `DeskError` for what no answer on any page makes a log."""
    try:
        read_table(read_source(path, name, Limits()), name, ReadOptions())
    except LogError as error:
        raise DeskError(str(error).removeprefix(f"{name}: ").removeprefix(f"{name}, ")) from error


def _is_chart(path: Path) -> bool:
    try:
        found = tomllib.loads(read_bounded(path, _LONGEST_CHART).decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return False
    return any(isinstance(found.get(table), dict) for table in _OF_A_CHART)
