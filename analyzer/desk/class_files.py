"""The folder of a class in the store of a desk, ``classes/NAME/``, whose files a person can put there, read and change.

The logs lie in it, also in folders below; the roster is ``roster.csv`` or another CSV file that reads like one; ``class.toml``
says what is graded by, ``remarks.toml`` what the instructor said of the flights; ``graded/`` is what the grading keeps.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Annotated

from pydantic import Field

from analyzer.desk.cards import Reading
from analyzer.desk.changes import Place
from analyzer.desk.names import is_safe
from analyzer.desk.store import CHART, CLASSES, ClassRoom, Store, class_room
from analyzer.desk.toml_text import file_of
from analyzer.errors import DeskError
from analyzer.files import read_bounded
from analyzer.frozen import dataclass
from analyzer.grade.logs import LogFile, find_logs
from analyzer.grade.output_folder import Folder, open_folder
from analyzer.gradebook.review import Review, read_review
from analyzer.gradebook.roster import Roster, is_roster, read_roster
from analyzer.gradebook.rubric import DEFAULT_RUBRIC, built_in_rubrics
from analyzer.toml_files import Line, Table, checked, read_toml

__all__ = ["CARD_OF_CLASS", "REMARKS", "ROSTER", "ClassCard", "ClassFiles", "class_names"]

CARD_OF_CLASS = "class.toml"
REMARKS = "remarks.toml"
ROSTER = "roster.csv"
_GRADED = "graded"
_CARD_HEAD = "What this class is graded by. Plain text: it may be changed by hand."
_REMARKS_HEAD = "What the instructor said of the flights of this class. Plain text: it may be changed by hand."
_LONGEST_HEAD = 4000  # bytes of a file that are looked at to see whether it is a roster


class ClassCard(Table):
    """What a class is graded by. `chart` is a file in ``procedures/``, empty for the one that fits each flight best."""

    title: Line = ""
    chart: Line = ""
    rubric: Line = DEFAULT_RUBRIC
    paper: Annotated[str, Field(pattern="^(a4|letter)$", description="a4 or letter")] = "a4"
    by: Line = ""
    reading: Reading = Field(default_factory=Reading)


@dataclass(frozen=True)
class ClassFiles:
    """The files of a class. Nothing is read or written outside its folder, and links are not followed."""

    store: Store
    name: str

    @property
    def room(self) -> ClassRoom:
        """The room of the store that the class is."""
        return class_room(self.name)

    @property
    def folder(self) -> Path:
        """The folder. Raises `DeskError` where there is none, or a link in its place."""
        path = self.store.folder / self.room
        for place in (path, path.parent):
            if place.is_symlink():
                raise DeskError(f"{place}: a link, which may lead out of the folder; put the folder itself there")
        if not path.is_dir():
            raise DeskError(f"{self.room}: no such class; it may have been renamed or taken away")
        return path

    def card(self) -> ClassCard:
        """What it is graded by. Raises `DeskError`."""
        path = self.store.path(self.room, CARD_OF_CLASS)
        if not path.is_file():
            return ClassCard()
        return checked(ClassCard, read_toml(path, "file of a class", DeskError), str(path), DeskError)

    def review(self) -> Review:
        """What the instructor said. Raises `GradeError`."""
        return read_review(self.store.path(self.room, REMARKS))

    def roster_file(self) -> Path | None:
        """The roster: ``roster.csv``, or else the first CSV file of the folder that reads like one."""
        own = self.store.path(self.room, ROSTER)
        if own.is_file():
            return own
        names = sorted(entry.name for entry in self.store.entries(self.room) if entry.name.lower().endswith(".csv"))
        return next((path for path in (self.folder / name for name in names) if _reads_like_one(path)), None)

    def roster(self) -> Roster | None:
        """The roster as it is read, if there is one. Raises `GradeError`."""
        path = self.roster_file()
        return None if path is None else read_roster(path)

    def leave_out(self) -> frozenset[str]:
        """The real paths in the folder that are no logs."""
        roster = self.roster_file()
        graded = {os.path.realpath(self.folder / _GRADED)}
        return frozenset(graded if roster is None else {*graded, os.path.realpath(roster)})

    def logs(self) -> Iterator[LogFile]:
        """The logs, as grading lists them. Raises `GradeError`."""
        return find_logs(str(self.folder), self.leave_out())

    def log(self, name: str) -> LogFile:
        """One of them. Raises `DeskError` where it is none."""
        for log in self.logs():
            if log.name == name:
                return log
        raise DeskError(f"{name[:80]!r}: no log of this class; go back to its list and choose from it")

    @property
    def graded_place(self) -> str:
        """The folder that the grading keeps its rows and sheets in. Raises `DeskError`."""
        path = self.folder / _GRADED
        if path.is_symlink():
            raise DeskError(f"{path}: a link, which may lead out of the folder; remove it")
        return str(path)

    def graded(self) -> Folder:
        """The same, as grading opens it."""
        return open_folder(self.graded_place)

    def rubrics(self) -> tuple[str, ...]:
        """The rubrics to choose from: those that come with the program, and files of the class."""
        files = [entry.name for entry in self.store.entries(self.room) if entry.name.endswith(CHART)]
        return (*built_in_rubrics(), *sorted(name for name in files if name not in (CARD_OF_CLASS, REMARKS)))

    def card_file(self, card: ClassCard) -> Mapping[Place, bytes]:
        """The card, as a file to be written."""
        return {(self.room, CARD_OF_CLASS): file_of(card, _CARD_HEAD)}

    def review_file(self, review: Review) -> Mapping[Place, bytes]:
        """What the instructor said, as a file to be written."""
        return {(self.room, REMARKS): file_of(review, _REMARKS_HEAD)}


def class_names(store: Store) -> list[str]:
    """The classes of a store by the names of their folders, in order."""
    place = store.folder / CLASSES
    if place.is_symlink() or not place.is_dir():
        return []
    return sorted(one.name for one in place.iterdir() if one.is_dir() and not one.is_symlink() and is_safe(one.name))


def _reads_like_one(path: Path) -> bool:
    with suppress(OSError, ValueError):
        return is_roster(read_bounded(path, _LONGEST_HEAD))
    return False
