"""Pages against the rules of axe-core (WCAG A and AA, and best practices): none is broken, narrow or wide, dark or light."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from browsing import BROAD, DESK, HAND, check_phone, needs_chromium, opened
from report_flights import PROCEDURE

import analyzer
from analyzer.brief.briefing import brief
from analyzer.brief.chances import Errors
from analyzer.brief.conditions import asked_for
from analyzer.procedure.charted import resolve
from analyzer.report.pages.brief_page import brief_page
from analyzer.report.pages.compare_page import compare_page

pytestmark = needs_chromium

FLIGHTS = (
    "clean.csv", "strong_wind.csv", "two_approaches.csv", "straight_in.csv", "no_altitude.csv", "arrival_only.csv", "brief",
    "compare",
)  # fmt: skip
LIGHT, NARROW = {"viewport": DESK, "color_scheme": "light"}, {"viewport": HAND, "color_scheme": "light"}
DARK, DARK_NARROW = {"viewport": DESK, "color_scheme": "dark"}, {"viewport": HAND, "color_scheme": "dark"}
WAYS = {
    **{f"{flight} light": (flight, LIGHT) for flight in FLIGHTS},
    **{f"{flight} dark narrow": (flight, DARK_NARROW) for flight in ("two_approaches.csv", "no_altitude.csv", "brief")},
    "strong_wind.csv dark": ("strong_wind.csv", DARK),
    "strong_wind.csv narrow": ("strong_wind.csv", NARROW),
    "strong_wind.csv broad": ("strong_wind.csv", {"viewport": BROAD, "color_scheme": "light"}),
    "compare dark narrow": ("compare", DARK_NARROW),
}


@pytest.fixture(scope="module")
def files(page_files, debriefs, tmp_path_factory) -> dict[str, Path]:
    """The pages of flights, that of a brief, and that of attempts side by side."""
    charted = resolve(analyzer.read_procedure(PROCEDURE), date(2026, 6, 14))
    conditions = asked_for(
        charted, speeds=["110"], true_speeds=[], winds=["240/25"], bank_deg=None, rate_deg_s=3.0, shape=None, outbound=None,
        keep_nm=1.0, arrival_deg=None, altitude_ft=None, air=(None, None),
    )  # fmt: skip
    file = tmp_path_factory.mktemp("brief") / "brief.html"
    file.write_text(brief_page(brief(charted, conditions, Errors(flights=200))), encoding="utf-8")
    attempts = file.with_name("attempts.html")
    flown = [debriefs[name] for name in ("clean.csv", "strong_wind.csv", "early_descent.gpx")]
    attempts.write_text(compare_page(analyzer.compare(flown)), encoding="utf-8")
    return {**page_files, "brief": file, "compare": attempts}


def broken(result: dict[str, Any]) -> list[str]:
    """What is broken in words: the rule, how much it matters, and the first element."""
    return [f"{one['id']} ({one['impact']}): {one['nodes'][0]['html'][:200]}" for one in result["violations"]]


@pytest.mark.parametrize("way", WAYS)
def test_no_rule_is_broken(browser, files, way):
    flight, context = WAYS[way]
    with opened(browser, files[flight], **context) as seen:
        result = Axe().run(seen.page, options={"resultTypes": ["violations"]}).response
    assert broken(result) == []
    assert {"color-contrast", "heading-order", "landmark-one-main"} <= {one["id"] for one in result["passes"]}


@pytest.mark.parametrize("name", ["strong_wind.csv", "two_approaches.csv", "arrival_only.csv", "brief", "compare"])
@pytest.mark.parametrize("width", [360, 390, 430])
def test_on_a_phone_nothing_is_cut_off_or_too_small(browser, files, name, width):
    """Nothing is wider than the screen, and no word is smaller than 11 pixels, in the pictures too, which are drawn for it."""
    with opened(browser, files[name], viewport={"width": width, "height": 800}) as seen:
        check_phone(seen.page, width)


_UNDER_THE_BAR = """
() => {
  const one = document.activeElement, bar = document.querySelector(".instant");
  if (one === document.body) return null;
  if (bar.contains(one)) return false;
  const [at, of] = [one.getBoundingClientRect(), bar.getBoundingClientRect()];
  return at.height < of.top / 2 && at.bottom > of.top + 0.5 && at.top < of.bottom;
}
"""


@pytest.mark.parametrize("view", [DESK, HAND, BROAD], ids=["desk", "hand", "broad"])
def test_what_has_the_focus_is_not_under_the_bar(browser, files, view):
    """WCAG 2.2, 2.4.11: the bar of the instant stays at the lower edge, and Tab led to links below it."""
    with opened(browser, files["strong_wind.csv"], viewport=view) as seen:
        seen.page.wait_for_selector(".instant:not([hidden])")
        hidden, steps = [], 0
        while (under := (seen.page.keyboard.press("Tab"), seen.page.evaluate(_UNDER_THE_BAR))[1]) is not None and steps < 120:
            steps += 1
            if under:
                hidden.append(seen.page.evaluate("document.activeElement.textContent"))
    assert steps > 30
    assert hidden == []


def test_what_is_broken_would_be_found(browser, files):
    """The same page with the words of the slider taken away."""
    with opened(browser, files["clean.csv"]) as seen:
        seen.page.evaluate("document.querySelector('.instant .slide span').remove()")
        result = Axe().run(seen.page, options={"runOnly": ["label"], "resultTypes": ["violations"]}).response
    assert [one["id"] for one in result["violations"]] == ["label"]
