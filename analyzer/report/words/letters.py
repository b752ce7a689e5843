"""Letters that DejaVu lacks, the font of pictures and PDFs, and how wide text is."""

from __future__ import annotations

import re
import unicodedata

__all__ = ["beyond_dejavu", "width_em"]

# Of India, Thailand, Korea, Japan and China, and all beyond the first 65,536.
_BEYOND = re.compile(r"[\u0900-\u0e7f\u1100-\u11ff\u2e80-\ua4cf\uac00-\ud7ff\uf900-\ufaff\uff00-\uffef\U00010000-\U0010ffff]")
_LETTER_EM, _WIDE_EM = 0.6, 1.0  # of a common sans-serif; a Chinese character is as wide as it is high


def beyond_dejavu(text: str) -> bool:
    """Whether a text has letters that DejaVu lacks."""
    return _BEYOND.search(text) is not None


def width_em(row: str) -> float:
    """About how wide a row of text is, as a share of the size of its font."""
    return sum(_WIDE_EM if unicodedata.east_asian_width(letter) in "WF" else _LETTER_EM for letter in row)
