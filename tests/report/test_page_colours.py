"""Colours of a page as a browser computes them, light and dark: text against what it stands on, and the lines of the legs."""

import pytest
from browsing import needs_chromium, opened
from test_report_page import contrast

from analyzer.vocabulary import FLOWN_LEGS, LEGS

pytestmark = needs_chromium
FLIGHT = "strong_wind.csv"

# Every piece of text that is seen, with its colour and what it stands on: the nearest background about it; in a picture the
# last shape before it, as the picture is drawn, that is filled where the middle of the text lies.
_TEXTS = """
() => {
  const pixel = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const laid = (colours) => {
    for (const colour of colours) { pixel.fillStyle = colour; pixel.fillRect(0, 0, 1, 1); }
    return "#" + [...pixel.getImageData(0, 0, 1, 1).data].slice(0, 3).map((v) => v.toString(16).padStart(2, "0")).join("");
  };
  const hex = (colour) => laid([colour]);
  const behind = (element) => {
    const colours = [];
    for (let one = element; one; one = one.parentElement) colours.unshift(getComputedStyle(one).backgroundColor);
    return laid(colours);
  };
  const under = (text) => {
    const svg = text.ownerSVGElement;
    const seen = text.getBoundingClientRect();
    const middle = new DOMPoint(seen.x + seen.width / 2, seen.y + seen.height / 2);
    let found = behind(svg);
    for (const path of svg.querySelectorAll("path, rect, circle")) {
      if (text.compareDocumentPosition(path) & Node.DOCUMENT_POSITION_FOLLOWING) break;
      if (path.closest("defs, clipPath")) continue;
      const fill = getComputedStyle(path).fill;
      if (fill === "none") continue;
      if (path.isPointInFill(middle.matrixTransform(path.getScreenCTM().inverse()))) found = hex(fill);
    }
    return found;
  };
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const said = walker.currentNode.textContent.trim(), element = walker.currentNode.parentElement;
    if (!said || element.closest("script, style, [hidden]") || !element.checkVisibility()) continue;
    const drawn = element.closest("svg text");
    const style = getComputedStyle(element);
    found.push(drawn ? [said, hex(style.fill), under(drawn)] : [said, hex(style.color), behind(element)]);
  }
  return found;
}
"""

# The stroke of every line and mark that is drawn: its colour in the style as written, and as computed.
_STROKES = """
() => [...document.querySelectorAll("figure svg path, figure svg use")]
  .filter((one) => !one.closest("defs") && (!one.getTotalLength || one.getTotalLength() > 0))
  .map((one) => [one.getAttribute("stroke"), getComputedStyle(one).stroke])
"""


@pytest.fixture(scope="module", params=["light", "dark"])
def seen(request, browser, page_files):
    with opened(browser, page_files[FLIGHT], "#part-outbound", color_scheme=request.param) as seen:
        yield request.param, seen.page


def test_the_page_is_as_dark_as_the_reader_asks(seen):
    scheme, page = seen
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    channels = [int(one) for one in ground.strip("rgb()").split(",")]
    assert min(channels) == 255 if scheme == "light" else max(channels) < 48


def test_every_text_can_be_read(seen):
    """WCAG 2.2, 1.4.3: 4.5:1, here for large text too."""
    texts = seen[1].evaluate(_TEXTS)
    assert len(texts) > 300
    assert {"reversal", "limit 10 NM", "Instant", "of full scale"} <= {said for said, *_ in texts}
    low = {(said, colour, ground): contrast(colour, ground) for said, colour, ground in texts if contrast(colour, ground) < 4.5}
    assert low == {}
    assert len({ground for *_, ground in texts}) >= 6  # the page's, the verdict's box, the tints of the legs


def leg_contrasts(page):
    """By leg, the contrast of its line against the page."""
    ground = page.evaluate(_TEXTS)[0][2]
    found = {}
    for written, computed in page.evaluate(_STROKES):
        if written and written.startswith("var(--") and (leg := written[len("var(--") : -1]) in FLOWN_LEGS:
            channels = [int(one) for one in computed.strip("rgb()").split(",")]
            found[leg] = contrast("#" + "".join(f"{one:02x}" for one in channels), ground)
    return found


def test_the_lines_of_the_legs_can_be_seen(seen):
    """WCAG 2.2, 1.4.11: 3:1 against the page."""
    found = leg_contrasts(seen[1])
    assert set(found) == set(LEGS)
    assert min(found.values()) >= 3.0


def test_no_colour_of_the_pictures_stays_behind_in_the_dark(seen):
    """Each colour of a picture follows the page: it is named and not written as a number."""
    _, page = seen
    written = {stroke for stroke, _ in page.evaluate(_STROKES) if stroke and stroke != "none"}
    assert written
    assert all(stroke.startswith("var(--") for stroke in written), written
