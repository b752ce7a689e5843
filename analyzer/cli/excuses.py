"""The file of excuses that a command is given, for its logs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import ExcuseError

if TYPE_CHECKING:
    from analyzer.checks.excuse import Excuse

__all__ = ["excuses_of_logs"]


def excuses_of_logs(file: Path | None, logs: Sequence[Path]) -> tuple[tuple[Excuse, ...], ...]:
    """The excuses for each of some logs, none without a file.

    Raises
    ------
    ExcuseError
        The file cannot be read, or none of its excuses is for any of the logs.
    """
    if file is None:
        return ((),) * len(logs)
    from analyzer.checks.excuse_file import excuses_for, read_excuses

    excuses = read_excuses(file)
    given = tuple(excuses_for(excuses, str(log)) for log in logs)
    if excuses and not any(given):
        names = ", ".join(dict.fromkeys(excuse.flight for excuse in excuses))
        raise ExcuseError(f"{file}: its excuses are for other flights ({names}); `flight` must be the name of the log")
    return given
