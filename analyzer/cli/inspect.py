"""The command ``inspect``."""

from __future__ import annotations

import sys

from analyzer.cli.options import (
    Columns,
    Log,
    LogFormat,
    NoAltitude,
    Only,
    Qnh,
    Start,
    Temperature,
    Units,
    read_options,
)

__all__ = ["inspect"]


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
        inspect_text(read_track(log, read_options(column, unit, start, no_altitude, only, log_format, (qnh, temperature))))
    )
