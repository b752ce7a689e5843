"""GPX 1.0 and 1.1 to a raw table: every point of every track segment, with its extensions by their local names.

The XML is parsed by defusedxml with document types refused, so neither entities nor external files can be pulled in.
"""

from __future__ import annotations

from collections.abc import Mapping
from xml.sax import SAXParseException
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl, Locator

from defusedxml.common import DefusedXmlException
from defusedxml.expatreader import DefusedExpatParser

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
_CUT_SHORT = ("no element found", "unclosed token", "unclosed CDATA section", "partial character")


class _Points(ContentHandler):
    """Collects the track points: one mapping a point from element name to text, and the line it begins on."""

    def __init__(self) -> None:
        super().__init__()
        self.points: list[dict[str, str]] = []
        self.lines: list[int] = []
        self.version = ""
        self.tracks = 0
        self.segments = 0
        self._point: dict[str, str] | None = None
        self._line = 0
        self._depth = 0
        self._is_leaf = False
        self._text: list[str] = []
        self._locator: Locator

    def setDocumentLocator(self, locator: Locator) -> None:  # noqa: N802 (the interface's name)
        self._locator = locator

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802
        if self._point is not None:
            self._depth += 1
            self._is_leaf = True
            self._text = []
            return
        local = name.rpartition(":")[2]
        if local == "trkpt":
            self._point = {"lat": attrs.get("lat", ""), "lon": attrs.get("lon", "")}
            self._line = self._locator.getLineNumber() or 0
        elif local == "trkseg":
            self.segments += 1
        elif local == "trk":
            self.tracks += 1
        elif local == "gpx":
            self.version = attrs.get("version", "")

    def characters(self, content: str) -> None:
        self._text.append(content)

    def endElement(self, name: str) -> None:  # noqa: N802
        point = self._point
        if point is None:
            return
        if self._depth == 0:
            point[_TRACK_NUMBER] = str(self.tracks)
            self.points.append(point)
            self.lines.append(self._line)
            self._point = None
            return
        if self._is_leaf:
            local = name.rpartition(":")[2]
            if local in _DEFINED and self._depth > 1:
                local += _BESIDE
            point.setdefault(local, "".join(self._text).strip())
            self._is_leaf = False
        self._depth -= 1


def read_gpx(data: bytes, file: str) -> RawTable:
    """The track points of a GPX file, in file order. Routes and waypoints have no times and are left aside.

    A file that breaks off is read as far as it goes, with a note. Raises `LogError` where the XML is not well formed, holds a
    document type, or has no track point.
    """
    handler = _Points()
    notes = _parse(data, handler, file)
    if not handler.points:
        raise LogError(f"{file}: this GPX file has no track points (trkpt): export the track flown, not a route or waypoints")
    if handler.segments > 1:
        text = f"{counted(handler.tracks, 'track')} with {counted(handler.segments, 'segment')} in all joined in order of time"
        notes.append(Note(text, handler.segments))
    names = dict.fromkeys(("lat", "lon", *(name for point in handler.points for name in point)))
    if handler.tracks < 2:
        del names[_TRACK_NUMBER]
    return RawTable(
        format=f"GPX {handler.version}".strip(),
        names=tuple(names),
        cells=tuple([point.get(name, "") for point in handler.points] for name in names),
        lines=handler.lines,
        defined=_DEFINED,
        notes=tuple(notes),
    )


def _parse(data: bytes, handler: _Points, file: str) -> list[Note]:
    parser = DefusedExpatParser(forbid_dtd=True)
    parser.setContentHandler(handler)
    try:
        parser.feed(data)
        parser.close()
    except DefusedXmlException as error:
        raise LogError(f"{file}: holds an XML document type, which is refused. GPX needs none: take the DOCTYPE out") from error
    except SAXParseException as error:
        line, message = error.getLineNumber() or 0, error.getMessage()
        if message in _CUT_SHORT and handler.points:
            return [Note(f"the file breaks off on line {line}: read as far as it goes")]
        raise LogError(f"{file}, line {line}: not well-formed XML: {message}. Export the track again") from error
    return []
