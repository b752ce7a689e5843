"""The debrief for maps, as GeoJSON (RFC 7946): the track in parts, findings, fixes, limit, courses and holds.

Positions are longitude and latitude, WGS 84. The third coordinate would be the height above the ellipsoid (RFC 7946, section
4); a log's altitude is above mean sea level, tens of metres different. So it is left out, and the track has its altitudes in
`altitude_ft` and its times in `times`, each nested like the positions. The property `feature` names the kind of each feature.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from analyzer.checks.phrases import side_word
from analyzer.physics.units import DEG, FT, NM, FloatArray
from analyzer.report.documents.debrief_document import debrief_document, entries, rfc3339
from analyzer.report.exports.map_lines import (
    ALTITUDE,
    TIME,
    ChartedLine,
    FlownLine,
    HoldLine,
    charted_lines,
    flown_lines,
    hold_lines,
)
from analyzer.report.words.caution import CAUTION

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData
    from analyzer.procedure.approach import ChartedFix
    from analyzer.procedure.charted import Charted

__all__ = ["debrief_geojson"]

Json = dict[str, Any]


def debrief_geojson(debrief: DebriefData) -> str:
    """The debrief as the text of a GeoJSON feature collection, one feature per line."""
    document, charted = debrief_document(debrief), debrief.motion.charted
    collection = {
        "type": "FeatureCollection",
        "name": f"{charted.procedure.title}: {debrief.motion.track.file}",
        "caution": CAUTION,
        "standard": document["standard"],
        "cleared": document["cleared"],
        "minimum": document["minimum"],
    }
    features = [
        _fix(charted),
        *(_charted(line, charted) for line in charted_lines(charted)),
        *(_final_fix(fix) for fix in charted.fixes),
        *map(_hold, hold_lines(debrief)),
        *(_flown(line, document) for line in flown_lines(debrief)),
        *_places(document),
    ]
    return f'{_json(collection)[:-1]}, "features": [\n' + ",\n".join(map(_json, features)) + "\n]}\n"


def _json(value: Json) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _feature(feature: str, geometry: Json, properties: Json) -> Json:
    return {"type": "Feature", "geometry": geometry, "properties": {"feature": feature, **properties}}


def _point(longitude_deg: float, latitude_deg: float) -> Json:
    return {"type": "Point", "coordinates": [longitude_deg, latitude_deg]}


def _lines(lines: Sequence[FloatArray]) -> Json:
    """A LineString, or a MultiLineString if it is cut at 180° or by a gap."""
    kind = "LineString" if len(lines) == 1 else "MultiLineString"
    return {"type": kind, "coordinates": _shaped([line[:, :TIME].tolist() for line in lines])}


def _shaped(values: list[list[Any]]) -> list[Any]:
    """Values per position, nested like the positions of the geometry."""
    return values[0] if len(values) == 1 else values


def _fix(charted: Charted) -> Json:
    fix = charted.procedure.fix
    properties = {"name": fix.name, "kind": fix.kind, "elevation_ft": fix.elevation_ft}
    return _feature("fix", _point(fix.longitude_deg, fix.latitude_deg), properties)


def _final_fix(fix: ChartedFix) -> Json:
    """A fix of the final course, with the minimum that applies until it is passed."""
    properties = {
        "name": fix.name,
        "role": fix.role,
        "minimum_ft": _feet(fix.minimum_m),
        "maximum_ft": _feet(fix.maximum_m),
        "assigned": fix.assigned,
    }
    longitude, latitude = (round(angle / DEG, 7) for angle in (fix.longitude_rad, fix.latitude_rad))
    return _feature("final_fix", _point(longitude, latitude), properties)


def _hold(line: HoldLine) -> Json:
    hold = line.hold
    properties = {
        "name": hold.name,
        "role": hold.role,
        "inbound_course_deg_true": round(hold.inbound_true_rad / DEG % 360.0, 1),
        "turn": side_word(hold.turn),
        "minimum_ft": _feet(hold.minimum_m),
        "maximum_ft": _feet(hold.maximum_m),
    }
    return _feature("charted_hold", _lines(line.lines), properties)


def _charted(line: ChartedLine, charted: Charted) -> Json:
    properties: Json = {}
    if line.size_m is not None:
        properties["radius_nm"] = round(line.size_m / NM, 3)
    if line.course_true_rad is not None:
        properties["course_deg"] = round((line.course_true_rad - charted.variation.east_rad) / DEG % 360.0, 1)
    return _feature(line.name if line.size_m is not None else f"{line.name}_course", _lines(line.lines), properties)


def _flown(line: FlownLine, document: Json) -> Json:
    number: Json = {"reversal": None, "hold": None}
    if line.flown is None:
        piece: Json = {"part": None, "leg": None, "start": rfc3339(line.start_s), "end": rfc3339(line.end_s)}
    else:
        piece = document[f"{line.flown.of}s"][line.flown.entry - 1]["parts"][line.flown.number - 1]
        number[line.flown.of] = line.flown.entry
    properties = {**number, **piece}
    times = [[rfc3339(time) for time in part[:, TIME].tolist()] for part in line.lines]
    altitudes = [[_feet(altitude) for altitude in part[:, ALTITUDE].tolist()] for part in line.lines]
    arrays = {"times": _shaped(times), "altitude_ft": _shaped(altitudes)}
    return _feature("track", _lines(line.lines), properties | arrays)


def _feet(altitude_m: float | None) -> float | None:
    return round(altitude_m / FT, 1) if altitude_m is not None and math.isfinite(altitude_m) else None


def _places(document: Json) -> Iterator[Json]:
    """The farthest point and the findings that have a position, with the properties of the JSON."""
    for number, entry in entries(document):
        farthest = entry["farthest"]
        if farthest is not None:
            yield _feature("farthest", _place(farthest), {**number, **farthest})
        for finding in entry["findings"]:
            if finding["time"] is not None:
                yield _feature("finding", _place(finding), {**number, **finding})


def _place(at: Json) -> Json:
    return _point(at["longitude_deg"], at["latitude_deg"])
