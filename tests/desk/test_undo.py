"""Changes in the folder of a desk: each can be undone, and undoing loses nothing that was written later."""

from pathlib import Path

import pytest
from desk_flights import write_card, write_settings
from desk_served import CHART, CLEAN
from hypothesis import given
from hypothesis import strategies as st

from analyzer.desk.cards import FlightCard, Settings, read_card, read_settings
from analyzer.desk.changes import change_of, changes_of, undo
from analyzer.desk.chart_files import save_chart, texts_of
from analyzer.desk.flights import describe
from analyzer.desk.store import Store, open_store
from analyzer.desk.undoing import put_away
from analyzer.errors import DeskError

LOG = "flight.csv"
DAY = "2026-06-28"


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = open_store(tmp_path / "desk")
    made.add("logs", LOG, CLEAN.read_bytes())
    made.add("procedures", "chart.toml", CHART.read_bytes())
    return made


def everything(store: Store) -> dict[str, bytes]:
    """All files of a folder but those that keep what was before."""
    found = (path for path in store.folder.rglob("*") if path.is_file() and "earlier" not in path.parts)
    return {str(path.relative_to(store.folder)): path.read_bytes() for path in found if path.name != ".lock"}


def test_a_card_goes_back_and_forth(store: Store):
    untouched = everything(store)
    first = write_card(store, LOG, FlightCard(pilot="A. Pilot"))
    with_pilot = everything(store)
    second = write_card(store, LOG, FlightCard(pilot="A. Pilot", remark="gusts\nat the fix"))
    with_remark = everything(store)
    page, back = undo(store.folder, second)
    assert (page, everything(store)) == (f"/flights/{LOG}", with_pilot)
    _, again = undo(store.folder, back)
    assert everything(store) == with_remark
    undo(store.folder, again)
    undo(store.folder, first)  # the card is as the first change left it, so that one can be undone, too
    assert everything(store) == untouched


def test_what_was_written_later_is_not_lost(store: Store):
    first = write_card(store, LOG, FlightCard(pilot="A. Pilot"))
    write_card(store, LOG, FlightCard(pilot="A. Pilot", remark="later"))
    assert not change_of(store, first).can_be_undone
    with pytest.raises(DeskError, match="changed again since"):
        undo(store.folder, first)
    assert read_card(store, LOG).remark == "later"


def test_a_chart_that_was_written_over_comes_back(store: Store):
    texts, _, was = texts_of(str(store.folder), "chart.toml", DAY)
    before = everything(store)
    _, change = save_chart(str(store.folder), {**texts, "file": "chart.toml", "was": was, "category": "C"}, DAY)
    assert everything(store) != before
    assert undo(store.folder, change)[0] == "/charts/saved/chart.toml"
    assert everything(store) == before  # with the remarks that the form does not know


def test_settings_come_back(store: Store):
    write_settings(store, Settings(standard="faa-instrument", watched="/nowhere"))
    change = write_settings(store, Settings(standard="icao-ops", watched="/nowhere"))
    assert undo(store.folder, change)[0] == "/settings"
    assert read_settings(store).standard == "faa-instrument"


def test_nothing_changed_is_no_change(store: Store):
    write_card(store, LOG, FlightCard(pilot="A. Pilot"))
    assert write_card(store, LOG, FlightCard(pilot="A. Pilot")) == ""
    assert len(list(changes_of(store, 50))) == 1


def test_two_pages_that_change_different_things_keep_both(store: Store):
    """Each form says what it had before, and only what differs from that is written."""
    folder = str(store.folder)
    empty = {f"was {key}": "" for key in ("name", "pilot", "aircraft", "cleared", "remark")}
    form = {key.removeprefix("was "): "" for key in empty} | empty
    describe(folder, LOG, {**form, "pilot": "A. Pilot"})
    describe(folder, LOG, {**form, "remark": "gusts"})
    card = read_card(store, LOG)
    assert (card.pilot, card.remark) == ("A. Pilot", "gusts")


def test_only_so_many_are_kept_and_what_is_taken_out_stays(store: Store):
    store.take_out("logs", LOG)
    store.add("logs", LOG, b"x")
    for number in range(505):
        write_card(store, LOG, FlightCard(remark=str(number)))
    kept = list(changes_of(store, 1000))
    assert len(kept) == 500
    undo(store.folder, kept[0].name)
    assert read_card(store, LOG).remark == "503"
    assert put_away(str(store.folder)).out == (("logs", LOG),)


@given(st.text(max_size=40))
def test_only_the_name_of_a_change_is_one(tmp_path_factory: pytest.TempPathFactory, name: str):
    store = open_store(tmp_path_factory.mktemp("names") / "desk")
    with pytest.raises(DeskError):
        undo(store.folder, name)


@pytest.mark.parametrize(
    "files",
    [
        'room = "logs"\nname = "../../evil"',
        'room = "../.."\nname = "evil"',
        'room = ""\nname = "evil"',
        'room = "logs"\nname = "link.csv"',
    ],
)
def test_a_record_from_elsewhere_leads_to_no_file_outside(store: Store, tmp_path: Path, files: str):
    outside = tmp_path / "outside"
    outside.write_text("mine", encoding="utf-8")
    (store.folder / "logs" / "link.csv").symlink_to(outside)
    place = store.folder / "earlier" / "20990101-000000-000000-00000000"
    (place / "logs").mkdir(parents=True)
    (place / "logs" / "link.csv").write_text("evil", encoding="utf-8")
    (place / "change.toml").write_text(f'words = "x"\n\n[[files]]\n{files}\nwas_there = true\n', encoding="utf-8")
    with pytest.raises(DeskError):
        undo(store.folder, place.name)
    assert outside.read_text(encoding="utf-8") == "mine"
    assert list(changes_of(store, 50)) == []


def test_a_card_without_its_log_is_not_of_the_next_log_of_that_name(store: Store):
    """As it is left where the program is killed while a log is taken out: the log is moved, the card is not yet."""
    write_card(store, LOG, FlightCard(pilot="A. Pilot"))
    out = store.folder / "taken-out" / "logs"
    out.mkdir(parents=True)
    (store.folder / "logs" / LOG).rename(out / LOG)
    name = store.add("logs", LOG, b"another")
    assert read_card(store, name) == FlightCard()
    assert store.bring_back("logs", LOG) == LOG
    assert read_card(store, LOG).pilot == "A. Pilot"


def test_a_log_that_was_half_brought_back_is_there_once(store: Store):
    write_card(store, LOG, FlightCard(pilot="A. Pilot"))
    store.take_out("logs", LOG)
    out = store.folder / "taken-out" / "logs"
    (store.folder / "logs" / LOG).hardlink_to(out / LOG)
    again = open_store(store.folder)
    assert again.taken_out("logs") == []
    assert read_card(again, LOG).pilot == "A. Pilot"
    assert again.there("logs", LOG).read_bytes() == CLEAN.read_bytes()
