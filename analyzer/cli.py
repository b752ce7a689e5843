"""The command line: arguments in, one call of the library, text out. Everything heavy is loaded inside the commands."""

from __future__ import annotations

import gc
import io
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from typer._click.exceptions import ClickException

from analyzer.errors import AnalyzerError, LogError

if TYPE_CHECKING:
    from analyzer.track.options import ReadOptions

__all__ = ["app", "main"]

app = typer.Typer(
    name="analyzer",
    help=(
        "Debrief instrument approaches that begin with a course reversal: log and chart in, facts out. "
        "Training aid, never for navigation."
    ),
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)
procedure_app = typer.Typer(rich_markup_mode=None, no_args_is_help=True, help="Work with procedure files.")
app.add_typer(procedure_app, name="procedure")
standard_app = typer.Typer(rich_markup_mode=None, no_args_is_help=True, help="Look at the standards to judge by.")
app.add_typer(standard_app, name="standard")

Log = Annotated[Path, typer.Argument(metavar="LOG", help="Position log: CSV or GPX, plain or gzipped.")]
Columns = Annotated[
    list[str] | None, typer.Option("--column", metavar="QUANTITY=NAME", help="Which column holds a quantity. May be repeated.")
]
Units = Annotated[
    list[str] | None, typer.Option("--unit", metavar="QUANTITY=UNIT", help="Unit of a quantity. May be repeated.")
]
Start = Annotated[
    str | None, typer.Option("--start", metavar="TIME", help="Instant of the first row where a log counts seconds.")
]
NoAltitude = Annotated[bool, typer.Option("--no-altitude", help="Do without altitude where the log has none.")]
Only = Annotated[
    str | None, typer.Option("--only", metavar="COLUMN=VALUE", help="Read only rows with this value: one aircraft of several.")
]
Qnh = Annotated[
    float | None, typer.Option("--qnh", metavar="HPA", help="Altimeter setting of the flight, in hPa or inches of mercury.")
]
Temperature = Annotated[
    float | None, typer.Option("--temperature", metavar="C", help="Temperature of the air at the airfield, in °C.")
]
_EXAMPLE = {"--column": "altitude=gps_height", "--unit": "altitude=m", "--only": "aircraft=N123"}
LogFormat = Annotated[Path | None, typer.Option("--log-format", metavar="FILE", help="TOML file that keeps such choices.")]


def _version(asked: bool) -> None:
    if asked:
        from importlib import metadata

        typer.echo(f"analyzer {metadata.version('approach-analyzer')}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Nothing beside the commands."""


@app.command()
def debrief(
    log: Log,
    procedure: Annotated[Path, typer.Option("--procedure", "-p", metavar="FILE", help="Procedure file (TOML).")],
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="DIR", help="Folder of the report. Default: reports")
    ] = None,
    json: Annotated[
        str | None, typer.Option("--json", metavar="FILE", help="Write JSON too; - prints it alone, without a report.")
    ] = None,
    standard: Annotated[str, typer.Option("--standard", metavar="NAME|FILE", help="What to judge by.")] = "faa-instrument",
    brief: Annotated[
        Path | None,
        typer.Option("--brief", metavar="FILE", help="Brief to compare with, as `brief --json FILE` wrote it."),
    ] = None,
    explain: Annotated[
        str | None, typer.Option("--explain", metavar="CHECK", help="Explain one check with its numbers; write no report.")
    ] = None,
    strict: Annotated[bool, typer.Option("--strict", help="Exit with 1 where something is outside.")] = False,
    column: Columns = None,
    unit: Units = None,
    start: Start = None,
    no_altitude: NoAltitude = False,
    only: Only = None,
    log_format: LogFormat = None,
    qnh: Qnh = None,
    temperature: Temperature = None,
) -> None:
    """Say what was flown and whether it stayed inside what is charted; write page and pictures."""
    from analyzer.checks.model import OUTSIDE
    from analyzer.debriefing import debrief as debrief_track
    from analyzer.procedure.read import read_procedure
    from analyzer.report.summary import summary_text
    from analyzer.report.write import json_text, write_file, write_report
    from analyzer.track.read import read_track

    if explain is not None and (json is not None or output is not None):
        raise LogError("--explain writes no report: leave out --json and -o")
    options = _options(column, unit, start, no_altitude, only, log_format, (qnh, temperature))
    card = None
    if brief is not None:
        from analyzer.brief.card import read_card

        card = read_card(brief)
    result = debrief_track(read_track(log, options), read_procedure(procedure), standard, card)
    if explain is not None:
        from analyzer.report.explain_text import explain_text

        sys.stdout.write(explain_text(result, explain.replace("-", "_")))
    elif json == "-":
        sys.stdout.buffer.write(json_text(result).encode())
    else:
        sys.stdout.write(summary_text(result))
        if json is not None:
            write_file(Path(json), json_text(result).encode(), "--json")
    if explain is None and (json != "-" or output is not None):
        written = write_report(result, output if output is not None else Path("reports"))
        (sys.stderr if json == "-" else sys.stdout).write(f"\nReport: {written[0]}\n")
    if strict and any(finding.verdict == OUTSIDE for approach in result.approaches for finding in approach.findings):
        raise typer.Exit(1)


@app.command()
def brief(
    procedure: Annotated[Path, typer.Argument(metavar="PROCEDURE", help="Procedure file (TOML).")],
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
    shape: Annotated[str | None, typer.Option("--shape", metavar="NAME", help="45/180 or 80/260 in a procedure turn.")] = None,
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
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="DIR", help="Folder to write page and PDF into.")
    ] = None,
    json: Annotated[str | None, typer.Option("--json", metavar="FILE", help="Write JSON too; - prints it alone.")] = None,
    date: Annotated[
        datetime | None, typer.Option("--date", formats=["%Y-%m-%d"], help="Day for the magnetic model. Default: today.")
    ] = None,
    qnh: Qnh = None,
    temperature: Temperature = None,
) -> None:
    """Work out the numbers to fly a procedure by: headings, times, leads, descents, how far it reaches."""
    from analyzer.brief.conditions import asked_for
    from analyzer.briefing import brief as brief_procedure
    from analyzer.procedure.charted import resolve
    from analyzer.procedure.read import read_procedure
    from analyzer.report.brief_text import brief_text
    from analyzer.report.write import brief_json_text, write_brief, write_file

    charted = resolve(read_procedure(procedure), (date or datetime.now()).date())
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
        air=(qnh, temperature),
    )
    result = brief_procedure(charted, conditions)
    if json == "-":
        sys.stdout.buffer.write(brief_json_text(result).encode())
    else:
        sys.stdout.write(brief_text(result))
        if json is not None:
            write_file(Path(json), brief_json_text(result).encode(), "--json")
    if output is not None:
        written = write_brief(result, output, procedure.stem)
        (sys.stderr if json == "-" else sys.stdout).write(f"\nBrief: {written[0]}\n")


@app.command()
def inspect(
    log: Log,
    column: Columns = None,
    unit: Units = None,
    start: Start = None,
    no_altitude: NoAltitude = False,
    only: Only = None,
    log_format: LogFormat = None,
    qnh: Qnh = None,
    temperature: Temperature = None,
) -> None:
    """Show how a log is understood: columns and units, rate, gaps, span, altitudes, repairs."""
    from analyzer.report.inspect_text import inspect_text
    from analyzer.track.read import read_track

    sys.stdout.write(
        inspect_text(read_track(log, _options(column, unit, start, no_altitude, only, log_format, (qnh, temperature))))
    )


@procedure_app.command("check")
def procedure_check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Procedure file (TOML).")],
    date: Annotated[
        datetime | None, typer.Option("--date", formats=["%Y-%m-%d"], help="Day for the magnetic model. Default: today.")
    ] = None,
) -> None:
    """Check a procedure file and show how it is understood."""
    from analyzer.procedure.charted import resolve
    from analyzer.procedure.read import read_procedure
    from analyzer.report.procedure_text import procedure_text

    procedure = read_procedure(file)
    sys.stdout.write(procedure_text(procedure, resolve(procedure, (date or datetime.now()).date())))


@standard_app.command("list")
def standard_list() -> None:
    """Name the standards that ship."""
    from analyzer.report.standard_text import standards_text

    sys.stdout.write(standards_text())


@standard_app.command("show")
def standard_show(standard: Annotated[str, typer.Argument(metavar="NAME|FILE", help="A standard.")]) -> None:
    """Show every limit of a standard with its source."""
    from analyzer.checks.standard import read_standard
    from analyzer.report.standard_text import standard_text

    sys.stdout.write(standard_text(read_standard(standard)))


@standard_app.command("check")
def standard_check(file: Annotated[Path, typer.Argument(metavar="FILE", help="A standard of your own (TOML).")]) -> None:
    """Check a standard's file; say what it changes."""
    from analyzer.checks.standard import read_standard
    from analyzer.report.standard_text import standard_check_text

    sys.stdout.write(standard_check_text(read_standard(file)))


def _options(
    columns: list[str] | None,
    units: list[str] | None,
    start: str | None,
    no_altitude: bool,
    only: str | None,
    log_format: Path | None,
    air: tuple[float | None, float | None],
) -> ReadOptions:
    from analyzer.track.air import Air
    from analyzer.track.options import ReadOptions, read_log_format

    try:
        instant = datetime.fromisoformat(start) if start is not None else None
    except ValueError as error:
        raise LogError(f"--start {start}: not an instant like 2026-06-14T09:00:00Z") from error
    given = ReadOptions(
        columns=dict(_pair("--column", text) for text in columns or ()),
        units=dict(_pair("--unit", text) for text in units or ()),
        start=instant,
        altitude_required=not no_altitude,
        only=_pair("--only", only) if only is not None else None,
        air=Air.given(*air),
    )
    return given.over(read_log_format(log_format)) if log_format is not None else given


def _pair(option: str, text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name or not value:
        raise LogError(f"{option} {text}: must be two words with = between, like {_EXAMPLE[option]}")
    return name.strip(), value.strip()


def main() -> None:
    """Run the command line: exit 2 with one or two lines where input or usage is wrong."""
    gc.disable()  # a run is short and leaves no cycles that matter; collecting while modules load costs a tenth of it
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal without the degree sign gets a question mark, no traceback
    try:
        sys.exit(app(standalone_mode=False) or 0)
    except ClickException as error:
        sys.stderr.write(f"analyzer: {error.format_message()} (see analyzer --help)\n")
        sys.exit(2)
    except typer.Abort:
        sys.exit(130)
    except AnalyzerError as error:
        sys.stderr.write(f"analyzer: {error}\n")
        sys.exit(2)
