"""The page of a class and the sheets of students in a browser: nothing asked for, nothing too wide or small, no rule broken."""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from browsing import BROAD, HAND, needs_chromium, opened
from report_flights import PROCEDURE

from analyzer.grade.grading import grade
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.settings import read_settings

pytestmark = needs_chromium
LOGS = ("clean.csv", "strong_wind.csv", "early_descent.gpx", "missed_and_hold.csv", "step_down.csv")
ROSTER = "file,pilot,aircraft,remark\nearly_descent.gpx,Ada Quorl,C172,Wait for the needle.\nclean.csv,Bo Wendle,,\n"
PAGES = ("class.html", "sheets/2026-07-09-1805-early_descent.gpx.html", "sheets/2026-08-02-1330-missed_and_hold.html",
         "sheets/2026-08-23-0755-step_down.html")  # fmt: skip
_SIZES = """() => [...document.querySelectorAll("body *")]
  .filter(e => e.checkVisibility({checkVisibilityCSS: true}) && e.getClientRects().length
    && [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
  .map(e => {
    const svg = e.closest("svg");
    const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
    return [parseFloat(getComputedStyle(e).fontSize) * scale, e.textContent.trim().slice(0, 40)];
  })"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("class")
    (folder / "logs").mkdir()
    for name in LOGS:
        (folder / "logs" / name).write_bytes((PROCEDURE.parent / name).read_bytes())
    (folder / "roster.csv").write_text(ROSTER, encoding="utf-8")
    with local_pool(1) as pool:
        settings = read_settings(PROCEDURE, sheets="a4")
        grade(str(folder / "logs"), settings, pool, str(folder / "out"), read_roster(folder / "roster.csv"))
    return folder / "out"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", PAGES)
def test_no_rule_is_broken(browser, folder, name, scheme):
    for size in (BROAD, HAND):
        with opened(browser, folder / name, viewport=size, color_scheme=scheme) as seen:
            result = Axe().run(seen.page, options={"resultTypes": ["violations"]}).response
        assert [f"{one['id']}: {one['nodes'][0]['html'][:200]}" for one in result["violations"]] == []


@pytest.mark.parametrize("width", [360, 390, 430])
@pytest.mark.parametrize("name", PAGES)
def test_on_a_phone_nothing_is_wider_than_the_screen_or_too_small_to_read(browser, folder, name, width):
    with opened(browser, folder / name, viewport={"width": width, "height": 800}) as seen:
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
        sizes = seen.page.evaluate(_SIZES)
    assert len(sizes) > 10
    least = 11.0 * min(1.0, (width - 32) / 358.0)  # pictures are drawn for 390 pixels, less the margins
    assert [(size, text) for size, text in sizes if size < least - 0.01] == []


@pytest.mark.parametrize("name", PAGES)
def test_it_asks_for_nothing_and_complains_of_nothing(browser, folder, name):
    with opened(browser, folder / name, viewport=BROAD) as seen:
        assert seen.requests == [(folder / name).as_uri()]
        assert seen.all_complaints() == []


def test_a_name_leads_to_the_flight(browser, folder):
    with opened(browser, folder / "class.html", viewport=BROAD) as seen:
        seen.page.get_by_role("link", name="Ada Quorl").first.click()
        assert seen.page.url.endswith("sheets/2026-07-09-1805-early_descent.gpx.html")
        assert seen.page.get_by_role("heading", level=1).inner_text() == "Ada Quorl"
