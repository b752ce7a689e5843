"""Folders of desks with something in them."""

import shutil
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from beside import BASE_TURN, beside_the_fix, log_of
from desk_classes import graded, spring
from desk_served import CHART, CLEAN, SAMPLES, STRONG_WIND

from analyzer.desk.brief_files import keep_brief
from analyzer.desk.cards import FlightCard, Settings, card_file, settings_file
from analyzer.desk.changes import make_change
from analyzer.desk.class_changes import excuse_in_class, keep_review, new_class
from analyzer.desk.locked import locked
from analyzer.desk.store import Store, open_store
from analyzer.procedure.write import procedure_toml

__all__ = ["beside", "many_things", "without_unit", "write_card", "write_settings"]


def write_card(store: Store, log: str, card: FlightCard) -> str:
    """Write a card as a change."""
    with locked(store.folder):
        return make_change(store, f"{log} changed", card_file(log, card))


def write_settings(store: Store, settings: Settings) -> str:
    """Write the settings as a change."""
    with locked(store.folder):
        return make_change(store, "settings changed", settings_file(settings))


def beside(folder: Path) -> Store:
    """A folder with a flight in which nothing is recognised, `beside.csv`, and its chart, which is chosen for it."""
    store = open_store(folder)
    (folder / "logs" / "beside.csv").write_text(log_of(beside_the_fix(0.8)), encoding="utf-8")
    (folder / "procedures" / "quorl.toml").write_text(procedure_toml(BASE_TURN.at(), "A chart"), encoding="utf-8")
    write_card(store, "beside.csv", FlightCard(procedure="quorl.toml"))
    return store


def without_unit(text: str) -> str:
    """A sample log without the unit of its altitudes."""
    return text.replace("altitude_ft", "alt", 1)


def many_things(folder: Path) -> None:
    """Fill a folder: flights that are debriefed, not yet, undecided and without an approach, charts, and coded records."""
    shutil.copytree(_filled().name, folder, dirs_exist_ok=True)


@cache
def _filled() -> TemporaryDirectory[str]:
    """A folder filled once, since its class is graded."""
    made = TemporaryDirectory(prefix="many-things-")
    _fill(Path(made.name))
    return made


def _fill(folder: Path) -> None:
    store = beside(folder)
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
    shutil.copy(SAMPLES / "missed_and_hold.csv", logs)
    write_card(store, "missed_and_hold.csv", FlightCard(procedure="vorz24.toml", flown=["2026-08-02T13:31:34=80/260"]))
    write_card(
        store, "strong_wind.csv", FlightCard(procedure="vor24.toml", pilot="A. Pilot", remark="gusts", brief="windy.json")
    )
    keep_brief(str(folder), {"chart": "vor24.toml", "wind_kt": "20", "speed_kt": "110", "name": "Windy"}, "2026-06-28")
    (folder / "briefs" / "broken.json").write_text("{}", encoding="utf-8")
    write_card(store, "nothing.csv", FlightCard(procedure="vor24.toml", name="Nothing to see"))
    _classes(folder)


def _classes(folder: Path) -> None:
    """One that is graded, with all that can be said of a flight, and one that is not."""
    files = spring(folder)
    graded(files)
    (files.folder / "torn.csv").write_text("no log\n", encoding="utf-8")
    at = str(folder), files.name, "strong_wind.csv"
    mark = {"mark approach 1": "60", "reason approach 1": "Gusts.", "computed approach 1": "40"}
    keep_review(*at, {**mark, "remark": "Turn back sooner.", "by": "M. Halden"})
    excuse = {"approach": "1", "check": "turn_bank", "reason": "evading a bird", "by": "M. Halden"}
    excuse_in_class(*at, excuse, "2026-07-01")
    new_class(str(folder), "Summer")
