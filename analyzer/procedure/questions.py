"""The questions that a procedure file is made from: first of the reversal and its legs, then of the whole approach.

Which are asked depends on the answers so far, so that they come one by one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from analyzer.frozen import dataclass
from analyzer.procedure.faults import accepted_text

__all__ = ["QUESTIONS", "Answers", "Question", "one_of", "questions"]

# By table and key. The top of the file is the table ``""``, and one of a list of tables has its number: ``fixes 1``.
Answers = Mapping[tuple[str, str], Any]


@dataclass(frozen=True)
class Question:
    """One value to ask for: its table and key, the words, and when it is asked; what is not `needed` may be left out."""

    table: str
    key: str
    words: str
    needed: bool = True
    when: Callable[[Answers], bool] = lambda _: True

    @property
    def prompt(self) -> str:
        """The words, with any choices, and whether it may be left out."""
        accepted = accepted_text(one_of(self.table)[0], self.key)
        choices = f" ({accepted.replace(chr(34), '')})" if accepted.startswith('"') else ""
        return f"{self.words}{choices}{'' if self.needed else ', or Enter to leave it out'}"


def _kind(*kinds: str) -> Callable[[Answers], bool]:
    return lambda answers: answers.get(("reversal", "kind")) in kinds


def _given(table: str, key: str) -> Callable[[Answers], bool]:
    return lambda answers: answers.get((table, key)) is not None


def _localizer(answers: Answers) -> bool:
    return answers.get(("guidance", "kind")) == "localizer"


def _leg_untimed(answers: Answers) -> bool:
    return answers.get(("reversal", "kind")) == "hold" and answers.get(("reversal", "leg_time_s")) is None


QUESTIONS = (
    Question("", "title", "Title of the procedure"),
    Question("", "category", "Approach category", needed=False),
    Question("fix", "name", "Name of the fix that the reversal starts from"),
    Question("fix", "kind", "What the fix is"),
    Question("fix", "latitude_deg", "Latitude of the fix, like N44 06.5 or 44.10833, south negative"),
    Question("fix", "longitude_deg", "Longitude of the fix, like W029 18.0 or -29.3, west negative"),
    Question("fix", "elevation_ft", "Elevation of the fix, ft", needed=False),
    Question("fix", "variation_deg_east", "Variation of the station, like 8W or -8 (left out: by a magnetic model)",
             needed=False),
    Question("reversal", "kind", "Kind of reversal"),
    Question("reversal", "inbound_course_deg", "Inbound course, magnetic"),
    Question("reversal", "outbound_course_deg", "Outbound course, magnetic", when=_kind("procedure-turn", "base-turn")),
    Question("reversal", "side", "Side of the outbound course to manoeuvre on, looking outbound", when=_kind("procedure-turn")),
    Question("reversal", "turn", "Direction of the turns", when=_kind("base-turn", "hold", "arc")),
    Question("reversal", "offset_course_deg", "Charted offset course, magnetic", needed=False, when=_kind("procedure-turn")),
    Question("reversal", "leg_time_s", "Time of the hold's legs, s; leave out where a length is charted", needed=False,
             when=_kind("hold")),
    Question("reversal", "leg_length_nm", "Length of the hold's outbound leg, NM", when=_leg_untimed),
    Question("reversal", "leg_time_s", "Time of the outbound leg, like 2:30 or 150 s", needed=False,
             when=_kind("procedure-turn", "base-turn")),
    Question("reversal", "maximum_time_s", "Longest time of the outbound leg, where that is charted, s", needed=False,
             when=_kind("procedure-turn", "base-turn")),
    Question("reversal", "leg_length_nm", "Distance that the outbound leg ends at, where one is charted, NM", needed=False,
             when=_kind("procedure-turn", "base-turn")),
    Question("reversal", "leg_by", "How that length is measured", needed=False, when=_given("reversal", "leg_length_nm")),
    Question("reversal", "entry_within_deg", "Arrival sector either side of the outbound course, degrees (ICAO: 30)",
             needed=False, when=_kind("procedure-turn", "base-turn")),
    Question("reversal", "within_nm", "Remain within, NM", when=_kind("procedure-turn")),
    Question("reversal", "within_nm", "Remain within, NM", needed=False, when=_kind("base-turn", "hold", "arc")),
    Question("reversal", "maximum_speed_kias", "Greatest indicated airspeed, kt", needed=False,
             when=_kind("procedure-turn", "base-turn", "hold")),
    Question("arc", "latitude_deg", "Latitude of the arc's centre", when=_kind("arc")),
    Question("arc", "longitude_deg", "Longitude of the arc's centre", when=_kind("arc")),
    Question("arc", "radius_nm", "Radius of the arc, NM", when=_kind("arc")),
    Question("guidance", "kind", "What the course is flown by, where it is not the fix itself", needed=False),
    Question("guidance", "latitude_deg", "Latitude of the localizer's antenna", when=_localizer),
    Question("guidance", "longitude_deg", "Longitude of the localizer's antenna", when=_localizer),
    Question("altitudes", "arrival_ft", "Minimum altitude on arrival, ft", needed=False),
    Question("altitudes", "outbound_ft", "Minimum altitude outbound, ft", needed=False),
    Question("altitudes", "reversal_ft", "Minimum altitude in the reversal, ft", needed=False),
    Question("altitudes", "inbound_ft", "Minimum altitude inbound, ft", needed=False),
    Question("altitudes", "final_ft", "Minimum descent altitude, ft", needed=False),
    Question("glide_path", "angle_deg", "Angle of the published glide path, degrees", needed=False),
    Question("glide_path", "threshold_crossing_height_ft", "Its height over the threshold, ft; else 50", needed=False,
             when=_given("glide_path", "angle_deg")),
    Question("runway", "name", "Name of the runway", needed=False),
    Question("runway", "threshold_latitude_deg", "Latitude of its threshold", when=_given("runway", "name")),
    Question("runway", "threshold_longitude_deg", "Longitude of its threshold", when=_given("runway", "name")),
    Question("runway", "threshold_elevation_ft", "Elevation of its threshold, ft", when=_given("runway", "name")),
    Question("runway", "true_heading_deg", "True heading of the runway", when=_given("runway", "name")),
    Question("runway", "length_ft", "Length of the runway, ft", needed=False,
             when=lambda answers: _localizer(answers) and _given("runway", "name")(answers)),
    Question("dme", "name", "Name of the DME station, where it is not the fix", needed=False),
    Question("dme", "latitude_deg", "Latitude of the DME station", when=_given("dme", "name")),
    Question("dme", "longitude_deg", "Longitude of the DME station", when=_given("dme", "name")),
    Question("dme", "elevation_ft", "Elevation of the DME station, ft", needed=False, when=_given("dme", "name")),
)  # fmt: skip


def _no_final(answers: Answers) -> bool:
    return answers.get(("altitudes", "final_ft")) is None


def _visual_descent(answers: Answers) -> bool:
    return answers.get(("minimum", "kind")) is not None and answers.get(("runway", "name")) is not None


def _has_role(answers: Answers, role: str) -> bool:
    return any(key == "role" and value == role for (_, key), value in answers.items())


def _timed(answers: Answers) -> bool:
    """Whether the missed approach can begin by time: from a final approach fix, where no point is charted."""
    faf, point = (_has_role(answers, role) for role in ("final-approach-fix", "missed-approach-point"))
    return _missed(answers) and faf and not point


def _missed(answers: Answers) -> bool:
    return answers.get(("missed_approach", "altitude_ft")) is not None


def _turns(answers: Answers) -> bool:
    return answers.get(("missed_approach", "turn")) is not None


def _leads_to(answers: Answers) -> bool:
    """Whether the missed approach leads to a fix: direct, with a turn or without one, or on its course to a hold."""
    on_course = answers.get(("missed_approach", "course_deg")) is not None
    return _missed(answers) and (not on_course or answers.get(("holds 1", "name")) is not None)


def _turns_direct(answers: Answers) -> bool:
    return _turns(answers) and answers.get(("missed_approach", "course_deg")) is None


def _minimum_given(answers: Answers) -> bool:
    return any(answers.get(key) is not None for key in (("altitudes", "final_ft"), ("minimum", "altitude_ft")))


def _placed_apart(answers: Answers) -> bool:
    """Whether the hold is at none of the fixes."""
    name = answers.get(("holds 1", "name"))
    fixes = [value for (table, key), value in answers.items() if key == "name" and table.split()[0] in ("fix", "fixes")]
    return name is not None and name not in fixes


def _without(table: str, *keys: str) -> Callable[[Answers], bool]:
    """Whether there is such a table, but none of these keys in it."""
    return lambda answers: answers.get((table, "name")) is not None and all(answers.get((table, key)) is None for key in keys)


_FIX = (
    Question("fixes", "name", "Name of a fix along the final course, in the order passed inbound", needed=False),
    Question("fixes", "role", "What it is on the approach", when=_given("fixes", "name")),
    Question("fixes", "distance_nm", "Its distance from the reversal's fix along the inbound course, NM, negative before it",
             needed=False, when=_given("fixes", "name")),
    Question("fixes", "dme_nm", "Its DME reading, NM", needed=False, when=_without("fixes", "distance_nm")),
    Question("fixes", "latitude_deg", "Its latitude, south negative", when=_without("fixes", "distance_nm", "dme_nm")),
    Question("fixes", "longitude_deg", "Its longitude, west negative", when=_without("fixes", "distance_nm", "dme_nm")),
    Question("fixes", "course_deg", "Magnetic course to it, where that is not the inbound course", needed=False,
             when=_given("fixes", "name")),
    Question("fixes", "minimum_ft", "Minimum altitude until it is passed, ft", needed=False, when=_given("fixes", "name")),
    Question("fixes", "maximum_ft", "Maximum altitude at it, ft", needed=False, when=_given("fixes", "name")),
)  # fmt: skip
_BEYOND = (
    Question("minimum", "kind", "What the minimum of the approach is", needed=False, when=_no_final),
    Question("minimum", "altitude_ft", "Altitude of the minimum, ft", when=_given("minimum", "kind")),
    Question("minimum", "visual_descent_point_nm", "Visual descent point, NM before the threshold", needed=False,
             when=_visual_descent),
    Question("minimums 1", "altitude_ft", "Circling minimum, ft", needed=False, when=_minimum_given),
    Question("missed_approach", "altitude_ft", "Altitude that the missed approach climbs to, ft", needed=False),
    Question("missed_approach", "time_s", "Time from the final approach fix to the missed approach point, like 2:34",
             needed=False, when=_timed),
    Question("missed_approach", "time_at_kt", "Ground speed of that time, kt", when=_given("missed_approach", "time_s")),
    Question("missed_approach", "climb_ft", "Altitude to climb to on the final course before any turn, ft", needed=False,
             when=_missed),
    Question("missed_approach", "turn", "Direction of its turn", needed=False, when=_missed),
    Question("missed_approach", "course_deg", "Course after the turn, magnetic", needed=False, when=_turns),
    Question("holds 1", "name", "Fix of the missed approach's hold", needed=False, when=_missed),
    Question("holds 1", "latitude_deg", "Latitude of the hold's fix, south negative", when=_placed_apart),
    Question("holds 1", "longitude_deg", "Longitude of the hold's fix, west negative", when=_placed_apart),
    Question("holds 1", "inbound_course_deg", "Inbound course of the hold, magnetic", when=_given("holds 1", "name")),
    Question("holds 1", "turn", "Direction of the hold's turns", when=_given("holds 1", "name")),
    Question("holds 1", "leg_time_s", "Time of the hold's legs, s", needed=False, when=_given("holds 1", "name")),
    Question("holds 1", "leg_length_nm", "Length of the hold's outbound leg, NM", needed=False,
             when=_without("holds 1", "leg_time_s")),
    Question("holds 1", "leg_by", "How that length is measured", needed=False, when=_given("holds 1", "leg_length_nm")),
    Question("holds 1", "minimum_ft", "Lowest altitude in the hold, ft", needed=False, when=_given("holds 1", "name")),
    Question("holds 1", "maximum_ft", "Highest altitude in the hold, ft", needed=False, when=_given("holds 1", "name")),
    Question("holds 1", "maximum_speed_kias", "Greatest indicated airspeed in the hold, kt", needed=False,
             when=_given("holds 1", "name")),
    Question("missed_approach", "to", "Name of the fix or hold that the missed approach leads to", when=_turns_direct),
    Question("missed_approach", "to", "Name of the fix or hold that the missed approach leads to", needed=False,
             when=lambda answers: _leads_to(answers) and not _turns_direct(answers)),
    Question("speeds", "outbound", "Airspeed that you mean to fly outbound, kt indicated", needed=False),
    Question("speeds", "inbound", "Airspeed that you mean to fly inbound, kt indicated", needed=False),
    Question("speeds", "final", "Airspeed that you mean to fly on final, kt indicated", needed=False),
)  # fmt: skip
_ARRIVAL = (
    Question("arrivals", "name", "Where a charted arrival to the fix comes from", needed=False),
    Question("arrivals", "course_deg", "Its course to the fix, magnetic", when=_given("arrivals", "name")),
    Question("arrivals", "minimum_ft", "Its minimum altitude, ft", needed=False, when=_given("arrivals", "name")),
    Question("arrivals", "reversal", "Is the reversal flown from there (yes, or no where it is charted NoPT)",
             when=_given("arrivals", "name")),
)  # fmt: skip
_MOST = 50


def one_of(table: str) -> tuple[str, int | None]:
    """The table and its place in a list from 0, None where it is no list: ``fixes 1`` is ``("fixes", 0)``."""
    name, _, number = table.partition(" ")
    return name, int(number) - 1 if number else None


def questions(answers: Answers) -> Iterator[Question]:
    """The questions one by one; each answer must stand in `answers` before the next question is taken."""
    yield from _asked(QUESTIONS, answers)
    yield from _listed(_FIX, answers)
    yield from _asked(_BEYOND, answers)
    yield from _listed(_ARRIVAL, answers)


def _listed(asked: Sequence[Question], answers: Answers) -> Iterator[Question]:
    """The questions of one table of a list after the other, until a name is left out."""
    for number in range(1, _MOST + 1):
        numbered = [_numbered(question, number) for question in asked]
        yield from _asked(numbered, answers)
        if answers.get((numbered[0].table, numbered[0].key)) is None:
            break


def _asked(listed: Sequence[Question], answers: Answers) -> Iterator[Question]:
    return (question for question in listed if question.when(answers))


def _numbered(question: Question, number: int) -> Question:
    """The question of one fix of the list."""
    table = f"{question.table} {number}"

    def when(answers: Answers) -> bool:
        return question.when({(question.table, key): value for (name, key), value in answers.items() if name == table})

    return replace(question, table=table, when=when)
