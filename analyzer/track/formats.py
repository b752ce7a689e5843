"""The log formats: how each looks, whatever the file is called, and what reads it.

A new format is one module with a function from bytes to a `RawTable`, and one row in `FORMATS`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.track.csv_log import read_csv
from analyzer.track.geojson_log import read_geojson
from analyzer.track.gpx_log import read_gpx
from analyzer.track.igc_log import read_igc
from analyzer.track.kml_log import read_kml
from analyzer.track.nmea_log import read_nmea
from analyzer.track.options import ReadOptions
from analyzer.track.raw_table import RawTable, fit_to_print

__all__ = ["FORMATS", "Format", "read_table"]

_HEAD = 4096
_NO_CHART = ", not a log: export the log as CSV or GPX. A chart has to be typed in"
# the first bytes of what is given by mistake: JPEG, PNG, GIF, PDF, and what spreadsheets wrote before 2007
_NO_LOGS: Mapping[bytes, str] = {
    b"\xff\xd8\xff": f"a picture{_NO_CHART}",
    b"\x89PNG": f"a picture{_NO_CHART}",
    b"GIF8": f"a picture{_NO_CHART}",
    b"%PDF-": f"a PDF{_NO_CHART}",
    b"\xd0\xcf\x11\xe0": "a workbook or document: save its sheet as CSV, and give that",
}


@dataclass(frozen=True)
class Format:
    """A log format: how its first bytes look (NULs taken out, so that UTF-16 counts), and what reads it."""

    name: str
    looks_like: re.Pattern[bytes]
    read: Callable[[bytes, str, ReadOptions], RawTable]


def _gpx(data: bytes, file: str, options: ReadOptions) -> RawTable:
    return read_gpx(data, file, options.limits)


def _kml(data: bytes, file: str, options: ReadOptions) -> RawTable:
    return read_kml(data, file, options.limits)


def _igc(data: bytes, file: str, options: ReadOptions) -> RawTable:
    return read_igc(data, file, options.limits)


def _nmea(data: bytes, file: str, options: ReadOptions) -> RawTable:
    return read_nmea(data, file, options.limits)


def _geojson(data: bytes, file: str, options: ReadOptions) -> RawTable:
    return read_geojson(data, file, options.columns, options.limits)


def _csv(data: bytes, file: str, options: ReadOptions) -> RawTable:
    return read_csv(data, file, tuple(options.columns.values()), options.limits)


def _other_xml(data: bytes, file: str, options: ReadOptions) -> RawTable:  # noqa: ARG001 (one signature for all)
    raise LogError(f"{file}: XML, but neither GPX nor KML: export the log as GPX or CSV")


# The first that looks right reads the file. Records at the beginning of a line are recognised by what stands before their
# first letter, so that the search can skip to that letter.
FORMATS: tuple[Format, ...] = (
    Format("GPX", re.compile(rb"<(\w+:)?gpx[\s>]"), _gpx),
    Format("KML", re.compile(rb"<(\w+:)?kml[\s>]"), _kml),
    Format("XML", re.compile(rb"^[^\w]*<(\?xml|!DOCTYPE|html)", re.IGNORECASE), _other_xml),
    Format("GeoJSON", re.compile(rb"^[^\w\s]{0,3}\s*\{"), _geojson),
    Format("IGC", re.compile(rb"(?:H(?<![^\r\n]H)[FOP]DTE|B(?<![^\r\n]B)\d{13}[NS]\d{8}[EW][AV])"), _igc),
    Format("NMEA 0183", re.compile(rb"\$(?<![^\r\n]\$)[A-Z][A-Z0-9][A-Z]{3},"), _nmea),
    Format("CSV", re.compile(rb""), _csv),
)


def read_table(data: bytes, file: str, options: ReadOptions) -> RawTable:
    """The raw table of a log in whatever format it is. Raises `LogError`."""
    for begins, words in _NO_LOGS.items():
        if data.startswith(begins):
            raise LogError(f"{file}: {words}")
    head = data[:_HEAD].replace(b"\0", b"")
    known = next(known for known in FORMATS if known.looks_like.search(head))
    return fit_to_print(known.read(data, file, options))
