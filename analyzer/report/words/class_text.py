"""A class as text for the terminal, in its width: the totals, and the worst rows with their reasons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from analyzer.gradebook.index import Index
from analyzer.gradebook.roster import Roster
from analyzer.gradebook.settings import Settings
from analyzer.gradebook.tally import Tally
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.class_words import (
    class_counts,
    mark_short,
    procedure_words,
    remarks,
    settled_sentences,
    title_of,
    why_short,
)
from analyzer.report.words.layout import WIDTH, clipped, wrapped

__all__ = ["class_text"]

_MOST_ROWS = 30
_SHORT = {"too close to call": "too close"}
_LEAST_WHY, _WIDEST = 24, 160  # columns at least for the reasons, and at most for a line: longer ones are hard to read
_LEAST_TABLE = 72  # columns of a table; narrower ones would be all reasons
_MARK = 2  # the column of the marks


def class_text(tally: Tally, index: Index, settings: Settings, roster: Roster | None, width: int = WIDTH) -> str:
    """The class as a table, the worst first, with remarks, in lines of `width` characters."""
    width = min(width, _WIDEST)
    head, rest = class_counts(tally)
    counted = f"{index.logs:,} {'log' if index.logs == 1 else 'logs'}, {head}: {rest}"
    lines = [*wrapped(title_of(settings), width=width), *wrapped(counted, width=width), ""]
    for sentence in settled_sentences(settings):
        lines += [*wrapped(sentence, width=width), ""]
    rows = [listed.row for listed in tally.worst(_MOST_ROWS)]
    if rows:
        made = _table if width >= _LEAST_TABLE else _list
        lines += made(rows, width, named=roster is not None, picks=settings.pick)
        more = tally.rows - len(rows)
        if more:
            lines += wrapped(f"and {more:,} more {'row' if more == 1 else 'rows'}; the files list all of them", width=width)
        lines.append("")
    remarked = [line for remark in remarks(tally, index, roster) for line in wrapped(remark, width=width)]
    if remarked:
        lines += [*remarked, ""]
    return "\n".join([*lines, *wrapped(CAUTION, width=width)]) + "\n"


def _list(rows: Sequence[Mapping[str, Any]], width: int, *, named: bool, picks: bool) -> list[str]:
    """The same where a table has no room: a paragraph a row, and the reasons below it."""
    lines = []
    for row in rows:
        pilot, procedure = (row["pilot"] or "") if named else "", procedure_words(row) if picks else ""
        said = (_log(row), pilot, mark_short(row), _result(row), procedure)
        lines += [*wrapped(", ".join(filter(None, said)), hanging="  ", width=width), *wrapped(_why(row), "  ", width=width)]
    return lines


def _table(rows: Sequence[Mapping[str, Any]], width: int, *, named: bool, picks: bool) -> list[str]:
    """Columns: log, pilot with a roster, mark, result, procedure if it was picked, and why, which is wrapped."""
    cells = [
        (
            _log(row),
            (row["pilot"] or "") if named else "",
            mark_short(row) or "-",
            _result(row),
            procedure_words(row) if picks else "",
            _why(row),
        )
        for row in rows
    ]
    heading = ("log", "pilot" if named else "", "mark", "result", "procedure" if picks else "", "why")
    most = [24, 14, 10, 17, 20, width]
    widths = [min(limit, max(len(row[k]) for row in (heading, *cells))) for k, limit in enumerate(most)]
    for k in (4, 0, 1):  # columns that shrink if the reasons have no room
        taken = sum(column + 2 for column in widths[:5] if column)
        widths[k] = max(min(widths[k], 12), widths[k] - max(0, taken + _LEAST_WHY - width)) if widths[k] else 0
    widths[5] = width - sum(column + 2 for column in widths[:5] if column)
    lines = [_line((*heading[:5], heading[5]), widths), "-" * width]
    for row in cells:
        first, *others = wrapped(row[5], width=widths[5]) or [""]
        lines.append(_line((*row[:5], first), widths))
        lines += [" " * (width - widths[5]) + other for other in others]
    return lines


def _why(row: Mapping[str, Any]) -> str:
    """The reason for a row's result, with its doubts; if the log fits several procedures, that is the reason already."""
    if row["duplicate_of"] is not None:
        return str(row["remark"])
    doubts = f"; check first: {row['doubts']}" if row["doubts"] and row["procedure_rivals"] is None else ""
    excused = f"; excused: {row['excused']}" if row["excused"] else ""
    return why_short(row) + excused + doubts


def _log(row: Mapping[str, Any]) -> str:
    """The log, with the number of the approach if it has several, or with the hold and its laps."""
    if row["hold"] is not None:
        return f"{row['file']} {row['hold']} x{row['laps']}"
    return f"{row['file']} {row['approach']}/{row['approaches']}" if (row["approaches"] or 1) > 1 else str(row["file"])


def _line(row: tuple[str, ...], widths: list[int]) -> str:
    cut = [clipped(cell, width) for cell, width in zip(row, widths, strict=True)]
    padded = [c.rjust(w) if k == _MARK else c.ljust(w) for k, (c, w) in enumerate(zip(cut, widths, strict=True)) if w]
    return "  ".join(padded).rstrip()


def _result(row: Mapping[str, Any]) -> str:
    result = str(row["verdict"] or row["status"])
    return _SHORT.get(result, result)
