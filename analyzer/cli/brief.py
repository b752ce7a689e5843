"""The command ``brief``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from analyzer.cli.options import AirOfTheDay, DayOfModel, Force, MinimumLine, day_of, folder_of, line_of, with_groups

__all__ = ["brief"]


@with_groups
def brief(
    procedure: Annotated[Path, typer.Argument(metavar="PROCEDURE", help="Procedure file (TOML).")],
    *,
    speed: Annotated[
        list[str] | None,
        typer.Option("--speed", metavar="[LEG=]KT", help="Indicated airspeed, for all or one leg. May be repeated."),
    ] = None,
    true_speed: Annotated[
        list[str] | None, typer.Option("--true-speed", metavar="[LEG=]KT", help="The same as true airspeed.")
    ] = None,
    wind: Annotated[
        list[str] | None, typer.Option("--wind", metavar="FROM/KT[@FT]", help="Wind, degrees true; by altitude where repeated.")
    ] = None,
    bank: Annotated[
        float | None, typer.Option("--bank", metavar="DEG", help="Bank of the turns. Default: standard rate.")
    ] = None,
    rate: Annotated[float, typer.Option("--rate", metavar="DEG/S", help="Rate of the turns, at most 30° of bank.")] = 3.0,
    shape: Annotated[
        str | None,
        typer.Option("--shape", metavar="NAME", help="45/180, 80/260, racetrack or teardrop in a procedure turn."),
    ] = None,
    outbound: Annotated[
        str | None, typer.Option("--outbound", metavar="NM|Ns", help="Outbound leg in NM, or in seconds as 120s.")
    ] = None,
    keep: Annotated[float, typer.Option("--keep", metavar="NM", help="Margin to keep to the limit of distance.")] = 1.0,
    arrival: Annotated[
        float | None, typer.Option("--arrival", metavar="DEG", help="Course on which the fix is reached, magnetic.")
    ] = None,
    altitude: Annotated[
        float | None, typer.Option("--altitude", metavar="FT", help="Altitude of legs without a charted one.")
    ] = None,
    line: MinimumLine = None,
    missed: Annotated[
        bool, typer.Option("--missed", help="Continue into the missed approach and its hold instead of landing.")
    ] = False,
    climb: Annotated[
        float | None,
        typer.Option("--climb", metavar="FT/MIN", help="Rate of climb in the missed approach. Default: 200 ft/NM."),
    ] = None,
    output: Annotated[
        str | None, typer.Option("-o", "--output", metavar="DIR", help="Folder for the page and the knee card (PDF).")
    ] = None,
    paper: Annotated[
        str | None,
        typer.Option(
            "--paper",
            metavar="NAME",
            help="Paper of the knee card: a5, half-letter, a4 or letter. Default: a5; without -o it goes into reports.",
        ),
    ] = None,
    force: Force = False,
    json: Annotated[str | None, typer.Option("--json", metavar="FILE", help="Also write JSON; - prints only that.")] = None,
    date: DayOfModel = None,
    air: AirOfTheDay,
) -> None:
    """Work out the numbers to fly: headings, times, leads, descents. Also how far the reversal reaches."""
    from analyzer.brief.briefing import brief as brief_procedure
    from analyzer.brief.conditions import asked_for
    from analyzer.cli.terminal import text_width
    from analyzer.procedure.charted import resolve
    from analyzer.procedure.read import read_procedure
    from analyzer.report.exports.json_text import brief_json_text
    from analyzer.report.exports.write import write_brief, write_json
    from analyzer.report.paper.sizes import A5, CARDS, paper_named
    from analyzer.report.words.brief_text import brief_text

    sheet = paper_named(paper, CARDS) if paper is not None else A5
    folder = folder_of(output) if output is not None else Path("reports") if paper is not None else None
    charted = resolve(read_procedure(procedure), day_of(date), line_of(line))
    conditions = asked_for(
        charted,
        speeds=speed or [],
        true_speeds=true_speed or [],
        winds=wind or [],
        bank_deg=bank,
        rate_deg_s=rate,
        shape=shape,
        outbound=outbound,
        keep_nm=keep,
        arrival_deg=arrival,
        altitude_ft=altitude,
        air=(air.qnh, air.temperature),
        climb_fpm=climb,
    )
    result = brief_procedure(charted, conditions, missed=missed)
    if json == "-":
        sys.stdout.buffer.write(brief_json_text(result).encode())
    else:
        sys.stdout.write(brief_text(result, text_width()))
        if json is not None:
            write_json(Path(json), brief_json_text(result), force=force, inputs=[procedure])
    if folder is not None:
        page, card = write_brief(result, folder, procedure.stem, sheet, force=force, inputs=[procedure])
        (sys.stderr if json == "-" else sys.stdout).write(f"\nBrief: {page}\nKnee card: {card}\n")
