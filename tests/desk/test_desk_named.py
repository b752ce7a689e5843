"""What was flown, said at the desk: kept on the card, judged as by the command line, refused with the reason, taken back."""

import json
import re
from pathlib import Path

import pytest
from beside import PASSED_S
from desk_browser import HAND, Open, entered, needs_chromium, unfold_actions
from desk_flights import beside, write_card
from desk_here import served_here
from desk_served import CHART, STRONG_WIND, Served
from playwright.sync_api import Browser, Page, expect

import analyzer
from analyzer.desk.asked import FlownSeen, Shown
from analyzer.desk.cards import FlightCard, read_card
from analyzer.desk.flights import open_flight
from analyzer.desk.flown import say_flown, see_flown, take_back_flown
from analyzer.desk.jobs import Jobs
from analyzer.desk.store import Store
from analyzer.errors import DeskError

PASSED, BACK = "2026-06-01T10:01:30", "2026-06-01T10:06:36"  # at 90 s, and when it is back


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return beside(tmp_path / "desk")


def test_the_form_shows_the_passages_and_where_recognition_stopped(store: Store):
    shown = open_flight(str(store.folder), "beside.csv")
    assert isinstance(shown, Shown)
    assert shown.flown is not None
    assert shown.flown == see_flown(str(store.folder), "beside.csv")
    out, back = shown.flown.passages
    assert (out.value, out.clock) == (PASSED, "10:01:30")
    assert PASSED_S == 90.0
    assert "0.80 NM off, 3,200 ft, on course 093°" in out.where  # 062° true, 11° west, and 20° off it
    assert "back at the fix at 10:06:36" in out.then
    assert "Nearest is a base turn: the fix is passed 0.8 NM off." in out.recognised
    assert "no turn back of 90° or more follows before the log ends" in back.recognised
    assert all(one.picture.startswith("<svg") for one in (out, back))
    assert "Nearest is a base turn from 10:01:30, but the fix is passed 0.8 NM off." in shown.head


def test_what_is_said_is_kept_and_is_what_the_library_makes_of_it(store: Store):
    folder = str(store.folder)
    said = say_flown(folder, "beside.csv", {"passage": PASSED, "shape": ""})
    assert f'flown = ["{PASSED}"]' in (store.folder / "logs" / "beside.csv.toml").read_text(encoding="utf-8")
    shown = open_flight(folder, "beside.csv")
    assert isinstance(shown, Shown)
    assert shown == said
    assert (shown.given, shown.flown, shown.refused, shown.moved) == ((PASSED,), None, "", ())
    assert "<strong>Named, not recognised</strong>" in shown.head
    kept = json.loads((store.folder / "reports" / "beside.csv.json").read_text(encoding="utf-8"))
    log, chart = store.folder / "logs" / "beside.csv", store.folder / "procedures" / "quorl.toml"
    debrief = analyzer.debrief(analyzer.read_track(log), analyzer.read_procedure(chart), flown=PASSED)
    assert kept == json.loads(json.dumps(debrief.to_dict()))
    assert kept["reversals"][0]["named"]["recognised"] is None
    assert kept["reversals"][0]["overall"]["verdict"] != "inside"


def test_said_again_of_a_passage_it_takes_the_place_of_what_was_said(store: Store):
    folder = str(store.folder)
    say_flown(folder, "beside.csv", {"passage": PASSED, "shape": ""})
    say_flown(folder, "beside.csv", {"passage": PASSED, "shape": "base-turn"})
    assert read_card(store, "beside.csv").flown == [f"{PASSED}=base-turn"]
    say_flown(folder, "beside.csv", {"passage": "", "shape": "base-turn"})
    assert read_card(store, "beside.csv").flown == ["base-turn"]
    take_back_flown(folder, "beside.csv", "base-turn")
    assert read_card(store, "beside.csv").flown == []
    shown = open_flight(folder, "beside.csv")
    assert isinstance(shown, Shown)
    assert "Nothing to judge" in shown.head
    assert shown.moved == ()


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"passage": BACK, "shape": "base-turn"}, "That cannot be: no turn back of 90° or more follows before the log ends"),
        ({"passage": PASSED, "shape": "arc"}, "no turn onto the inbound course comes"),
        ({"passage": "", "shape": ""}, "choose a passage, a shape, or both"),
        ({"passage": "noon", "shape": ""}, "neither a time"),
    ],
)
def test_what_cannot_be_is_said_and_not_kept(store: Store, said: dict[str, str], why: str):
    seen = say_flown(str(store.folder), "beside.csv", said)
    assert isinstance(seen, FlownSeen)
    assert why in seen.fault
    assert "flown 2026" not in seen.fault
    assert (seen.passage, seen.shape) == (said["passage"], said["shape"])
    assert read_card(store, "beside.csv").flown == []


def test_what_was_named_and_fits_no_more_does_not_shut_the_flight(store: Store):
    """A card may be changed by hand, or another procedure chosen: the flight is shown as it is recognised, and says why."""
    write_card(store, "beside.csv", FlightCard(procedure="quorl.toml", flown=[f"{BACK}=hold"]))
    shown = open_flight(str(store.folder), "beside.csv")
    assert isinstance(shown, Shown)
    assert "no turn back" in shown.refused
    assert shown.given == (f"{BACK}=hold",)
    assert "Nothing to judge" in shown.head


def test_without_a_procedure_there_is_nothing_to_name(store: Store):
    write_card(store, "beside.csv", FlightCard())
    with pytest.raises(DeskError, match="choose one first"):
        see_flown(str(store.folder), "beside.csv")


def passage(page: Page, clock: str):
    return page.get_by_role("radio", name=re.compile(f"^{clock}"))


def named_by_keyboard(opened: Open) -> None:
    """From the flight to the debrief that is made from its passage, with Tab, arrows and Enter."""
    page = opened.page
    opened.go("/flights/beside.csv")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.name") == "passage":
            break
    page.keyboard.press("ArrowDown")
    expect(passage(page, "10:01:30")).to_be_checked()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "flown-shape"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")


@needs_chromium
@pytest.mark.parametrize("viewport", [None, HAND])
def test_named_judged_refused_and_taken_back(browser: Browser, jobs: Jobs, tmp_path: Path, viewport: dict[str, int] | None):
    store = beside(tmp_path / "desk")
    view = {"viewport": viewport} if viewport else {}
    with served_here(store.folder, jobs) as desk, entered(browser, desk, **view) as opened:
        page = opened.page
        named_by_keyboard(opened)
        expect(page.locator(".verdict").first).to_contain_text("Named, not recognised")
        expect(page.locator(".verdict").first).to_contain_text("Recognition by itself finds nothing there")
        expect(page.locator(".verdict").first).to_contain_text("the approach is no pass")
        expect(page.locator("table.parts")).to_contain_text("reversal turn")
        unfold_actions(page)
        page.get_by_role("link", name="Say what was flown").click()
        passage(page, "10:06:36").check()
        page.get_by_label("Its shape").select_option("base-turn")
        opened.check_quiet()
        page.get_by_role("button", name="Judge from there").click()
        expect(page.get_by_role("alert")).to_contain_text("no turn back of 90° or more follows before the log ends")
        expect(passage(page, "10:06:36")).to_be_checked()
        page.get_by_role("button", name="Take it back").click()
        expect(page.locator(".verdict").first).to_contain_text("Nothing to judge")
        assert page.get_by_role("button", name="Take it back").count() == 0


@needs_chromium
def test_a_recognised_flight_that_is_held_to_be_something_else(browser: Browser, desk: Served):
    (desk.folder / "procedures" / "vor24.toml").write_bytes(CHART.read_bytes())
    with entered(browser, desk) as opened:
        page = opened.page
        page.set_input_files("#files", STRONG_WIND)
        page.get_by_role("button", name="Go on").click()
        page.get_by_role("button", name="Wendle Island VOR 24").click()
        unfold_actions(page)
        page.get_by_role("link", name="Say what was flown").click()
        expect(page.locator("main")).to_contain_text("Recognised: 45/180 begins here.")
        page.get_by_label("Its shape").select_option("80/260")
        page.get_by_role("button", name="Judge from there").click()
        expect(page.locator(".verdict").first).to_contain_text("Recognition by itself takes it for 45/180")
        expect(page.locator("main")).to_contain_text("the offset turn is not recognised as one")
        opened.check_quiet()
