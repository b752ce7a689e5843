"""Report text on what an instructor excused: by whom and why, that it counts neither way, and which excuses are not used."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from analyzer.checks.phrases import check_name, part_words

if TYPE_CHECKING:
    from analyzer.checks.excuse import Excuse
    from analyzer.checks.finding import Finding
    from analyzer.debriefs.data import DebriefData

__all__ = ["IDLE_LEAD", "day_words", "excuse_words", "excused_rows", "idle_sentences", "idle_texts"]

IDLE_LEAD = "Excuse not used"


def excuse_words(finding: Finding) -> str:
    """The excuse of a finding in sentences; empty where it has none.

    Where the finding reads otherwise than when it was excused, that is said: the excuse was given for what stood there then.
    """
    if finding.excused is None:
        return ""
    excuse = finding.excused.excuse
    verdict = "below a minimum" if finding.excused.verdict == "not assessed" else finding.excused.verdict
    said = f"Excused by {_who(excuse)}: {_sentence(excuse.reason)} It is {verdict}, and counts neither way."
    if excuse.sentence and excuse.sentence != finding.sentence:
        return f"{said} When it was excused, it read: “{excuse.sentence}”"
    return said


def excused_rows(findings: Iterable[Finding]) -> list[dict[str, str]]:
    """The excused ones of some findings, as a page or sheet lists them: name, sentence, and the words of the excuse."""
    return [
        {"name": check_name(finding.check, finding.unit), "sentence": finding.sentence, "words": excuse_words(finding)}
        for finding in findings
        if finding.excused is not None
    ]


def idle_sentences(debrief: DebriefData) -> Iterator[str]:
    """The excuses that are not used, a sentence or two each with its lead."""
    yield from (f"{IDLE_LEAD}: {text}" for text in idle_texts(debrief))


def idle_texts(debrief: DebriefData) -> Iterator[str]:
    """The same without the lead, which a page sets apart."""
    for one in debrief.idle:
        excuse = one.excuse
        yield f"{_what(excuse)}, excused by {_who(excuse)}: {_sentence(excuse.reason)} But {_sentence(one.why)}"


def day_words(day: dt.date) -> str:
    """A day: ``29 June 2026``."""
    return f"{day.day} {day:%B %Y}"


def _what(excuse: Excuse) -> str:
    """The finding that an excuse means: ``distance limit (reversal turn, approach 1)``."""
    place = excuse.fix or part_words(excuse.part or excuse.leg or "", excuse.lap)
    lap = f"lap {excuse.lap}" if excuse.lap is not None else ""
    numbered = f"approach {excuse.approach}" if excuse.approach is not None else ""
    numbered = f"hold {excuse.hold}" if excuse.hold is not None else numbered
    where = ", ".join(filter(None, (place, lap, numbered)))
    return f"{check_name(excuse.check)} ({where})" if where else check_name(excuse.check)


def _who(excuse: Excuse) -> str:
    return excuse.by if excuse.on is None else f"{excuse.by} on {day_words(excuse.on)}"


def _sentence(text: str) -> str:
    """Text that ends a sentence."""
    return text if text.endswith((".", "!", "?")) else f"{text}."
