"""Names of approaches: from the coded ident to the name on the chart, and from what a user types to the ident.

Route types and the form of idents are those of ARINC 424-18, 5.7 and 5.10; the words are those printed on charts.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence

__all__ = ["approach_name", "cycle_text", "matching", "near", "runway_of"]

_TYPES = {
    "B": "LOC BC", "D": "VOR/DME", "F": "FMS", "G": "IGS", "H": "RNAV (RNP)", "I": "ILS", "J": "GLS", "L": "LOC", "M": "MLS",
    "N": "NDB", "P": "GPS", "Q": "NDB/DME", "R": "RNAV (GPS)", "S": "VOR", "T": "TACAN", "U": "SDF", "V": "VOR", "W": "MLS",
    "X": "LDA", "Y": "MLS",
}  # fmt: skip
_CIRCLING = {
    "VDM": "VOR/DME",
    "RNV": "RNAV (GPS)",
    "NDM": "NDB/DME",
    "TAC": "TACAN",
    "LBC": "LOC BC",
    "VOR": "VOR",
    "NDB": "NDB",
}
_RUNWAY = re.compile(r"([A-Z])(\d\d)([LRCT]?)\s*-?\s*([A-Z0-9]?)")
_CLOSE = 0.6


def approach_name(ident: str) -> str:
    """The name of an approach: ``ILS 22`` for I22, ``VOR Z 34`` for S34-Z, ``VOR-A`` for VOR-A; else the ident itself."""
    match = _RUNWAY.fullmatch(ident)
    if match is not None and match[1] in _TYPES:
        which = f" {match[4]}" if match[4] else ""
        return f"{_TYPES[match[1]]}{which} {match[2]}{match[3]}"
    kind, dash, letter = ident.partition("-")
    return f"{_CIRCLING.get(kind, kind)}-{letter}" if dash and letter else ident


def runway_of(ident: str) -> str | None:
    """The runway that an approach leads to, such as ``RW22``; None for a circling approach."""
    match = _RUNWAY.fullmatch(ident)
    return f"RW{match[2]}{match[3]}" if match is not None else None


def matching(asked: str, idents: Sequence[str]) -> list[str]:
    """The approaches that may be meant: the one with that name or ident, else all that contain every word typed."""
    exact = [ident for ident in idents if asked.strip().upper() == ident.upper()]
    exact = exact or [ident for ident in idents if _plain(asked) in (_plain(ident), _plain(approach_name(ident)))]
    if exact:
        return exact
    words = _words(asked)
    return [ident for ident in idents if words and words <= (_words(approach_name(ident)) | _words(ident) | _runways(ident))]


def near(asked: str, idents: Sequence[str]) -> list[str]:
    """Approaches with names similar to what was typed."""
    known = {_plain(name): ident for ident in idents for name in (ident, approach_name(ident))}
    close = difflib.get_close_matches(_plain(asked), list(known), n=3, cutoff=_CLOSE)
    return [ident for ident in idents if ident in {known[name] for name in close}]


def _plain(text: str) -> str:
    return re.sub(r"[^A-Z0-9]", "", text.upper())


def _words(text: str) -> set[str]:
    """The words of a name, with runway numbers without their leading zero; ``I16`` is one word, ``ILS16`` two."""
    return {word.lstrip("0") for word in re.findall(r"[A-Z]+(?![A-Z0-9])|[A-Z]{2,}(?=\d)|\d+[LRC]?|[A-Z]\d\w*", text.upper())}


def _runways(ident: str) -> set[str]:
    runway = runway_of(ident)
    return {runway, runway[2:].lstrip("0")} if runway else set()


def cycle_text(cycle: str) -> str:
    """A cycle in words: ``2013 (the 13th of 2020)``."""
    year = int(cycle[:2]) + (1900 if cycle >= "50" else 2000)
    number = int(cycle[2:])
    ending = "th" if 11 <= number <= 13 else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{cycle} (the {number}{ending} of {year})"
