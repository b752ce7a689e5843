"""The fields of the chart form, one for every value that a procedure file can hold, in the order in which a chart is read.

What charts seldom have stands under *more* of its section. A field is asked for where it applies, and where something is typed
in it, so that nothing which was typed disappears. Fixes, arrivals, holds and lines of minimums are rows: a next one is asked
for once the last has a name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Literal

from analyzer.frozen import dataclass
from analyzer.procedure.questions import Answers

__all__ = ["ROWS", "SECTIONS", "FormField", "RowsOf", "Section"]

_Where = Callable[[Answers, str], bool]


@dataclass(frozen=True)
class FormField:
    """A value to be typed: its table and key, the words, and for which answers and which table it is asked and needed."""

    table: str
    key: str
    words: str
    needed: _Where = lambda _answers, _table: False
    when: _Where = lambda _answers, _table: True
    more: bool = False


@dataclass(frozen=True)
class RowsOf:
    """Rows of one kind: their table, what one is called, the key that makes one, and its fields."""

    table: str
    word: str
    first: str
    fields: tuple[FormField, ...]


@dataclass(frozen=True)
class Section:
    """A heading of the form, what stands below it, and the picture that shows it."""

    heading: str
    parts: Sequence[FormField | RowsOf]
    picture: Literal["plan", "profile", "holds"] = "plan"


def _always(_answers: Answers, _table: str) -> bool:
    return True


def _kind(*kinds: str) -> _Where:
    return lambda answers, _: answers.get(("reversal", "kind")) in kinds


def _turns_back(answers: Answers, _table: str) -> bool:
    """Whether there is a leg out and a turn back, as far as is known."""
    return answers.get(("reversal", "kind")) not in ("arc", "none")


def _has(table: str, key: str) -> _Where:
    return lambda answers, _: answers.get((table, key)) is not None


def _row(*keys: str) -> _Where:
    """Whether the row has one of some values."""
    return lambda answers, table: any(answers.get((table, key)) is not None for key in keys)


def _both(one: _Where, other: _Where) -> _Where:
    return lambda answers, table: one(answers, table) and other(answers, table)


def _row_lacks(*keys: str) -> _Where:
    return lambda answers, table: all(answers.get((table, key)) is None for key in keys)


def _begun(answers: Answers, table: str) -> bool:
    """Whether anything is typed in the row."""
    return any(name == table for name, _ in answers)


def _unmeasured_hold(answers: Answers, table: str) -> bool:
    return _untimed_hold(answers, table) and answers.get(("reversal", "leg_length_nm")) is None


def _untimed_hold(answers: Answers, _table: str) -> bool:
    return answers.get(("reversal", "kind")) == "hold" and answers.get(("reversal", "leg_time_s")) is None


def _no_minimum(answers: Answers, _table: str) -> bool:
    return all(answers.get(place) is None for place in (("altitudes", "final_ft"), ("minimums 1", "altitude_ft")))


def _no_kind_of_minimum(answers: Answers, _table: str) -> bool:
    return answers.get(("minimum", "kind")) is None and answers.get(("minimums 1", "altitude_ft")) is None


def _apart(answers: Answers, table: str) -> bool:
    """Whether a hold is at none of the fixes, so that it needs a place of its own."""
    fixes = [value for (name, key), value in answers.items() if key == "name" and name.split()[0] in ("fix", "fixes")]
    name = answers.get((table, "name"))
    return name is not None and name not in fixes


_TURNING, _WITH_LEG = _kind("base-turn", "hold", "arc"), _kind("procedure-turn", "base-turn")
_FROM = "reversal.within_from"
_RUNWAY, _DME = _has("runway", "name"), _has("dme", "name")
_UNPLACED = _row_lacks("distance_nm", "dme_nm", "latitude_deg", "longitude_deg")
_FIXES = RowsOf("fixes", "fix", "name", (
    FormField("fixes", "name", "Name of a fix", _begun),
    FormField("fixes", "role", "What it is", _row("name"), _row("name")),
    FormField("fixes", "distance_nm", "NM from the reversal's fix, inbound; negative before it",
              _both(_row("name"), _UNPLACED), _row("name")),
    FormField("fixes", "dme_nm", "or its DME reading, NM", when=_both(_row("name"), _row_lacks("distance_nm", "latitude_deg"))),
    FormField("fixes", "minimum_ft", "At or above until passed, ft", when=_row("name")),
    FormField("fixes", "maximum_ft", "At or below there, ft", when=_row("name")),
    FormField("fixes", "latitude_deg", "or its latitude", _row("longitude_deg"), _row("name"), more=True),
    FormField("fixes", "longitude_deg", "and longitude", _row("latitude_deg"), _row("name"), more=True),
    FormField("fixes", "course_deg", "Course to it, where it is not the inbound one", when=_row("name"), more=True),
))  # fmt: skip
_ARRIVALS = RowsOf("arrivals", "arrival", "name", (
    FormField("arrivals", "name", "From", _begun),
    FormField("arrivals", "course_deg", "Course to the fix", _row("name"), _row("name")),
    FormField("arrivals", "minimum_ft", "At or above, ft", when=_row("name")),
    FormField("arrivals", "reversal", "Reversal from there; no where it is NoPT", _row("name"), _row("name")),
))  # fmt: skip
_HOLDS = RowsOf("holds", "hold", "name", (
    FormField("holds", "name", "Fix of a hold", _begun),
    FormField("holds", "role", "For the missed approach, or another published hold", _row("name"), _row("name")),
    FormField("holds", "latitude_deg", "Latitude of that fix", _apart, _apart),
    FormField("holds", "longitude_deg", "Longitude of that fix", _apart, _apart),
    FormField("holds", "inbound_course_deg", "Inbound course", _row("name"), _row("name")),
    FormField("holds", "turn", "Turns", _row("name"), _row("name")),
    FormField("holds", "leg_time_s", "Leg, by time, like 1:00", when=_both(_row("name"), _row_lacks("leg_length_nm"))),
    FormField("holds", "leg_length_nm", "or by length, NM", when=_both(_row("name"), _row_lacks("leg_time_s"))),
    FormField("holds", "leg_by", "How that is measured", when=_row("leg_length_nm")),
    FormField("holds", "minimum_ft", "At or above, ft", when=_row("name")),
    FormField("holds", "maximum_ft", "At or below, ft", when=_row("name")),
    FormField("holds", "maximum_speed_kias", "Maximum speed, kt indicated", when=_row("name")),
    FormField("holds", "category", "Categories that it is for, like A-B", when=_row("name"), more=True),
    FormField("holds", "variation_deg_east", "Variation of its station", when=_row("name"), more=True),
))  # fmt: skip
_LINES = RowsOf("minimums", "line of minimums", "altitude_ft", (
    FormField("minimums", "altitude_ft", "Altitude of a line of minimums, ft",
              _begun),
    FormField("minimums", "line", "Straight in, or circling", _row("altitude_ft"), _row("altitude_ft")),
    FormField("minimums", "kind", "MDA or DA", _row("altitude_ft"), _row("altitude_ft")),
    FormField("minimums", "category", "Categories that it is for, like A-B", when=_row("altitude_ft")),
    FormField("minimums", "visual_descent_point_nm", "Visual descent point, NM before the threshold", when=_row("altitude_ft"),
              more=True),
))  # fmt: skip
_FLOOR_LEGS = (
    ("arrival", "On arrival"), ("outbound", "Outbound or on the arc"), ("reversal", "In the reversal or off the arc"),
    ("inbound", "Inbound"),
)  # fmt: skip
_SPEED_LEGS = ("arrival", "reversal", "missed", "hold")

SECTIONS: tuple[Section, ...] = (
    Section("Title", (
        FormField("", "title", "Title of the procedure", _always),
        FormField("", "category", "Approach category, A to E"),
        FormField("units", "altitude", "Unit of the altitudes, where it is not feet", more=True),
    )),
    Section("Fix of the reversal", (
        FormField("fix", "name", "Name of the fix", _always),
        FormField("fix", "kind", "Kind of fix", _always),
        FormField("fix", "latitude_deg", "Latitude, like N44°12.8′", _always),
        FormField("fix", "longitude_deg", "Longitude, like W029°18.0′", _always),
        FormField("fix", "elevation_ft", "Elevation, ft"),
        FormField("fix", "variation_deg_east", "Variation of the station, like 8W"),
        FormField("fix", "variation_date", "Day of the magnetic model, like 2026-11-25", more=True),
    )),
    Section("Course reversal", (
        FormField("reversal", "kind", "Kind of reversal", _always),
        FormField("reversal", "inbound_course_deg", "Inbound course", _always),
        FormField("reversal", "outbound_course_deg", "Outbound course", _WITH_LEG, _WITH_LEG),
        FormField("reversal", "side", "Side of the outbound course, looking outbound", _kind("procedure-turn"),
                  _kind("procedure-turn")),
        FormField("reversal", "turn", "Turns", _TURNING, _TURNING),
        FormField("reversal", "offset_course_deg", "Offset course, where it is charted", when=_kind("procedure-turn")),
        FormField("reversal", "within_nm", "Remain within, NM", _kind("procedure-turn")),
        FormField("reversal", "maximum_speed_kias", "Maximum speed, kt indicated"),
        FormField("reversal", "leg_time_s", "Outbound leg, by time, like 2:30", _unmeasured_hold, _turns_back),
        FormField("reversal", "leg_length_nm", "or by distance, NM", when=lambda a, t: _untimed_hold(a, t) or _WITH_LEG(a, t)),
        FormField("reversal", "leg_by", "How that is measured", when=_has("reversal", "leg_length_nm")),
        FormField("arc", "latitude_deg", "Latitude of the arc's centre", _kind("arc"), _kind("arc")),
        FormField("arc", "longitude_deg", "Longitude of the arc's centre", _kind("arc"), _kind("arc")),
        FormField("arc", "radius_nm", "Radius of the arc, NM", _kind("arc"), _kind("arc")),
        FormField("reversal", "maximum_time_s", "Longest outbound leg, like 3:00", when=_turns_back, more=True),
        FormField("reversal", "entry_within_deg", "Arrival sector, degrees either side (ICAO: 30)", when=_turns_back,
                  more=True),
        FormField("reversal", "within_by", "The limit is read from the station", more=True),
        FormField(_FROM, "latitude_deg", "The limit counts from: latitude", _has(_FROM, "longitude_deg"),
                  more=True),
        FormField(_FROM, "longitude_deg", "and longitude", _has(_FROM, "latitude_deg"), more=True),
        FormField("reversal", "depicted_track", "To be flown exactly as drawn", when=_turns_back, more=True),
    )),
    Section("Arrivals", (_ARRIVALS,)),
    Section("Course guidance", (
        FormField("guidance", "kind", "What the course is flown by, where it is not the fix"),
        FormField("guidance", "latitude_deg", "Latitude of its antenna or station", _has("guidance", "longitude_deg"),
                  _has("guidance", "kind")),
        FormField("guidance", "longitude_deg", "Longitude", _has("guidance", "latitude_deg"), _has("guidance", "kind")),
        FormField("guidance", "full_scale_deg", "Full scale, degrees", more=True),
        FormField("guidance", "full_scale_nm", "Full scale, NM (GPS)", more=True),
        FormField("guidance", "variation_deg_east", "Variation of its station", more=True),
    )),
    Section("DME station", (
        FormField("dme", "name", "Name, where it is not the fix"),
        FormField("dme", "latitude_deg", "Latitude", _DME, _DME),
        FormField("dme", "longitude_deg", "Longitude", _DME, _DME),
        FormField("dme", "elevation_ft", "Elevation, ft", when=_DME),
    )),
    Section("Runway", (
        FormField("runway", "name", "Name, like 24"),
        FormField("runway", "threshold_latitude_deg", "Latitude of the threshold", _RUNWAY, _RUNWAY),
        FormField("runway", "threshold_longitude_deg", "Longitude of the threshold", _RUNWAY, _RUNWAY),
        FormField("runway", "threshold_elevation_ft", "Elevation of the threshold, ft", _RUNWAY, _RUNWAY),
        FormField("runway", "true_heading_deg", "True heading", _RUNWAY, _RUNWAY),
        FormField("runway", "length_ft", "Length, ft", when=_RUNWAY),
    )),
    Section("Profile: altitudes", (
        *(FormField("altitudes", f"{leg}_ft", f"{words}, at or above, ft")
          for leg, words in _FLOOR_LEGS),
        FormField("glide_path", "angle_deg", "Glide path, degrees", _has("glide_path", "threshold_crossing_height_ft")),
        FormField("glide_path", "threshold_crossing_height_ft", "Its height over the threshold, ft; else 50",
                  when=_has("glide_path", "angle_deg")),
        *(FormField("altitudes", f"{leg}_maximum_ft", f"{words}, at or below, ft", more=True)
          for leg, words in (*_FLOOR_LEGS, ("final", "On final"))),
    ), "profile"),
    Section("Profile: fixes of the final course, in the order passed", (_FIXES,), "profile"),
    Section("Missed approach", (
        FormField("missed_approach", "climb_ft", "Climb on the final course to, before any turn, ft"),
        FormField("missed_approach", "turn", "Then turn"),
        FormField("missed_approach", "course_deg", "to this course"),
        FormField("missed_approach", "to", "to this fix or hold"),
        FormField("missed_approach", "altitude_ft", "Climbing to, ft"),
        FormField("missed_approach", "time_s", "Time from the final approach fix to where it begins, like 2:34"),
        FormField("missed_approach", "time_at_kt", "Ground speed of that time, kt", _has("missed_approach", "time_s"),
                  _has("missed_approach", "time_s")),
    ), "profile"),
    Section("Holds", (_HOLDS,), "holds"),
    Section("Minimums", (
        FormField("altitudes", "final_ft", "Minimum descent altitude, ft", when=_no_kind_of_minimum),
        FormField("minimum", "kind", "or a minimum of this kind", _has("minimum", "altitude_ft"), _no_minimum),
        FormField("minimum", "altitude_ft", "Its altitude, ft", _has("minimum", "kind"), _has("minimum", "kind")),
        FormField("minimum", "visual_descent_point_nm", "Visual descent point, NM before the threshold",
                  when=_has("minimum", "kind")),
        _LINES,
    ), "profile"),
    Section("Speeds that you mean to fly", (
        *(FormField("speeds", leg, f"{leg.capitalize()}, kt indicated") for leg in ("outbound", "inbound", "final")),
        *(FormField("speeds", leg, f"{leg.capitalize()}, kt indicated", more=True) for leg in _SPEED_LEGS),
    )),
)  # fmt: skip
ROWS: Mapping[str, RowsOf] = {part.table: part for section in SECTIONS for part in section.parts if isinstance(part, RowsOf)}
