"""GPX 1.0 and 1.1 to a raw table: every point of every track segment, with its extensions by their local names.

The parser stops at a document type, so no entity can be declared and no other file drawn in: the rule of the defusedxml
package, on the bare parser, which is twice as fast and tells the line of each point.
"""

from __future__ import annotations

from collections.abc import Mapping
from xml.parsers import expat

from analyzer.errors import LogError
from analyzer.track.model import Note, counted
from analyzer.track.table import Meaning, RawTable

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
_TRACK_NUMBER = "track number"
_BESIDE = " (extension)"  # keeps a name apart from that of the point's own element
_CUT_SHORT = frozenset(("no element found", "unclosed token", "unclosed CDATA section", "partial character"))


class _DocumentType(Exception):  # noqa: N818 (a signal, never shown)
    """The file declares a document type."""


class _Points:
    """Collects the track points: texts by element name, one a point and empty where it has none; its line and track."""

    def __init__(self) -> None:
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
        self._depth = 0
        self._is_leaf = False
        self._text = ""
        self._parser = expat.ParserCreate()
        self._parser.buffer_text = True
        self._parser.StartDoctypeDeclHandler = self._refuse
        self._parser.StartElementHandler = self._start
        self._parser.CharacterDataHandler = self._characters
        self._parser.EndElementHandler = self._end

    def parse(self, data: bytes) -> None:
        """Collect from a whole file. Raises `expat.ExpatError`, and `_DocumentType` at one."""
        self._parser.Parse(data, True)

    def _refuse(self, *_: object) -> None:
        raise _DocumentType

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if self._inside:
            self._depth += 1
            self._is_leaf = True
            self._text = ""
            return
        local = name.rpartition(":")[2]
        if local == "trkpt":
            self._inside = True
            self._latitude.append(attributes.get("lat", ""))
            self._longitude.append(attributes.get("lon", ""))
            self._line = self._parser.CurrentLineNumber
        elif local == "trkseg":
            self.segments += 1
        elif local == "trk":
            self._track += 1
        elif local == "gpx":
            self.version = attributes.get("version", "")

    def _characters(self, text: str) -> None:
        self._text += text

    def _end(self, name: str) -> None:
        if not self._inside:
            return
        if self._depth == 0:
            self.lines.append(self._line)
            self.tracks.append(self._track)
            self._inside = False
            return
        if self._is_leaf:
            local = name.rpartition(":")[2]
            self._put(local + _BESIDE if self._depth > 1 and local in _DEFINED else local, self._text.strip())
            self._is_leaf = False
        self._depth -= 1

    def _put(self, name: str, text: str) -> None:
        """The text as that of the point under way; the first of a name counts."""
        column = self.columns.get(name)
        if column is None:
            column = self.columns[name] = []
        done = len(self.lines)
        if len(column) == done:
            column.append(text)
        elif len(column) < done:
            column.extend([""] * (done - len(column)))
            column.append(text)


def read_gpx(data: bytes, file: str) -> RawTable:
    """The track points of a GPX file, in file order. Routes and waypoints have no times and are left aside.

    A file that breaks off is read as far as it goes, with a note. Raises `LogError` where the XML is not well formed, holds a
    document type, or has no track point.
    """
    found = _Points()
    notes = _parse(data, found, file)
    count = len(found.lines)
    if not count:
        raise LogError(f"{file}: this GPX file has no track points (trkpt): export the track flown, not a route or waypoints")
    tracks = len(set(found.tracks))
    if found.segments > 1:
        text = f"{counted(tracks, 'track')} with {counted(found.segments, 'segment')} in all, joined in order of time"
        notes.append(Note(text, found.segments))
    columns = {name: (texts + [""] * (count - len(texts)))[:count] for name, texts in found.columns.items()}
    if tracks > 1:
        columns[_TRACK_NUMBER] = [str(track) for track in found.tracks]
    return RawTable(
        format=f"GPX {found.version}".strip(),
        names=tuple(columns),
        cells=tuple(columns.values()),
        lines=found.lines,
        defined=_DEFINED,
        notes=tuple(notes),
    )


def _parse(data: bytes, found: _Points, file: str) -> list[Note]:
    try:
        found.parse(data)
    except _DocumentType:
        raise LogError(f"{file}: holds an XML document type, which is refused. GPX needs none: take the DOCTYPE out") from None
    except (LookupError, ValueError) as error:  # the codec of the encoding that the XML declares
        raise LogError(f"{file}: the encoding that the XML declares is not known ({error}): save it as UTF-8") from error
    except expat.ExpatError as error:
        message = expat.ErrorString(error.code)
        if message in _CUT_SHORT and found.lines:
            return [Note(f"the file breaks off on line {error.lineno}: read as far as it goes")]
        raise LogError(f"{file}, line {error.lineno}: not well-formed XML ({message}): export the track again") from error
    return []
