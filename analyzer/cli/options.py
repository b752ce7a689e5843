"""Arguments and options shared by several commands.

Related options form a group: a frozen dataclass with one field for each option. A command has the group as a parameter, and
`with_groups` presents the single options to typer.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from dataclasses import astuple, fields, is_dataclass, replace
from datetime import date, datetime
from functools import wraps
from inspect import Parameter
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, get_type_hints

import typer

from analyzer.errors import AnalyzerError, LogError, ProcedureError
from analyzer.frozen import dataclass

if TYPE_CHECKING:
    from analyzer.procedure.values import Line
    from analyzer.track.limits import Limits
    from analyzer.track.options import ReadOptions

__all__ = [
    "AirOfTheDay",
    "Coded",
    "DayOfModel",
    "Force",
    "Judging",
    "LimitsOfLog",
    "Log",
    "MinimumLine",
    "ProcedureFile",
    "Reading",
    "day_of",
    "folder_of",
    "like_a_file",
    "line_of",
    "read_options",
    "with_groups",
]

_LIKE_A_FILE = re.compile(r"[^./\\]\.[a-z]{2,4}$", re.IGNORECASE)  # report.htm, but neither flights.2026 nor ..

Log = Annotated[
    Path,
    typer.Argument(
        metavar="LOG", help="Position log: CSV, GPX, IGC, NMEA, KML or GeoJSON, plain, gzipped or zipped; - for standard input."
    ),
]
ProcedureFile = Annotated[Path, typer.Option("--procedure", "-p", metavar="FILE", help="Procedure file (TOML).")]
Coded = Annotated[
    Path | None,
    typer.Option("--coded", metavar="FILE", help="Coded procedures (ARINC 424), by whose idents positions may be given."),
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite existing files.")]
MinimumLine = Annotated[
    str | None,
    typer.Option("--line", metavar="NAME", help="Line of [[minimums]]: straight-in or circling. Default: straight-in"),
]
DayOfModel = Annotated[
    str | None, typer.Option("--date", metavar="YYYY-MM-DD", help="Day for the magnetic model. Default: today.")
]
_EXAMPLE = {"--column": "altitude=gps_height", "--unit": "altitude=m", "--only": "aircraft=N123"}


@dataclass(frozen=True)
class Judging:
    """What a flight is judged by in addition to its procedure."""

    standard: Annotated[str, typer.Option("--standard", metavar="NAME|FILE", help="Standard to judge by.")] = "faa-instrument"
    cleared: Annotated[
        list[str] | None,
        typer.Option(
            "--cleared",
            metavar="WORD",
            help="What was cleared: straight-in, vectors, or LEG=FT, an assigned altitude. May be repeated.",
        ),
    ] = None
    line: MinimumLine = None
    excused: Annotated[
        Path | None, typer.Option("--excused", metavar="FILE", help="Findings that an instructor excused (TOML).")
    ] = None


@dataclass(frozen=True)
class Reading:
    """How a log is to be read."""

    column: Annotated[
        list[str] | None,
        typer.Option("--column", metavar="QUANTITY=NAME", help="Which column holds a quantity. May be repeated."),
    ] = None
    unit: Annotated[
        list[str] | None, typer.Option("--unit", metavar="QUANTITY=UNIT", help="Unit of a quantity. May be repeated.")
    ] = None
    start: Annotated[
        str | None, typer.Option("--start", metavar="TIME", help="Time of the first row, for a log in elapsed seconds.")
    ] = None
    utc_offset: Annotated[
        str | None,
        typer.Option("--utc-offset", metavar="HH:MM", help="How far times without a zone are ahead of UTC, like +02:00."),
    ] = None
    no_altitude: Annotated[bool, typer.Option("--no-altitude", help="Accept a log without altitudes.")] = False
    altitude_from: Annotated[
        str | None,
        typer.Option("--altitude-from", metavar="LEVEL", help="Reference of the altitudes: sea-level, pressure or ellipsoid."),
    ] = None
    only: Annotated[
        str | None,
        typer.Option("--only", metavar="COLUMN=VALUE", help="Read only rows with this value: one aircraft of several."),
    ] = None
    log_format: Annotated[Path | None, typer.Option("--log-format", metavar="FILE", help="TOML file with these choices.")] = (
        None
    )


@dataclass(frozen=True)
class AirOfTheDay:
    """The altimeter setting and temperature of a flight."""

    qnh: Annotated[
        float | None, typer.Option("--qnh", metavar="HPA", help="Altimeter setting of the flight, in hPa or inches of mercury.")
    ] = None
    temperature: Annotated[
        float | None, typer.Option("--temperature", metavar="C", help="Temperature of the air at the airfield, in °C.")
    ] = None


@dataclass(frozen=True)
class LimitsOfLog:
    """The limits on a log."""

    max_bytes: Annotated[
        int | None,
        typer.Option("--max-bytes", metavar="N", help="Refuse logs larger than this once unpacked. Default: 512 MiB"),
    ] = None
    max_samples: Annotated[
        int | None, typer.Option("--max-samples", metavar="N", help="Refuse logs of more samples. Default: 2,000,000")
    ] = None


def with_groups(command: Callable[..., None]) -> Callable[..., None]:
    """Wrap a command with groups of options for typer: each field of a group becomes an option in place of the group."""
    hints = get_type_hints(command, include_extras=True)
    signature = inspect.signature(command)
    groups = {name: hints[name] for name in signature.parameters if is_dataclass(hints[name])}
    parameters: list[Parameter] = []
    for name, parameter in signature.parameters.items():
        if name in groups:
            parameters += _options_of(groups[name])
        else:
            parameters.append(Parameter(name, Parameter.KEYWORD_ONLY, default=parameter.default, annotation=hints[name]))

    @wraps(command)
    def ungrouped(**values: Any) -> None:
        made = {name: group(**{one.name: values.pop(one.name) for one in fields(group)}) for name, group in groups.items()}
        command(**values, **made)

    ungrouped.__signature__ = signature.replace(parameters=parameters, return_annotation=None)  # type: ignore[attr-defined]
    ungrouped.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
    return ungrouped


def _options_of(group: type) -> list[Parameter]:
    hints = get_type_hints(group, include_extras=True)
    return [
        Parameter(one.name, Parameter.KEYWORD_ONLY, default=one.default, annotation=hints[one.name]) for one in fields(group)
    ]


def day_of(text: str | None) -> date:
    """The day asked for, today without one. Raises `ProcedureError`."""
    if text is None:
        return datetime.now().date()
    try:
        return datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        raise ProcedureError(f"--date {text}: not a day like 2026-06-14") from None


def like_a_file(output: str) -> bool:
    """Whether a name reads like that of a file, and nothing has it yet."""
    return _LIKE_A_FILE.search(output) is not None and not Path(output).exists()


def folder_of(output: str) -> Path:
    """The folder that ``-o`` names, where a command writes several files or names them itself.

    Raises
    ------
    AnalyzerError
        The name reads like that of a file, and does not end in a slash.
    """
    if like_a_file(output):
        raise AnalyzerError(f"-o {output}: must be a folder; its files are named here. Write {output}/ for one of that name")
    return Path(output)


def line_of(text: str | None) -> Line:
    """The line of minimums asked for. Raises `ProcedureError`."""
    if text is None or text == "straight-in":
        return "straight-in"
    if text == "circling":
        return "circling"
    raise ProcedureError(f"--line {text}: must be straight-in or circling")


def read_options(
    reading: Reading, limits: LimitsOfLog, air: AirOfTheDay | None = None, usual: Limits | None = None
) -> ReadOptions:
    """How a log is to be read, from the options of the command line.

    `usual` are the default limits of a command that has its own; limits of the command line or the log format take precedence.
    Raises `LogError`.
    """
    from analyzer.track.air import Air
    from analyzer.track.instants import stated_offset
    from analyzer.track.limits import DEFAULT_LIMITS, Limits
    from analyzer.track.log_format import read_log_format
    from analyzer.track.options import ReadOptions
    from analyzer.track.references import altitude_from as known_level

    try:
        instant = datetime.fromisoformat(reading.start) if reading.start is not None else None
    except ValueError as error:
        raise LogError(f"--start {reading.start}: not an instant like 2026-06-14T09:00:00Z") from error
    options = ReadOptions(
        columns=dict(_pair("--column", text) for text in reading.column or ()),
        units=dict(_pair("--unit", text) for text in reading.unit or ()),
        start=instant,
        utc_offset_s=None if reading.utc_offset is None else stated_offset(reading.utc_offset),
        altitude_required=not reading.no_altitude,
        altitude_from=None if reading.altitude_from is None else known_level(reading.altitude_from),
        only=_pair("--only", reading.only) if reading.only is not None else None,
        air=Air.given(*astuple(air or AirOfTheDay())),
    )
    if reading.log_format is not None:
        options = options.over(read_log_format(reading.log_format))
    most = [
        asked if asked is not None else of_format if of_format != default else own
        for asked, of_format, default, own in zip(
            *(astuple(one) for one in (limits, options.limits, DEFAULT_LIMITS, usual or DEFAULT_LIMITS)), strict=True
        )
    ]
    return replace(options, limits=Limits(*most))


def _pair(option: str, text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name or not value:
        raise LogError(f"{option} {text}: must be two words with = between, like {_EXAMPLE[option]}")
    return name.strip(), value.strip()
