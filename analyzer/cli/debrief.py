"""The command ``debrief``."""

from __future__ import annotations

import sys
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.options import (
    AirOfTheDay,
    Force,
    Judging,
    LimitsOfLog,
    Log,
    ProcedureFile,
    Reading,
    line_of,
    read_options,
    with_groups,
)
from analyzer.errors import LogError

if TYPE_CHECKING:
    from analyzer.vocabulary import Verdict

__all__ = ["debrief"]

_OUTSIDE_CODE, _NOT_ASSESSED_CODE = 1, 3  # exit codes of --strict; 2 is an error


def _checks(incomplete: str) -> list[str]:
    """The checks with this prefix, for completion in the shell."""
    from analyzer.checks.run import CHECKS

    return [name for name in CHECKS if name.startswith(incomplete)]


@with_groups
def debrief(
    log: Log,
    procedure: ProcedureFile,
    *,
    output: Annotated[
        str | None,
        typer.Option("-o", "--output", metavar="DIR|FILE|-", help="Where the report goes. Default: the folder reports"),
    ] = None,
    formats: Annotated[
        str | None,
        typer.Option(
            "--format",
            metavar="NAME,...",
            help="What to write: html, pdf, png, svg, json, csv, markdown, geojson, kml. Default: html",
        ),
    ] = None,
    paper: Annotated[
        str | None, typer.Option("--paper", metavar="NAME", help="Paper of the PDF: a4 or letter. Default: a4")
    ] = None,
    force: Force = False,
    json: Annotated[
        str | None, typer.Option("--json", metavar="FILE", help="Also write JSON; - prints only that, without a report.")
    ] = None,
    judging: Judging,
    flown: Annotated[
        list[str] | None,
        typer.Option(
            "--flown",
            metavar="[TIME=]SHAPE",
            help="What was flown, if it is not recognised: passage of the fix (UTC) that begins it, its shape, or both. May be"
            " repeated.",
        ),
    ] = None,
    brief: Annotated[
        Path | None,
        typer.Option("--brief", metavar="FILE", help="Brief to compare with, as `brief --json FILE` wrote it."),
    ] = None,
    explain: Annotated[
        str | None,
        typer.Option(
            "--explain",
            metavar="CHECK",
            help="Explain one check with its numbers; write no report.",
            autocompletion=_checks,
        ),
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="Exit with 1 if the result is outside, 3 if it is not assessed.")
    ] = False,
    reading: Reading,
    air: AirOfTheDay,
    limits: LimitsOfLog,
) -> None:
    """Report what was flown and whether it stayed within the chart. Writes a page with pictures."""
    from analyzer.checks.overall import overall
    from analyzer.cli.excuses import excuses_of_logs
    from analyzer.cli.output import destination
    from analyzer.cli.terminal import patience, print_summary
    from analyzer.library.debrief import debrief as debrief_track
    from analyzer.procedure.read import read_procedure
    from analyzer.report.exports.json_text import json_text
    from analyzer.report.exports.write import write_json
    from analyzer.track.read import read_track

    if explain is not None and not (json is output is formats is paper is None):
        raise LogError("--explain writes no report: leave out --json, --format, --paper and -o")
    report = destination(output, formats, force=force, paper=paper)
    if json == output == "-":
        raise LogError("--json - and -o - both want standard output: leave out one")
    options = read_options(reading, limits, air)
    minimum_line = line_of(judging.line)
    inputs = [log, procedure, *filter(None, (brief, reading.log_format, judging.excused, Path(judging.standard)))]
    (excused,) = excuses_of_logs(judging.excused, [log])
    card = None
    if brief is not None:
        from analyzer.brief.brief_file import read_card

        card = read_card(brief)
    with patience("reading the log") as show:
        track, charted = read_track(log, options), read_procedure(procedure)
        show("debriefing")
        result = debrief_track(
            track,
            charted,
            judging.standard,
            card,
            cleared=judging.cleared or (),
            flown=flown or (),
            line=minimum_line,
            excused=excused,
        )
    if explain is not None:
        from analyzer.report.words.explain_text import explain_text

        sys.stdout.write(explain_text(result, "_".join(explain.lower().replace("-", " ").split())))
    elif json == "-":
        sys.stdout.buffer.write(json_text(result).encode())
    else:
        if output != "-":
            print_summary(result)
        if json is not None:
            write_json(Path(json), json_text(result), force=force, inputs=inputs)
    if explain is None and (json != "-" or output is not None or formats is not None):
        with patience("writing the report"):
            written = report.write(result, inputs)
        lines = "".join(f"{'Report:' if number == 0 else '       '} {path}\n" for number, path in enumerate(written))
        (sys.stderr if json == "-" else sys.stdout).write(f"\n{lines}" if lines else "")
    if strict:
        raise typer.Exit(
            _strict_code({overall(section.approach.findings, section.approach.reversal)[0] for section in result.sections})
        )


def _strict_code(results: Collection[Verdict]) -> int:
    """Exit code of `--strict`, by the worst result of approaches and holds; without any, nothing is assessed."""
    if "outside" in results:
        return _OUTSIDE_CODE
    return _NOT_ASSESSED_CODE if "not assessed" in results or not results else 0
