"""Tabs of the tests' browser.

The first page of a context takes it twice the work of a later one: a process starts, and its fonts, layout and scripts are new.
So contexts are kept with a page that stays open, and a test has a tab of its own in one of them.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize

_MOST_KEPT = 2  # contexts; each holds some 60 MB
_WINDOW: ViewportSize = {"width": 1440, "height": 900}  # of what else a test opens
_kept: dict[str, tuple[BrowserContext, Page]] = {}  # by site and options, the one used last at the end

_FORGET = "() => { try { localStorage.clear() } catch { /* a page that has none */ } }"


@contextmanager
def alone(browser: Browser, **options: Any) -> Iterator[Page]:
    """A page in a context of its own, for a test that leaves in it what no later one may find, as a clock."""
    context = browser.new_context(**options)
    try:
        yield context.new_page()
    finally:
        context.close()


@contextmanager
def tab(
    browser: Browser, site: str, *, viewport: ViewportSize, color_scheme: Any = None, forced_colors: Any = None, **options: Any
) -> Iterator[Page]:
    """A tab for pages of a site in a context with these options. No later test finds its cookies or what it stored.

    Its size and colours are its own, so that one context serves all of them. Where a test fails, its context is closed.
    """
    key = json.dumps([site, options], sort_keys=True)
    context, first = _kept.pop(key, None) or _begun(browser, site, options)
    try:
        made = context.new_page()
        made.set_viewport_size(viewport)
        made.emulate_media(color_scheme=color_scheme, forced_colors=forced_colors)
        yield made
        for page in context.pages:
            if page is not first:
                page.evaluate(_FORGET)
                page.close()
        context.clear_cookies()
    except BaseException:
        context.close()
        raise
    _kept[key] = context, first
    if len(_kept) > _MOST_KEPT:
        oldest, _ = _kept.pop(next(iter(_kept)))
        oldest.close()


def _begun(browser: Browser, site: str, options: dict[str, Any]) -> tuple[BrowserContext, Page]:
    """A context, and an empty page of the site, which keeps the process of its pages."""
    context = browser.new_context(viewport=_WINDOW, **options)
    first = context.new_page()
    first.route("**/*", lambda route: route.fulfill(body="", content_type="text/html"))
    first.goto(site)
    return context, first
