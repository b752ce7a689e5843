"""The store of the desk in a real browser: what is undone, the folder that is watched, settings, and charts by keyboard."""

import os
import time
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from desk_browser import BROAD, HAND, entered, needs_chromium, tab_to, unfold_actions
from desk_flights import many_things
from desk_served import CHART, CLEAN, SAMPLES, STRONG_WIND, Served
from playwright.sync_api import Browser, Page, expect

import analyzer

pytestmark = needs_chromium

AGO_S = 3600.0


def check_rules(page: Page) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def with_flight(desk: Served) -> None:
    many_things(desk.folder)


@pytest.mark.parametrize("viewport", [BROAD, HAND])
def test_a_card_is_undone_on_the_page_after_the_change(browser: Browser, desk: Served, viewport: dict[str, int]):
    with_flight(desk)
    card = desk.folder / "logs" / "strong_wind.csv.toml"
    before = card.read_bytes()
    with entered(browser, desk, viewport=viewport) as opened:
        page = opened.page
        opened.go("/flights/strong_wind.csv")
        page.get_by_text("Name, pilot, clearance, remark").click()
        page.get_by_label("Name").fill("Third try")
        page.get_by_label("Remark").fill("calm")
        page.get_by_role("button", name="Save").click()
        notice = page.locator(".notice", has_text="name, remark changed")
        expect(notice).to_be_visible()
        check_rules(page)
        notice.get_by_role("button", name="Undo").click()
        expect(page.locator(".notice")).to_contain_text("Undone: strong_wind.csv: name, remark changed")
        assert card.read_bytes() == before
        page.locator(".notice").get_by_role("button", name="Undo").click()  # back again
        expect(page).to_have_title("Third try: Wendle Island VOR 24")
        opened.check_quiet()


def test_a_chart_is_undone_and_taken_out_and_brought_back(browser: Browser, desk: Served):
    with_flight(desk)
    chart = desk.folder / "procedures" / "vor24.toml"
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/charts/saved/vor24.toml")
        page.locator('[name="reversal.within_nm"]').fill("14")
        page.get_by_role("button", name="Save the chart").click()
        notice = page.locator(".notice", has_text="vor24.toml: chart changed")
        expect(notice).to_be_visible()
        assert analyzer.read_procedure(chart).reversal.within_nm == 14
        notice.get_by_role("button", name="Undo").click()
        expect(page.locator('[name="reversal.within_nm"]')).to_have_value("10")
        assert chart.read_bytes() == CHART.read_bytes()
        page.get_by_role("button", name="Remove this chart").click()
        expect(page.locator(".notice")).to_contain_text("vor24.toml was removed")
        assert not chart.exists()
        opened.go("/changes")  # much later, from the list
        page.get_by_role("button", name="Restore vor24.toml").click()
        expect(page.locator("h1")).to_have_text("Wendle Island VOR 24")
        expect(page.locator("h1 + p")).to_have_text("vor24.toml")
        assert chart.read_bytes() == CHART.read_bytes()
        opened.check_quiet()


def test_a_chart_that_another_tab_changed_is_not_written_over(browser: Browser, desk: Served):
    with_flight(desk)
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/charts/saved/vor24.toml")
        second = page.context.new_page()
        second.goto(f"http://{desk.host}/charts/saved/vor24.toml")
        page.locator('[name="category"]').fill("C")
        page.get_by_role("button", name="Save the chart").click()
        expect(page.locator(".notice")).to_contain_text("chart changed")
        second.locator('[name="title"]').fill("Mine")
        second.get_by_role("button", name="Save the chart").click()
        expect(second.locator("[role=alert]")).to_contain_text("changed by another page")
        expect(second.locator('[name="title"]')).to_have_value("Mine")  # what was typed is still there
        second.get_by_role("button", name="Save as a new chart").click()
        expect(second.locator("h1")).to_have_text("Mine")
        expect(second.locator("h1 + p")).to_have_text("mine.toml")
    assert analyzer.read_procedure(desk.folder / "procedures" / "vor24.toml").category == "C"


def test_another_standard_judges_anew_and_shows_what_moved(browser: Browser, desk: Served):
    with_flight(desk)
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/flights/strong_wind.csv")
        opened.go("/settings")
        page.get_by_label("Standard").select_option("part-fcl")
        page.get_by_role("button", name="Use this standard").click()
        expect(page.locator(".notice")).to_contain_text("Standard: Part-FCL instrument rating (UK)")
        opened.go("/flights/strong_wind.csv")
        expect(page.locator(".moved")).to_contain_text("The standard is not what it was")
        expect(page.locator(".moved li").first).to_contain_text("with the same verdict")
        opened.go("/changes")
        page.get_by_role("button", name="Undo: Standard: Part-FCL instrument rating (UK)").click()
        expect(page.get_by_label("Standard")).to_have_value("faa-instrument")
        opened.check_quiet()


def test_a_new_log_appears_on_the_open_page_by_itself(browser: Browser, desk: Served, tmp_path: Path):
    source = tmp_path / "simulator"
    source.mkdir()
    (source / "old.csv").write_bytes(CLEAN.read_bytes())
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/settings")
        page.get_by_label("Folder", exact=True).fill(str(tmp_path / "nowhere"))
        page.get_by_role("button", name="Watch this folder").click()
        expect(page.get_by_role("alert")).to_contain_text("no such folder")
        opened.complaints.clear()  # the browser says that this was refused
        page.get_by_label("Folder", exact=True).fill(str(source))
        page.get_by_role("button", name="Watch this folder").click()
        expect(page.locator("main")).to_contain_text(f"Watching {source}.")
        check_rules(page)
        opened.go("/")
        expect(page.locator("#watched")).to_have_text(f"Watching {source}.")
        assert page.locator("table.flights").count() == 0
        page.evaluate("window.stayed = true")
        log = source / "flight 7.csv"
        log.write_bytes(STRONG_WIND.read_bytes())
        at = time.time() - AGO_S
        os.utime(log, (at, at))
        row = page.locator("table.flights tbody tr")
        expect(row).to_have_count(1)
        expect(row).to_contain_text("flight 7.csv")
        expect(page.locator("#came")).to_have_text("New: flight 7.csv")
        assert page.evaluate("window.stayed")  # without a reload
        check_rules(page)
        source.rename(tmp_path / "away")
        expect(page.locator("#watched")).to_contain_text("is not there")
        (tmp_path / "away").rename(source)
        expect(page.locator("#watched")).to_have_text(f"Watching {source}.")
        opened.check_quiet()
    assert sorted(path.name for path in source.iterdir()) == ["flight 7.csv", "old.csv"]


def test_the_list_follows_another_page(browser: Browser, desk: Served):
    with_flight(desk)
    with entered(browser, desk) as opened:
        rows = opened.page.locator("table.flights tbody tr")
        expect(rows).to_have_count(6)
        second = opened.page.context.new_page()
        second.goto(f"http://{desk.host}/flights/clean.csv/procedures")
        second.get_by_role("button", name="Remove this flight").click()
        expect(second.locator(".notice")).to_be_visible()
        expect(rows).to_have_count(5)


@pytest.mark.parametrize("viewport", [BROAD, HAND])
def test_a_profile_and_a_missed_approach_are_typed_by_keyboard(browser: Browser, desk: Served, viewport: dict[str, int]):
    """From a chart without them to one with fixes, a missed approach and its hold, and a fix put in between afterwards."""
    with_flight(desk)
    (desk.folder / "procedures" / "vorz24.toml").unlink()
    with entered(browser, desk, viewport=viewport) as opened:
        page = opened.page
        opened.go("/charts/saved/vor24.toml")

        def type_into(name: str, text: str) -> None:
            page.locator(f'[name="{name}"]').wait_for()
            tab_to(page, f'[name="{name}"]')
            page.keyboard.press("Control+A")
            page.keyboard.type(text)

        type_into("title", "Wendle Island VOR Z 24")
        type_into("fixes 1.name", "MAPAR")
        type_into("fixes 1.role", "m")
        type_into("fixes 1.distance_nm", "3,8")
        page.locator('[name="fixes 2.name"]').wait_for()
        type_into("missed_approach.climb_ft", "1,200")
        type_into("missed_approach.turn", "r")
        type_into("missed_approach.to", "WND")
        type_into("missed_approach.altitude_ft", "3000 ft")
        type_into("holds 1.name", "WND")
        type_into("holds 1.role", "m")
        type_into("holds 1.inbound_course_deg", "031°")
        type_into("holds 1.turn", "r")
        type_into("holds 1.leg_time_s", "1:00")
        type_into("holds 1.minimum_ft", "3,000")
        page.locator('[data-change="before fixes 1"]').focus()
        page.keyboard.press("Enter")
        expect(page.locator('[name="fixes 2.name"]')).to_have_value("MAPAR")
        page.locator('[name="fixes 1.name"]').focus()
        page.keyboard.type("TARRO")
        type_into("fixes 1.role", "s")
        type_into("fixes 1.distance_nm", ".9")
        type_into("fixes 1.minimum_ft", "1400")
        expect(page.locator("#state")).to_contain_text("Complete")
        expect(page.locator("#profile")).to_contain_text("TARRO")
        expect(page.locator("#holds")).to_contain_text("031° in")
        expect(page.locator("#missed")).to_contain_text("climb on the final course to 1200 ft, then turn right direct to WND")
        check_rules(page)
        page.get_by_role("button", name="Save the chart").focus()
        page.keyboard.press("Enter")
        expect(page.locator(".notice")).to_contain_text("chart changed")
        opened.check_quiet()
    made = analyzer.read_procedure(desk.folder / "procedures" / "vor24.toml")
    like = analyzer.read_procedure(SAMPLES / "wendle_island_vorz24.toml")
    assert (made.fixes, made.missed_approach, made.holds) == (like.fixes, like.missed_approach, like.holds)


def test_a_contradiction_of_the_profile_stands_at_both_fields(browser: Browser, desk: Served):
    with_flight(desk)
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/charts/saved/vorz24.toml")
        page.locator('[name="holds 1.minimum_ft"]').fill("3,500")
        for name in ("holds 1.minimum_ft", "missed_approach.altitude_ft"):
            said = page.locator(f'[data-field="{name}"] .said')
            expect(said).to_contain_text("3500")
            expect(said).to_contain_text("3000")
        check_rules(page)


@pytest.mark.parametrize("viewport", [BROAD, HAND])
def test_the_picture_of_what_is_typed_is_in_sight(browser: Browser, desk: Served, viewport: dict[str, int]):
    """Next to the form on a wide page, above it on a phone; where not all fits, the one that shows what is typed."""
    with_flight(desk)
    with entered(browser, desk, viewport=viewport) as opened:
        page = opened.page
        opened.go("/charts/saved/vorz24.toml")
        expect(page.locator("#holds svg")).to_be_attached()
        for field, picture in (("reversal.kind", "plan"), ("missed_approach.climb_ft", "profile"), ("holds 1.turn", "holds")):
            page.locator(f'[name="{field}"]').focus()
            expect(page.locator(f"#{picture}")).to_be_in_viewport(ratio=0.3)
            expect(page.locator(f'[name="{field}"]')).to_be_in_viewport()


def test_a_draft_is_told_from_what_is_typed(browser: Browser, desk: Served):
    with_flight(desk)
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/charts/new?for=strong_wind.csv")
        for name, text in (("title", "Drafted"), ("fix.name", "WND"), ("fix.latitude_deg", "N48°21.0'"),
                           ("fix.longitude_deg", "W024°42.0'"), ("fix.variation_deg_east", "8W")):  # fmt: skip
            page.locator(f'[name="{name}"]').fill(text)
        page.locator('[name="fix.kind"]').select_option("vor")
        page.get_by_role("button", name="Draft them").click()
        inbound = page.locator('[data-field="reversal.inbound_course_deg"]')
        expect(inbound.locator(".from-flight")).to_have_text("From the flight, not typed. As charted")
        expect(inbound.locator(".from-flight")).to_be_visible()
        expect(page.locator('[data-field="fix.latitude_deg"] .from-flight')).to_be_hidden()
        check_rules(page)
        inbound.get_by_role("button", name="As charted").click()
        expect(inbound.locator(".from-flight")).to_be_hidden()
        outbound = page.locator('[data-field="altitudes.inbound_ft"]')
        expect(outbound.locator(".from-flight")).to_be_visible()
        outbound.locator("input").fill("1,800")
        expect(outbound.locator(".from-flight")).to_be_hidden()
        page.locator('[name="reversal.within_nm"]').fill("10")
        expect(page.locator("#state")).to_contain_text("Complete")
        page.get_by_role("button", name="Save the chart").click()
        expect(page.locator(".verdict").first).to_be_visible()
        opened.check_quiet()
    text = (desk.folder / "procedures" / "drafted.toml").read_text(encoding="utf-8")
    assert "flown so" in next(line for line in text.splitlines() if line.startswith("outbound_course_deg"))
    assert "flown so" not in next(line for line in text.splitlines() if line.startswith("inbound_course_deg"))


def test_a_chart_is_corrected_from_the_flight_that_it_judged(browser: Browser, desk: Served):
    """One step there, and back with the verdicts that it changed, the change itself to be undone."""
    with_flight(desk)
    chart = desk.folder / "procedures" / "vor24.toml"
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/flights/strong_wind.csv")
        unfold_actions(page)
        page.get_by_role("link", name="Correct the chart").click()
        page.locator('[name="altitudes.arrival_ft"]').fill("3,200")
        expect(page.locator("#state")).to_contain_text("Complete")
        page.get_by_role("button", name="Save the chart").click()
        page.wait_for_url("**/flights/strong_wind.csv?*")
        expect(page.locator(".moved")).to_contain_text("Altitude floor (arrival): inside before, outside now.")
        page.get_by_role("button", name="Undo").click()
        opened.check_quiet()
    assert chart.read_bytes() == CHART.read_bytes()


def test_what_is_typed_while_an_answer_is_under_way_is_typed(browser: Browser, desk: Served):
    """An answer to an earlier field knows nothing of the later one, and must not call that one drafted again."""
    with_flight(desk)
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/charts/new?for=strong_wind.csv")
        page.locator('[name="fix.latitude_deg"]').fill("N48°21.0'")
        page.locator('[name="fix.longitude_deg"]').fill("W024°42.0'")
        page.get_by_role("button", name="Draft them").click()
        inbound = page.locator('[data-field="altitudes.inbound_ft"]')
        expect(inbound.locator(".from-flight")).to_be_visible()
        page.evaluate(
            "() => { const ask = window.ask = fetch; window.fetch = async (...a) => { const answer = await ask(...a);"
            " await new Promise((done) => { window.letGo = done; }); return answer; }; }"
        )
        with page.expect_response("**/charts/draw"):
            page.locator('[name="reversal.within_nm"]').fill("10")
        page.wait_for_timeout(200)  # until the page has it too, which can be seen by nothing
        with page.expect_response("**/charts/draw"):
            inbound.locator("input").evaluate(
                "(input) => { input.value = '1,800'; input.dispatchEvent(new Event('input', { bubbles: true }));"
                " window.fetch = window.ask; window.letGo(); }"
            )
        expect(inbound.locator(".said")).to_have_text("1,800 ft")
        expect(inbound.locator(".from-flight")).to_be_hidden()


def test_a_reload_or_a_page_in_between_costs_nothing_that_was_typed(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/charts/new")
        page.locator('[name="title"]').fill("Tarn VOR 09")
        page.locator('[name="reversal.kind"]').select_option("procedure-turn")
        side = page.locator('[name="reversal.side"]')
        side.select_option("left")  # a field that comes with the kind
        page.reload()
        expect(side).to_have_value("left")
        expect(page.locator('[name="title"]')).to_have_value("Tarn VOR 09")
        expect(page.locator("#again")).to_be_visible()
        page.get_by_role("button", name="Save the chart").click()  # not whole: refused, and kept all the same
        expect(page.get_by_role("alert")).to_be_visible()
        expect(page.locator('[name="title"]')).to_have_value("Tarn VOR 09")
        page.get_by_role("link", name="Settings").click()
        page.get_by_role("link", name="New chart").click()
        expect(page.locator('[name="title"]')).to_have_value("Tarn VOR 09")
        page.get_by_role("button", name="Start afresh").click()
        expect(page.locator('[name="title"]')).to_have_value("")
        expect(page.locator("#again")).to_be_hidden()
