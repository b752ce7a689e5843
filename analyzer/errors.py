"""The errors a user can cause, and catch.

    AnalyzerError           any of the below
    ├── LogError            a position log that cannot be read as it stands
    ├── ProcedureError      a procedure file that is wrong, or a value in it
    ├── BriefError          a brief that was asked for and cannot be flown
    ├── GradeError          logs, a roster, a rubric or rows kept of a class that cannot be graded as they stand
    ├── DeskError           a file or folder of the desk that is not there, or not what it should be
    ├── ClearanceError      a clearance that contradicts itself, or does not fit the procedure
    ├── ExcuseError         a file of excuses that is wrong, or an excuse that cannot be given
    ├── FlownError          a passage or shape that the user named, and that the flight does not have
    └── StandardError       a standard file that is wrong, or a name of a standard or check that is none

Every message says what is wrong, where (file, row or key) and how to mend it, in one or two lines; the command line prints
it as it is and exits with 2. Anything else that is raised is a defect of this program. Messages quote names and text from
files: what would steer a terminal is taken out of every one, here.
"""

__all__ = [
    "AnalyzerError",
    "BriefError",
    "ClearanceError",
    "DeskError",
    "ExcuseError",
    "FlownError",
    "GradeError",
    "LogError",
    "ProcedureError",
    "StandardError",
    "bounded",
    "printable",
]

_LONGEST_LINE, _AT_ITS_END = 1000, 300  # letters of a line of a message; its end, which says what helps, is kept
_MOST_LINES = 40


def printable(text: str) -> str:
    """Text from outside, fit to print: what is no character, or would steer a terminal, becomes a replacement sign."""
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else " " if letter.isspace() else "\ufffd" for letter in text)


def bounded(message: str) -> str:
    """A message fit to print and read: nothing steers a terminal, long lines are cut in their middle, lines are few."""
    lines = message.split("\n")
    shown = [_shortened(printable(line)) for line in lines[:_MOST_LINES]]
    more = len(lines) - _MOST_LINES
    return "\n".join([*shown, f"... and {more:,} more lines"] if more > 0 else shown)


def _shortened(line: str) -> str:
    if len(line) <= _LONGEST_LINE:
        return line
    return f"{line[: _LONGEST_LINE - _AT_ITS_END]} ... {line[-_AT_ITS_END:]}"


class AnalyzerError(Exception):
    """Base of all errors that input or usage can cause. `options` of the command line settle it, where there are such."""

    options: tuple[str, ...] = ()

    def __init__(self, message: str) -> None:
        super().__init__(bounded(message))


class LogError(AnalyzerError):
    """The position log cannot be read as it stands."""


class ProcedureError(AnalyzerError):
    """The procedure file is wrong: its syntax, a key or a value."""


class BriefError(AnalyzerError):
    """What was asked of a brief is wrong, or cannot be flown."""


class ClearanceError(AnalyzerError):
    """What was said to be cleared makes no sense, or does not fit the procedure."""


class ExcuseError(AnalyzerError):
    """The file of excuses is wrong, or what was to be excused cannot be."""


class FlownError(AnalyzerError):
    """What was said to have been flown cannot have been: no such passage of the fix, or no such shape from it."""


class GradeError(AnalyzerError):
    """What a class is graded by is wrong: where its logs are, the roster, the rubric, or the rows kept of an earlier run."""


class DeskError(AnalyzerError):
    """The folder of a desk, or what is asked for in it, is not there or not what it should be."""


class StandardError(AnalyzerError):
    """The standard or the check is unknown, or the standard's file is wrong."""
