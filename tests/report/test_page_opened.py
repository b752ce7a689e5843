"""Pages as a browser opens them from disk: nothing asked for, nothing complained of, whole with and without scripts."""

import io

import numpy as np
import pytest
from browsing import BROAD, DESK, HAND, bar, needs_chromium, opened
from matplotlib.image import imread
from report_flights import CUT_NAMES, SAMPLE_NAMES
from test_report_page import Page

from analyzer.report.pictures.style import LEG_COLOUR, WARN
from analyzer.vocabulary import LEGS

pytestmark = needs_chromium
FLIGHT = "strong_wind.csv"
TALL = 2400


@pytest.mark.parametrize("name", SAMPLE_NAMES + CUT_NAMES)
def test_only_the_page_is_asked_for_and_nothing_is_complained_of(browser, page_files, documents, name):
    """Also while it is used; and neither at a desk nor in a hand must the page itself be scrolled sideways."""
    with opened(browser, page_files[name]) as seen:
        page, found = seen.page, documents[name]["reversals"]
        for size in (DESK, HAND):
            page.set_viewport_size(size)
            assert page.locator(".instant:visible").count() == max(1, len(found))
            for approach in range(max(1, len(found))):
                page.get_by_role("slider").nth(approach).fill("20")
                assert bar(page, approach).values["ground speed"] > 0.0
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
            assert page.evaluate("document.body.getBoundingClientRect().right") <= size["width"]
        assert seen.requests == [page_files[name].as_uri()]
        assert seen.all_complaints() == []


@pytest.fixture(scope="module", params=[1200, 400])
def without_scripts(request, browser, page_files):
    """What the browser makes of the page where scripts may not run: the document as it stands, and its picture."""
    size = {"width": request.param, "height": TALL}
    with opened(browser, page_files[FLIGHT], kept=False, java_script_enabled=False, viewport=size) as seen:
        picture = np.rint(imread(io.BytesIO(seen.page.screenshot()))[..., :3] * 255.0).astype(np.int32)
        shown = [box.is_visible() for box in seen.page.locator(".instant").all()]
        figures = [box.bounding_box() for box in seen.page.locator("figure svg:visible").all()]
        tables = [box.is_visible() for box in seen.page.locator("table").all()]
        assert seen.complaints == []
        content = seen.page.content()
    return request.param, content, (picture[..., 0] << 16) + (picture[..., 1] << 8) + picture[..., 2], shown, figures, tables


def dark(picture: np.ndarray) -> np.ndarray:
    """Where none of the three colours is more than half lit."""
    return (picture & 0x808080) == 0


def test_without_scripts_the_whole_page_is_there(without_scripts, pages, documents):
    """The same text and the same pictures as were written; the browser closes nothing that was left open. The bar is hidden."""
    _, content, _, bars, figures, tables = without_scripts
    seen, written = Page(content), Page(pages[FLIGHT])
    assert seen.text("main") == written.text("main")
    assert [tag for tag, *_ in seen.elements if tag != "tbody"] == [tag for tag, *_ in written.elements if tag != "tbody"]
    assert bars == [False]
    assert len(figures) == 4
    assert all(box["width"] > 300.0 and box["height"] > 100.0 for box in figures)
    assert tables == [True] * len(written.all("table"))
    assert len(tables) >= 1
    farthest = documents[FLIGHT]["reversals"][0]["farthest"]["distance_nm"]
    assert f"farthest {farthest:.2f} NM" in seen.text("svg")


def test_with_scripts_it_says_the_same_and_the_bar(browser, page_files, pages):
    """The script adds what the bar tells, and changes no other word."""
    with opened(browser, page_files[FLIGHT]) as seen:
        told = seen.page.locator(".reading").text_content()
        seen.page.evaluate("document.querySelector('.reading').replaceChildren()")
        assert Page(seen.page.content()).text("main") == Page(pages[FLIGHT]).text("main")
    assert "UTC" in told


def test_the_page_is_not_blank(without_scripts):
    width, _, picture, *_ = without_scripts
    assert picture.shape == (TALL, width)
    assert len(np.unique(picture)) > 100
    assert all(dark(tenth).any() for tenth in np.array_split(picture, 10))


def test_the_pictures_are_in_colour_in_spite_of_the_policy(without_scripts):
    """The colour of every leg flown and that of the limits: styles inside the pictures are allowed by the page's own policy."""
    picture = without_scripts[2]
    for colour in (*(LEG_COLOUR[leg] for leg in LEGS), WARN):
        assert (picture == int(colour[1:], 16)).sum() > 20, colour


def test_the_pictures_fill_the_column_and_no_more(without_scripts):
    """At either width there is a margin left and right with nothing in it."""
    width, _, picture, *_ = without_scripts
    margin = {1200: 18, 400: 15}[width]
    assert (picture[:, :margin] == 0xFFFFFF).all()
    assert (picture[:, -margin:] == 0xFFFFFF).all()
    ink = np.flatnonzero(dark(picture).any(axis=0))
    assert ink[0] < margin + 40
    assert ink[-1] > width - margin - 80


def test_findings_stand_next_to_the_pictures_where_there_is_room(browser, page_files):
    """Plan and slider fit a screen of 900 pixels; a finding that is chosen is seen, and so is the picture that shows it."""
    with opened(browser, page_files[FLIGHT], viewport=BROAD) as seen:
        page, high = seen.page, BROAD["height"]
        plan, bar_of = page.locator("figure[data-picture=plan] svg:visible"), page.locator(".instant")
        first = page.locator(".faults li").first
        assert plan.bounding_box()["x"] + plan.bounding_box()["width"] <= first.bounding_box()["x"]
        assert plan.bounding_box()["height"] + bar_of.bounding_box()["height"] < high
        for row, picture in (("finding-distance_limit", "plan"), ("finding-altitude_floor", "profile"), ("part-final", "plan")):
            page.locator(f"[id^={row}] a").last.click()
            page.locator(f"[id^={row}].chosen").wait_for()
            page.wait_for_timeout(100)
            shown = page.locator(f"figure[data-picture={picture}] svg:visible").bounding_box()
            chosen = page.locator("[id].chosen").bounding_box()
            for box in (shown, chosen):
                assert -1.0 <= box["y"] < high - bar_of.bounding_box()["height"], (row, box)
        assert seen.all_complaints() == []


def test_text_twice_as_large_needs_no_scrolling_sideways(browser, page_files):
    """WCAG 2.2, 1.4.4 and 1.4.10: text may be made twice as large."""
    with opened(browser, page_files[FLIGHT], viewport={"width": 1280, "height": 900}) as seen:
        seen.page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= 1280
