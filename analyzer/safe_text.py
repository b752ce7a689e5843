"""Text from files made safe to quote in another: one line, without control characters.

A name comes from whoever made the file. In it a control character can end a line, a cell or a document, and a character that
directs the writing (embedding, override, isolate) can turn around what follows it. Marks within a word, and all letters, stay.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping

__all__ = ["no_formula", "plain_line"]

_BREAKS = "\t\n\v\f\r\x85\u2028\u2029"
_DIRECTING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
_NO_CHARACTER = "\ufffe\uffff"  # XML has no place for them, nor for halves of surrogate pairs, which UTF-8 lacks too
_REPLACEMENT = "\ufffd"

# Characters that start a formula in spreadsheets; some accept the full-width forms too.
_FORMULA = ("=", "+", "-", "@", "\N{FULLWIDTH EQUALS SIGN}", "\N{FULLWIDTH PLUS SIGN}", "\N{FULLWIDTH HYPHEN-MINUS}",
            "\N{FULLWIDTH COMMERCIAL AT}")  # fmt: skip

_PLAIN: Mapping[int, str | None] = {
    **{code: None for code in range(0xA0) if unicodedata.category(chr(code)) == "Cc"},
    **dict.fromkeys((*range(0xD800, 0xE000), *map(ord, _NO_CHARACTER)), _REPLACEMENT),
    **{ord(character): None for character in _DIRECTING},
    **{ord(character): " " for character in _BREAKS},
}


def plain_line(text: str) -> str:
    """The text in one line: breaks and tabs become spaces, other control and directing characters go."""
    return text.translate(_PLAIN).strip()


def no_formula(text: str) -> str:
    """The text as a spreadsheet shows it, with an apostrophe before what it would take for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text
