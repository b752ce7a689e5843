"""The pictures of an approach for print: those of a page, in the wide layout and in colours for white paper."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.page_pictures import Picture, draw_pictures
from analyzer.report.pictures.style import THEME

if TYPE_CHECKING:
    from analyzer.report.pictures.subject import Subject

__all__ = ["printed", "printed_pictures"]

_NAMED = re.compile(r"var\(--([a-z-]+)\)")
_COLOURS = {name: colour for colour, (name, _) in THEME.items()}


def printed_pictures(subject: Subject) -> list[dict[str, Any]]:
    """All pictures of an approach."""
    return [printed(picture) for picture in draw_pictures(subject, "print")]


def printed(picture: Picture) -> dict[str, Any]:
    """A picture of a page for print: its name, title, caption, alternative text, and SVG."""
    (wide,) = (view for view in picture.views if view.layout == WIDE.name)
    return {
        "name": picture.name,
        "title": picture.title,
        "caption": picture.caption,
        "alt": picture.alt,
        "svg": _NAMED.sub(lambda named: _COLOURS[named.group(1)], wide.svg),
    }
