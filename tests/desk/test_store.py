"""The folder of a desk: safe names, whole files, nothing overwritten, and what is taken out comes back."""

import os
import subprocess
import sys
import threading
import time
import tomllib
from pathlib import Path

import pytest
from desk_flights import write_card, write_settings
from hypothesis import given
from hypothesis import strategies as st

from analyzer.desk.cards import (
    FlightCard,
    Reading,
    Settings,
    kept_reading,
    read_card,
    read_settings,
)
from analyzer.desk.names import checked_name, numbered, safe_name
from analyzer.desk.store import Store, open_store
from analyzer.desk.toml_text import toml_text
from analyzer.errors import DeskError
from analyzer.temporary import BEGINNING
from analyzer.track.options import ReadOptions


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_store(tmp_path / "desk")


@given(st.text(max_size=400))
def test_a_safe_name_is_one_part_of_a_path_and_stays_as_it_is(text: str):
    name = safe_name(text)
    assert Path(name).name == name
    assert name not in (".", "..")
    assert not set('<>:"/\\|?*\0\n') & set(name)  # what Windows does not take, and what would end a path or a line
    assert not name.startswith(".")
    assert not name.endswith((".", " "))
    assert len(name.encode()) <= 120
    assert safe_name(name) == name
    assert checked_name(name) == name


@given(st.text(max_size=400))
def test_the_card_and_the_report_of_a_safe_name_are_safe(text: str):
    name = safe_name(text)
    for added in (".toml", ".json"):
        assert checked_name(f"{name}{added}") == f"{name}{added}"


@given(st.text(max_size=200), st.integers(2, 999))
def test_a_numbered_name_is_safe_and_another(text: str, number: int):
    name = numbered(safe_name(text), number)
    assert name != safe_name(text)
    assert safe_name(name) == name


@given(st.text(min_size=1, max_size=60))
def test_only_safe_names_are_taken(text: str):
    if safe_name(text) == text:
        assert checked_name(text) == text
    else:
        with pytest.raises(DeskError):
            checked_name(text)


def test_a_file_never_takes_the_place_of_another(store: Store):
    names = [store.add("logs", "flight.csv.gz", bytes([k])) for k in range(3)]
    assert names == ["flight.csv.gz", "flight-2.csv.gz", "flight-3.csv.gz"]
    assert [store.there("logs", name).read_bytes() for name in names] == [b"\0", b"\1", b"\2"]


def test_two_desks_that_write_at_once_lose_nothing(tmp_path: Path):
    stores = [open_store(tmp_path / "desk") for _ in range(2)]
    names: list[str] = []

    def write(store: Store, mark: int) -> None:
        names.extend(store.add("logs", "flight.csv", f"{mark} {k}".encode()) for k in range(40))

    threads = [threading.Thread(target=write, args=(store, mark)) for mark, store in enumerate(stores)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(names)) == 80
    contents = {stores[0].there("logs", name).read_text(encoding="utf-8") for name in names}
    assert contents == {f"{mark} {k}" for mark in range(2) for k in range(40)}


def test_what_is_taken_out_comes_back_with_its_card(store: Store):
    store.add("logs", "flight.csv", b"first")
    write_card(store, "flight.csv", FlightCard(pilot="A. Pilot"))
    out = store.take_out("logs", "flight.csv")
    assert list(store.entries("logs")) == []
    with pytest.raises(DeskError, match="no such file"):
        store.there("logs", "flight.csv")
    store.add("logs", "flight.csv", b"second")
    back = store.bring_back("logs", out)
    assert (back, store.there("logs", back).read_bytes()) == ("flight-2.csv", b"first")
    assert read_card(store, back).pilot == "A. Pilot"
    assert read_card(store, "flight.csv") == FlightCard()


def test_taken_out_twice_under_one_name_both_come_back(store: Store):
    for content in (b"one", b"two"):
        store.add("logs", "flight.csv", content)
        store.take_out("logs", "flight.csv")
    kept = sorted(path.read_bytes() for path in (store.folder / "taken-out" / "logs").iterdir())
    assert kept == [b"one", b"two"]


def test_what_a_killed_program_left_is_cleared_away_and_nothing_else(tmp_path: Path):
    store = open_store(tmp_path / "desk")
    old, young = store.unsettled("logs"), store.unsettled("logs")
    for path in (old, young):
        path.write_bytes(b"half")
    hours_ago = time.time() - 7200.0
    os.utime(old, (hours_ago, hours_ago))
    store.add("logs", "flight.csv", b"whole")
    assert [entry.name for entry in store.entries("logs")] == ["flight.csv"]
    open_store(tmp_path / "desk")
    assert sorted(path.name for path in (store.folder / "logs").iterdir()) == sorted(["flight.csv", young.name])


KILLED = """
import sys
from pathlib import Path
from analyzer.desk.cards import FlightCard, card_file
from analyzer.desk.changes import make_change
from analyzer.desk.locked import locked
from analyzer.desk.store import open_store

store = open_store(Path(sys.argv[1]))
print("begun", flush=True)
k = 0
while True:
    k += 1
    store.add("logs", "flight.csv", b"x" * 200_000)
    with locked(store.folder):
        make_change(store, "remark", card_file("flight.csv", FlightCard(remark=str(k) * 300)))
"""


def test_killed_at_any_instant_the_folder_is_whole(tmp_path: Path):
    """Killed outright in the middle of writing, several times: every file that has a name is complete."""
    for wait_s in (0.05, 0.11, 0.23):
        process = subprocess.Popen([sys.executable, "-c", KILLED, str(tmp_path / "desk")], stdout=subprocess.PIPE)  # noqa: S603 (our own text)
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(wait_s)
        process.kill()
        process.wait()
        process.stdout.close()
        store = open_store(tmp_path / "desk")
        logs = [entry for entry in store.entries("logs") if entry.name.endswith(".csv")]
        assert logs
        assert {entry.size_bytes for entry in logs} == {200_000}
        read_card(store, "flight.csv")  # raises where it is not whole
        assert all(name.startswith(BEGINNING) or not name.startswith(".") for name in os.listdir(store.folder / "logs"))  # noqa: PTH208


lines = st.text(st.characters(blacklist_categories=("Cc", "Cs", "Zl", "Zp", "Cf")), max_size=40)


@given(pilot=lines, remark=st.text(st.characters(blacklist_categories=("Cs",)), max_size=100), column=lines)
def test_a_card_reads_back_as_it_was(tmp_path_factory: pytest.TempPathFactory, pilot: str, remark: str, column: str):
    store = open_store(tmp_path_factory.mktemp("card") / "desk")
    reading = Reading(columns={"altitude": column} if column else {}, units={"altitude": "ft"})
    card = FlightCard(pilot=pilot, remark=remark, cleared=["vectors"], reading=reading)
    write_card(store, "flight.csv", card)
    assert read_card(store, "flight.csv") == card


def test_toml_is_what_a_reader_of_its_own_reads():
    tables = {"a": 'x"\\\n', "b": [1, 2.5], "c": {"d e": True, "f": {"g": "h"}}, "rows": [{"k": "v"}, {"k": "w"}], "left": None}
    assert tomllib.loads(toml_text(tables, "head")) == {key: value for key, value in tables.items() if value is not None}


def test_what_is_kept_of_a_reading_has_no_date_and_no_aircraft(store: Store):
    from datetime import UTC, datetime

    given = ReadOptions(units={"altitude": "m"}, start=datetime(2026, 5, 1, tzinfo=UTC), only=("reg", "N1"))
    write_settings(store, kept_reading(Settings(), ("time", "alt"), given))
    kept = read_settings(store).reading(("time", "alt"))
    assert kept is not None
    assert kept.units == {"altitude": "m"}
    text = store.settings.read_text(encoding="utf-8")
    assert "2026" not in text
    assert "N1" not in text
    assert read_settings(store).reading(("time", "altitude")) is None


def test_a_card_that_was_spoiled_by_hand_is_named(store: Store):
    store.add("logs", "flight.csv", b"x")
    store.path("logs", "flight.csv.toml").write_text("pilot = 3\n", encoding="utf-8")
    with pytest.raises(DeskError, match=r"flight\.csv\.toml: pilot = 3"):
        read_card(store, "flight.csv")
