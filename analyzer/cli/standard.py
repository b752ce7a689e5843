"""The commands ``standard list``, ``show`` and ``check``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["standard_app"]

standard_app = typer.Typer(rich_markup_mode=None, no_args_is_help=True, help="Look at the standards to judge by.")


@standard_app.command("list")
def standard_list() -> None:
    """Name the standards that ship."""
    from analyzer.report.words.standard_text import standards_text

    sys.stdout.write(standards_text())


@standard_app.command("show")
def standard_show(
    standard: Annotated[str, typer.Argument(metavar="NAME|FILE", help="A standard.")] = "faa-instrument",
) -> None:
    """Show every limit of a standard with its source."""
    from analyzer.checks.standard import read_standard
    from analyzer.report.words.standard_text import standard_text

    sys.stdout.write(standard_text(read_standard(standard)))


@standard_app.command("check")
def standard_check(file: Annotated[Path, typer.Argument(metavar="FILE", help="A standard of your own (TOML).")]) -> None:
    """Check a standard's file; say what it changes."""
    from analyzer.checks.standard import read_standard
    from analyzer.report.words.standard_text import standard_check_text

    sys.stdout.write(standard_check_text(read_standard(file)))
