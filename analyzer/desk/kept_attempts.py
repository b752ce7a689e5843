"""The attempts of each flight, kept in the folder as small files, so that a pilot's months need no debrief.

They lie in ``.cache/attempts`` and may be deleted at any time. Each says what it was made from: the log, its card, chart and
settings, and the program. Where any of these is another now, the flight is to be measured again.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import Any

from analyzer.comparison.progress import KeptAttempt, kept_attempts
from analyzer.debriefs.data import DebriefData
from analyzer.desk.cards import read_settings
from analyzer.desk.names import is_safe
from analyzer.desk.store import CARD, Store
from analyzer.errors import DeskError
from analyzer.frozen import dataclass
from analyzer.gradebook.mark import results_by_check
from analyzer.gradebook.rubric import DEFAULT_RUBRIC, read_rubric
from analyzer.program import program_digest
from analyzer.report.words.clearance_text import settled_sentences

__all__ = ["Keeping", "Kept"]

_PLACE = (".cache", "attempts")
_ABOUT_THE_FLIGHT = ("name", "pilot", "aircraft", "remark", "brief")  # what a card says that no figure depends on


@dataclass(frozen=True)
class Kept:
    """What is kept of a flight: its procedure with what was settled, its attempts, their worst verdicts, why there are none.

    `checks` has one mapping for each attempt, in the same order, from the check to its worst verdict.
    """

    title: str
    settled: str
    attempts: tuple[KeptAttempt, ...]
    checks: tuple[Mapping[str, str], ...]
    fault: str = ""


class Keeping:
    """The kept attempts of one folder, as its settings and charts are now."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._charts: dict[str, list[int]] = {}

    def card(self, log: str) -> Mapping[str, Any]:
        """The card of a log as it is written; empty where there is none that can be read."""
        try:
            return tomllib.loads((self._store.folder / "logs" / (log + CARD)).read_text(encoding="utf-8"))
        except (OSError, ValueError, RecursionError):
            return {}

    def known(self, log: str, card: Mapping[str, Any]) -> Kept | None:
        """What is kept of a flight, None where nothing is that holds now."""
        with suppress(OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
            path = self._path(log)
            if not self._is_linked:
                kept = json.loads(path.read_text(encoding="utf-8"))
                if kept["made_from"] == self._made_from(log, card):
                    attempts = tuple(KeptAttempt.of_json(one) for one in kept["attempts"])
                    return Kept(
                        str(kept["title"]), str(kept["settled"]), attempts, tuple(map(dict, kept["checks"])), str(kept["fault"])
                    )
        return None

    def keep(self, log: str, debrief: DebriefData) -> Kept:
        """Keep the attempts of a flight that was debriefed."""
        rubric = read_rubric(DEFAULT_RUBRIC)
        attempts = kept_attempts(debrief)
        found = {(section.of, section.number): section.approach.findings for section in debrief.sections}
        checks: tuple[Mapping[str, str], ...] = tuple(
            {str(check): result.worst.verdict for check, result in results_by_check(found[one.of, one.number], rubric).items()}
            for one in attempts
        )
        charted = debrief.motion.charted
        settled = " ".join([*settled_sentences(charted), f"Judged by: {debrief.standard.title}."])
        return self._write(log, Kept(charted.procedure.title, settled, attempts, checks))

    def keep_fault(self, log: str, fault: str) -> Kept:
        """Keep why a flight has no attempts."""
        return self._write(log, Kept("", "", (), (), fault))

    def _write(self, log: str, kept: Kept) -> Kept:
        document = {
            "made_from": self._made_from(log, self.card(log)),
            "title": kept.title,
            "settled": kept.settled,
            "attempts": [one.to_json() for one in kept.attempts],
            "checks": kept.checks,
            "fault": kept.fault,
        }
        path = self._path(log)
        if not self._is_linked:
            with suppress(DeskError, OSError):  # then it is measured again next time
                path.parent.mkdir(parents=True, exist_ok=True)
                self._store.write(path, json.dumps(document, separators=(",", ":")).encode())
        return kept

    def _path(self, log: str) -> Path:
        return self._store.folder.joinpath(*_PLACE, f"{self._store.path('logs', log).name}.json")

    @cached_property
    def _is_linked(self) -> bool:
        """Whether the place leads out of the folder."""
        place = self._store.folder.joinpath(*_PLACE)
        return place.is_symlink() or place.parent.is_symlink()

    def _made_from(self, log: str, card: Mapping[str, Any]) -> str:
        """A digest of all that the attempts of a flight depend on."""
        said = {key: value for key, value in card.items() if key not in _ABOUT_THE_FLIGHT}
        chart = str(card.get("procedure", ""))
        if chart not in self._charts:
            self._charts[chart] = _stamp(self._store.folder / "procedures" / chart) if is_safe(chart) else []
        parts = [_stamp(self._store.folder / "logs" / log), said, self._charts[chart], self._settings]
        return sha256(json.dumps(parts, sort_keys=True, default=str).encode()).hexdigest()[:24]

    @cached_property
    def _settings(self) -> list[Any]:
        settings = read_settings(self._store)
        own = Path(settings.standard)
        return [settings.model_dump(exclude={"watched"}), _stamp(own), program_digest()]


def _stamp(path: Path) -> list[int]:
    try:
        about = path.stat()
    except OSError:
        return []
    return [about.st_size, about.st_mtime_ns]
