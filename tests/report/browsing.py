"""Pages in a real browser, opened from disk: what it asks for, what it complains of, and the instant that the pictures mark."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page
from tabs import alone, tab

CHROMIUM = Path("/usr/bin/chromium")  # Debian's
needs_chromium = pytest.mark.skipif(not CHROMIUM.exists(), reason="needs Debian's chromium")

# a window in which the pictures stand above each other, one with room for the findings next to them, and a phone
DESK, BROAD, HAND = {"width": 1100, "height": 900}, {"width": 1440, "height": 900}, {"width": 390, "height": 800}

_LISTEN = """
window.refused = [];
addEventListener("securitypolicyviolation", (event) => refused.push(`${event.violatedDirective} ${event.blockedURI}`));
"""


@dataclass
class Seen:
    """A page under way: what was requested, and what the console, the page or its policy complained of."""

    page: Page
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def listen(self) -> None:
        def hear(message: ConsoleMessage) -> None:
            if message.type in ("error", "warning", "assert"):
                self.complaints.append(f"{message.type}: {message.text}")

        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", hear)
        self.page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))
        self.page.on("dialog", lambda dialog: (self.complaints.append(f"dialog: {dialog.message}"), dialog.dismiss()))

    def all_complaints(self) -> list[str]:
        return [*self.complaints, *self.page.evaluate("window.refused || []")]


@contextmanager
def opened(browser: Browser, file: Path, fragment: str = "", *, kept: bool = True, **options: Any) -> Iterator[Seen]:
    """A file in a tab, which is closed afterwards; where its context is not to be kept, in one of its own."""
    options = {"viewport": DESK, **options}
    with tab(browser, "file:///", **options) if kept else alone(browser, **options) as page:
        page.add_init_script(_LISTEN)
        seen = Seen(page)
        seen.listen()
        page.goto(file.as_uri() + fragment)
        yield seen


@dataclass(frozen=True)
class Bar:
    """What an approach's bar tells: the clock, the part, and each known quantity as a signed number (right and up positive)."""

    clock: str
    part: str
    values: dict[str, float]


def bar(page: Page, approach: int = 0) -> Bar:
    """What the bar of an approach tells now."""
    first, *rest = page.locator(".instant .reading").nth(approach).locator("strong, span").all_inner_texts()
    clock, part = re.fullmatch(r"(\d\d:\d\d:\d\d) UTC(?:, (.+))?", first).groups()
    values: dict[str, float] = {}
    for text in rest:
        words, number = re.fullmatch(r"([a-z ]+?) ([−\d].*)", text).groups()
        size = float(re.match(r"[\d,.]+", number.lstrip("−"))[0].replace(",", ""))
        values[words] = -size if number.startswith("−") or number.endswith(" left") else size
    return Bar(clock, part, values)


def middle(box: dict[str, float]) -> tuple[float, float]:
    """The middle of a bounding box."""
    return box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0


# Where things lie on the screen, as the browser lays them out: [left, top, width, height] of each.
_PLACES = """
(svg, [selector, text]) => [...svg.querySelectorAll(selector)]
  .filter((one) => !text || one.textContent.trim() === text)
  .map((one) => { const b = one.getBoundingClientRect(); return [b.x, b.y, b.width, b.height]; })
"""


def boxes(page: Page, picture: str, selector: str, text: str = "", approach: int = 0) -> list[tuple[float, ...]]:
    """The boxes of what a selector finds inside a picture, of those that say just this text where one is given."""
    svg = page.locator(f"section.approach >> nth={approach} >> figure[data-picture={picture}] svg:visible")
    return [tuple(box) for box in svg.evaluate(_PLACES, [selector, text])]


def dots(page: Page, picture: str, approach: int = 0) -> list[tuple[float, float]]:
    """The middles of the marks at the instant that are seen in a picture."""
    found = boxes(page, picture, "circle.now:not([visibility=hidden])", approach=approach)
    return [(left + width / 2.0, top + height / 2.0) for left, top, width, height in found]


def lines(page: Page, picture: str, approach: int = 0) -> list[tuple[float, float, float]]:
    """Where the upright lines at the instant stand: x, top, bottom."""
    found = boxes(page, picture, "line.now", approach=approach)
    return [(left + width / 2.0, top, top + height) for left, top, width, height in found]


_MINUTES = """
(svg) => Object.fromEntries([...svg.querySelectorAll("text")].filter((one) => /^\\s*\\d\\d:\\d\\d\\s*$/.test(one.textContent))
  .map((one) => { const b = one.getBoundingClientRect(); return [one.textContent.trim(), b.x + b.width / 2]; }))
"""


def minutes(page: Page, approach: int = 0) -> dict[str, float]:
    """Where the minutes written below the strips stand across the screen, by the clock: ``15:40``."""
    svg = page.locator(f"section.approach >> nth={approach} >> figure[data-picture=strips] svg:visible")
    return dict(svg.evaluate(_MINUTES))


# Size in pixels of every piece of text that is seen, and whether it is drawn in a picture (in the picture's own units).
_SIZES = """
() => {
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim() || element.closest("script, style") || !element.checkVisibility()) continue;
    found.push([parseFloat(getComputedStyle(element).fontSize), Boolean(element.closest("svg"))]);
  }
  return found;
}
"""
# What stands beyond the right edge of a window of some width.
_TOO_WIDE = """
(width) => [...document.querySelectorAll("main *, footer *")]
  .filter((one) => one.checkVisibility() && !one.closest("svg") && one.getBoundingClientRect().right > width + 0.5)
  .map((one) => one.outerHTML.slice(0, 80))
"""
_PAGE_MARGINS, _DRAWN_WIDTH = 32.0, 358.0


def check_phone(page: Page, width: int) -> None:
    """Check that a page fits a window as wide as a phone: its pictures are those drawn for it, and all words can be read."""
    assert page.locator("svg[data-layout=narrow]:visible").count() == page.locator("figure").count() > 0
    assert page.locator("svg[data-layout=wide]:visible").count() == 0
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(_TOO_WIDE, width) == []
    sizes = page.evaluate(_SIZES)
    assert len(sizes) > 40
    assert min(size for size, drawn in sizes if not drawn) >= 11.0
    scale = (width - _PAGE_MARGINS) / _DRAWN_WIDTH
    assert min(size for size, drawn in sizes if drawn) * scale >= 11.0 * min(1.0, scale) - 0.01
