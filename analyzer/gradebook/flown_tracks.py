"""The tracks of a class by procedure, for its picture: bounded in number, and those outside separate from the others."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import field
from typing import Any

from analyzer.checks.finding import OUTSIDE
from analyzer.frozen import dataclass
from analyzer.gradebook.sample import Sample

__all__ = ["FlownTrack", "ProcedureTracks", "RowKey", "key_of"]

Json = dict[str, Any]
Row = Mapping[str, Any]
RowKey = tuple[str, int | None, str | None]
_MOST_OUTSIDE, _MOST_OTHERS = 60, 120


def key_of(row: Row) -> RowKey:
    """The key of a row: its log, and the approach or hold."""
    return row["file"], row["approach"], row["hold"]


@dataclass(frozen=True)
class FlownTrack:
    """The track of an approach: points east and north of the fix, and its farthest point with the distance. [NM]"""

    key: RowKey
    name: str
    outside: bool
    east_nm: tuple[float, ...]
    north_nm: tuple[float, ...]
    farthest_nm: tuple[float, float] | None
    distance_nm: float | None


@dataclasses.dataclass
class ProcedureTracks:
    """The tracks of a procedure, the time at which the first was flown (RFC 3339), and the position of its fix. [degrees]"""

    start: str
    fix_deg: tuple[float, float]
    outside: Sample[FlownTrack] = field(default_factory=lambda: Sample(_MOST_OUTSIDE))
    others: Sample[FlownTrack] = field(default_factory=lambda: Sample(_MOST_OTHERS))

    @property
    def seen(self) -> int:
        """The number of tracks added."""
        return self.outside.seen + self.others.seen

    def add(self, row: Row, track: Json) -> None:
        """Add the track of an approach."""
        outside, farthest = row["verdict"] == OUTSIDE, track["farthest_nm"]
        flown = FlownTrack(
            key_of(row),
            str(row["pilot"] or row["file"]),
            outside,
            tuple(track["east_nm"]),
            tuple(track["north_nm"]),
            (farthest[0], farthest[1]) if farthest is not None else None,
            row["farthest_distance_nm"],
        )
        (self.outside if outside else self.others).add(flown)
