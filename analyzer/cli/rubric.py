"""The commands ``rubric list``, ``show`` and ``check``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["rubric_app"]

rubric_app = typer.Typer(rich_markup_mode=None, no_args_is_help=True, help="Look at the rubrics to mark a class by.")


@rubric_app.command("list")
def rubric_list() -> None:
    """Name the rubrics that ship."""
    from analyzer.report.words.rubric_text import rubrics_text

    sys.stdout.write(rubrics_text())


@rubric_app.command("show")
def rubric_show(
    rubric: Annotated[str, typer.Argument(metavar="NAME|FILE", help="A rubric.")] = "protection",
    *,
    toml: Annotated[bool, typer.Option("--toml", help="Print it as a file to start your own from.")] = False,
) -> None:
    """Show what each check weighs, and how a mark is made."""
    from analyzer.gradebook.rubric import read_rubric
    from analyzer.report.words.rubric_text import rubric_text, rubric_toml

    sys.stdout.write((rubric_toml if toml else rubric_text)(read_rubric(rubric)))


@rubric_app.command("check")
def rubric_check(file: Annotated[Path, typer.Argument(metavar="FILE", help="A rubric of your own (TOML).")]) -> None:
    """Check a rubric's file."""
    from analyzer.gradebook.rubric import read_rubric
    from analyzer.report.words.rubric_text import rubric_check_text

    sys.stdout.write(rubric_check_text(read_rubric(file)))
