"""The index across logs, needed before any row is written: copies of a log, numbers of attempts, entries of the roster.

It takes one pass over the documents, and keeps 20 bytes per log and its entry in the roster.
"""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

import numpy as np

from analyzer.checks.excuse import Excuse
from analyzer.frozen import dataclass
from analyzer.gradebook.roster import Matches, Roster, match_roster

__all__ = ["Index", "index_of"]

Json = dict[str, Any]
_DIGITS = 16  # of a digest, enough to find copies


@dataclass(frozen=True, eq=False)
class Index:
    """What is known across logs. Logs are identified by their position in the order.

    Attributes
    ----------
    logs : int
        Number of logs.
    first_of : mapping
        For each copy of another log, the place of the one that counts: the first that the roster names, else the first.
    matches : Matches, optional
        How the roster matches the logs.
    attempts : mapping
        For each log, the numbers of its approaches among those of the same pilot, in order of time, then those of its holds
        among the pilot's holds.
    excuses_without_log : tuple of Excuse
        Excuses that are used for no log, because they name none, or several.
    """

    logs: int
    first_of: Mapping[int, int]
    matches: Matches | None
    attempts: Mapping[int, tuple[int, ...]]
    excuses_without_log: tuple[Excuse, ...] = ()


def index_of(documents: Iterable[Json], roster: Roster | None) -> Index:
    """Index the documents of all logs, in order."""
    digests, starts, approaches, holds = array("Q"), array("d"), array("H"), array("H")

    def names() -> Iterator[str]:
        for document in documents:
            digest, start = document["sha256"], document["start"]
            digests.append(int(digest[:_DIGITS], 16) if digest else 0)
            starts.append(datetime.fromisoformat(start).timestamp() if start else 0.0)
            approaches.append(len(document["approaches"]))
            holds.append(len(document["holds"]))
            yield document["file"]

    def alike(places: Sequence[int]) -> bool:
        return len({digests[place] for place in places}) == 1 and digests[places[0]] != 0

    matches = match_roster(roster, names(), alike) if roster is not None else None
    if matches is None:
        for _ in names():
            pass
    first_of = _copies(digests, matches.by_place if matches is not None else ())
    attempts = _attempts(matches, first_of, starts, (approaches, holds)) if matches is not None else {}
    return Index(len(digests), first_of, matches, attempts)


def _copies(digests: array[int], named: Container[int]) -> Mapping[int, int]:
    """For each copy of another log, the place of the one that counts: the first of those named, else the first."""
    values = np.frombuffer(digests, dtype=np.uint64) if digests else np.zeros(0, dtype=np.uint64)
    order = np.argsort(values, kind="stable")
    ranked = values[order]
    same = np.flatnonzero((ranked[1:] == ranked[:-1]) & (ranked[1:] != 0)) + 1
    alike: dict[int, list[int]] = {}  # all places of a log, by the first of them
    first_of: dict[int, int] = {}
    for k in same.tolist():
        before, place = int(order[k - 1]), int(order[k])
        first_of[place] = first_of.get(before, before)
        alike.setdefault(first_of[place], [first_of[place]]).append(place)
    for places in alike.values():
        counts = next((place for place in places if place in named), places[0])
        for place in places:
            first_of[place] = counts
        del first_of[counts]
    return first_of


def _attempts(
    matches: Matches, first_of: Mapping[int, int], starts: array[float], counts: tuple[array[int], array[int]]
) -> Mapping[int, tuple[int, ...]]:
    """Numbers of attempts by position; `counts` has the counts of approaches and of holds, which are numbered separately."""
    places = [place for place in matches.by_place if any(of[place] for of in counts) and place not in first_of]
    flown: Counter[tuple[str, int]] = Counter()
    attempts = {}
    for place in sorted(places, key=lambda place: (starts[place], place)):
        numbers: list[int] = []
        for kind, of in enumerate(counts):
            before = flown[matches.by_place[place].pilot, kind]
            flown[matches.by_place[place].pilot, kind] += of[place]
            numbers += range(before + 1, before + of[place] + 1)
        attempts[place] = tuple(numbers)
    return attempts
