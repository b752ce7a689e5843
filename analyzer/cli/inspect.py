"""The command ``inspect``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from analyzer.cli.options import AirOfTheDay, Force, LimitsOfLog, Log, Reading, read_options, with_groups
from analyzer.errors import printable

__all__ = ["inspect"]


@with_groups
def inspect(
    log: Log,
    *,
    reading: Reading,
    air: AirOfTheDay,
    limits: LimitsOfLog,
    save_format: Annotated[
        Path | None,
        typer.Option("--save-format", metavar="FILE", help="Save how the log was read, as a TOML file for --log-format."),
    ] = None,
    force: Force = False,
) -> None:
    """Show how a log is understood: columns, units, gaps, repairs. Also its rate, span and altitudes."""
    from analyzer.report.exports.write import check_new, write_new
    from analyzer.report.words.inspect_text import inspect_text
    from analyzer.track.log_format import log_format_text
    from analyzer.track.read import read_track

    if save_format is not None:
        check_new(save_format, force=force, inputs=[log])
    options = read_options(reading, limits, air)
    track = read_track(log, options)
    sys.stdout.write(inspect_text(track))
    if save_format is not None:
        write_new(save_format, log_format_text(track, options).encode(), force=force, inputs=[log])
        sys.stdout.write(f"\nLog format: {printable(str(save_format))}\n")
        if options.start is not None:
            sys.stdout.write("The start is not kept, as it is this flight's alone: give each log its own --start.\n")
