"""The settings of a desk as a page shows and changes them."""

from __future__ import annotations

from pathlib import Path

from analyzer.checks.standard import built_in_standards, read_standard
from analyzer.desk.cards import read_settings, settings_file
from analyzer.desk.changes import make_change
from analyzer.desk.locked import locked
from analyzer.desk.store import Store
from analyzer.errors import DeskError
from analyzer.frozen import dataclass

__all__ = ["SettingsSeen", "see_settings", "set_standard"]


@dataclass(frozen=True)
class SettingsSeen:
    """The settings: the standard and those to choose from, each with its title, and the folder that is watched."""

    standard: str
    standards: tuple[tuple[str, str], ...]
    watched: str
    kinds_of_log: int


def see_settings(folder: str) -> SettingsSeen:
    """The settings of a folder. Raises `DeskError`."""
    settings = read_settings(Store(Path(folder)))
    known = [(name, read_standard(name).title) for name in built_in_standards()]
    if settings.standard not in built_in_standards():  # a file of one's own, named in the settings by hand
        known.append((settings.standard, settings.standard))
    return SettingsSeen(settings.standard, tuple(known), settings.watched, len(settings.readings))


def set_standard(folder: str, name: str) -> str:
    """Judge by a standard from now on. Returns the name of the change. Raises `DeskError`."""
    store = Store(Path(folder))
    with locked(store.folder):
        settings = read_settings(store)
        if name not in (*built_in_standards(), settings.standard):
            raise DeskError(f"{name[:40]!r}: no standard of the list; choose one of them")
        title = read_standard(name).title if name in built_in_standards() else name
        return make_change(store, f"Standard: {title}", settings_file(settings.model_copy(update={"standard": name})))
