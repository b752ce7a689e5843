"""The command ``inspect``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from analyzer.cli.options import (
    AltitudeFrom,
    Columns,
    Force,
    Log,
    LogFormat,
    MaxBytes,
    MaxSamples,
    NoAltitude,
    Only,
    Qnh,
    Start,
    Temperature,
    Units,
    read_options,
)
from analyzer.errors import printable

__all__ = ["inspect"]


def inspect(
    log: Log,
    column: Columns = None,
    unit: Units = None,
    start: Start = None,
    no_altitude: NoAltitude = False,
    altitude_from: AltitudeFrom = None,
    only: Only = None,
    log_format: LogFormat = None,
    qnh: Qnh = None,
    temperature: Temperature = None,
    max_bytes: MaxBytes = None,
    max_samples: MaxSamples = None,
    save_format: Annotated[
        Path | None,
        typer.Option("--save-format", metavar="FILE", help="Save how the log was read, as a TOML file for --log-format."),
    ] = None,
    force: Force = False,
) -> None:
    """Show how a log is understood: columns and units, rate, gaps, span, altitudes, repairs."""
    from analyzer.report.exports.write import check_new, write_new
    from analyzer.report.words.inspect_text import inspect_text
    from analyzer.track.log_format import log_format_text
    from analyzer.track.read import read_track

    if save_format is not None:
        check_new(save_format, force=force, inputs=[log])
    options = read_options(
        column, unit, start, no_altitude, altitude_from, only, log_format, (qnh, temperature), (max_bytes, max_samples)
    )
    track = read_track(log, options)
    sys.stdout.write(inspect_text(track))
    if save_format is not None:
        write_new(save_format, log_format_text(track, options).encode(), force=force, inputs=[log])
        sys.stdout.write(f"\nLog format: {printable(str(save_format))}\n")
        if options.start is not None:
            sys.stdout.write("The start is not kept, as it is this flight's alone: give each log its own --start.\n")
