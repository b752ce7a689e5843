"""What a flight's page shows first, and what can be done from there: the verdict, then what comes next, in an order."""

import shutil

import pytest
from desk_browser import BROAD, HAND, entered, needs_chromium, tab_to, unfold_actions
from desk_flights import beside, write_card
from desk_served import CHART, SAMPLES, Served
from playwright.sync_api import Browser, Page, expect

from analyzer.desk.cards import FlightCard
from analyzer.desk.store import open_store

pytestmark = needs_chromium

COMPARE = "a[href$='/compared']"
# what can be pressed in the page of a flight and stands before its verdict, or is seen without opening anything
_BEFORE_VERDICT = """
() => { const verdict = document.querySelector("main .verdict");
  return [...document.querySelectorAll("main button, main .button, main summary, main input, main select")]
    .filter((one) => one.checkVisibility() && (verdict.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_PRECEDING))
    .map((one) => one.textContent); }
"""
_SHOWN = """
() => [...document.querySelectorAll(".next button, .next .button")]
  .filter((one) => one.checkVisibility())
  .map((one) => one.textContent)
"""


def with_chart(desk: Served, **flights: FlightCard) -> None:
    """A desk with sample flights, by the names of their files without the suffix, and the charts that they are judged by."""
    store = open_store(desk.folder)
    shutil.copy(CHART, desk.folder / "procedures" / "vor24.toml")
    shutil.copy(SAMPLES / "wendle_island_vorz24.toml", desk.folder / "procedures" / "vorz24.toml")
    for name, card in flights.items():
        shutil.copy(SAMPLES / f"{name}.csv", desk.folder / "logs")
        write_card(store, f"{name}.csv", card)


@pytest.mark.parametrize("viewport", [BROAD, HAND])
def test_the_verdict_is_what_one_sees_first(browser: Browser, desk: Served, viewport: dict[str, int]):
    with_chart(desk, strong_wind=FlightCard(procedure="vor24.toml", pilot="A. Pilot"))
    with entered(browser, desk, viewport=viewport) as opened:
        opened.go("/flights/strong_wind.csv")
        page = opened.page
        assert page.evaluate(_BEFORE_VERDICT) == []
        assert page.evaluate(_SHOWN) == ["Brief it again", "Save as PDF"]
        for seen in (page.locator(".verdict").first, page.get_by_role("link", name="Brief it again")):
            box = seen.bounding_box()
            assert box is not None
            assert box["y"] + box["height"] < 0.7 * viewport["height"]
        opened.check_quiet()


@pytest.mark.parametrize("viewport", [BROAD, HAND])
def test_of_several_approaches_all_verdicts_come_first(browser: Browser, desk: Served, viewport: dict[str, int]):
    with_chart(desk, missed_and_hold=FlightCard(procedure="vorz24.toml"))
    with entered(browser, desk, viewport=viewport) as opened:
        opened.go("/flights/missed_and_hold.csv")
        verdicts, actions = opened.page.locator("ol.legs").bounding_box(), opened.page.locator(".next").bounding_box()
        assert verdicts is not None
        assert actions is not None
        assert verdicts["y"] + verdicts["height"] <= actions["y"] < viewport["height"]


def test_the_rest_is_reached_by_keyboard(browser: Browser, desk: Served):
    with_chart(desk, strong_wind=FlightCard(procedure="vor24.toml"))
    with entered(browser, desk) as opened:
        opened.go("/flights/strong_wind.csv")
        page = opened.page
        tab_to(page, "details.more > summary")
        page.keyboard.press("Enter")
        tab_to(page, "a[href^='/charts/saved/vor24.toml']")
        expect(page.get_by_role("group", name="If something here is not right")).to_contain_text("Correct the chart")
        page.keyboard.press("Enter")
        page.wait_for_url("**/charts/saved/vor24.toml?for=strong_wind.csv")


def test_where_nothing_is_recognised_chart_and_log_are_what_one_needs(browser: Browser, desk: Served):
    beside(desk.folder)
    with entered(browser, desk) as opened:
        opened.go("/flights/beside.csv")
        assert opened.page.evaluate(_BEFORE_VERDICT) == []
        assert opened.page.evaluate(_SHOWN) == ["Choose another chart", "Read the log differently"]


def test_a_fault_of_the_form_is_shown_where_it_is(browser: Browser, desk: Served):
    with_chart(desk, clean=FlightCard(procedure="vor24.toml"))
    with entered(browser, desk, viewport=HAND) as opened:
        opened.go("/flights/clean.csv")
        opened.page.get_by_text("Name, pilot, clearance, remark").click()
        opened.page.get_by_label("Cleared for").fill("wherever")
        opened.page.get_by_role("button", name="Save").click()
        expect(opened.page.get_by_role("alert")).to_contain_text("Not saved")
        expect(opened.page.get_by_label("Cleared for")).to_be_focused()
        expect(opened.page.get_by_label("Cleared for")).to_be_in_viewport()


def offered(page: Page) -> list[str]:
    unfold_actions(page)
    return page.locator(COMPARE).all_inner_texts()


def test_a_comparison_is_offered_where_there_is_something_to_compare_with(browser: Browser, desk: Served):
    """Flights before it by the same chart and pilot that were debriefed, or else several approaches of its own."""
    card = FlightCard(procedure="vor24.toml")
    with_chart(desk, strong_wind=card, clean=card, missed_and_hold=FlightCard(procedure="vorz24.toml"))
    with entered(browser, desk) as opened:
        opened.go("/flights/strong_wind.csv")
        assert offered(opened.page) == []
        opened.go("/flights/clean.csv")
        assert offered(opened.page) == []
        opened.go("/flights/strong_wind.csv")
        assert offered(opened.page) == ["Compare with the flight before"]
        opened.page.locator(COMPARE).click()
        expect(opened.page.locator("main")).to_contain_text("2 attempts")
        write_card(open_store(desk.folder), "clean.csv", FlightCard(procedure="vor24.toml", pilot="B. Pilot"))
        write_card(open_store(desk.folder), "strong_wind.csv", FlightCard(procedure="vor24.toml", pilot="A. Pilot"))
        opened.go("/flights/strong_wind.csv")
        assert offered(opened.page) == []
        opened.go("/flights/missed_and_hold.csv")
        assert offered(opened.page) == ["Compare its 2 approaches"]
        opened.page.locator(COMPARE).click()
        expect(opened.page.locator("main")).to_contain_text("2 attempts")
        opened.check_quiet()
