"""A file of coded procedures in plain text of 80 columns: its airports, or the approaches of one airport."""

from __future__ import annotations

import itertools
import textwrap
from collections.abc import Iterable, Iterator, Sequence

from analyzer.errors import ProcedureError
from analyzer.procedure.coded.approach import CodedApproach
from analyzer.procedure.coded.names import approach_name, cycle_text
from analyzer.procedure.coded.reversals import CodedReversal, distinct, reversals
from analyzer.procedure.coded.words import enumeration, reversal_text, route_text

__all__ = ["airport_text", "airports_text", "imported_text"]

_WIDTH, _GAP = 80, 3
_CAUTION = "Coded data, check against the chart in force. Training aid, never for navigation."
_INDENT = "  "


def airports_text(name: str, cycle: str | None, counts: Sequence[tuple[str, int]]) -> str:
    """The airports of a file in columns, each with the number of its approaches that have a course reversal."""
    of_cycle = f", cycle {cycle_text(cycle)}" if cycle is not None else ""
    number, total = len(counts), sum(count for _, count in counts)
    noun = "airport has" if number == 1 else "airports have"
    lines = textwrap.wrap(f"{name}{of_cycle}: {number:,} {noun} {total:,} approaches with a course reversal.", _WIDTH)
    cells = [f"{airport} {count}" for airport, count in counts]
    if cells:
        wide = max(map(len, cells)) + _GAP
        across = max(1, (_WIDTH + _GAP) // wide)
        deep = -(-len(cells) // across)
        lines.append("")
        lines += ["".join(cell.ljust(wide) for cell in cells[row::deep]).rstrip() for row in range(deep)]
        lines += [
            "",
            *textwrap.wrap(f"Name an airport to see its approaches: analyzer procedure import {name} {counts[0][0]}", _WIDTH),
        ]
    return "\n".join([*lines, "", *textwrap.wrap(_CAUTION, _WIDTH), ""])


def airport_text(airport: str, name: str, approaches: Iterable[tuple[str, CodedApproach | ProcedureError]]) -> str:
    """The approaches of an airport: their course reversals, the routes to them, and the routes that are NoPT."""
    listed = list(approaches)
    heading = f"{airport} {name}".strip()
    if not listed:
        return "\n".join([f"{heading}: no approach with a course reversal is coded.", ""])
    lines = [f"{heading}: approaches with a course reversal"]
    for ident, approach in listed:
        lines += ["", f"{ident}  {approach_name(ident)}"]
        if isinstance(approach, ProcedureError):
            lines += _wrapped(f"cannot be read: {approach}")
        else:
            lines += itertools.chain.from_iterable(_wrapped(words) for words in _approach(approach))
    return "\n".join([*lines, "", *textwrap.wrap(_CAUTION, _WIDTH), ""])


def _approach(approach: CodedApproach) -> Iterator[str]:
    charted = reversals(approach)
    groups = distinct(charted)
    turns = [group for group in groups if group[0].kind != "arc"]
    for group in (*turns, *(group for group in groups if group[0].kind == "arc")):
        leads_past = " (NoPT)" if group[0].kind == "arc" and turns else ""
        yield f"{reversal_text(approach, group[0])}{leads_past}; {_from(group)}"
    reversed_routes = {reversal.route for reversal in charted}
    straight = [route.name for route in approach.transitions if route.name not in reversed_routes]
    if straight:
        yield f"NoPT from {enumeration(straight)}"


def _from(group: Sequence[CodedReversal]) -> str:
    routes = [route_text(reversal.route) for reversal in group]
    return f"from {enumeration(routes)}"


def _wrapped(words: str) -> list[str]:
    return textwrap.wrap(
        words, _WIDTH, initial_indent=_INDENT, subsequent_indent=2 * _INDENT, break_on_hyphens=False, break_long_words=False
    )


def imported_text(written: int, folder: str, refused: Sequence[tuple[str, str]], warned: int) -> str:
    """The result of importing all approaches: files written, how many carry warnings, and which were refused and why."""
    lines = [f"Written: {written:,} procedure {'file' if written == 1 else 'files'} in {folder}."]
    if warned:
        lines += textwrap.wrap(f"With something to check, listed at the head of the file: {warned:,}.", _WIDTH)
    if refused:
        lines += ["", f"Refused: {len(refused):,}."]
        lines += itertools.chain.from_iterable(_wrapped(f"{what}: {reason}") for what, reason in refused)
    return "\n".join([*lines, "", *textwrap.wrap(_CAUTION, _WIDTH), ""])
