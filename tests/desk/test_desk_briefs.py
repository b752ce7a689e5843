"""Briefs in a real browser: sliders and fields by keyboard, what follows them, the knee card, and brief to flight."""

import json
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from desk_browser import BROAD, HAND, Open, entered, needs_chromium, unfold_actions
from desk_served import CHART, SAMPLES, STRONG_WIND, Served
from playwright.sync_api import Browser, Locator, Page, expect
from printed import read_pdf

pytestmark = needs_chromium

LOOKS = [(view, colours) for view in (BROAD, HAND) for colours in ("light", "dark")]


# questions that are out at the same time, and how many in all
_COUNT = """
() => {
  const asked = window.fetch;
  window.counted = { out: 0, most: 0, asked: 0 };
  window.fetch = async (address, ...rest) => {
    if (address !== "/briefs/drawn") return asked(address, ...rest);
    counted.asked++;
    counted.most = Math.max(counted.most, ++counted.out);
    try { return await asked(address, ...rest); } finally { counted.out--; }
  };
}
"""


def slider(page: Page, name: str) -> Locator:
    return page.locator(f"#b-{name}-slider")


def field(page: Page, name: str) -> Locator:
    return page.locator(f"#b-{name}")


def open_form(opened: Open, chart: Path = CHART) -> Page:
    (opened.desk.folder / "procedures" / "chart.toml").write_bytes(chart.read_bytes())
    opened.go("/briefs")
    opened.page.get_by_role("link", name="Wendle Island").click()
    expect(opened.page.locator("#plan svg")).to_be_visible()
    return opened.page


def test_from_a_brief_to_the_flight_that_is_laid_against_it(browser: Browser, desk: Served):
    """With the keyboard alone up to the log, which comes as a file."""
    with entered(browser, desk) as opened:
        page = open_form(opened)
        field(page, "wind_from_deg").focus()
        page.keyboard.press("Control+a")
        page.keyboard.type("240")
        page.keyboard.press("Tab")
        expect(slider(page, "wind_kt")).to_be_focused()
        for _ in range(25):
            page.keyboard.press("ArrowRight")
        expect(field(page, "wind_kt")).to_have_value("25")
        field(page, "speed_kt").fill("110")
        expect(page.locator("#said")).to_contain_text("offset leg 016° for 40 s")
        expect(page.locator("#plan")).to_contain_text("wind 240° true")
        expect(page.locator("footer")).to_contain_text("Training aid, never for navigation.")
        field(page, "name").focus()
        page.keyboard.type("Saturday")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.wait_for_url("**/briefs/kept/saturday.json")
        expect(field(page, "wind_kt")).to_have_value("25")
        expect(page.locator("#said")).to_contain_text("offset leg 016° for 40 s")

        opened.go("/")
        page.set_input_files("#files", STRONG_WIND)
        page.get_by_role("button", name="Go on").click()
        page.get_by_role("button", name="Wendle Island VOR 24").click()
        page.locator(".verdict").first.wait_for()
        unfold_actions(page)
        page.get_by_label("A brief of this procedure").focus()
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.get_by_role("link", name="What was different").click()
        table = page.get_by_role("table", name="What was different")
        expect(table).to_be_visible()
        row = table.get_by_role("row", name="Wind speed")
        expect(row).to_contain_text("25 kt")
        expect(row).to_contain_text("10 kt more ± ")  # the sample is flown in 35 kt
        expect(table.get_by_role("row", name="Final: time")).to_contain_text("not assessed: the log ends in it")
        expect(page.locator("main")).to_contain_text("Compared with the brief Saturday")
        expect(page.locator('figure[data-picture="plan"] svg').first).to_contain_text("as briefed")
        page.locator(".notice").get_by_role("button", name="Undo").click()
        unfold_actions(page)
        expect(page.get_by_role("button", name="Compare this flight with it")).to_be_visible()
        opened.check_quiet()
    kept = json.loads((desk.folder / "briefs" / "saturday.json").read_text(encoding="utf-8"))
    assert kept["asked"]["fields"]["wind_kt"] == "25"


def test_a_slider_and_its_field_are_one_value(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        page = open_form(opened)
        field(page, "speed_kt").fill("120,5")
        expect(slider(page, "speed_kt")).to_have_js_property("value", "121")  # the nearest step
        expect(slider(page, "speed_kt")).to_have_attribute("aria-valuetext", "120.5 kt indicated")
        # an empty speed of a leg stands where the speed stands, and is moved from there
        expect(slider(page, "final_kt")).to_have_js_property("value", "121")
        expect(slider(page, "final_kt")).to_have_attribute("aria-valuetext", "as above")
        slider(page, "final_kt").focus()
        for key in ("Home", "ArrowRight", "ArrowUp"):
            page.keyboard.press(key)
        expect(field(page, "final_kt")).to_have_value("62")
        expect(page.locator("#rest")).to_contain_text("final 62 kt indicated")
        field(page, "final_kt").fill("")
        expect(slider(page, "final_kt")).to_have_attribute("aria-valuetext", "as above")
        expect(page.locator("#rest")).not_to_contain_text("final 62 kt")
        # typed beyond the slider is what counts
        field(page, "wind_kt").fill("75")
        expect(slider(page, "wind_kt")).to_have_js_property("value", "60")
        expect(page.locator("#rest")).to_contain_text("75 kt")
        assert page.locator("form input[name]:not([type=hidden])").count() > 10
        assert page.locator("form input[type=range][name]").count() == 0
        opened.check_quiet()


@pytest.mark.parametrize("view", [BROAD, HAND])
def test_a_flight_is_briefed_again_with_its_wind(browser: Browser, desk: Served, view):
    """The sample was flown in 35 kt from 245°, which its page says too."""
    with entered(browser, desk, viewport=view) as opened:
        (desk.folder / "procedures" / "chart.toml").write_bytes(CHART.read_bytes())
        page = opened.page
        page.set_input_files("#files", STRONG_WIND)
        page.get_by_role("button", name="Go on").click()
        page.get_by_role("button", name="Wendle Island VOR 24").click()
        page.get_by_role("link", name="Brief it again").click()
        expect(page.locator("#plan svg")).to_be_visible()
        expect(page.get_by_role("main")).to_contain_text("Wind 245° true, 35 kt (±")
        expect(field(page, "wind_kt")).to_have_value("35")
        expect(page.locator("#said")).to_contain_text("offset leg")
        page.get_by_role("link", name=STRONG_WIND.name).click()
        expect(page.get_by_role("link", name="Brief it again")).to_be_visible()
        opened.check_quiet()


def test_what_cannot_be_flown_is_said_and_what_was_drawn_before_is_gone(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        page = open_form(opened)
        field(page, "wind_from_deg").fill("150")
        field(page, "wind_kt").fill("140")
        expect(page.get_by_role("alert")).to_contain_text("too strong")
        expect(page.locator("#plan svg")).to_be_hidden()
        expect(page.get_by_role("table", name="To fly")).to_be_hidden()
        assert "--" not in page.get_by_role("alert").inner_text()
        page.get_by_label("Paper of the knee card").scroll_into_view_if_needed()
        expect(page.get_by_role("alert")).to_be_in_viewport()
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.get_by_role("alert").first).to_contain_text("too strong")
        expect(field(page, "wind_kt")).to_have_value("140")
        field(page, "wind_kt").fill("10")
        expect(page.locator("#fault")).to_be_hidden()
        expect(page.locator("#plan svg")).to_be_visible()
    assert list((desk.folder / "briefs").iterdir()) == []


def test_dragging_does_not_queue_up(browser: Browser, desk: Served):
    """Never more than one question at a time, and the last answer is that of the last place."""
    with entered(browser, desk) as opened:
        page = open_form(opened)
        page.evaluate(_COUNT)
        slider(page, "wind_kt").evaluate(
            """async (one) => {
              for (let knots = 1; knots <= 40; knots++) {
                one.value = knots;
                one.dispatchEvent(new Event("input", { bubbles: true }));
                await new Promise((done) => setTimeout(done, 15));
              }
            }"""
        )
        expect(page.locator("#rest")).to_contain_text("40 kt")
        page.wait_for_load_state("networkidle")
        counted = page.evaluate("window.counted")
        assert counted["most"] == 1
        assert 1 <= counted["asked"] <= 20  # of forty places
        expect(page.locator("#plan")).to_contain_text("40 kt")
        opened.check_quiet()


def test_the_knee_card_is_printed_from_what_is_set(browser: Browser, desk: Served, tmp_path: Path):
    with entered(browser, desk) as opened:
        page = open_form(opened)
        field(page, "wind_from_deg").fill("240")
        field(page, "wind_kt").fill("25")
        page.get_by_label("Paper of the knee card").select_option("A4")
        with page.expect_download() as download:
            page.get_by_role("button", name="Knee card (PDF)").click()
        file = tmp_path / "card.pdf"
        download.value.save_as(file)
        assert download.value.suggested_filename == "chart-brief.pdf"
        opened.check_quiet()
    sheet = read_pdf(file.read_bytes()).sheets[0]
    assert (round(sheet.width_mm), round(sheet.height_mm)) == (210, 297)
    assert "240° true 25 kt" in sheet.text


def test_a_kept_brief_is_changed_and_the_change_undone(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        page = open_form(opened, SAMPLES / "wendle_island_vorz24.toml")
        page.get_by_role("button", name="Save", exact=True).click()
        page.wait_for_url("**/briefs/kept/*")
        page.get_by_text("Missed approach and minimum").click()
        page.get_by_label("Plan goes on with").select_option("the missed approach")
        expect(page.locator("#rest")).to_contain_text("Missed approach")
        expect(page.locator('#rest figure[data-picture="hold"] svg')).to_be_visible()
        page.get_by_role("button", name="Save the changes").click()
        notice = page.locator(".notice", has_text="brief changed")
        expect(page.get_by_label("Plan goes on with")).to_have_value("yes")
        notice.get_by_role("button", name="Undo").click()
        expect(page.get_by_label("Plan goes on with")).to_have_value("")
        page.get_by_role("button", name="Remove this brief").click()
        page.get_by_role("button", name="Restore").click()
        page.wait_for_url("**/briefs/kept/*")
        opened.check_quiet()


@pytest.mark.parametrize(("view", "colours"), LOOKS)
def test_the_form_under_way_breaks_no_rule(browser: Browser, desk: Served, view: dict[str, int], colours: str):
    """With all parts open, and with a value that is not accepted."""
    with entered(browser, desk, viewport=view, color_scheme=colours) as opened:
        page = open_form(opened)
        for one in page.locator(".briefing details").all():
            one.locator("summary").click()
        field(page, "bank_deg").fill("80")
        expect(page.get_by_role("alert")).to_contain_text("“Bank”")
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        field(page, "bank_deg").fill("25")
        expect(page.locator("#fault")).to_be_hidden()
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= view["width"]
        opened.check_quiet()


def test_on_a_phone_each_number_has_its_name(browser: Browser, desk: Served):
    """A row is a paragraph there: "142 s" stood as "s 142"."""
    with entered(browser, desk, viewport=HAND) as opened:
        page = open_form(opened)
        row = page.get_by_role("row", name="outbound").first
        names = row.locator("td").evaluate_all("cells => cells.map(cell => cell.dataset.label)")
        assert {"seconds", "length NM", "ground speed kt"} <= set(names)


def test_a_brief_on_paper_has_no_sliders_and_begins_with_the_plan(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        page = open_form(opened)
        field(page, "speed_kt").fill("110")
        expect(page.locator("#said")).to_contain_text("greatest distance")
        printed = page.pdf(format="A4")
    first, *others = read_pdf(printed).sheets
    for words in ("45/180: outbound", "limit 10 NM", "To fly"):
        assert words in first.text
    for sheet in (first, *others):
        for words in ("Save", "Knee card", "Wind speed", "follow your settings", "Turns and outbound leg"):
            assert words not in sheet.text


def test_words_of_the_plan_are_legible_next_to_the_form(browser: Browser, desk: Served):
    """On a screen of 900 lines the words of the plan were less than 9 pixels."""
    with entered(browser, desk) as opened:
        page = open_form(opened)
        field(page, "speed_kt").fill("110")
        expect(page.locator("#plan svg text").first).to_be_visible()
        sizes = page.locator("#plan svg text").evaluate_all(
            "all => all.map((one) => [one.getScreenCTM(), parseFloat(getComputedStyle(one).fontSize)])"
            ".map(([to, points]) => points * Math.hypot(to.a, to.b))"
        )
        assert min(sizes) >= 10.0
