"""Every page of the desk against the rules of axe-core (WCAG A and AA, and best practices): wide and narrow, light and dark."""

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from desk_browser import BROAD, HAND, entered, needs_chromium
from desk_flights import many_things
from desk_here import served_here
from desk_served import Served
from playwright.sync_api import Browser, expect

from analyzer.desk.jobs import Jobs

pytestmark = needs_chromium

PAGES = {
    "flights": "/",
    "flights, one taken out": "/?out=logs%2Fstrong_wind.csv",
    "what can be undone": "/changes",
    "settings": "/settings",
    "a flight laid against a brief": "/flights/strong_wind.csv",
    "a straight-in flight": "/flights/nothing.csv",
    "a flight without an approach": "/flights/beside.csv",
    "a flight that was named": "/flights/missed_and_hold.csv",
    "what was flown": "/flights/missed_and_hold.csv/flown",
    "what a log leaves open": "/flights/open.csv",
    "a log that is understood": "/flights/strong_wind.csv/reading",
    "procedures": "/flights/clean.csv/procedures",
    "a new chart": "/charts/new",
    "a chart": "/charts/saved/vor24.toml",
    "a chart with all that follows": "/charts/saved/vorz24.toml",
    "coded, airports": "/charts/coded?file=coded.txt",
    "coded, approaches": "/charts/coded?file=coded.txt&airport=XWND",
    "coded, one": "/charts/coded?file=coded.txt&airport=XWND&approach=N06",
    "coded, none such": "/charts/coded?file=coded.txt&airport=NOPE",
    "briefs": "/briefs",
    "a new brief": "/briefs/new?chart=vorz24.toml",
    "a brief that is kept": "/briefs/kept/windy.json",
    "a brief of no chart": "/briefs/new?chart=none.toml",
    "classes": "/classes",
    "a class": "/classes/Spring",
    "a class, a log taken out": "/classes/Spring?out=x.csv",
    "a class that begins": "/classes/Summer",
    "a flight of a class": "/classes/Spring/flights/strong_wind.csv",
    "a flight of a class that cannot be read": "/classes/Spring/flights/torn.csv",
    "how a class is read": "/classes/Spring/flights/clean.csv/reading",
    "refused": "/flights/none.csv",
    "not found": "/nothing",
}
LOOKS = {
    "wide light": {"viewport": BROAD, "color_scheme": "light"},
    "wide dark": {"viewport": BROAD, "color_scheme": "dark"},
    "narrow light": {"viewport": HAND, "color_scheme": "light"},
    "narrow dark": {"viewport": HAND, "color_scheme": "dark"},
}
_TOO_WIDE = """
(width) => [...document.querySelectorAll("main *, header *, footer *")]
  .filter((one) => one.checkVisibility() && !one.closest("svg, .scroll") && one.getBoundingClientRect().right > width + 0.5)
  .map((one) => one.outerHTML.slice(0, 80))
"""
# what can be pressed, by WCAG 2.2, 2.5.8 at least 24 pixels both ways, but for links in a line of text
_SMALL = """
() => [...document.querySelectorAll("main button, main .button, main select, main input, header a")]
  .filter((one) => !["radio", "hidden"].includes(one.type))
  .filter((one) => one.checkVisibility())
  .filter((one) => { const b = one.getBoundingClientRect(); return b.width < 24 || b.height < 24; })
  .map((one) => one.outerHTML.slice(0, 80))
"""


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory, jobs: Jobs) -> Iterator[Served]:
    """A desk whose folder holds something for every page."""
    folder = tmp_path_factory.mktemp("full") / "desk"
    many_things(folder)
    with served_here(folder, jobs) as desk:
        desk.enter()
        yield desk


@pytest.mark.parametrize("page", PAGES)
def test_pages_break_no_rule(browser: Browser, full: Served, page: str):
    with entered(browser, full, viewport=BROAD, color_scheme="light") as opened:
        for size in (BROAD, HAND):
            opened.page.set_viewport_size(size)
            opened.page.emulate_media(color_scheme="light")
            opened.go(PAGES[page])
            opened.page.wait_for_load_state("networkidle")
            expect(opened.page.locator("footer")).to_contain_text("Training aid, never for navigation.")
            assert opened.page.locator("h1").count() == 1
            found = Axe().run(opened.page, options={"resultTypes": ["violations"]})
            assert found.violations_count == 0, found.generate_report()
            assert opened.page.evaluate("document.documentElement.scrollWidth") <= size["width"]
            assert opened.page.evaluate(_TOO_WIDE, size["width"]) == []
            assert opened.page.evaluate(_SMALL) == []
            opened.page.emulate_media(color_scheme="dark")  # which changes colours and nothing else
            found = Axe().run(opened.page, options={"runOnly": ["color-contrast"], "resultTypes": ["violations"]})
            assert found.violations_count == 0, found.generate_report()
        assert [text for text in opened.complaints if "404" not in text and "400" not in text] == []


@pytest.mark.parametrize("look", LOOKS)
def test_a_chart_under_way_breaks_no_rule(browser: Browser, full: Served, look: str):
    """With a value that is none, one that contradicts another, and what is offered."""
    with entered(browser, full, **LOOKS[look]) as opened:
        page = opened.page
        opened.go("/charts/saved/vor24.toml")
        page.locator('[name="altitudes.final_ft"]').fill("20")
        page.locator('[name="fix.latitude_deg"]').fill("N98")
        page.locator('[name="reversal.offset_course_deg"]').fill("")
        expect(page.locator('[data-field="fix.latitude_deg"] .said')).to_contain_text("accepted")
        expect(page.locator('[data-field="reversal.offset_course_deg"] .under > .offer')).to_contain_text("016")
        page.locator('[name="fix.latitude_deg"]').fill("N48 21")
        expect(page.locator('[data-field="altitudes.final_ft"]')).to_have_class("field odd")
        expect(page.locator('[data-field="altitudes.final_ft"] .said')).to_contain_text("“Elevation of the threshold” (40 ft)")
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        opened.check_quiet()


def test_pages_say_the_same_without_colour(browser: Browser, full: Served):
    """Forced colours, as somebody sets them who cannot tell others: verdicts and marks are in words and signs."""
    with entered(browser, full, forced_colors="active") as opened:
        opened.go("/flights/strong_wind.csv")
        expect(opened.page.locator(".verdict").first).to_contain_text("Outside")
        opened.go("/")
        expect(opened.page.locator("table.flights")).to_contain_text("Outside")
