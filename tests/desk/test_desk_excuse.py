"""A finding excused at the desk, by keyboard: struck through with reason and name, kept on the card, and taken back."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from desk_browser import HAND, entered, needs_chromium
from desk_flights import many_things, write_card
from desk_here import served_here
from desk_served import Served
from playwright.sync_api import Browser, Page, expect

from analyzer.checks.excuse_file import ExcuseTable
from analyzer.desk.cards import read_card
from analyzer.desk.excused import excuse_table_of, give_excuse, take_back_excuse
from analyzer.desk.flights import open_flight
from analyzer.desk.jobs import Jobs
from analyzer.desk.store import Store
from analyzer.errors import DeskError

LOG = "strong_wind.csv"
SENTENCE = "Farthest from WND: 11.48 NM at 15:45:33, 1.48 NM beyond the limit of 10.0 NM."
FORM = {"approach": "1", "check": "distance_limit", "leg": "reversal", "part": "reversal_turn", "time_s": "1782661533.0"}
GIVEN = {**FORM, "reason": "cleared to  12 NM", "by": "B. Instructor"}


@pytest.fixture
def desk(tmp_path: Path, jobs: Jobs) -> Iterator[Served]:
    many_things(tmp_path / "desk")
    with served_here(tmp_path / "desk", jobs) as started:
        started.enter()
        yield started


@pytest.fixture
def store(tmp_path: Path) -> Store:
    many_things(tmp_path / "desk")
    return Store(tmp_path / "desk")


def pressed(page: Page, key: str, until: str) -> None:
    """Press Tab until what has the focus has a name, then a key on it."""
    for _ in range(80):
        page.keyboard.press("Tab")
        if (
            page.evaluate("document.activeElement.getAttribute('aria-label') || document.activeElement.textContent.trim()")
            == until
        ):
            page.keyboard.press(key)
            return
    raise AssertionError(f"Tab does not lead to {until}")


@needs_chromium
def test_excusing_and_taking_back_by_keyboard(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        page, store = opened.page, Store(desk.folder)
        opened.go(f"/flights/{LOG}")
        expect(page.locator(".verdict")).to_contain_text("Outside: 1 of 23 findings: distance limit")
        pressed(page, "Enter", "Excuse distance limit, reversal turn")
        page.keyboard.press("Tab")
        page.keyboard.type("cleared to 12 NM")
        page.keyboard.press("Tab")
        page.keyboard.type("B. Instructor")
        page.keyboard.press("Enter")
        expect(page.locator(".excused s")).to_have_text(SENTENCE)
        expect(page.locator(".excused")).to_contain_text("Excused by B. Instructor on ")
        expect(page.locator(".excused")).to_contain_text("cleared to 12 NM. It is outside, and counts neither way.")
        expect(page.locator(".verdict")).to_contain_text("Inside: all 22 findings that could be judged")
        expect(page.locator(".faults")).to_have_count(0)
        expect(page.get_by_role("status")).to_contain_text("distance limit excused")
        assert page.locator(".moved").count() == 0  # what was excused is no news
        assert [one.reason for one in read_card(store, LOG).excused] == ["cleared to 12 NM"]

        page.get_by_role("button", name="Undo").press("Enter")
        expect(page.locator(".faults")).to_contain_text(SENTENCE)
        assert read_card(store, LOG).excused == []
        page.get_by_role("button", name="Undo").press("Enter")  # the undoing
        pressed(page, "Enter", "Take the excuse back: distance limit, reversal turn")
        expect(page.locator(".verdict")).to_contain_text("Outside: 1 of 23 findings")
        assert read_card(store, LOG).excused == []
        opened.go("/")
        expect(page.locator("table.flights")).to_contain_text("Outside")
        opened.check_quiet()


@needs_chromium
def test_what_is_excused_or_cannot_be_breaks_no_rule(browser: Browser, desk: Served):
    folder = str(desk.folder)
    give_excuse(folder, LOG, GIVEN, "2026-06-29")
    give_excuse(folder, LOG, {**GIVEN, "check": "turn_bank", "time_s": ""}, "2026-06-29")
    for look in ({"viewport": HAND, "color_scheme": "dark"}, {}):
        with entered(browser, desk, **look) as opened:
            opened.go(f"/flights/{LOG}")
            expect(opened.page.locator(".verdict").first).to_contain_text(
                "Excuse not used: turn bank (reversal turn, approach 1)"
            )
            found = Axe().run(opened.page)
            assert found.violations_count == 0, found.generate_report()
            assert opened.page.evaluate("document.documentElement.scrollWidth") <= opened.page.viewport_size["width"]
    with entered(browser, desk) as opened:
        opened.go(f"/flights/{LOG}")
        opened.page.get_by_role("button", name="Take the excuse back: turn bank").click()
        expect(opened.page.locator("main")).not_to_contain_text("Excuse not used")
        opened.check_quiet()


def test_an_excuse_for_the_same_finding_takes_the_place_of_the_earlier(store: Store):
    folder = str(store.folder)
    give_excuse(folder, LOG, GIVEN, "2026-06-29")
    give_excuse(folder, LOG, {**GIVEN, "reason": "vectors"}, "2026-06-30")
    (one,) = read_card(store, LOG).excused
    assert (one.reason, f"{one.on}") == ("vectors", "2026-06-30")
    assert take_back_excuse(folder, LOG, "0" * 16) == ""
    take_back_excuse(folder, LOG, one.excuse().key)
    assert read_card(store, LOG).excused == []
    assert read_card(store, LOG).pilot == "A. Pilot"


def test_with_another_chart_an_excuse_without_its_finding_is_said(store: Store):
    """The limit of 10 NM becomes 20: there is no finding outside any more."""
    give_excuse(str(store.folder), LOG, GIVEN, "2026-06-29")
    chart = store.folder / "procedures" / "vor24.toml"
    text = chart.read_text(encoding="utf-8")
    assert "within_nm = 10" in text
    chart.write_text(text.replace("within_nm = 10", "within_nm = 20"), encoding="utf-8")
    shown = open_flight(str(store.folder), LOG)
    assert "Excuse not used:" in shown.head
    assert "the finding on distance limit is inside, so there is nothing to excuse" in shown.head
    assert 'action="/flights/strong_wind.csv/excuse/back"' in shown.head


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({**GIVEN, "reason": " "}, "needs a reason and the name"),
        ({**GIVEN, "by": ""}, "needs a reason and the name"),
        ({**GIVEN, "approach": "one"}, "names no finding"),
        ({**GIVEN, "time_s": "1e99"}, "names no finding"),
        ({**GIVEN, "time_s": "nan"}, "names no finding"),
        ({**GIVEN, "check": "altitude"}, "altitude"),
        ({**GIVEN, "leg": "moon"}, "moon"),
        ({**GIVEN, "reason": "x" * 501}, "too long"),
    ],
)
def test_a_form_that_is_none_is_refused(store: Store, form: dict[str, str], said: str):
    with pytest.raises(DeskError, match=said):
        give_excuse(str(store.folder), LOG, form, "2026-06-29")
    assert read_card(store, LOG).excused == []


def test_a_card_that_was_written_by_hand_needs_three_lines(store: Store):
    write_card(
        store,
        LOG,
        read_card(store, LOG).model_copy(
            update={"excused": [ExcuseTable(check="distance_limit", reason="vectors", by="B. Instructor")]}
        ),
    )
    assert "<s>Farthest from WND" in open_flight(str(store.folder), LOG).body


def test_text_of_an_excuse_is_text(store: Store):
    given = excuse_table_of({**GIVEN, "reason": "<script>alert(1)</script>", "by": '"><img src=x>'}, "2026-06-29")
    write_card(store, LOG, read_card(store, LOG).model_copy(update={"excused": [given]}))
    shown = open_flight(str(store.folder), LOG)
    assert "<script>alert" not in shown.head + shown.body
    assert "<img src=x" not in shown.head + shown.body
