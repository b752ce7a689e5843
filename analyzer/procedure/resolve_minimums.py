"""The minimum that applies to a flight: the only one, or the line that its category and way of landing select."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import ProcedureError
from analyzer.physics.units import FT, NM
from analyzer.procedure.altitude_unit import said
from analyzer.procedure.approach import Minimum
from analyzer.procedure.approach_schema import MinimumLine
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import Line

__all__ = ["category_within", "resolve_minimum", "resolve_minimums"]


def resolve_minimums(procedure: Procedure) -> tuple[Minimum, ...]:
    """All lines of minimums, in the order of the file; empty where none is charted."""
    if procedure.minimums:
        return tuple(_of_line(line) for line in procedure.minimums)
    if procedure.minimum is not None:
        table = procedure.minimum
        point = table.visual_descent_point_nm
        return (Minimum(table.kind, table.altitude_ft * FT, "straight-in", None, None if point is None else point * NM),)
    final = procedure.altitudes.final_ft
    return () if final is None else (Minimum("mda", final * FT, "straight-in", None, None),)


def _of_line(line: MinimumLine) -> Minimum:
    point = line.visual_descent_point_nm
    return Minimum(line.kind, line.altitude_ft * FT, line.line, line.category, None if point is None else point * NM)


def resolve_minimum(procedure: Procedure, line: Line) -> tuple[Minimum | None, tuple[str, ...]]:
    """The minimum for the procedure's category and a way of landing, and what is odd about it.

    A line for the category takes precedence over one for all. Without a straight-in line that applies, a circling one is used.
    Where a decision altitude and a minimum descent altitude both apply, it is the former with a glide path, else the latter.

    Raises
    ------
    ProcedureError
        If there are lines of minimums and none of them holds, or the category is needed and not given; if the minimum for
        circling is asked for and the file has no lines of minimums.
    """
    if not procedure.minimums:
        if line != "straight-in":
            raise ProcedureError(
                f'--line {line}: {procedure.title} has no [[minimums]] to pick from; add one with line = "{line}", or '
                "leave out --line"
            )
        only = resolve_minimums(procedure)
        return (only[0] if only else None), ()
    rows = [row for row in procedure.minimums if row.line == line]
    applicable = _holding(procedure, rows)
    odd: tuple[str, ...] = ()
    if not applicable and line == "straight-in":
        applicable = _holding(procedure, [row for row in procedure.minimums if row.line == "circling"])
        if applicable:
            used = _row(procedure, applicable[0])
            odd = (f"[[minimums]] have no straight-in line{_for(procedure)}: the circling one is used, {used}.",)
    if not applicable:
        raise ProcedureError(_none_holds(procedure, line))
    if len(applicable) > 1:
        wanted = "da" if procedure.glide_path is not None else "mda"
        chosen = next(row for row in applicable if row.kind == wanted)
        why = "since there is a [glide_path]" if wanted == "da" else "since there is no [glide_path]"
        odd = (*odd, f"[[minimums]] have two {chosen.line} lines{_for(procedure)}: the {wanted} is used, {why}.")
        applicable = [chosen]
    return _of_line(applicable[0]), odd


def _holding(procedure: Procedure, rows: Sequence[MinimumLine]) -> list[MinimumLine]:
    """The rows that hold for the procedure's category, those for it before those for all; one at most of each kind.

    Without a category, only a single altitude is unambiguous.
    """
    category = procedure.category
    own = [row for row in rows if row.category is not None and category is not None and category_within(category, row.category)]
    general = [row for row in rows if row.category is None]
    if category is None and not general and len({(row.kind, row.altitude_ft) for row in rows}) == 1:
        return list(rows[:1])
    return own or general


def category_within(category: str, categories: str) -> bool:
    """Whether a category is one of those named, ``B`` of ``A-B``."""
    return categories[0] <= category <= categories[-1]


def _for(procedure: Procedure) -> str:
    return f" for category {procedure.category}" if procedure.category is not None else ""


def _row(procedure: Procedure, row: MinimumLine) -> str:
    altitude = said(procedure.altitude_unit, "altitude_ft", row.altitude_ft)
    return f"{row.line}{f' {row.category}' if row.category else ''} {row.kind} {altitude}"


def _none_holds(procedure: Procedure, line: Line) -> str:
    there_are = "; ".join(_row(procedure, row) for row in procedure.minimums)
    if procedure.category is None:
        return f"[[minimums]] depend on the category, and none is given: write category at the top; there are: {there_are}"
    return f"[[minimums]] have no {line} line{_for(procedure)}: there are: {there_are}; add one, or correct category at the top"
