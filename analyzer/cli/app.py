"""The program: all commands, and its exit codes."""

from __future__ import annotations

import gc
import io
import os
import shlex
import sys
import traceback
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from types import TracebackType
from typing import Annotated, NoReturn

import typer
from typer.main import get_command

from analyzer.cli.commands import COMMANDS, DEBUG, DEBUG_HELP, GROUPS, PROGRAM_HELP, VERSION_HELP
from analyzer.errors import AnalyzerError, bounded, printable

__all__ = ["main", "program"]

_FAILED, _PIPE_BROKEN = 70, 141  # as in sysexits.h, and as a shell reports SIGPIPE


def program(command: str | None = None) -> typer.Typer:
    """The program with one of its commands, so that the others need not be loaded; with all where it names none."""
    app = typer.Typer(
        name="analyzer",
        help=PROGRAM_HELP,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        no_args_is_help=True,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback()(_root)
    names = [*COMMANDS, *GROUPS]
    for name in [command] if command in names else names:
        module = import_module(f"analyzer.cli.{name}")
        if name in COMMANDS:
            app.command(name)(getattr(module, name))
        else:
            app.add_typer(getattr(module, f"{name}_app"), name=name)
    return app


def _version(asked: bool) -> None:
    if asked:
        from importlib import metadata

        typer.echo(f"analyzer {metadata.version('approach-analyzer')}")
        raise typer.Exit


def _root(
    version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help=VERSION_HELP)] = False,
    debug: Annotated[bool, typer.Option(DEBUG, help=DEBUG_HELP)] = False,
) -> None:
    """The options of the program itself."""


def main() -> None:
    """Run the command line.

    It exits with 2 and one or two lines if input or usage is wrong, with 70 and a line if the program itself fails, and with
    141 if the reader of its output is gone. With ``--debug`` errors have their tracebacks.
    """
    gc.disable()  # a run is short and leaves few cycles; collecting while modules load costs a tenth of its time
    arguments = [argument for argument in sys.argv[1:] if argument != DEBUG]
    debug = len(arguments) < len(sys.argv) - 1
    arguments += _help_without_command(arguments)
    if not debug:
        sys.excepthook = _failed
    _replace_closed_streams()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # without the degree sign a terminal shows a question mark
    try:
        code = get_command(program(next(iter(arguments), None))).main(arguments, standalone_mode=False) or 0
        sys.stdout.flush()
    except typer.TyperException as error:
        _say(f"{bounded(printable(_plainly(error.format_message())))} (see {_command_of(error)} --help)")
        sys.exit(2)
    except typer.Abort:
        sys.exit(130)
    except AnalyzerError as error:
        if debug:
            traceback.print_exc()
        _refuse(error, arguments)
    except (BrokenPipeError, SystemExit) as error:  # click turns the one into the other
        if isinstance(error, SystemExit) and not error.code:
            raise  # completions for the shell are written
        os._exit(_PIPE_BROKEN)  # nobody reads any more, and nothing may be flushed
    except OSError as error:
        if debug:
            raise
        _say(f"{printable(str(error.filename or 'standard output'))}: {error.strerror}")
        os._exit(2)  # a stream that cannot be written must not be flushed again
    sys.exit(code)


def _plainly(message: str) -> str:
    """A message of the option parser without the names that programmers have for numbers."""
    return message.replace("is not a valid float", "is not a number").replace("is not a valid integer", "is not a whole number")


def _command_of(error: typer.TyperException) -> str:
    """The command whose help names the options that an error is about: ``analyzer debrief``."""
    names: list[str] = []
    context = getattr(error, "ctx", None)
    while context is not None and context.parent is not None:
        names.insert(0, context.info_name)
        context = context.parent
    return " ".join(["analyzer", *names])


def _help_without_command(arguments: list[str]) -> list[str]:
    """The help option if there is no command; typer would print the help as an error."""
    bare = not arguments or arguments in [[group] for group in GROUPS]
    return ["--help"] if bare else []


def _replace_closed_streams() -> None:
    """Open the null device for output that the caller closed (``>&-``), so that no file gets its descriptor."""
    if sys.stdout is None:
        sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115 (open as long as the program runs)
    if sys.stderr is None:
        sys.stderr = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115 (open as long as the program runs)


def _say(message: str) -> None:
    """Write a message to standard error, if anybody reads it."""
    with suppress(OSError):
        sys.stderr.write(f"analyzer: {message}\n")
        sys.stderr.flush()


def _refuse(error: AnalyzerError, arguments: list[str]) -> NoReturn:
    """Print what is wrong and, if options can fix it, the whole command with them."""
    _say(str(error))
    if error.options:
        _say(f"try: analyzer {bounded(' '.join([shlex.join(arguments), *error.options]))}")
    sys.exit(2)


def _failed(kind: type[BaseException], error: BaseException, _: TracebackType | None) -> None:
    """Print in one line that the program itself failed, and exit."""
    message = bounded(" ".join(str(error).split()))
    _say(f"the program itself failed ({kind.__name__}: {message}); with --debug it says where. Please report it.")
    os._exit(_FAILED)
