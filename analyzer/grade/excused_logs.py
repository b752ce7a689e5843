"""The excuses of a class, given to the logs that they name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from hashlib import sha256

from analyzer.checks.excuse import Excuse
from analyzer.checks.excuse_file import excuses_for
from analyzer.frozen import dataclass

__all__ = ["ExcusedLogs", "excuses_key", "given_to_logs"]


@dataclass(frozen=True)
class ExcusedLogs:
    """Excuses by the name of the log, and those that are used for none, because they name no log or several."""

    by_log: Mapping[str, tuple[Excuse, ...]]
    without_log: tuple[Excuse, ...]


def given_to_logs(excuses: Sequence[Excuse], logs: Iterable[str]) -> ExcusedLogs:
    """Give each excuse to the one log that it names, by its path or the end of it from any folder on."""
    found: dict[Excuse, list[str]] = {excuse: [] for excuse in excuses}
    for log in logs if excuses else ():
        for excuse in excuses:
            if excuse.flight and excuses_for((excuse,), log):
                found[excuse].append(log)
    by_log: dict[str, tuple[Excuse, ...]] = {}
    for excuse, names in found.items():
        if len(names) == 1:
            by_log[names[0]] = (*by_log.get(names[0], ()), excuse)
    return ExcusedLogs(by_log, tuple(excuse for excuse, names in found.items() if len(names) != 1))


def excuses_key(excuses: Sequence[Excuse]) -> str | None:
    """A key of what a row depends on besides its log and the settings: its excuses; None without any."""
    return sha256("".join(excuse.key for excuse in excuses).encode()).hexdigest()[:12] if excuses else None
