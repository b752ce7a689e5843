"""What rows must know of each other before any is written: copies of a log, attempts of each pilot, the roster's entries.

One pass over the documents; of each log 20 bytes are held, not its document, and what a roster says of it.
"""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from analyzer.gradebook.roster import Matches, Roster, match_roster

__all__ = ["Index", "index_of"]

Json = dict[str, Any]
_DIGITS = 16  # of a digest that are held; copies are told by all of them later


@dataclass(frozen=True, eq=False)
class Index:
    """What is known across logs, each by its place in their order.

    `first_of` holds, of each log whose content came before, the place of that; `attempts` the numbers of its approaches among
    those of the same pilot, in order of time, and after them the numbers of its holds among the pilot's holds.
    """

    logs: int
    first_of: Mapping[int, int]
    matches: Matches | None
    attempts: Mapping[int, tuple[int, ...]]


def index_of(documents: Iterable[Json], roster: Roster | None) -> Index:
    """Look through the documents of all logs, in order."""
    digests, starts, approaches, holds = array("Q"), array("d"), array("H"), array("H")

    def names() -> Iterator[str]:
        for document in documents:
            digest, start = document["sha256"], document["start"]
            digests.append(int(digest[:_DIGITS], 16) if digest else 0)
            starts.append(datetime.fromisoformat(start).timestamp() if start else 0.0)
            approaches.append(len(document["approaches"]))
            holds.append(len(document["holds"]))
            yield document["file"]

    matches = match_roster(roster, names()) if roster is not None else None
    if matches is None:
        for _ in names():
            pass
    first_of = _copies(digests)
    attempts = _attempts(matches, first_of, starts, (approaches, holds)) if matches is not None else {}
    return Index(len(digests), first_of, matches, attempts)


def _copies(digests: array[int]) -> Mapping[int, int]:
    """The places of logs that came before, with the place of the first that is the same."""
    values = np.frombuffer(digests, dtype=np.uint64) if digests else np.zeros(0, dtype=np.uint64)
    order = np.argsort(values, kind="stable")
    ranked = values[order]
    same = np.flatnonzero((ranked[1:] == ranked[:-1]) & (ranked[1:] != 0)) + 1
    first_of: dict[int, int] = {}
    for k in same.tolist():
        before = int(order[k - 1])
        first_of[int(order[k])] = first_of.get(before, before)
    return first_of


def _attempts(
    matches: Matches, first_of: Mapping[int, int], starts: array[float], counts: tuple[array[int], array[int]]
) -> Mapping[int, tuple[int, ...]]:
    """The numbers by place; `counts` are those of approaches and of holds, which are numbered apart."""
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
