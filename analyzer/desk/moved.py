"""What changed in the debrief of a flight since it was last shown, because the chart, the standard or the program changed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, TypeAlias

__all__ = ["what_moved"]

Json: TypeAlias = Mapping[str, Any]
_Key: TypeAlias = tuple[str, int, str, str]


def what_moved(before: Json, now: Json) -> Iterator[str]:
    """Sentences on what differs between two debriefs of one log (JSON, ``debrief.schema.json``): its basis and its verdicts."""
    if not before:
        return
    for what, old, new in (
        ("The procedure", before.get("procedure"), now.get("procedure")),
        ("The standard", before.get("standard"), now.get("standard")),
        ("How the log is read", before.get("track"), now.get("track")),
    ):
        if old != new:
            yield f"{what} is not what it was when this flight was last debriefed."
    old_verdicts, new_verdicts = _verdicts(before), _verdicts(now)
    for key in sorted(old_verdicts.keys() | new_verdicts.keys()):
        was, is_now = old_verdicts.get(key), new_verdicts.get(key)
        if was != is_now:
            kind, number, check, where = key
            name = f"{check.replace('_', ' ')}{f' ({where})' if where else ''} of {kind} {number}"
            yield f"{name[:1].upper()}{name[1:]}: {was or 'not judged'} before, {is_now or 'not judged'} now."


def _verdicts(document: Json) -> dict[_Key, str]:
    found: dict[_Key, str] = {}
    for kind in ("reversals", "holds"):
        for number, entry in enumerate(_rows(document.get(kind)), 1):
            for finding in _rows(entry.get("findings")):
                where = " ".join(str(finding[key]) for key in ("part", "leg", "fix", "lap") if finding.get(key) is not None)
                found[kind[:-1], number, str(finding.get("check")), where.replace("_", " ")] = str(finding.get("verdict"))
    return found


def _rows(value: object) -> list[Json]:
    """The tables of a list, in a file that somebody may have edited."""
    return [row for row in value if isinstance(row, Mapping)] if isinstance(value, list) else []
