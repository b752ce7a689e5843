"""The names of the commands, and the help of the program itself, which is printed without loading what reads a command line.

typer takes three times as long to load as Python to start. `tests/cli/test_cli_help.py` holds that it would print the same.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator

__all__ = [
    "COMMANDS",
    "DEBUG",
    "DEBUG_HELP",
    "GROUPS",
    "PROGRAM_HELP",
    "VERSION_HELP",
    "help_asked_for",
    "print_help",
    "program_help",
]

PROGRAM_HELP = (
    "Debrief instrument approaches that begin with a course reversal: log and chart in, facts out. "
    "Training aid, never for navigation."
)
# Each is a function of its name in a module of its name here; what it does is the first line of its description.
COMMANDS = {
    "debrief": "Report what was flown and whether it stayed within the chart. Writes a page with pictures.",
    "brief": "Work out the numbers to fly: headings, times, leads, descents. Also how far the reversal reaches.",
    "compare": "Lay attempts at one procedure side by side. Shows what changed, by how much, and how much of it was wind.",
    "grade": "Grade a class: every log judged and marked alike. Writes a table, a page and files; run again, it resumes.",
    "desk": "Open the desk in the browser: drop logs, draw charts, debrief. It is served from this computer to this one alone.",
    "inspect": "Show how a log is understood: columns, units, gaps, repairs. Also its rate, span and altitudes.",
}
# Commands with commands of their own: in such a module, of that name and `_app`.
GROUPS = {
    "procedure": "Work with procedure files.",
    "rubric": "Look at the rubrics to mark a class by.",
    "standard": "Look at the standards to judge by.",
}
DEBUG = "--debug"
DEBUG_HELP = "Print the traceback of an error; may be given anywhere."
VERSION_HELP = "Print the version and stop."

_OPTIONS = {
    "--version": VERSION_HELP,
    DEBUG: DEBUG_HELP,
    "--install-completion": "Install completion for the current shell.",
    "--show-completion": "Show completion for the current shell, to copy it or customize the installation.",
    "-h, --help": "Show this message and exit.",
}
_LEAST, _MOST = 50, 78  # columns


def help_asked_for(arguments: list[str]) -> bool:
    """Whether the help of the program itself is asked for, and not completions by a shell."""
    alone = [argument for argument in arguments if argument != DEBUG]
    return alone in ([], ["-h"], ["--help"]) and not any(name[:1] == "_" and name.endswith("_COMPLETE") for name in os.environ)


def print_help() -> bool:
    """Print the help of the program on standard output; whether that could be done."""
    try:
        sys.stdout.write(program_help(_called(), _columns()))
        sys.stdout.flush()
    except (AttributeError, OSError):  # closed by the caller, or cannot be written
        return False
    return True


def program_help(called: str, columns: int) -> str:
    """The help of the program, by the name that it is called by, for a terminal of some columns."""
    width = max(_LEAST, min(columns - 2, _MOST))
    usage = f"Usage: {called} "
    fits = len(usage) + 20 <= width
    indent = " " * (len(usage) if fits else 11)
    lines = [f"{indent}{line}" for line in _wrapped("[OPTIONS] COMMAND [ARGS]...", width - len(indent))]
    return "\n".join(
        [
            *([f"{usage}{lines[0].lstrip()}", *lines[1:]] if fits else [usage, *lines]),
            "",
            *(f"  {line}" for line in _wrapped(PROGRAM_HELP, width - 2)),
            "",
            "Options:",
            *_rows(_OPTIONS.items(), width),
            "",
            "Commands:",
            *_rows(((name, _shortened(text, width - 6 - max(map(len, _ALL)))) for name, text in _ALL.items()), width),
            "",
        ]
    )


_ALL = COMMANDS | GROUPS


def _rows(rows: Iterable[tuple[str, str]], width: int) -> Iterator[str]:
    """A list of names with texts to their right."""
    rows = list(rows)
    indent = 2 + max(len(name) for name, _ in rows) + 2
    for name, text in rows:
        for number, line in enumerate(_wrapped(text, width - indent)):
            yield f"{f'  {name}' if number == 0 else '':{indent}}{line}"


def _wrapped(text: str, width: int) -> list[str]:
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".lstrip()
        if len(longer) <= width or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _shortened(text: str, width: int) -> str:
    """As many words of the first sentence as fit, with an ellipsis where some are missing."""
    end = text.find(". ")
    text = text if end < 0 else text[: end + 1]
    return text if len(text) <= width else f"{_wrapped(text, width - 3)[0]}..."


def _called() -> str:
    """What the program is called by: the script's name, or the module's as Python was given it."""
    package = getattr(sys.modules["__main__"], "__package__", None)
    return f"python -m {package}" if package else os.path.basename(sys.argv[0])  # noqa: PTH119 (pathlib takes longer than the help)


def _columns() -> int:
    """Columns of the terminal: of `COLUMNS` where that is set, 80 where there is none."""
    try:
        columns = int(os.environ.get("COLUMNS", ""))
    except ValueError:
        columns = 0
    if columns > 0 or sys.__stdout__ is None:
        return columns or 80
    try:
        return os.get_terminal_size(sys.__stdout__.fileno()).columns or 80
    except (ValueError, OSError):
        return 80
