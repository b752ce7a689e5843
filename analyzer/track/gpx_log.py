"""GPX 1.0 and 1.1 to a raw table: every point of every track segment, with its extensions by their local names.

The schema calls ``ele`` an elevation in metres and does not say above what, so that is unknown.
"""

from __future__ import annotations

from collections.abc import Mapping

from analyzer.errors import LogError
from analyzer.track.limits import DEFAULT_LIMITS, Limits
from analyzer.track.raw_table import TRACK_NUMBER, Meaning, RawTable
from analyzer.track.track import Note, counted
from analyzer.track.xml_log import XmlLog

__all__ = ["read_gpx"]

# What the schema says of a track point. Speed and course are of GPX 1.0; 1.1 dropped them, and not all writers did.
_DEFINED: Mapping[str, Meaning] = {
    "lat": Meaning("latitude", "deg"),
    "lon": Meaning("longitude", "deg"),
    "ele": Meaning("altitude", "m"),
    "time": Meaning("time", ""),
    "speed": Meaning("ground_speed", "m/s"),
    "course": Meaning("track", "deg"),
}
_EXTENSION = " (extension)"  # keeps a name apart from that of the point's own element


class _Points(XmlLog):
    """Collects the track points: texts by element name, one a point and empty where it has none; its line and track."""

    def __init__(self, file: str, limits: Limits) -> None:
        super().__init__(file, limits)
        self._latitude: list[str] = []
        self._longitude: list[str] = []
        self.columns = {"lat": self._latitude, "lon": self._longitude}
        self.lines: list[int] = []
        self.tracks: list[int] = []
        self.version = ""
        self.segments = 0
        self._track = 0
        self._inside = False
        self._line = 0
        self._level = 0  # of elements within the point
        self._is_leaf = False

    def has_samples(self) -> bool:
        """Whether a whole point was read."""
        return bool(self.lines)

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Note where points, segments and tracks begin."""
        if self._inside:
            self._level += 1
            self._is_leaf = True
        elif name == "trkpt":
            self._inside = True
            self._latitude.append(attributes.get("lat", ""))
            self._longitude.append(attributes.get("lon", ""))
            self._line = self.line
            self.limits.check_samples(len(self._latitude), self.file)
        elif name == "trkseg":
            self.segments += 1
        elif name == "trk":
            self._track += 1
        elif name == "gpx":
            self.version = attributes.get("version", "")

    def end(self, name: str) -> None:
        """Keep the text of an element in a point, and the point where it ends."""
        if not self._inside:
            return
        if self._level == 0:
            self.lines.append(self._line)
            self.tracks.append(self._track)
            self._inside = False
            return
        if self._is_leaf:
            self._put(name + _EXTENSION if self._level > 1 and name in _DEFINED else name, self.text.strip())
            self._is_leaf = False
        self._level -= 1

    def _put(self, name: str, text: str) -> None:
        """The text as that of the point under way; the first of a name counts."""
        column = self.columns.get(name)
        if column is None:
            column = self.columns[name] = []
            self.check_columns(len(self.columns))
        done = len(self.lines)
        if len(column) == done:
            column.append(text)
        elif len(column) < done:
            column.extend([""] * (done - len(column)))
            column.append(text)


def read_gpx(data: bytes, file: str, limits: Limits = DEFAULT_LIMITS) -> RawTable:
    """The track points of a GPX file, in file order. Routes and waypoints have no times and are left aside.

    A file that breaks off is read as far as it goes, with a note. Raises `LogError` where the XML is refused or the file has no
    track point.
    """
    points = _Points(file, limits)
    notes = points.read(data, kind="GPX")
    count = len(points.lines)
    if not count:
        raise LogError(f"{file}: this GPX file has no track points (trkpt): export the track flown, not a route or waypoints")
    limits.check_values(count * len(points.columns), file)
    tracks = len(set(points.tracks))
    if points.segments > 1:
        text = f"{counted(tracks, 'track')} with {counted(points.segments, 'segment')} in all, joined in order of time"
        notes.append(Note(text, points.segments))
    columns = {name: (texts + [""] * (count - len(texts)))[:count] for name, texts in points.columns.items()}
    if tracks > 1:
        columns[TRACK_NUMBER] = [str(track) for track in points.tracks]
    return RawTable(
        format=f"GPX {points.version[:20]}".strip(),
        names=tuple(columns),
        cells=tuple(columns.values()),
        lines=points.lines,
        defined=_DEFINED,
        notes=tuple(notes),
    )
