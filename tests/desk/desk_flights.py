"""Folders of desks with something in them."""

import shutil
from pathlib import Path

from desk_served import CHART, CLEAN, SAMPLES, STRONG_WIND

from analyzer.desk.cards import FlightCard, Settings, card_file, settings_file
from analyzer.desk.changes import make_change
from analyzer.desk.locked import locked
from analyzer.desk.store import Store, open_store

__all__ = ["many_things", "without_unit", "write_card", "write_settings"]


def write_card(store: Store, log: str, card: FlightCard) -> str:
    """Write a card as a change."""
    with locked(store.folder):
        return make_change(store, f"{log} changed", card_file(log, card))


def write_settings(store: Store, settings: Settings) -> str:
    """Write the settings as a change."""
    with locked(store.folder):
        return make_change(store, "settings changed", settings_file(settings))


def without_unit(text: str) -> str:
    """A sample log without the unit of its altitudes."""
    return text.replace("altitude_ft", "alt", 1)


def many_things(folder: Path) -> None:
    """Fill a folder: flights that are debriefed, not yet, undecided and without an approach, charts, and coded records."""
    store = open_store(folder)
    logs, procedures = folder / "logs", folder / "procedures"
    shutil.copy(CHART, procedures / "vor24.toml")
    shutil.copy(SAMPLES / "wendle_island_vorz24.toml", procedures / "vorz24.toml")
    shutil.copy(SAMPLES / "wendle_island_coded.txt", procedures / "coded.txt")
    (procedures / "broken.toml").write_text("title = 3\n", encoding="utf-8")
    shutil.copy(STRONG_WIND, logs)
    shutil.copy(CLEAN, logs)
    text = CLEAN.read_text(encoding="utf-8")
    (logs / "open.csv").write_text(without_unit(text), encoding="utf-8")
    (logs / "nothing.csv").write_text("\n".join(text.splitlines()[:120]) + "\n", encoding="utf-8")
    write_card(store, "strong_wind.csv", FlightCard(procedure="vor24.toml", pilot="A. Pilot", remark="gusts"))
    write_card(store, "nothing.csv", FlightCard(procedure="vor24.toml", name="Nothing to see"))
