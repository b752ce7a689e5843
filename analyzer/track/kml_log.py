"""KML tracks to a raw table: ``gx:Track`` of KML 2.2 and ``Track`` of KML 2.3, alone or in a ``MultiTrack``.

A track holds two lists side by side, ``when`` and ``coord`` (longitude, latitude and altitude with blanks between), and may
hold more of the same length as ``SimpleArrayData``, which become columns by their names. With the altitude mode ``absolute``
altitudes are above sea level, by the standard's vertical datum EGM96 (OGC KML 2.2).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from analyzer.errors import LogError
from analyzer.track.limits import DEFAULT_LIMITS, Limits
from analyzer.track.raw_table import TRACK_NUMBER, Meaning, RawTable
from analyzer.track.track import Note, counted
from analyzer.track.xml_log import XmlLog

__all__ = ["read_kml"]

_DEFINED: Mapping[str, Meaning] = {
    "when": Meaning("time", ""),
    "longitude": Meaning("longitude", "deg"),
    "latitude": Meaning("latitude", "deg"),
    "altitude": Meaning("altitude", "m"),
}
_ABOVE_GROUND = "height above ground"
_ARRAY = " (array)"  # keeps a name apart from that of the track's own lists


@dataclass
class _Track:
    """The lists of one track. `mode` is what its altitudes count from, in KML's term."""

    line: int
    mode: str = "clampToGround"
    when: list[str] = field(default_factory=list)
    coordinates: list[str] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    arrays: dict[str, list[str]] = field(default_factory=dict)

    @property
    def length(self) -> int:
        """Samples: as many as both lists have, which differ where the file breaks off."""
        return min(len(self.when), len(self.coordinates))


class _Tracks(XmlLog):
    """Collects the tracks."""

    def __init__(self, file: str, limits: Limits) -> None:
        super().__init__(file, limits)
        self.tracks: list[_Track] = []
        self.version = ""
        self._inside = False
        self._array: list[str] | None = None
        self._cells = 0

    def has_samples(self) -> bool:
        """Whether any track has a time and a place."""
        return any(track.length for track in self.tracks)

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Note where tracks and arrays begin."""
        if name == "kml":
            self.version = attributes.get("xmlns", "").rpartition("/")[2]
        elif name == "Track":
            self._inside = True
            self.tracks.append(_Track(self.line))
        elif self._inside and name == "SimpleArrayData":
            called = attributes.get("name", "").strip() or "array"
            self._array = self.tracks[-1].arrays.setdefault(called + _ARRAY if called in _DEFINED else called, [])
            self.check_columns(len(self.tracks[-1].arrays))

    def end(self, name: str) -> None:
        """Keep the text of the elements that make a track."""
        if not self._inside:
            return
        track, text = self.tracks[-1], self.text.strip()
        if name == "Track":
            self._inside = False
        elif name == "when":
            track.when.append(text)
            self._count(track.when)
        elif name == "coord":
            track.coordinates.append(text)
            track.lines.append(self.line)
            self._count(track.coordinates)
        elif name == "altitudeMode":
            track.mode = text
        elif name == "SimpleArrayData":
            self._array = None
        elif name == "value" and self._array is not None:
            self._array.append(text)
            self._count(self._array)

    def _count(self, cells: list[str]) -> None:
        """Count one more cell, in this list and in all: neither may grow without limit."""
        self._cells += 1
        self.limits.check_samples(len(cells), self.file)
        self.limits.check_values(self._cells, self.file)


def read_kml(data: bytes, file: str, limits: Limits = DEFAULT_LIMITS) -> RawTable:
    """The samples of all tracks of a KML file, in file order.

    Raises `LogError` where the XML is refused, no track has times, or the lists of a track differ in length.
    """
    log = _Tracks(file, limits)
    notes = log.read(data, kind="KML")
    if not log.has_samples():
        raise LogError(
            f"{file}: this KML file has no track with times (gx:Track, or Track of KML 2.3): a line or points alone have no"
            " speed. Export the track with its times"
        )
    if not notes:
        _check_lengths(log.tracks, file)
    tracks = [track for track in log.tracks if track.length]
    names = list(dict.fromkeys(name for track in tracks for name in track.arrays))
    count = sum(track.length for track in tracks)
    limits.check_samples(count, file)
    log.check_columns(len(names))
    limits.check_values(count * (len(names) + 4), file)
    columns: dict[str, list[str]] = {name: [] for name in (*_DEFINED, *names)}
    for track in tracks:
        _add(track, columns)
    notes += _altitude_notes(tracks, columns)
    if len(tracks) > 1:
        notes.append(Note(f"{counted(len(tracks), 'track')}, joined in order of time", len(tracks)))
        columns[TRACK_NUMBER] = [str(number) for number, track in enumerate(tracks, start=1) for _ in range(track.length)]
    return RawTable(
        format=f"KML {log.version[:20]}".strip(),
        names=tuple(columns),
        cells=tuple(columns.values()),
        lines=[line for track in tracks for line in track.lines[: track.length]],
        defined=_DEFINED,
        altitude_references={"altitude": "mean sea level"} if {track.mode for track in tracks} == {"absolute"} else {},
        notes=tuple(notes),
    )


def _check_lengths(tracks: Sequence[_Track], file: str) -> None:
    for track in tracks:
        if len(track.when) != len(track.coordinates):
            raise LogError(
                f"{file}, line {track.line}: a track with {counted(len(track.when), 'time')} (when) and"
                f" {counted(len(track.coordinates), 'place')} (coord): which belong together is unknown. Export it again"
            )


def _add(track: _Track, columns: dict[str, list[str]]) -> None:
    """The track's samples as further cells. An array of another length belongs to no sample, and its cells are empty."""
    length = track.length
    columns["when"] += track.when[:length]
    parts = [[*text.split(), "", "", ""][:3] for text in track.coordinates[:length]]
    for place, name in enumerate(("longitude", "latitude", "altitude")):
        columns[name] += [part[place] for part in parts]
    for name in columns.keys() - _DEFINED.keys():
        array = track.arrays.get(name, [])
        columns[name] += array if len(array) == length else [""] * length


def _altitude_notes(tracks: Sequence[_Track], columns: dict[str, list[str]]) -> list[Note]:
    """Altitudes above ground are no altitudes; those that KML would not show are taken as above sea level, and noted."""
    modes = {track.mode for track in tracks}
    if "relativeToGround" in modes:
        columns[_ABOVE_GROUND] = columns.pop("altitude")
        return [Note("the track's heights count from the ground (altitudeMode relativeToGround), so they are no altitudes")]
    if modes != {"absolute"} and any(columns["altitude"]):
        return [
            Note("altitudeMode is not absolute, so KML gives the altitudes no meaning: taken as above sea level, in metres")
        ]
    return []
