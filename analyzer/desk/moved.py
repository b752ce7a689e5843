"""What changed in the debrief of a flight since it was last shown, because the chart, the standard or the program changed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, TypeAlias

from analyzer.checks.finding import NOT_ASSESSED
from analyzer.checks.phrases import part_words

__all__ = ["what_moved"]

Json: TypeAlias = Mapping[str, Any]
_Key: TypeAlias = tuple[str, int, str, str]
_VALUES = ("measured", "limit")
_CAUSES = (
    ("The procedure", "procedure"),
    ("The standard", "standard"),
    ("How the log is read", "track"),
    ("What was cleared", "cleared"),
)


def what_moved(before: Json, now: Json) -> Iterator[str]:
    """Sentences on what differs between two debriefs of one log (JSON, ``debrief.schema.json``): its basis and its verdicts."""
    if not before:
        return
    other = [what for what, key in _CAUSES if before.get(key) != now.get(key)]
    yield from (f"{what} is not what it was when this flight was last debriefed." for what in other)
    old, new = _findings(before), _findings(now)
    moved = [key for key in sorted(old.keys() | new.keys()) if _judged(old, key) != _judged(new, key)]
    same = [key for key in old.keys() & new.keys() if key not in moved]
    others = sum(any(_of(old, key, value) != _of(new, key, value) for value in _VALUES) for key in same)
    if (moved or others) and not other:
        yield "The program or its standards are not what they were when this flight was last debriefed."
    if old and not new:  # as by the chart of another approach: a line for each would say no more
        yield "Nothing of the flight is judged now."
        return
    several = {kind for kind, number, *_ in (*old, *new) if number > 1}
    for key in moved:
        kind, number, check, _ = key
        where = _where_words(new.get(key) or old[key])
        of = f", {kind} {number}" if kind in several else ", hold" if kind == "hold" else ""
        name = f"{check.replace('_', ' ')}{f' ({where})' if where else ''}{of}"
        was, is_now = (_verdict(found, key) or "not judged" for found in (old, new))
        yield f"{name[:1].upper()}{name[1:]}: {was} before, {is_now} now."
    if others:
        have = f"{'more ' if moved else ''}{'finding has' if others == 1 else 'findings have'}"
        yield f"{others} {have} another value or limit, with the same verdict."


def _of(found: Mapping[_Key, Json], key: _Key, value: str) -> object:
    return found[key].get(value) if key in found else None


def _verdict(found: Mapping[_Key, Json], key: _Key) -> object:
    """The verdict on a finding, of an excused one that which it would have: excusing is no change of the debrief's basis."""
    excused = _of(found, key, "excused")
    return excused.get("verdict") if isinstance(excused, Mapping) else _of(found, key, "verdict")


def _judged(found: Mapping[_Key, Json], key: _Key) -> object:
    """The same where there is one: a finding that is not assessed and one that is not there are alike."""
    verdict = _verdict(found, key)
    return None if verdict == NOT_ASSESSED else verdict


def _where_words(finding: Json) -> str:
    """Where a finding is, as a debrief says it: its fix, else its part, else its leg, and its lap in a hold."""
    place = next((str(finding[key]) for key in ("fix", "part", "leg") if finding.get(key) is not None), "")
    lap = f"lap {finding['lap']}" if finding.get("lap") is not None else ""
    number = finding.get("lap")
    return ", ".join(word for word in (part_words(place, number if isinstance(number, int) else None), lap) if word)


def _findings(document: Json) -> dict[_Key, Json]:
    found: dict[_Key, Json] = {}
    for kind, rows in (("approach", "reversals"), ("hold", "holds")):
        for number, entry in enumerate(_rows(document.get(rows)), 1):
            for finding in _rows(entry.get("findings")):
                where = " ".join(str(finding[key]) for key in ("part", "leg", "fix", "lap") if finding.get(key) is not None)
                found[kind, number, str(finding.get("check")), where.replace("_", " ")] = finding
    return found


def _rows(value: object) -> list[Json]:
    """The tables of a list, in a file that somebody may have edited."""
    return [row for row in value if isinstance(row, Mapping)] if isinstance(value, list) else []
