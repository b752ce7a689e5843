"""The page of a class and the sheets of students in a browser: nothing asked for, nothing too wide or small, no rule broken."""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from browsing import BROAD, HAND, needs_chromium, opened
from report_flights import PROCEDURE

import analyzer
from analyzer.grade.grading import grade
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.settings import read_settings
from analyzer.report.pages.compare_page import compare_page

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


# The texts of cells that stand in more than one line.
_BROKEN = """(cells) => cells.filter((cell) => {
  const range = document.createRange();
  range.selectNodeContents(cell);
  const tops = [...range.getClientRects()].map((one) => one.top);
  return Math.max(...tops) - Math.min(...tops) > 5;
}).map((cell) => cell.textContent)"""


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
    with opened(browser, folder / name, viewport=BROAD, color_scheme=scheme) as seen:
        for size in (BROAD, HAND):
            seen.page.set_viewport_size(size)
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


def test_a_name_from_right_to_left_leaves_the_name_of_its_log_whole(browser, tmp_path):
    """Each by itself: the digits and the suffix of the log on one side of the name, in this order."""
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / "04.csv").write_bytes((PROCEDURE.parent / "clean.csv").read_bytes())
    (tmp_path / "roster.csv").write_text("file,pilot\n04.csv,\u05d9\u05e2\u05dc \u05db\u05d4\u05df\n", encoding="utf-8")
    with local_pool(1) as pool:
        grade(
            str(tmp_path / "logs"), read_settings(PROCEDURE), pool, str(tmp_path / "out"), read_roster(tmp_path / "roster.csv")
        )
    with opened(browser, tmp_path / "out" / "class.html", viewport=BROAD) as seen:
        row = seen.page.locator(".marks tbody th").first
        name, log = (row.locator(part).bounding_box() for part in ("a", "bdi.quiet"))
        assert row.locator("bdi.quiet").inner_text() == "04.csv"
        assert name["x"] + name["width"] <= log["x"]


def test_ten_attempts_keep_their_numbers_whole(browser, tmp_path):
    """No number of the table breaks in two, and the page is no wider than its window."""
    procedure = analyzer.read_procedure(PROCEDURE)
    logs = [PROCEDURE.parent / name for name in LOGS[:3]] * 4
    debriefs = [analyzer.debrief(analyzer.read_track(path), procedure) for path in dict.fromkeys(logs)]
    compared = analyzer.compare([debriefs[k % len(debriefs)] for k in range(10)])
    (tmp_path / "ten.html").write_text(compare_page(compared), encoding="utf-8")
    for size in (BROAD, HAND):
        with opened(browser, tmp_path / "ten.html", viewport=size) as seen:
            numbers = seen.page.locator(".figures td.number")
            assert numbers.count() > 100
            assert numbers.evaluate_all(_BROKEN) == []
            assert seen.page.evaluate("document.documentElement.scrollWidth") <= size["width"]
