"""The program: all commands put together, and what it exits with."""

from __future__ import annotations

import gc
import io
import sys
from typing import Annotated

import typer
from typer._click.exceptions import ClickException

from analyzer.cli.brief import brief
from analyzer.cli.debrief import debrief
from analyzer.cli.grade import grade
from analyzer.cli.inspect import inspect
from analyzer.cli.procedure import procedure_app
from analyzer.cli.rubric import rubric_app
from analyzer.cli.standard import standard_app
from analyzer.errors import AnalyzerError

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
app.command()(debrief)
app.command()(brief)
app.command()(grade)
app.command()(inspect)
app.add_typer(procedure_app, name="procedure")
app.add_typer(rubric_app, name="rubric")
app.add_typer(standard_app, name="standard")


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
