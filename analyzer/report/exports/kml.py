"""The debrief for globes, as OGC KML 2.2: the track in parts with times and heights, findings, fixes, limit, courses, holds.

KML 2.3 has a ``Track`` with a time for each position, but in a namespace that readers of 2.2 do not know. So
each part is a line with a time span, and each whole minute of it a point with a time stamp, which 2.2 and 2.3 both have.
Heights are ``absolute``, metres above mean sea level, as in the log; a line without them lies on the ground.

Readers may show a description as HTML. Here it is plain text: anything like a tag or an entity is escaped once more. A
name is a plain label and is left as it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from html import escape
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, indent, tostring

import numpy as np

from analyzer.checks.overall import overall
from analyzer.checks.phrases import HeightUnit, check_name, clock, height_unit, part_words, side_word
from analyzer.physics.units import DEG, NM, FloatArray, bearing_text
from analyzer.report.documents.debrief_document import rfc3339
from analyzer.report.exports.map_lines import (
    ALTITUDE,
    LATITUDE,
    LONGITUDE,
    TIME,
    ChartedLine,
    FlownLine,
    charted_lines,
    flown_lines,
    hold_lines,
)
from analyzer.report.pictures.style import INK, LEG_COLOUR, QUIET, WARN
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.log_sentences import first_sentences, span_text
from analyzer.report.words.summary import (
    clock_sentence,
    flown_sentence,
    lesson_lines,
    whole_sentence,
    wind_sentence,
)
from analyzer.report.words.unrecognised import nothing_found
from analyzer.safe_text import plain_line

if TYPE_CHECKING:
    from analyzer.checks.finding import Finding
    from analyzer.debriefs.data import DebriefData, Section
    from analyzer.procedure.approach import ChartedFix

__all__ = ["debrief_kml"]

_NAMESPACE = "http://www.opengis.net/kml/2.2"
_MINUTE_S = 60.0
_LINE_PX = {"limit": 2.0, "course": 1.5, "outside": 1.5, "leg": 3.0}
_COLOURS = {"limit": WARN, "course": QUIET, "outside": INK}


def debrief_kml(debrief: DebriefData) -> str:
    """The debrief as the text of a KML document."""
    charted = debrief.motion.charted
    root = Element("kml", xmlns=_NAMESPACE)
    document = SubElement(root, "Document")
    _name(document, f"{charted.procedure.title}: {debrief.motion.track.file}")
    SubElement(document, "open").text = "1"
    nothing = [nothing_found(debrief)] if not debrief.sections else []
    judged = [f"{span_text(debrief.motion.track)}. Judged by: {debrief.standard.title}.", *first_sentences(debrief)]
    _description(document, [CAUTION, *judged, *nothing])
    for style, colour in (*_COLOURS.items(), *LEG_COLOUR.items()):
        _style(document, style, colour)
    _charted_folder(document, debrief)
    flown = flown_lines(debrief)
    for section in debrief.sections:
        mine = [line for line in flown if line.flown and (line.flown.of, line.flown.entry) == (section.of, section.number)]
        _approach_folder(document, section, mine)
    outside = [line for line in flown if line.flown is None]
    if outside:
        folder = _folder(document, "Outside the approaches")
        for line in outside:
            _track(folder, line, f"from {clock(line.start_s)} UTC", "outside")
    indent(root, " ")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{tostring(root, encoding="unicode")}\n'


def _name(parent: Element, text: str) -> None:
    SubElement(parent, "name").text = plain_line(text)


def _description(parent: Element, sentences: Iterable[str]) -> None:
    SubElement(parent, "description").text = escape("\n".join(map(plain_line, sentences)), quote=False)


def _folder(parent: Element, name: str) -> Element:
    folder = SubElement(parent, "Folder")
    _name(folder, name)
    return folder


def _style(document: Element, style: str, colour: str) -> None:
    """A style for a line and the points on it. KML writes colours as alpha, blue, green, red."""
    red, green, blue = colour[1:3], colour[3:5], colour[5:7]
    element = SubElement(document, "Style", id=style)
    for kind in ("IconStyle", "LineStyle"):
        SubElement(SubElement(element, kind), "color").text = f"ff{blue}{green}{red}"
    SubElement(element[1], "width").text = f"{_LINE_PX.get(style, _LINE_PX['leg']):g}"


def _charted_folder(document: Element, debrief: DebriefData) -> None:
    charted = debrief.motion.charted
    folder = _folder(document, "Charted")
    fix = SubElement(folder, "Placemark")
    _name(fix, charted.procedure.fix.name)
    _point(fix, charted.fix_longitude_rad / DEG, charted.fix_latitude_rad / DEG)
    for line in charted_lines(charted):
        style = "limit" if line.name == "limit" else "course"
        _line(folder, _charted_name(line, charted.variation.east_rad), style, line.lines)
    for final_fix in charted.fixes:
        placemark = SubElement(folder, "Placemark")
        _name(placemark, final_fix.name)
        _description(placemark, _fix_words(final_fix, height_unit(charted.altitude_unit)))
        _point(placemark, final_fix.longitude_rad / DEG, final_fix.latitude_rad / DEG)
    for racetrack in hold_lines(debrief):
        _line(folder, f"hold at {racetrack.hold.name}, {side_word(racetrack.hold.turn)} turns", "course", racetrack.lines)


def _line(folder: Element, name: str, style: str, lines: Sequence[FloatArray]) -> None:
    placemark = SubElement(folder, "Placemark")
    _name(placemark, name)
    SubElement(placemark, "styleUrl").text = f"#{style}"
    _geometry(placemark, lines)


def _fix_words(fix: ChartedFix, height: HeightUnit) -> Iterator[str]:
    """The role of a fix of the final course, and the altitudes charted or assigned at it, in sentences."""
    role = fix.role.replace("-", " ")
    yield f"{role[0].upper()}{role[1:]}."
    if fix.minimum_m is not None:
        yield f"{'Assigned' if fix.assigned else 'Minimum'} {height.text(fix.minimum_m)} until it is passed."
    if fix.maximum_m is not None:
        yield f"Maximum {height.text(fix.maximum_m)}."


def _charted_name(line: ChartedLine, variation_rad: float) -> str:
    if line.size_m is not None:
        return f"{line.name} {line.size_m / NM:g} NM"
    return f"{line.name} course {bearing_text((line.course_true_rad or 0.0) - variation_rad)}"


def _approach_folder(document: Element, section: Section, lines: Sequence[FlownLine]) -> None:
    approach = section.approach
    verdict, why = overall(approach.findings, approach.reversal)
    folder = _folder(document, f"{section.title or 'Approach'}: {approach.reversal.flown}, {verdict}")
    flown = flown_sentence(section.seen.motion.charted, approach)
    sentences = (f"{verdict.capitalize()}: {why}.", flown, wind_sentence(approach.figures), clock_sentence(approach))
    _description(folder, filter(None, sentences))
    for line in lines:
        if line.flown is not None:
            part = line.flown.part
            _track(folder, line, f"{part_words(part.name, part.lap)}{f' {part.lap}' if part.lap is not None else ''}", part.leg)
    findings = _folder(folder, "Findings")
    for finding in approach.findings:
        _finding(findings, finding)


def _track(parent: Element, line: FlownLine, name: str, style: str) -> None:
    """A folder for a piece of the track: its line with a time span, and a point at each whole minute."""
    folder = _folder(parent, name)
    placemark = SubElement(folder, "Placemark")
    _name(placemark, name)
    span = SubElement(placemark, "TimeSpan")
    SubElement(span, "begin").text = rfc3339(line.start_s)
    SubElement(span, "end").text = rfc3339(line.end_s)
    SubElement(placemark, "styleUrl").text = f"#{style}"
    _geometry(placemark, line.lines)
    for part in line.lines:
        for position in _minutes(part):
            minute = SubElement(folder, "Placemark")
            _name(minute, clock(position[TIME]))
            _stamp(minute, position[TIME])
            SubElement(minute, "styleUrl").text = f"#{style}"
            _placed(SubElement(minute, "Point"), position[None])


def _minutes(line: FloatArray) -> FloatArray:
    """The position at each whole minute, interpolated linearly between seconds."""
    time = line[:, TIME]
    minutes = np.arange(math.ceil(time[0] / _MINUTE_S), math.floor(time[-1] / _MINUTE_S) + 1) * _MINUTE_S
    return np.column_stack([np.interp(minutes, time, column) for column in line.T])


def _stamp(placemark: Element, time_s: float) -> None:
    SubElement(SubElement(placemark, "TimeStamp"), "when").text = rfc3339(time_s)


def _finding(folder: Element, finding: Finding) -> None:
    """A finding, at its position if it has one, else only in words."""
    placemark = SubElement(folder, "Placemark")
    verdict = finding.verdict if finding.excused is None else "excused"
    _name(placemark, f"{check_name(finding.check, finding.unit)}: {verdict}")
    lessons = [f"{word} {text}" for word, text in lesson_lines(finding)]
    _description(placemark, [whole_sentence(finding), *lessons, f"Source: {finding.source}"])
    if finding.place is not None:
        _stamp(placemark, finding.place.time_s)
        _point(placemark, finding.place.longitude_rad / DEG, finding.place.latitude_rad / DEG)


def _point(placemark: Element, longitude_deg: float, latitude_deg: float) -> None:
    _placed(SubElement(placemark, "Point"), np.array([[longitude_deg, latitude_deg]]))


def _geometry(placemark: Element, lines: Sequence[FloatArray]) -> None:
    """A LineString, or a MultiGeometry if it is cut at 180° or by a gap."""
    parent = placemark if len(lines) == 1 else SubElement(placemark, "MultiGeometry")
    for line in lines:
        element = SubElement(parent, "LineString")
        if not _has_heights(line):
            SubElement(element, "tessellate").text = "1"  # follow the ground between positions
        _placed(element, line)


def _has_heights(line: FloatArray) -> bool:
    return line.shape[1] > ALTITUDE and bool(np.isfinite(line[:, ALTITUDE]).all())


def _placed(element: Element, line: FloatArray) -> None:
    """Altitude mode and coordinates, with heights if all are known, else on the ground."""
    known = _has_heights(line)
    SubElement(element, "altitudeMode").text = "absolute" if known else "clampToGround"
    heights = [f",{altitude:.1f}" for altitude in line[:, ALTITUDE]] if known else [""] * len(line)
    places = zip(line[:, LONGITUDE], line[:, LATITUDE], heights, strict=True)
    SubElement(element, "coordinates").text = " ".join(f"{x:.7f},{y:.7f}{z}" for x, y, z in places)
