"""GeoJSON tracks to a raw table: lines with a list of times alongside their positions, or points with a time each.

RFC 7946 has no times, and programs put them under names of their own. No name is looked for: a list as long as the positions,
anywhere in a feature outside its geometry, is a column, and the one whose values are times (ISO 8601, or seconds, milli- or
microseconds since 1970) is the time. Of points each scalar property is a column, and the time is found in the same way. Other
columns are matched by their names, like those of CSV.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from analyzer.errors import LogError
from analyzer.track.column_names import read_name
from analyzer.track.instants import is_date_and_time
from analyzer.track.limits import DEFAULT_LIMITS, Limits
from analyzer.track.raw_table import BLANK, TRACK_NUMBER, Meaning, RawTable
from analyzer.track.track import Note, counted

__all__ = ["read_geojson"]

_COORDINATES = ("coordinate 1", "coordinate 2", "coordinate 3", "coordinate 4")
_LONGITUDE, _LATITUDE, _ALTITUDE, _ = _COORDINATES
_PROPERTY = " (property)"  # keeps a name apart from that of a coordinate
_GEOMETRIES = frozenset(
    ("Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection")
)
_STANDARD_MEMBERS = frozenset(("type", "geometry", "bbox", "id", "crs", "properties"))
_DEEPEST = 3  # tables within tables in which lists are looked for
_MOST_COLUMNS = 500
_TRIED = 20  # values that decide whether a column holds times


@dataclass
class _Found:
    """The samples so far, a list of texts per column, and the number of the line or point that each belongs to.

    `uneven` says of lists of times that they are not as long as their positions.
    """

    columns: dict[str, list[str]] = field(default_factory=dict)
    parts: list[int] = field(default_factory=list)
    part: int = 0
    uneven: list[str] = field(default_factory=list)

    def add(self, positions: Sequence[Sequence[Any]], properties: Mapping[str, Sequence[Any]]) -> None:
        """The samples of one line or point."""
        self.part += 1
        done = len(self.parts)
        lists: dict[str, Sequence[Any]] = {
            name: [position[place] if len(position) > place else "" for position in positions]
            for place, name in enumerate(_COORDINATES)
            if any(len(position) > place for position in positions)
        }
        lists |= {f"{name}{_PROPERTY}" if name in _COORDINATES else name: cells for name, cells in properties.items()}
        for name, cells in lists.items():
            column = self.columns.setdefault(name, [])
            column.extend([""] * (done - len(column)))
            column.extend("" if cell is None else str(cell) for cell in cells)
        self.parts += [self.part] * len(positions)


def read_geojson(data: bytes, file: str, chosen: Mapping[str, str], limits: Limits = DEFAULT_LIMITS) -> RawTable:
    """The samples of a GeoJSON file, in file order: of its lines, or of its points where no line has times.

    `chosen` are the columns that the user gave, by quantity. Raises `LogError` where the JSON is damaged or no GeoJSON, and
    where there are no times or several columns could be the times.
    """
    root = _parsed(data, file, limits)
    lines, points = _collected(root, file, limits)
    collected = lines if _times(lines) or not points.parts else points
    count = len(collected.parts)
    if not count:
        raise LogError(f"{file}: GeoJSON without a line or points: export the track flown")
    limits.check_values(count * len(collected.columns), file)
    columns = {name: cells + [""] * (count - len(cells)) for name, cells in collected.columns.items()}
    defined = {_LONGITUDE: Meaning("longitude", "deg"), _LATITUDE: Meaning("latitude", "deg")}
    time = None if "time" in chosen else _time(collected, file)
    if time is not None:
        defined[time] = Meaning("time", "")
    notes = [] if time is None else [Note(f"the times are those of {time[:40]!r}, by their values")]
    if any(columns.get(_ALTITUDE, ())):
        notes.append(_altitude_note(columns, defined))
    if collected is lines and collected.part > 1:
        notes.append(Note(f"{counted(collected.part, 'line')}, joined in order of time", collected.part))
        columns[TRACK_NUMBER] = [str(part) for part in collected.parts]
    return RawTable(
        format="GeoJSON",
        names=tuple(columns),
        cells=tuple(columns.values()),
        lines=range(1, count + 1),
        defined=defined,
        notes=tuple(notes),
        counts="position",
        altitude_references={_ALTITUDE: "ellipsoid"},
    )


def _parsed(data: bytes, file: str, limits: Limits) -> dict[str, Any]:
    """The JSON, every number as its text: nothing is rounded, and no number is too long.

    Since it is parsed whole, its size is estimated beforehand from the punctuation that every sample needs.
    """
    limits.check_samples(max(data.count(b",") // 16, data.count(b"[") // 4, data.count(b"{") // 4), file)
    try:
        root = json.loads(data, parse_float=str, parse_int=str, parse_constant=str)
    except RecursionError:
        raise LogError(f"{file}: JSON nested too deep: no GeoJSON is nested like that. Export the track again") from None
    except UnicodeDecodeError as error:
        raise LogError(f"{file}: JSON that is not UTF-8: {error.reason}: save it as UTF-8") from error
    except json.JSONDecodeError as error:
        raise LogError(f"{file}, line {error.lineno}: damaged JSON ({error.msg}): export the track again") from error
    if not isinstance(root, dict) or not isinstance(root.get("type"), str):
        raise LogError(f"{file}: JSON, but not GeoJSON: export the log as CSV, GPX or GeoJSON")
    return root


def _collected(root: dict[str, Any], file: str, limits: Limits) -> tuple[_Found, _Found]:
    """The samples of all lines, and those of all points."""
    lines, points = _Found(), _Found()
    for feature in _features(root):
        geometry = feature["geometry"]
        coordinates = geometry.get("coordinates")
        kind = geometry.get("type")
        if kind == "Point" and _is_position(coordinates):
            points.add([coordinates], {name: [value] for name, value in _scalars(feature)})
        elif kind in ("LineString", "MultiLineString"):
            parts = coordinates if kind == "MultiLineString" else [coordinates]
            _add_lines(lines, parts, list(_lists(feature)), file)
        elif kind == "MultiPoint":
            _add_lines(lines, [coordinates], list(_lists(feature)), file)
        for samples in (lines, points):
            limits.check_samples(len(samples.parts), file)
            if len(samples.columns) > _MOST_COLUMNS:
                raise LogError(f"{file}: more than {_MOST_COLUMNS} different properties: export the track with fewer")
    return lines, points


def _features(root: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The features that have a geometry; a bare geometry is a feature without properties."""
    if root["type"] in _GEOMETRIES:
        yield {**root, "type": "Feature", "geometry": root}
        return
    features = root.get("features") if root["type"] == "FeatureCollection" else [root]
    for feature in features if isinstance(features, list) else ():
        if isinstance(feature, dict) and isinstance(feature.get("geometry"), dict):
            yield feature


def _is_position(value: object) -> bool:
    return isinstance(value, list) and len(value) >= 2 and not any(isinstance(part, list | dict) for part in value)


def _add_lines(samples: _Found, parts: object, lists: Sequence[tuple[str, list[Any]]], file: str) -> None:
    """The lines of one feature, each with the lists of the same length.

    A list of lists goes with several lines one by one; a plain list may also be as long as all of them together.
    """
    if not isinstance(parts, list) or not all(isinstance(part, list) and all(map(_is_position, part)) for part in parts):
        raise LogError(f"{file}: a line whose coordinates are no list of positions: export the track again")
    total = sum(map(len, parts))
    begin = 0
    for number, part in enumerate(parts):
        per_position: dict[str, list[Any]] = {}
        for name, values in lists:
            if len(values) == len(parts) and isinstance(values[number], list):
                cells = values[number]
            else:
                cells = values[begin : begin + len(part)] if len(values) == total else values
            if len(cells) == len(part) and not any(isinstance(cell, list | dict) for cell in cells):
                per_position.setdefault(name, cells)
            elif len(part) > 1 and len(cells) > 1 and all(is_date_and_time(str(cell)) for cell in cells[:_TRIED]):
                samples.uneven.append(f"{name!r} holds {len(cells):,} times for {len(part):,} positions")
        if part:
            samples.add(part, per_position)
        begin += len(part)


def _members(feature: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """What a feature holds besides its geometry: its properties, and members foreign to the standard."""
    properties = feature.get("properties")
    if isinstance(properties, dict):
        yield from properties.items()
    for member in (feature, feature["geometry"]):
        yield from ((name, value) for name, value in member.items() if name not in _STANDARD_MEMBERS and name != "coordinates")


def _scalars(feature: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    return ((name, value) for name, value in _members(feature) if not isinstance(value, list | dict))


def _lists(feature: Mapping[str, Any]) -> Iterator[tuple[str, list[Any]]]:
    """The lists of a feature outside its geometry, including those in nested tables."""
    tables: list[tuple[Iterator[tuple[str, Any]], int]] = [(_members(feature), _DEEPEST)]
    while tables:
        items, levels = tables.pop()
        for name, value in items:
            if isinstance(value, list) and value:
                yield name, value
            elif isinstance(value, dict) and levels > 1:
                tables.append((iter(value.items()), levels - 1))


def _times(samples: _Found) -> list[str]:
    """The columns whose values are times: each of the first that are filled is a date with a time of day, or an epoch."""
    names = []
    for name, cells in samples.columns.items():
        filled = [cell for cell in cells if cell.casefold() not in BLANK][:_TRIED]
        if name not in (_LONGITUDE, _LATITUDE, _ALTITUDE) and filled and all(map(is_date_and_time, filled)):
            names.append(name)
    return names


def _time(samples: _Found, file: str) -> str | None:
    """The one column that holds the times; of several, the one whose name says so. None where only a name speaks of time."""
    names = _times(samples)
    if not names and any((read := read_name(name)).quantity == "time" and not read.doubt for name in samples.columns):
        return None
    if not names and samples.uneven:
        raise LogError(f"{file}: {samples.uneven[0][:120]}, so nothing says which goes with which: export the track again")
    if not names:
        others = ", ".join(name for name in samples.columns if name not in _COORDINATES)[:200] or "nothing"
        raise LogError(
            f"{file}: no times with the positions ({others}): a list as long as the positions, of ISO 8601 times or epochs,"
            " is needed. Export the track with it, or name one of elapsed seconds: --column time=NAME --start TIME"
        )
    called = [name for name in names if read_name(name).quantity == "time"]
    if len(names) > 1 and len(called) != 1:
        listed = ", ".join(repr(name[:40]) for name in names[:-1]) + f" and {names[-1][:40]!r}"
        raise LogError(f"{file}: {listed} could each be the times. Choose one, such as --column time={names[0][:40]!r}")
    return called[0] if len(names) > 1 else names[0]


def _altitude_note(columns: Mapping[str, object], defined: dict[str, Meaning]) -> Note:
    """The third coordinate is the altitude, unless a property is called one; it is noted what it is above."""
    free = [name for name in columns if name not in defined]
    named = [name for name in free if (read := read_name(name)).quantity == "altitude" and not read.doubt]
    if named:
        return Note(f"the altitude is taken from {named[0][:40]!r}, not from the third coordinate")
    defined[_ALTITUDE] = Meaning("altitude", "m")
    return Note(
        "the third coordinate is above the ellipsoid by RFC 7946, up to 100 m from sea level, which its stated error allows for"
    )
