"""The commands ``procedure check`` and ``draft``; ``new`` and ``import`` have modules of their own."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.options import Coded, DayOfModel, Force, LimitsOfLog, Log, Reading, day_of, read_options, with_groups
from analyzer.cli.procedure_import import procedure_import
from analyzer.cli.procedure_new import procedure_new
from analyzer.errors import ProcedureError

if TYPE_CHECKING:
    from analyzer.procedure.schema import Procedure

__all__ = ["procedure_app"]

_NAME, _KIND = "FIX", "waypoint"  # defaults for the fix of a draft
procedure_app = typer.Typer(rich_markup_mode=None, no_args_is_help=True, help="Work with procedure files.")
procedure_app.command("import")(procedure_import)
procedure_app.command("new")(procedure_new)


@procedure_app.command("check")
def procedure_check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Procedure file (TOML).")],
    date: DayOfModel = None,
) -> None:
    """Check a procedure file and show how it is understood."""
    from analyzer.procedure.charted import resolve
    from analyzer.procedure.read import read_procedure
    from analyzer.report.words.procedure_text import procedure_text

    procedure, day = read_procedure(file), day_of(date)
    try:
        charted = resolve(procedure, day)
    except ProcedureError as error:
        raise ProcedureError(f"{file}: {error}") from None
    sys.stdout.write(procedure_text(procedure, charted))


@procedure_app.command("draft")
@with_groups
def procedure_draft(
    log: Log,
    *,
    fix: Annotated[
        str | None,
        typer.Option(
            "--fix",
            metavar="LAT,LON|IDENT",
            help="Required. Charted position of the reversal fix, as 48.35,-24.7 or as charted; or with --coded its ident.",
        ),
    ] = None,
    name: Annotated[str, typer.Option("--name", metavar="NAME", help="Name of the fix.")] = _NAME,
    kind: Annotated[str, typer.Option("--kind", metavar="KIND", help="What the fix is: vor, ndb, marker or waypoint.")] = _KIND,
    variation: Annotated[
        float | None, typer.Option("--variation", metavar="DEG", help="Declination of the station, east positive.")
    ] = None,
    station: Annotated[
        str | None,
        typer.Option(
            "--station", metavar="LAT,LON|IDENT", help="Station of an arc. Default: the fix, or found from the arc flown."
        ),
    ] = None,
    coded: Coded = None,
    output: Annotated[Path | None, typer.Option("-o", "--output", metavar="FILE", help="File to write.")] = None,
    force: Force = False,
    reading: Reading,
    limits: LimitsOfLog,
) -> None:
    """Draft a procedure file from what was flown. It is to be corrected by the chart."""
    from analyzer.checks.phrases import clock
    from analyzer.draft.drafting import draft
    from analyzer.draft.fix import fix_given
    from analyzer.procedure.write import procedure_toml
    from analyzer.report.exports.write import write_new
    from analyzer.track.read import read_track

    if fix is None:
        raise ProcedureError("--fix LAT,LON is needed: where the chart has the fix of the reversal, such as 48.35,-24.7")
    if coded is not None:
        fix, name, kind, variation, station = _by_ident(coded, fix, name, kind, variation, station)
    fix_options = fix_given(fix, name, kind, variation, station)
    drafted = draft(read_track(log, read_options(reading, limits)), fix_options)
    head = (
        "Drafted from a flight: correct it by the chart, value by value. Training aid, never for navigation.\n"
        "Each line says where its value comes from. measured: flown so, which need not be what is charted; given: by you;\n"
        "assumed: a log does not show it. Nor does a log show the fixes and step-downs of the final course, other minimums,\n"
        "arrivals, maximum altitudes, speeds, guidance and the runway: add what the chart has."
    )
    text = procedure_toml(drafted.procedure, head, drafted.remarks)
    if output is None:
        sys.stdout.write(text)
        return
    write_new(output, text.encode(), force=force, inputs=[log])
    assumed = [
        key for key, remark in drafted.remarks.items() if remark.startswith("assumed") and _stands(drafted.procedure, key)
    ]
    sys.stdout.write(
        f"Flown as {drafted.flown}, begun at {clock(drafted.begun_s)} UTC. Draft: {output}\n"
        "Measured values are what was flown.\n"
        f"Assumed, to be taken from the chart: {', '.join(assumed) or 'none'}.\n"
        "Correct it by the chart before anything is judged by it.\n"
        f"Next: analyzer procedure check {output}\n"
    )


def _by_ident(
    coded: Path, fix: str, name: str, kind: str, variation: float | None, station: str | None
) -> tuple[str, str, str, float | None, str | None]:
    """The options of a draft with the idents of fix and station replaced by positions.

    Options of the fix that were not given are filled in from its record.
    """
    from analyzer.procedure.coded.file import read_coded
    from analyzer.procedure.coded.places import is_ident, place_of

    file = read_coded(coded)
    if station is not None and is_ident(station):
        at = place_of(file, station)
        station = f"{at.latitude_deg},{at.longitude_deg}"
    if not is_ident(fix):
        return fix, name, kind, variation, station
    at = place_of(file, fix)
    return (
        f"{at.latitude_deg},{at.longitude_deg}",
        at.ident if name == _NAME else name,
        at.kind if kind == _KIND else kind,
        at.variation_deg_east if variation is None else variation,
        station,
    )


def _stands(procedure: Procedure, key: str) -> bool:
    """Whether a procedure has a value, by ``table.key``."""
    table, _, name = key.partition(".")
    value = getattr(procedure, table, None)
    rows = value if isinstance(value, tuple) else (value,)
    return any(getattr(row, name, None) is not None for row in rows)
