"""A page sent to paper by a browser: its pictures whole, dark on white, without what only a screen can do."""

import numpy as np
import pypdfium2
import pytest
from browsing import needs_chromium, opened

import analyzer
from analyzer.report.pages.compare_page import compare_page

pytestmark = needs_chromium
SHEETS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # mm, ISO 216 and ANSI Y14.1
POINT_MM = 25.4 / 72.0


class Paper:
    """What an independent reader finds in a PDF: the size and the text of each sheet, and what it looks like."""

    def __init__(self, content: bytes) -> None:
        with pypdfium2.PdfDocument(content) as document:
            self.sizes = [tuple(side * POINT_MM for side in page.get_size()) for page in document]
            self.texts = [" ".join(page.get_textpage().get_text_range().split()) for page in document]
            self.looks = [np.asarray(page.render(scale=1.0).to_pil().convert("L")) for page in document]

    def sheets_with(self, words: str) -> set[int]:
        return {number for number, text in enumerate(self.texts) if words in text}


@pytest.fixture(scope="module", params=[("A4", "strong_wind.csv", "light"), ("Letter", "strong_wind.csv", "dark"),
                                        ("A4", "two_approaches.csv", "light")], ids="-".join)  # fmt: skip
def printed(request, browser, page_files):
    sheet, name, scheme = request.param
    with opened(browser, page_files[name], "#part-outbound", color_scheme=scheme) as seen:
        words = [
            [" ".join(text.split()) for text in figure.locator("svg[data-layout=wide] text").all_text_contents()]
            for figure in seen.page.locator("figure").all()
        ]
        captions = seen.page.locator("figcaption").all_inner_texts()
        content = seen.page.pdf(format=sheet, print_background=False)
        assert seen.all_complaints() == []
    return sheet, Paper(content), words, captions


def test_the_sheets_have_the_size_that_was_asked_for(printed):
    sheet, paper, *_ = printed
    for size in paper.sizes:
        assert size == pytest.approx(SHEETS[sheet], abs=0.5)


def test_each_picture_is_whole_on_one_sheet_with_its_caption(printed):
    """All the words that are drawn in it, and the beginning of what is written below it."""
    _, paper, words, captions = printed
    assert len(words) == len(captions) >= 3
    for drawn, caption in zip(words, captions, strict=True):
        on = paper.sheets_with(caption[:60])
        assert on
        whole = [sheet for sheet in on if all(word in paper.texts[sheet] for word in drawn)]
        assert whole, (caption, [[word for word in drawn if word not in paper.texts[sheet]] for sheet in on])


def test_it_is_dark_on_white(printed):
    """Also where the screen is dark; and nothing is cut off at the edges."""
    _, paper, *_ = printed
    for look in paper.looks:
        assert np.median(look) == 255
        assert look.min() < 80
        for edge in (look[:20], look[-20:], look[:, :20], look[:, -20:]):
            assert edge.min() == 255


def test_what_only_a_screen_can_do_is_left_out(printed):
    _, paper, *_ = printed
    assert not paper.sheets_with("Instant")


def test_no_sheet_is_wasted(printed, documents):
    """An approach takes three sheets of pictures and three of tables, and no sheet is empty."""
    _, paper, words, _ = printed
    assert len(paper.sizes) <= 6 * (len(words) // 4)
    assert all(len(text) > 40 for text in paper.texts)


def test_the_table_of_parts_is_whole_on_one_sheet(printed):
    """Two of its nine rows stood on the next sheet, below the half of an empty one."""
    _, paper, words, _ = printed
    if len(words) == 4:
        (sheet,) = paper.sheets_with("Parts flown")
        assert "Bank in degrees, mean/peak" in paper.texts[sheet]


def test_a_comparison_on_paper_asks_for_no_choice_and_has_its_figures_together(browser, debriefs, tmp_path):
    page = tmp_path / "attempts.html"
    flown = [debriefs[name] for name in ("clean.csv", "strong_wind.csv", "early_descent.gpx")]
    page.write_text(compare_page(analyzer.compare(flown)), encoding="utf-8")
    with opened(browser, page) as seen:
        assert seen.page.get_by_text("Choose a number").is_visible()
        paper = Paper(seen.page.pdf(format="A4"))
    assert not paper.sheets_with("Choose a number")
    (sheet,) = paper.sheets_with("findings outside")
    for figure in ("Figures", "farthest, NM", "outbound course, °", "wind, kt"):
        assert figure in paper.texts[sheet]
