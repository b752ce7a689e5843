"""Sentences about a procedure file in the words of the chart form: its labels instead of the keys of the file.

What is wrong or odd with a chart is worded once, for the file: ``[altitudes] final_ft = 500``. Who types a chart at the desk
sees labels and headings, so these take the place of tables and keys, each with its value behind it.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Final

from analyzer.desk.chart_questions import ROWS, SECTIONS, RowsOf

__all__ = ["in_labels"]

_AS_NUMBERED: Final[Mapping[str, str]] = MappingProxyType({})
# What a table is called where no key follows.
_TABLES: Mapping[str, str] = {
    "reversal": "the course reversal",
    "arc": "the arc",
    "fix": "the fix of the reversal",
    "altitudes": "the altitudes",
    "guidance": "“Course guidance”",
    "dme": "“DME station”",
    "runway": "“Runway”",
    "glide_path": "the glide path",
    "minimum": "a single minimum",
    "minimums": "lines of minimums",
    "missed_approach": "“Missed approach”",
    "speeds": "“Speeds that you mean to fly”",
    "holds": "“Holds”",
    "fixes": "the fixes of the final course",
    "arrivals": "“Arrivals”",
}
_INNER_TABLE = "within_from"  # named as a key is
_UNITS = {"deg": "°", "nm": " NM", "kias": " kt", "kt": " kt", "s": " s", "ft": " ft", "m": " m"}
_NEEDS_HEADING = re.compile(r"(?:or|and|to|by|at|its|how that)\b", re.IGNORECASE)
_GOES_ON = re.compile(r"^(?:or|and) ")  # from the field before
_UNIT_OF_LABEL = re.compile(r", (?:ft|NM|kt indicated|kt|degrees)$")
_VALUE = r"(?: = (?P<value>\"[^\"]*\"|-?\d+(?:\.\d+)?(?:e[-+]\d+)?|true|false))"
_ROW_NAME = r"(?: \((?P<called>[^)]*)\))?"
_TABLE = r"\[\[?(?P<table>[a-z_]+(?:\.[a-z_]+)?)\]\]?(?: (?P<row>\d+))?" + _ROW_NAME


def _labels() -> Iterator[tuple[str, str, str, str]]:
    """Table, key, heading and label of every field, without the label's example and unit."""
    for section in SECTIONS:
        for part in section.parts:
            for field in part.fields if isinstance(part, RowsOf) else (part,):
                words = _UNIT_OF_LABEL.sub("", field.words.partition(", like ")[0].partition("; ")[0])
                yield field.table, field.key, "" if isinstance(part, RowsOf) else section.heading, words


def _unmistakable() -> Mapping[tuple[str, str], str]:
    """The label of every field by table and key, with its heading where it says too little without it."""
    fields = list(_labels())
    often = Counter(words for _, _, _, words in fields)
    return {
        (table, key): f"{heading}: {_GOES_ON.sub('', words)}"
        if heading and (often[words] > 1 or _NEEDS_HEADING.match(words))
        else _GOES_ON.sub("", words)
        for table, key, heading, words in fields
    } | {("reversal", _INNER_TABLE): "The limit counts from"}


_LABELS = _unmistakable()
_KEYS = sorted({key for _, key in _LABELS}, key=len, reverse=True)
_WRITTEN = [*_KEYS, *(f"{key[:-3]}_m" for key in _KEYS if key.endswith("_ft"))]
# a key of one word is a word like any other, unless a value follows
_KEY = f"(?P<key>{'|'.join(key for key in _WRITTEN if '_' in key)})\\b{_VALUE}?"
_WORD = f"(?P<word>{'|'.join(key for key in _WRITTEN if '_' not in key)}){_VALUE.replace('value', 'value_of_word')}"
_GOES_ON_AFTER_TABLE = re.compile(r"^\[reversal\] (?=a base turn)")
_PIECES = re.compile(rf"{_TABLE}|(?<![\w\"]){_KEY}|(?<![\w\"]){_WORD}")


def in_labels(text: str, rows: Mapping[str, str] = _AS_NUMBERED) -> str:
    """A sentence with labels of the form for tables and keys; `rows` gives what a row is called in the form.

    >>> in_labels("[reversal] maximum_time_s = 60: less than leg_time_s = 180; correct one")
    '“Longest outbound leg” (60 s): less than “Outbound leg, by time” (180 s); correct one'
    >>> in_labels("[[fixes]] 1 maximum_ft = 800: below [minimum] altitude_ft = 900", {"fixes 1": "fixes 2"})
    '“At or below there” of fix 2 (800 ft): below “Minimums: Its altitude” (900 ft)'
    """
    text = _GOES_ON_AFTER_TABLE.sub("", text)
    said, place, table, row = "", 0, "", ""
    pending = ""  # a table whose key may follow
    named = ""  # the row that was said last
    for piece in _PIECES.finditer(text):
        between = text[place : piece.start()]
        if pending and between.strip():
            said, pending, named = said + pending, "", row
        if piece["table"]:
            said += between
            table, row = _place(piece, rows)
            pending = row or _TABLES.get(table, table.replace("_", " "))
        else:
            said += "" if pending else between
            said, pending = said + _field(piece, table, "" if row == named else row), ""
            named = row
        place = piece.end()
    said += pending + text[place:]
    return said[:1].upper() + said[1:]


def _place(piece: re.Match[str], rows: Mapping[str, str]) -> tuple[str, str]:
    """The table of a piece, and what its row is called: ``fix 2 (INNER)``, or nothing where it is no row."""
    table, number = piece["table"], piece["row"]
    if number is None or table not in ROWS:
        return table, ""
    number = rows.get(f"{table} {number}", f"{table} {number}").rpartition(" ")[2]
    called = f" ({piece['called']})" if piece["called"] else ""
    return table, f"{ROWS[table].word} {number}{called}"


def _field(piece: re.Match[str], table: str, row: str) -> str:
    """The label of a key, the row that it is in, and its value."""
    key, value = (piece["key"], piece["value"]) if piece["key"] else (piece["word"], piece["value_of_word"])
    in_feet = f"{key[:-2]}_ft" if key.endswith("_m") else key
    label = _LABELS.get((table, in_feet)) or _elsewhere(in_feet)
    of_row = f" of {row}" if row else ""
    return f"“{label}”{of_row}{f' ({_shown(table, key, value)})' if value else ''}"


def _elsewhere(key: str) -> str:
    """The label of a key in whichever table has it, for sentences that name a table only later."""
    return next(words for (_, name), words in _LABELS.items() if name == key)


def _shown(table: str, key: str, value: str) -> str:
    """A value as a form has it: 061°, 2900 ft, yes."""
    if value in ("true", "false"):
        return "yes" if value == "true" else "no"
    if value.startswith('"'):
        return value.strip('"')
    if key.endswith("course_deg"):
        return f"{float(value):03g}°"
    return f"{value}{_UNITS.get('kt' if table == 'speeds' else key.rpartition('_')[2], '')}"
