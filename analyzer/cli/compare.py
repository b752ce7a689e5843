"""The command ``compare``."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.options import (
    AirOfTheDay,
    Force,
    Judging,
    LimitsOfLog,
    ProcedureFile,
    Reading,
    folder_of,
    line_of,
    read_options,
    with_groups,
)
from analyzer.errors import AnalyzerError, printable

if TYPE_CHECKING:
    from analyzer.library.compare import Comparison

__all__ = ["compare"]


@with_groups
def compare(
    logs: Annotated[list[Path], typer.Argument(metavar="LOG...", help="Position logs, each with one or more attempts.")],
    procedure: ProcedureFile,
    *,
    output: Annotated[
        str | None, typer.Option("-o", "--output", metavar="DIR", help="Folder of the page. Default: reports")
    ] = None,
    debriefs: Annotated[
        Path | None,
        typer.Option(
            "--debriefs",
            metavar="DIR",
            help="Folder of the debriefs that the page links to, as far as they are there. Default: that of the page",
        ),
    ] = None,
    force: Force = False,
    json: Annotated[
        str | None, typer.Option("--json", metavar="FILE", help="Also write JSON; - prints only that, without a page.")
    ] = None,
    roster: Annotated[
        Path | None, typer.Option("--roster", metavar="FILE", help="CSV of file and pilot, whose names the attempts have.")
    ] = None,
    flown: Annotated[
        list[str] | None,
        typer.Option(
            "--flown",
            metavar="LOG=[TIME=]SHAPE",
            help="What was flown in a log, if it is not recognised: passage of the fix (UTC) that begins it, its shape, or"
            " both. May be repeated.",
        ),
    ] = None,
    judging: Judging,
    reading: Reading,
    air: AirOfTheDay,
    limits: LimitsOfLog,
) -> None:
    """Lay attempts at one procedure side by side. Shows what changed, by how much, and how much of it was wind."""
    from analyzer.cli.excuses import excuses_of_logs
    from analyzer.cli.terminal import patience, text_width
    from analyzer.gradebook.flown_logs import flown_by_log
    from analyzer.gradebook.roster import roster_entries
    from analyzer.library.compare import compare as compare_flights
    from analyzer.library.debrief import debrief
    from analyzer.procedure.read import read_procedure
    from analyzer.report.exports.json_text import compare_json_text
    from analyzer.report.exports.write import write_comparison, write_json
    from analyzer.report.words.compare_text import compare_text
    from analyzer.track.read import read_track

    if debriefs is not None and not debriefs.is_dir():
        raise AnalyzerError(f"--debriefs {debriefs}: no folder there; give the one that `analyzer debrief -o` wrote to")
    folder = folder_of(output) if output is not None else Path("reports")
    options = read_options(reading, limits, air)
    minimum_line = line_of(judging.line)
    charted = read_procedure(procedure)
    names = [str(log) for log in logs]
    entries = (None,) * len(logs) if roster is None else roster_entries(roster, names)
    named = flown_by_log(flown or (), names, entries)
    excused = excuses_of_logs(judging.excused, logs)
    inputs = [*logs, procedure, *filter(None, (roster, judging.excused))]
    with patience("reading") as show:
        flights = []
        for number, (log, entry, words) in enumerate(zip(logs, entries, named, strict=True), 1):
            show(f"debriefing {number} of {len(logs)}")
            track = read_track(log, options)
            if entry is not None:
                track = replace(track, pilot=entry.pilot)
            cleared, given = judging.cleared or (), excused[number - 1]
            flights.append(
                debrief(track, charted, judging.standard, cleared=cleared, flown=words, line=minimum_line, excused=given)
            )
        result = compare_flights(flights)
    if json == "-":
        sys.stdout.buffer.write(compare_json_text(result).encode())
    else:
        sys.stdout.write(compare_text(result, text_width()))
        if json is not None:
            write_json(Path(json), compare_json_text(result), force=force, inputs=inputs)
    if json != "-" or output is not None:
        with patience("drawing"):
            page = write_comparison(result, folder, procedure.stem, debriefs, force=force, inputs=inputs)
        without = [] if debriefs is None else _without_debrief(result, debriefs)
        note = f"Not in {printable(str(debriefs))}, so not linked: {', '.join(without)}\n" if without else ""
        (sys.stderr if json == "-" else sys.stdout).write(f"\nPage: {page}\n{note}")


def _without_debrief(result: Comparison, debriefs: Path) -> list[str]:
    """The logs of attempts whose debrief is not in a folder."""
    from analyzer.report.exports.write import debriefs_of

    found = debriefs_of(result, debriefs)
    files = (attempt.debrief.motion.track.file for attempt in result.attempts if attempt.number not in found)
    return list(dict.fromkeys(map(printable, files)))
