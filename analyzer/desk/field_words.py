"""Sentences in the words of the desk: what an option of the command line settles is here a field or a button of a page.

Sentences name a remedy by its option, as ``--qnh``, wherever they are written, so that each surface can word it. What is said
at the desk goes through `in_fields`, and a test finds the options that the sentences use and that have no words here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

__all__ = ["in_fields", "with_fields"]

_AGAIN = "under “Read the log differently”"
_QUANTITIES = {"utc_offset": "offset from UTC"}
_OF_UNIT = {"altitude": "altitudes"}
# What each option is at the desk. The fields of the first are on the page that reads the log again.
_READING: Mapping[str, str] = {
    "altitude-from": "“Altitudes count from”",
    "qnh": "“QNH”",
    "temperature": "“Temperature at the airfield”",
    "utc-offset": "“Time zone of the log's clock”",
    "start": "“Date and time of the first row”",
    "only": "“Aircraft”",
}
_ELSEWHERE: Mapping[str, str] = {
    "unit": "the unit chosen",
    "from": "the route",
    "cleared": "“Cleared for”",
    "flown": "“Say what was flown”",
    "line": "the line of minimums",
    "brief": "the brief",
    "procedure": "“Choose another chart”",
    "standard": "standard in settings.toml",
    "json": "“Keep”",
    "speed": "“Speed”",
    "true-speed": "“Speed”",
    "wind": "“Wind from”",
    "bank": "“Bank”",
    "rate": "“Rate of turn”",
    "shape": "“Kind of turn”",
    "outbound": "“Outbound leg”",
    "keep": "“Keep inside the limit”",
    "arrival": "“Course of arrival”",
    "altitude": "“Altitude”",
    "climb": "“Rate of climb”",
    "missed": "“Plan goes on with”",
}
_VALUE = r"(?:'[^']*'|\"[^\"]*\"|\[[^\]]*\]|\.\.\.|[\w./°:+-]*[\w/°])"
_MORE = re.compile(r"[,;]? or allow more with --max-(?:bytes|samples)")
_COUNTS_FROM = re.compile(r"--altitude-from (sea-level|pressure|ellipsoid)\b")
_NO_ALTITUDE = re.compile(r"(?:with )?--no-altitude")
# a word of a clearance that is none; a page takes a leg and its altitude without the sign between
_CLEARED = re.compile(r"--cleared (\S+): (must be [^;]*? like \w+)=(?=\d)")
_UNIT = re.compile(rf"--unit (\w+)=({_VALUE})(?: or --unit \1=(\w+)| \(or (\w+)\)| or (\w+)\b(?!=))?")
_COLUMN = re.compile(rf"--column (\w+)=({_VALUE})")
# an option, and what stands for a value of it where the sentence gives none: LEG=FT, COLUMN=VALUE, TIME, an instant
_EXAMPLE = r"\+HH:MM|[A-Z]+=[A-Z]+|\d{4}-\d\d-\d\d(?:T[\d:]+Z?)?|[A-Z]{4,}"
_OPTION = re.compile(rf"--({'|'.join((*_READING, *_ELSEWHERE))})\b(?: (?:{_EXAMPLE})(?=[\s.,;:)?]|$))?")


def in_fields(text: str, place: str = _AGAIN) -> str:
    """A sentence with fields of the desk in the place of options; `place` says where those that read the log are, if elsewhere.

    >>> in_fields("Give the QNH with --qnh.")
    'Give the QNH with “QNH” under “Read the log differently”.'
    >>> in_fields("Say which: --unit altitude=ft or m.", "")
    'Say which: “Unit of the altitudes”, ft or m.'
    """
    if "--" not in text:
        return text
    there = f" {place}" if place else ""
    said = _COUNTS_FROM.sub(rf"“Altitudes count from”{there}, \1", _MORE.sub("", text))
    said = _NO_ALTITUDE.sub(f"“Column of the altitude”{there}, None", said)
    said = _CLEARED.sub(r"“Cleared for”, \1: \2 ", said)
    said = _UNIT.sub(lambda match: _unit(match, there), said)
    said = _COLUMN.sub(lambda match: f"“Column of the {_words(match[1])}”{there}{_choice(match[2])}", said)
    said = _OPTION.sub(lambda match: _field(match, there), said)
    return _listed(said.replace("” “", "” and “").replace(f"”{there} “", f"”{there} and “"), there)


def _listed(text: str, there: str) -> str:
    """The text with fields that follow one another as a list, which says once where they are."""
    where, more = re.escape(f"”{there} and "), re.escape(f"”{there}")
    listed = re.sub(rf"{where}(?=“[^”]*{where})", "”, ", text)
    return re.sub(rf"{where}(?=“[^”]*{more})", "” and ", listed)


def with_fields(
    value: Any, word: Callable[[str], str] = in_fields, but: frozenset[str] = frozenset({"pictures", "data"})
) -> Any:
    """Values of a page with all their texts so worded, but for the entries of those names."""
    if isinstance(value, str):
        return word(value)
    if isinstance(value, dict):
        return {key: one if key in but else with_fields(one, word, but) for key, one in value.items()}
    if type(value) in (list, tuple):
        return type(value)(with_fields(one, word, but) for one in value)
    return value


def _unit(match: re.Match[str], there: str) -> str:
    other = match[3] or match[4] or match[5]
    return (
        f"“Unit of the {_OF_UNIT.get(match[1]) or _words(match[1])}”{there}{_choice(match[2])}{f' or {other}' if other else ''}"
    )


def _choice(value: str) -> str:
    """What to choose in a field; nothing where the sentence leaves it open."""
    bare = value.strip("'\"")
    return "" if bare in ("NAME", "...", "") or bare.isupper() else f", {bare}"


def _field(match: re.Match[str], there: str) -> str:
    name = match[1]
    return f"{_READING[name]}{there}" if name in _READING else _ELSEWHERE[name]


def _words(quantity: str) -> str:
    return _QUANTITIES.get(quantity, quantity.replace("_", " "))
