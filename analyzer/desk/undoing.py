"""Taking things out of the folder of a desk, bringing them back, and the list of what can be undone: work of the pages."""

from __future__ import annotations

from pathlib import Path

from analyzer.desk.changes import changes_of, undo
from analyzer.desk.class_files import class_names
from analyzer.desk.store import ROOMS, AnyRoom, Room, Store, class_room
from analyzer.errors import DeskError
from analyzer.frozen import dataclass

__all__ = ["Done", "PutAway", "bring_back", "put_away", "take_out", "undo_change"]

_SHOWN = 50
_ROOMS_SHOWN: tuple[Room, ...] = ("logs", "procedures", "briefs")


@dataclass(frozen=True)
class Done:
    """A change for its page: its name, when it was made, what was done, and whether it can be undone."""

    name: str
    at: str
    words: str
    page: str
    can_be_undone: bool


@dataclass(frozen=True)
class PutAway:
    """What can be undone: changes, latest first, and removed files as room and name."""

    changes: tuple[Done, ...]
    out: tuple[tuple[str, str], ...]


def put_away(folder: str) -> PutAway:
    """What can be undone in a folder."""
    store = Store(Path(folder))
    changes = [
        Done(one.name, f"{one.at:%Y-%m-%d %H:%M}", one.words, one.page, one.can_be_undone) for one in changes_of(store, _SHOWN)
    ]
    rooms: list[AnyRoom] = [*_ROOMS_SHOWN, *(class_room(name) for name in class_names(store))]
    return PutAway(tuple(changes), tuple((room, name) for room in rooms for name in store.taken_out(room)))


def undo_change(folder: str, name: str) -> tuple[str, str]:
    """Undo a change. Returns the page that shows it, and the name of the change that this is."""
    return undo(Path(folder), name)


def take_out(folder: str, room: str, name: str) -> str:
    """Remove a file. Returns the name under which it can be restored."""
    return Store(Path(folder)).take_out(_room(room), name)


def bring_back(folder: str, room: str, name: str) -> str:
    """Restore a removed file. Returns its name."""
    return Store(Path(folder)).bring_back(_room(room), name)


def _room(name: str) -> Room:
    for room in ROOMS:
        if room == name:
            return room
    raise DeskError(f"{name[:40]!r}: no part of the folder; go back to the list and choose from it")
