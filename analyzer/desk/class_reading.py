"""How the logs of a class are read: what one of them leaves open, answered for all of them alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from analyzer.desk.asked import Look
from analyzer.desk.changes import make_change
from analyzer.desk.class_files import ClassFiles
from analyzer.desk.field_words import in_fields
from analyzer.desk.flights import as_reading
from analyzer.desk.locked import locked
from analyzer.desk.looking import look, look_anyway, options_from
from analyzer.desk.store import Store
from analyzer.errors import DeskError, LogError

__all__ = ["answer_for_class", "look_in_class"]


def look_in_class(folder: str, name: str, log: str) -> Look:
    """A log of a class as it is read now, with all that can be said of how. Raises `AnalyzerError` where it is no table."""
    files = ClassFiles(Store(Path(folder)), name)
    return _named(look_anyway(_path(files, log), files.card().reading.options()), log)


def answer_for_class(folder: str, name: str, log: str, answers: Mapping[str, str]) -> tuple[Look, str]:
    """The log with some questions answered, which is kept for the class; and the change, where it leaves nothing open."""
    files = ClassFiles(Store(Path(folder)), name)
    path, base = _path(files, log), files.card().reading.options()
    try:
        given = options_from(answers, base)
        seen = look(path, given)
    except LogError as error:
        said = str(error).replace(f"{path}, ", "").replace(f"{path}: ", "")
        return _named(replace(look_anyway(path, base), fault=in_fields(said, "")), log), ""
    with locked(files.store.folder):
        card = files.card().model_copy(update={"reading": as_reading(given)})
        changed = make_change(files.store, f"Class {card.title or name}: how its logs are read", files.card_file(card))
    return _named(seen, log), changed


def _path(files: ClassFiles, log: str) -> Path:
    found = files.log(log)
    if found.leads_out or found.size_bytes is None:
        raise DeskError(f"{log}: a link to a file outside the folder, or no file; put the log itself there")
    return Path(found.address)


def _named(seen: Look, log: str) -> Look:
    return replace(seen, file=log)
