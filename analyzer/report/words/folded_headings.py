"""What a heading of a table is called where a narrow page shows a row as a paragraph."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["FOLDED_HEADINGS"]

FOLDED_HEADINGS: Mapping[str, str] = {"s": "seconds", "NM": "length NM", "GS kt": "ground speed kt"}  # else as it is
