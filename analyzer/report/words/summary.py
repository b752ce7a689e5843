"""The summary for the terminal: verdict first, then the parts flown, then the findings. Plain text, 80 columns."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from analyzer.checks.finding import CLOSE, INSIDE, Finding
from analyzer.checks.overall import grouped, informs, overall
from analyzer.checks.phrases import HeightUnit, check_name, clock, height_unit, shape_words, side_word, value_text
from analyzer.legs.arcs import arcs_about
from analyzer.legs.grammar import SHAPES
from analyzer.legs.held import laps_of
from analyzer.legs.passages import find_passages
from analyzer.legs.reversal import STRAIGHT_IN, Part
from analyzer.physics.units import DEG, KT, NM, bearing_text
from analyzer.procedure.charted import Charted
from analyzer.report.words.against_brief import (
    AGAINST_BRIEF_HEADINGS,
    AGAINST_BRIEF_NOTE,
    against_brief_rows,
    against_brief_sentences,
)
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.layout import table, wrapped
from analyzer.report.words.log_sentences import first_sentences
from analyzer.vocabulary import CheckName

if TYPE_CHECKING:
    from analyzer.checks.figures import Figures, PartFigures
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = [
    "PARTS_NOTE",
    "Line",
    "clock_sentence",
    "finding_cells",
    "flown_sentence",
    "lesson_lines",
    "limit_text",
    "needs_sentence",
    "nothing_found",
    "part_headings",
    "part_row",
    "summary_lines",
    "summary_text",
    "where_text",
    "whole_sentence",
    "wind_sentence",
]

_ON_FIELD = "final to fix"  # from established on, where the facility is on the field: the inbound part of the final leg
_CHARTED = {
    "procedure-turn": "a procedure turn",
    "base-turn": "a base turn",
    "hold": "a hold in lieu",
    "arc": "an arc",
    "none": "no reversal",
}


@dataclass(frozen=True)
class Line:
    """A line of the summary, and its tone: ``title``, ``heading``, ``lesson``, ``quiet``, a verdict, or empty for plain."""

    text: str
    tone: str = ""


_EMPTY = Line("")
_LEAST_LOG_S = 120.0  # of a log that holds a reversal or a final leg; common practice, no source
_MOST_PASSAGES = 3  # listed of a flight in which nothing was recognised
# What a limit is called in a row, where it is not just that.
_LIMIT_WORDS: Mapping[CheckName, str] = {
    "altitude_floor": "minimum",
    "minimum_altitude": "minimum",
    "step_down": "minimum",
    "reversal_side": "charted",
    "hold_entry": "called for",
    "hold_timing": "charted",
    "hold_turn": "charted",
    "missed_climb": "minimum",
    "missed_turn": "charted",
    "missed_altitude": "charted",
}


def summary_text(debrief: DebriefData) -> str:
    """The summary of a debrief as plain text, ready to print."""
    return "".join(f"{line.text}\n" for line in summary_lines(debrief))


def summary_lines(debrief: DebriefData) -> tuple[Line, ...]:
    """The summary of a debrief, line by line, none longer than 80 columns."""
    lines = [*_wrapped(_title(debrief), "title"), _EMPTY]
    for sentence in first_sentences(debrief):
        lines += [*_wrapped(sentence), _EMPTY]
    for doubt in debrief.doubts:
        lines += [*_wrapped(f"Check first: {doubt}", CLOSE), _EMPTY]
    if not debrief.sections:
        lines += _wrapped(nothing_found(debrief))
    for number, one in enumerate(debrief.sections):
        if one.title:
            lines += [*([_EMPTY] if number else []), Line(one.title, "heading"), _EMPTY]
        lines += _approach(one.seen, one.approach)
    for warning in debrief.motion.charted.warnings:
        lines += [_EMPTY, *_wrapped(f"About the procedure: {warning}")]
    return (*lines, _EMPTY, *_wrapped(CAUTION, "quiet"))


def _wrapped(text: str, tone: str = "", indent: str = "", hanging: str | None = None) -> list[Line]:
    return [Line(row, tone) for row in wrapped(text, indent, hanging)]


def _title(debrief: DebriefData) -> str:
    track = debrief.motion.track
    start, end = (datetime.fromtimestamp(float(t), tz=UTC) for t in (track.time_s[0], track.time_s[-1]))
    span = f"{start:%d %b %Y %H:%M} to {end:%H:%M} UTC"
    return f"{debrief.motion.charted.procedure.title} | {track.file} | {span}"


def nothing_found(debrief: DebriefData) -> str:
    """The sentence for a flight in which no approach was recognised."""
    fix = debrief.motion.charted.procedure.fix.name
    nearest = float(debrief.motion.states.distance_m.min()) / NM
    known = ", ".join(dict.fromkeys(shape.name.replace("-", " ") for shape in SHAPES))
    lasts_s = float(debrief.motion.states.time_s[-1] - debrief.motion.states.time_s[0])
    if lasts_s < _LEAST_LOG_S:
        return f"No approach recognised: the log holds only {lasts_s:.0f} s, which is too little of one."
    if nearest > 3.0:
        return (
            f"No approach found: the flight comes no closer to {fix} than {nearest:.1f} NM. Is it the right procedure?"
            f"{_arcs(debrief)}"
        )
    return (
        f"No approach recognised: the flight comes within {nearest:.1f} NM of {fix}{_passed(debrief)}, but what it flies there "
        f"fits none of the known shapes: {known}.{_arcs(debrief)}"
    )


def _passed(debrief: DebriefData) -> str:
    """When the fix was passed: how far recognition got."""
    times = [clock(passage.time_s) for passage in find_passages(debrief.motion.states)]
    more = " and later" if len(times) > _MOST_PASSAGES else ""
    return f" (passed at {', '.join(times[:_MOST_PASSAGES])}{more})" if times else ""


def _arcs(debrief: DebriefData) -> str:
    """The arcs flown about the point that the procedure's arc, or else its fix, is centred on."""
    charted = debrief.motion.charted
    latitude, longitude = charted.arc_latitude_rad, charted.arc_longitude_rad
    where = "the arc's centre"
    if latitude is None or longitude is None:
        latitude, longitude, where = charted.fix_latitude_rad, charted.fix_longitude_rad, charted.procedure.fix.name
    found = arcs_about(debrief.motion, latitude, longitude)
    arcs = ", ".join(f"{arc.radius_m / NM:.1f} NM through {abs(arc.swept_rad) / DEG:.0f}°" for arc in found)
    return f" It flies round {where} at {arcs}." if arcs else ""


def flown_sentence(procedure: Charted, approach: Approach) -> str:
    """What was charted and what was flown."""
    charted, reversal = procedure.kind, approach.reversal
    if procedure.held is not None and reversal.side is not None:
        laps = len(laps_of(reversal))
        numbered = f"{laps} {'lap' if laps == 1 else 'laps'}, numbered below"
        turns = f"Held with {side_word(-reversal.side)} turns"
        if reversal.begins_on is not None:
            return f"{turns}, where the log begins, {numbered}."
        return f"{turns} after a {reversal.flown.removeprefix('hold-')} entry, {numbered}."
    if reversal.flown == STRAIGHT_IN:
        late = next((one.reason for one in approach.findings if one.check == "no_reversal" and one.measured is None), None)
        flown = f"what was flown of it is not known: {late}" if late is not None else "flown straight in"
        return f"Charted {_CHARTED[charted]}; {flown}."
    if charted == "hold" and reversal.flown.startswith("hold-") and reversal.side is not None:
        # a hold goes by its turns, which lead away from the side that it lies on
        entry = f"a {reversal.flown.removeprefix('hold-')} entry and " if reversal.begins_on is None else ""
        begins = ", in which the log begins" if reversal.begins_on is not None else ""
        return f"Charted {_CHARTED[charted]}; flown with {entry}{side_word(-reversal.side)} turns{begins}."
    side = f", {side_word(reversal.side)} of the outbound course" if reversal.side is not None else ""
    flown = shape_words(reversal.flown, charted)
    if reversal.part("offset_turn") is not None and reversal.part("reversal_turn") is None:
        last = reversal.parts[-1].name.replace("_", " ")
        return f"Charted {_CHARTED[charted]}; begun as {flown}{side}, cut off in the {last}, where the log ends."
    return f"Charted {_CHARTED[charted]}; flown {f'as {flown}' if flown != reversal.flown else flown}{side}."


def wind_sentence(figures: Figures) -> str:
    """The wind with its error, or why there is none."""
    wind = figures.wind
    if wind is None:
        return f"Wind: cannot be estimated from this flight; {figures.no_wind}."
    speed, sd = wind.speed_mps / KT, wind.sd_mps / KT
    if round(speed) == 0:
        return f"Wind: calm (± {sd:.1f} kt), {wind.source}."
    return f"Wind {bearing_text(wind.from_true_rad)} true, {speed:.0f} kt (± {sd:.1f} kt), {wind.source}."


def clock_sentence(approach: Approach) -> str:
    """The remark that the log's clock could not be checked; empty if it could."""
    if approach.clock_shown:
        return ""
    return "Clock: cannot be checked from this flight; that needs a turn of 60° or more with known bank."


def _approach(debrief: DebriefData, approach: Approach) -> list[Line]:
    verdict, why = overall(approach.findings, approach.reversal)
    lines = [*_wrapped(f"{verdict.upper()}: {why}", verdict), *_wrapped(approach.altitude_remark, CLOSE)]
    lines += _wrapped(flown_sentence(debrief.motion.charted, approach))
    lines += _wrapped(wind_sentence(approach.figures))
    lines += _wrapped(clock_sentence(approach))
    lines += [_EMPTY, *_table(debrief, approach), _EMPTY]
    for heading, found in grouped(approach.findings):
        lines.append(Line(heading, "heading" if informs(found[0]) else found[0].verdict))
        for finding in found:
            if (finding.verdict == INSIDE or informs(finding)) and not needs_sentence(finding):
                lines.append(Line(_row(finding, debrief.motion.charted)))
            else:
                lines += _wrapped(whole_sentence(finding), indent="  - ", hanging="    ")
            for word, text in lesson_lines(finding):
                lines += _wrapped(f"{word} {text}", "lesson", indent="    ")
    return [*lines, *_against_brief(debrief, approach)]


def _against_brief(debrief: DebriefData, approach: Approach) -> list[Line]:
    """The flight compared with its brief, where there is one."""
    comparison = approach.comparison
    if comparison is None:
        return []
    lines = [Line("Against the brief", "heading")]
    for sentence in against_brief_sentences(comparison, approach.figures, approach.reversal):
        lines += _wrapped(sentence, indent="  ")
    rows = [AGAINST_BRIEF_HEADINGS, *against_brief_rows(comparison, debrief.motion.charted.variation.east_rad)]
    return [*lines, _EMPTY, *_toned(table(rows)), *_wrapped(AGAINST_BRIEF_NOTE, "quiet")]


def lesson_lines(finding: Finding) -> tuple[tuple[str, str], ...]:
    """What belongs to a finding: its error where no verdict could be given for it, and its lesson, each with its heading."""
    lesson = finding.lesson
    pairs = (
        ("Error:", error_words(finding) if finding.verdict == CLOSE else None),
        ("Why:", lesson.cause if lesson is not None else None),
        ("Try:", lesson.advice if lesson is not None else None),
    )
    return tuple((word, text) for word, text in pairs if text is not None)


def error_words(finding: Finding) -> str | None:
    """How well a measured value is known, in words; None where that is not known."""
    if finding.sd is None or not finding.sd > 0.0:
        return None
    return f"± {value_text(finding.sd, finding.unit)}, one standard deviation."


def whole_sentence(finding: Finding) -> str:
    """A finding's sentence, and why there is no verdict where there is none."""
    return finding.sentence if finding.reason is None else f"{finding.sentence} Not assessed: {finding.reason}."


def needs_sentence(finding: Finding) -> bool:
    """Whether a finding inside needs a sentence: no reversal, and a reversal that first strayed to the uncharted side."""
    return finding.check == "no_reversal" or (finding.check == "reversal_side" and bool(finding.details))


def _row(finding: Finding, charted: Charted) -> str:
    """A finding that needs no sentence, as a line."""
    name, where, measured, beside = finding_cells(finding, charted)
    return f"  {name:<19}{where:<15}{measured:>10}   {beside}".rstrip()


def finding_cells(finding: Finding, charted: Charted) -> tuple[str, str, str, str]:
    """A finding that needs no sentence: what, where, measured, and the limit or what it is compared with."""
    # the words after the distance from the missed approach point say on which side of it
    unsigned = abs(finding.measured) if finding.check == "missed_point" and isinstance(finding.measured, float) else None
    measured = value_text(finding.measured if unsigned is None else unsigned, finding.unit)
    return check_name(finding.check, finding.unit), where_text(finding), measured, _beside(finding, charted)


def where_text(finding: Finding) -> str:
    """The fix or part that a finding is of, or the leg where it is of all of it: ``offset leg``."""
    if finding.lap is not None:
        return f"{(finding.part or finding.leg).replace('_', ' ')} {finding.lap}"
    by_leg = finding.check in ("altitude_floor", "altitude_hold", "final_course") and finding.part not in ("arc", "arc_turn")
    on_field = finding.leg == "final" and finding.part == "inbound"
    return finding.fix or (finding.leg if by_leg or on_field else (finding.part or finding.leg).replace("_", " "))


def _beside(finding: Finding, charted: Charted) -> str:
    if finding.check == "descent_timing":
        return finding.sentence.rsplit(" s ", 1)[-1].rstrip(".")
    if finding.check == "altitude_floor" and finding.margin is not None and finding.tolerance - finding.margin >= 1.0:
        below = finding.tolerance - finding.margin
        return f"minimum {value_text(finding.limit, finding.unit)}: {below:.0f} below, {finding.tolerance:.0f} allowed"
    if finding.check == "outbound_length":
        return f"{finding.details['from_passage_s']:.0f} s after the fix"
    if finding.check == "hold_drift":
        due = finding.details.get("outbound_due_s")
        timed = f"; {due:.0f} s was due" if due is not None else ""
        return f"{abs(finding.details['inbound_correction_deg']):.1f}° inbound{timed}"
    if finding.check == "missed_point" and isinstance(finding.measured, float):
        return "beyond the point" if finding.measured > 0.0 else "before the point"
    if finding.check == "established":
        return "from the fix"
    if finding.check == "offset_heading" and finding.limit is None:
        return "off the outbound course"
    if finding.limit is None:
        return ""
    if _assigned(finding, charted):
        return f"assigned {value_text(finding.limit, finding.unit)}"
    word = _LIMIT_WORDS.get(finding.check, "limit" if finding.verdict == INSIDE else "for comparison")
    loss = f", {finding.tolerance:.0f} {finding.unit} loss" if _loses(finding) else ""
    return f"{word} {value_text(finding.limit, finding.unit)}{loss}"


def _assigned(finding: Finding, charted: Charted) -> bool:
    """Whether a finding is about an altitude that was assigned, of its leg or of its fix."""
    if finding.check == "step_down":
        return any(fix.assigned for fix in charted.fixes if fix.name == finding.fix)
    return finding.check in ("altitude_floor", "minimum_altitude") and charted.assigned(finding.leg)


def _loses(finding: Finding) -> bool:
    """Whether a go-around is allowed to lose height below the minimum of a finding."""
    return finding.check == "minimum_altitude" and finding.tolerance > 0.0


def limit_text(finding: Finding) -> str:
    """A limit with what is allowed beyond it, so that it and what was measured make the margin."""
    limit = value_text(finding.limit, finding.unit)
    if finding.tolerance <= 0.0 or finding.limit is None:
        return limit
    return f"{limit}, {value_text(finding.tolerance, finding.unit)} {'loss ' if _loses(finding) else ''}allowed"


def _part_name(part: Part) -> str:
    """A part by name: on the field its leg too, in a hold the number of its lap."""
    if part.leg == "final" and part.name == "inbound":
        return _ON_FIELD
    return f"{part.name.replace('_', ' ')}{f' {part.lap}' if part.lap is not None else ''}"


def part_row(figures: PartFigures, variation_rad: float, height: HeightUnit) -> tuple[str, ...]:
    """One part in words: name, start, seconds, length, course, ground speed, altitudes in a unit of height, bank."""
    part, turn = figures.part, figures.turn
    known = math.isfinite(figures.altitude_start_m) and math.isfinite(figures.altitude_end_m)
    altitude = f"{figures.altitude_start_m / height.metres:.0f}-{figures.altitude_end_m / height.metres:.0f}" if known else "-"
    course = bearing_text(figures.course_rad - variation_rad) if figures.course_rad is not None else ""
    bank = f"{side_word(turn.direction)} {turn.bank_mean_rad / DEG:.0f}/{turn.bank_peak_rad / DEG:.0f}" if turn else ""
    return (
        _part_name(part),
        clock(part.start_s),
        f"{part.duration_s:.0f}",
        f"{figures.length_m / NM:.1f}" if math.isfinite(figures.length_m) else "-",
        course,
        f"{figures.ground_speed_mps / KT:.0f}" if math.isfinite(figures.ground_speed_mps) else "-",
        altitude,
        bank,
    )


def part_headings(height: HeightUnit) -> tuple[str, ...]:
    """The headings of the table of parts, altitudes in a unit of height."""
    return ("part", "from UTC", "s", "NM", "course", "GS kt", f"altitude {height.name}", "bank mean/peak")


PARTS_NOTE = "Courses are ground tracks, magnetic. Bank in degrees, mean/peak."


def _table(debrief: DebriefData, approach: Approach) -> list[Line]:
    variation = debrief.motion.charted.variation.east_rad
    height = height_unit(debrief.motion.charted.altitude_unit)
    rows = [part_headings(height), *(part_row(figures, variation, height) for figures in approach.figures.parts)]
    return [*_toned(table(rows, left={0, 1, 4, 6, 7})), Line(PARTS_NOTE, "quiet")]


def _toned(lines: Sequence[str]) -> list[Line]:
    """A table with its headings and rule quiet."""
    return [Line(line, "quiet" if number < 2 else "") for number, line in enumerate(lines)]
