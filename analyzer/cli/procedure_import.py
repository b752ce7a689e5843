"""The command ``procedure import``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.options import Force
from analyzer.errors import ProcedureError

if TYPE_CHECKING:
    from analyzer.procedure.coded.file import CodedFile

__all__ = ["procedure_import"]


def procedure_import(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Coded procedures (ARINC 424), as text or zipped as published.")],
    airport: Annotated[
        str | None, typer.Argument(metavar="[AIRPORT]", help="Ident of an airport, to see its approaches.")
    ] = None,
    approach: Annotated[
        str | None, typer.Argument(metavar="[APPROACH]", help="An approach by its name or its coded ident: 'ILS 24' or I24.")
    ] = None,
    route: Annotated[
        str | None,
        typer.Option("--from", metavar="FIX", help="The route whose reversal is meant, by its first fix; final for none."),
    ] = None,
    everything: Annotated[
        Path | None, typer.Option("--all", metavar="DIR", help="Write all approaches, or all of AIRPORT, into this folder.")
    ] = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE", help="File to write. Default: standard output")
    ] = None,
    force: Force = False,
) -> None:
    """Make procedure files of coded procedures, or list them. Authorities publish such files, of ARINC 424."""
    from analyzer.procedure.coded.file import read_coded
    from analyzer.procedure.coded.select import airport_of, approaches_with_reversals, choose
    from analyzer.procedure.write import procedure_toml
    from analyzer.report.exports.write import write_new
    from analyzer.report.words.coded_text import airport_text, airports_text
    from analyzer.report.words.layout import wrapped

    if approach is None and (route is not None or output is not None):
        raise ProcedureError(f"{'--from' if route is not None else '-o'} is of one approach: name its airport and the approach")
    if approach is not None and everything is not None:
        raise ProcedureError("--all writes all approaches: leave out APPROACH, or --all")
    coded = read_coded(file)
    chosen_airport = airport_of(coded, airport) if airport is not None else None
    if everything is not None:
        _import_all(
            coded,
            [chosen_airport] if chosen_airport is not None else [ident for ident, _ in coded.with_reversals()],
            everything,
            file,
            force=force,
        )
    elif chosen_airport is None:
        sys.stdout.write(airports_text(str(file), coded.cycle, coded.with_reversals()))
    elif approach is None:
        approaches = approaches_with_reversals(coded, chosen_airport)
        sys.stdout.write(airport_text(chosen_airport, _name_of(coded, chosen_airport), approaches))
    else:
        chosen = choose(coded, chosen_airport, approach, route)
        text = procedure_toml(chosen.made.procedure, chosen.head)
        if output is None:
            sys.stdout.write(text)
            return
        write_new(output, text.encode(), force=force, inputs=[file])
        for words in chosen.made.odd:
            sys.stdout.write("\n".join([*wrapped(f"Check: {words}.", hanging="  "), ""]))
        sys.stdout.write(
            f"Procedure: {output}\n"
            f"Coded data, check against the chart; minimums are not coded.\nNext: analyzer procedure check {output}\n"
        )


def _name_of(coded: CodedFile, airport: str) -> str:
    from analyzer.procedure.coded.lookup import lookup

    record = lookup(coded, airport).airport
    return record.name if record is not None else ""


def _import_all(coded: CodedFile, airports: list[str], folder: Path, file: Path, *, force: bool) -> None:
    """Write the procedure files of some airports into a folder, and print the result of each."""
    from analyzer.procedure.coded.select import all_chosen
    from analyzer.procedure.write import procedure_toml
    from analyzer.report.exports.write import write_new
    from analyzer.report.words.coded_text import imported_text

    refused: list[tuple[str, str]] = []
    written = warned = 0
    for what, chosen in all_chosen(coded, airports):
        if isinstance(chosen, ProcedureError):
            refused.append((what, str(chosen).removeprefix(f"{coded.name}: ").removeprefix(f"{what}: ")))
            continue
        write_new(
            folder / f"{chosen.stem}.toml",
            procedure_toml(chosen.made.procedure, chosen.head).encode(),
            force=force,
            inputs=[file],
        )
        written += 1
        warned += bool(chosen.made.odd)
    if not written and not refused:
        raise ProcedureError(f"{file}: no approach with a course reversal is coded there")
    sys.stdout.write(imported_text(written, str(folder), refused, warned))
