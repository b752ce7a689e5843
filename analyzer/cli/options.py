"""Arguments and options that several commands take, and what they mean."""

from __future__ import annotations

from dataclasses import astuple, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.errors import LogError, ProcedureError

if TYPE_CHECKING:
    from analyzer.procedure.values import Line
    from analyzer.track.limits import Limits
    from analyzer.track.options import ReadOptions

__all__ = [
    "AltitudeFrom",
    "Cleared",
    "Coded",
    "Columns",
    "Force",
    "Log",
    "LogFormat",
    "MaxBytes",
    "MaxSamples",
    "MinimumLine",
    "NoAltitude",
    "Only",
    "Qnh",
    "Start",
    "Temperature",
    "Units",
    "line_of",
    "read_options",
]

Log = Annotated[
    Path,
    typer.Argument(
        metavar="LOG", help="Position log: CSV, GPX, IGC, NMEA, KML or GeoJSON, plain, gzipped or zipped; - for standard input."
    ),
]
Columns = Annotated[
    list[str] | None, typer.Option("--column", metavar="QUANTITY=NAME", help="Which column holds a quantity. May be repeated.")
]
Units = Annotated[
    list[str] | None, typer.Option("--unit", metavar="QUANTITY=UNIT", help="Unit of a quantity. May be repeated.")
]
Start = Annotated[
    str | None, typer.Option("--start", metavar="TIME", help="Time of the first row, for a log in elapsed seconds.")
]
NoAltitude = Annotated[bool, typer.Option("--no-altitude", help="Accept a log without altitudes.")]
AltitudeFrom = Annotated[
    str | None,
    typer.Option("--altitude-from", metavar="LEVEL", help="Reference of the altitudes: sea-level, pressure or ellipsoid."),
]
Only = Annotated[
    str | None, typer.Option("--only", metavar="COLUMN=VALUE", help="Read only rows with this value: one aircraft of several.")
]
Qnh = Annotated[
    float | None, typer.Option("--qnh", metavar="HPA", help="Altimeter setting of the flight, in hPa or inches of mercury.")
]
Temperature = Annotated[
    float | None, typer.Option("--temperature", metavar="C", help="Temperature of the air at the airfield, in °C.")
]
MaxBytes = Annotated[
    int | None, typer.Option("--max-bytes", metavar="N", help="Refuse logs larger than this once unpacked. Default: 512 MiB")
]
MaxSamples = Annotated[
    int | None, typer.Option("--max-samples", metavar="N", help="Refuse logs of more samples. Default: 2,000,000")
]
Cleared = Annotated[
    list[str] | None,
    typer.Option(
        "--cleared",
        metavar="WORD",
        help="What was cleared: straight-in, vectors, or LEG=FT, an assigned altitude. May be repeated.",
    ),
]
MinimumLine = Annotated[
    str | None,
    typer.Option("--line", metavar="NAME", help="Line of [[minimums]]: straight-in or circling. Default: straight-in"),
]
_EXAMPLE = {"--column": "altitude=gps_height", "--unit": "altitude=m", "--only": "aircraft=N123"}
LogFormat = Annotated[Path | None, typer.Option("--log-format", metavar="FILE", help="TOML file with these choices.")]


Coded = Annotated[
    Path | None,
    typer.Option("--coded", metavar="FILE", help="Coded procedures (ARINC 424), by whose idents positions may be given."),
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite existing files.")]


def line_of(text: str | None) -> Line:
    """The line of minimums that is asked for. Raises `ProcedureError`."""
    if text is None or text == "straight-in":
        return "straight-in"
    if text == "circling":
        return "circling"
    raise ProcedureError(f"--line {text}: must be straight-in or circling")


def read_options(
    columns: list[str] | None,
    units: list[str] | None,
    start: str | None,
    no_altitude: bool,
    altitude_from: str | None,
    only: str | None,
    log_format: Path | None,
    air: tuple[float | None, float | None],
    limits: tuple[int | None, int | None] = (None, None),
    usual: Limits | None = None,
) -> ReadOptions:
    """How a log is to be read, as asked for; `limits` are the most bytes and samples.

    `usual` are the limits of a command that has its own: they hold where neither the command line nor the log format says any.
    Raises `LogError`.
    """
    from analyzer.track.air import Air
    from analyzer.track.limits import DEFAULT_LIMITS, Limits
    from analyzer.track.log_format import read_log_format
    from analyzer.track.options import ReadOptions
    from analyzer.track.references import altitude_from as known_level

    try:
        instant = datetime.fromisoformat(start) if start is not None else None
    except ValueError as error:
        raise LogError(f"--start {start}: not an instant like 2026-06-14T09:00:00Z") from error
    given = ReadOptions(
        columns=dict(_pair("--column", text) for text in columns or ()),
        units=dict(_pair("--unit", text) for text in units or ()),
        start=instant,
        altitude_required=not no_altitude,
        altitude_from=None if altitude_from is None else known_level(altitude_from),
        only=_pair("--only", only) if only is not None else None,
        air=Air.given(*air),
    )
    options = given.over(read_log_format(log_format)) if log_format is not None else given
    most = [
        asked if asked is not None else its if its != default else own
        for asked, its, default, own in zip(
            limits, *(astuple(one) for one in (options.limits, DEFAULT_LIMITS, usual or DEFAULT_LIMITS)), strict=True
        )
    ]
    return replace(options, limits=Limits(*most))


def _pair(option: str, text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name or not value:
        raise LogError(f"{option} {text}: must be two words with = between, like {_EXAMPLE[option]}")
    return name.strip(), value.strip()
