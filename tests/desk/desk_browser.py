"""A desk in a real browser: the page, what it asked for, and what console, page or policy complained of."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from desk_served import Served
from playwright.sync_api import Browser, Page
from tabs import alone, tab

CHROMIUM = Path("/usr/bin/chromium")  # Debian's
needs_chromium = pytest.mark.skipif(not CHROMIUM.exists(), reason="needs Debian's chromium")
_ANY_DESK = "http://127.0.0.1/"  # whatever their port, they are one site
BROAD, HAND = {"width": 1440, "height": 900}, {"width": 390, "height": 844}

_LISTEN = """
window.refused = [];
addEventListener("securitypolicyviolation", (event) => refused.push(`${event.violatedDirective} ${event.blockedURI}`));
"""


@dataclass
class Open:
    """A page of a desk under way."""

    page: Page
    desk: Served
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def go(self, path: str) -> None:
        self.page.goto(f"http://{self.desk.host}{path}")

    def check_quiet(self) -> None:
        """Check that nothing complained, and that nothing was asked for elsewhere."""
        assert self.complaints + self.page.evaluate("window.refused || []") == []
        assert [url for url in self.requests if not url.startswith((f"http://{self.desk.host}/", "data:", "blob:"))] == []


@contextmanager
def entered(browser: Browser, desk: Served, *, scripts: bool = True, **options: Any) -> Iterator[Open]:
    """The first page of a desk, in a tab that has its cookie."""
    options = {"viewport": BROAD, **options}
    made = tab(browser, _ANY_DESK, **options) if scripts else alone(browser, java_script_enabled=False, **options)
    with made as page:
        page.add_init_script(_LISTEN)
        opened = Open(page, desk)
        page.on("request", lambda request: opened.requests.append(request.url))
        page.on("console", lambda said: opened.complaints.append(said.text) if said.type in ("error", "warning") else None)
        page.on("pageerror", lambda error: opened.complaints.append(str(error)))
        if desk.cookie:
            name, _, value = desk.cookie.partition("=")
            page.context.add_cookies(
                [{"name": name, "value": value, "url": f"http://{desk.host}", "sameSite": "Strict", "httpOnly": True}]
            )
            opened.go("/")
        else:
            page.goto(desk.address)
            page.wait_for_url(f"http://{desk.host}/")
        page.wait_for_load_state()
        yield opened


def unfold_actions(page: Page) -> None:
    """Show what can be done with the flight of a page, but for what stands there at once."""
    page.locator("details.more > summary").click()


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until what is selected has the focus."""
    for _ in range(200):
        page.keyboard.press("Tab")
        if page.evaluate("(selector) => document.activeElement.matches(selector)", selector):
            return
    raise AssertionError(f"{selector} is not reached by Tab")
