"""A class as text for the terminal, 80 columns: what was found in all, and the worst rows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analyzer.gradebook.index import Index
from analyzer.gradebook.roster import Roster
from analyzer.gradebook.settings import Settings
from analyzer.gradebook.tally import Tally
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.class_words import class_counts, mark_short, remarks, settled_sentences, title_of, why_words
from analyzer.report.words.layout import WIDTH, clipped, wrapped

__all__ = ["class_text"]

_MOST_ROWS = 30
_SHORT = {"too close to call": "too close"}


def class_text(tally: Tally, index: Index, settings: Settings, roster: Roster | None) -> str:
    """The class as a table, the worst first, with what is to be said beside it."""
    head, rest = class_counts(tally)
    lines = [title_of(settings), *wrapped(f"{index.logs:,} {'log' if index.logs == 1 else 'logs'}, {head}: {rest}"), ""]
    for sentence in settled_sentences(settings):
        lines += [*wrapped(sentence), ""]
    rows = [listed.row for listed in tally.worst(_MOST_ROWS)]
    if rows:
        lines += _table(rows, named=roster is not None)
        more = tally.rows - len(rows)
        if more:
            lines.append(f"and {more:,} more {'row' if more == 1 else 'rows'}, all of them in the files")
        lines.append("")
    for remark in remarks(tally, index, roster):
        lines += wrapped(remark)
    return "\n".join([*lines, *wrapped(CAUTION)]) + "\n"


def _table(rows: list[Mapping[str, Any]], *, named: bool) -> list[str]:
    """Columns: log, pilot where there is a roster, mark, result, why; the last takes what room is left."""
    cells = [
        (
            _log(row),
            (row["pilot"] or "") if named else "",
            mark_short(row),
            _result(row),
            row["remark"] if row["duplicate_of"] is not None else _why(row),
        )
        for row in rows
    ]
    heading = ("log", "pilot" if named else "", "mark", "result", "why")
    most = (24, 14, 10, 17, WIDTH)
    widths = [min(limit, max(len(row[k]) for row in (heading, *cells))) for k, limit in enumerate(most)]
    widths[4] = WIDTH - sum(width + 2 for width in widths[:4] if width)
    shown = [_line(row, widths) for row in (heading, *cells)]
    return [shown[0], "-" * WIDTH, *shown[1:]]


def _log(row: Mapping[str, Any]) -> str:
    """A log, with the number of the approach where there are several, or the hold and its laps."""
    if row["hold"] is not None:
        return f"{row['file']} {row['hold']} x{row['laps']}"
    return f"{row['file']} {row['approach']}/{row['approaches']}" if (row["approaches"] or 1) > 1 else str(row["file"])


def _line(row: tuple[str, ...], widths: list[int]) -> str:
    cut = [clipped(cell, width) for cell, width in zip(row, widths, strict=True)]
    padded = [c.rjust(w) if k == 2 else c.ljust(w) for k, (c, w) in enumerate(zip(cut, widths, strict=True)) if w]
    return "  ".join(padded).rstrip()


def _result(row: Mapping[str, Any]) -> str:
    result = str(row["verdict"] or row["status"])
    return _SHORT.get(result, result)


def _why(row: Mapping[str, Any]) -> str:
    """What was outside or close, without the count before it; else the reason."""
    why = why_words(row)
    return why.partition(": ")[2] if " findings: " in why else why.removesuffix(" that could be judged")
