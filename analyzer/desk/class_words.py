"""Sentences of grading in the words of the pages of classes, where no option of the command line is given."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from analyzer.desk.field_words import in_fields, with_fields

__all__ = ["in_class", "list_in_class"]

_AGAIN = "under “Read the logs differently”"
# what options that grading names are on the pages of classes
_WORDS = (
    (re.compile(r"(?:, or|;) choose another place with -o"), ""),
    (re.compile(r"that --largest allows"), "that grading takes"),
    (re.compile(r"with --procedure\b"), "with “Chart” of the class"),
    (re.compile(r"with --roster\b"), "as the roster"),
    (re.compile(r"--format xlsx"), "the workbook"),
    # a unit of the class settles what a log leaves open, and no more
    (re.compile(r"(Say which: --unit altitude=ft or m)\."), r"\1; where the log states one itself, correct it there."),
    (re.compile(r"name it with --flown\b"), "say it in the column “flown as” of the roster"),
)
# values of the list that are names, addresses, or what the instructor typed
_AS_THEY_ARE = frozenset(
    {"key", "id", "name", "short", "called", "log", "link", "page", "who", "changed", "instructor", "excused"}
)


def in_class(text: str, place: str = _AGAIN) -> str:
    """A sentence with what a page of a class has in the place of options; see `in_fields`.

    >>> in_class("40.0 MB, more than the 33.5 MB that --largest allows")
    '40.0 MB, more than the 33.5 MB that grading takes'
    >>> in_class("Where you know better, name it with --flown.")
    'Where you know better, say it in the column “flown as” of the roster.'
    """
    for option, words in _WORDS:
        text = option.sub(words, text)
    return in_fields(text, place)


def list_in_class(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """The values of the list of a class, so worded."""
    worded: dict[str, Any] = with_fields(dict(values), in_class, _AS_THEY_ARE)
    return worded
