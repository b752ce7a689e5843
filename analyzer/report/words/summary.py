"""The summary for the terminal: verdict first, then the parts flown, then the findings. Plain text, 80 columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING

from analyzer.checks.finding import CLOSE, INSIDE, Finding
from analyzer.checks.overall import grouped, informs, overall
from analyzer.checks.phrases import check_name, part_words, shape_words, side_word, value_text
from analyzer.frozen import dataclass
from analyzer.legs.held import laps_of
from analyzer.legs.reversal import STRAIGHT_IN
from analyzer.physics.units import KT, bearing_text
from analyzer.procedure.charted import Charted
from analyzer.report.words.against_brief import (
    against_brief_headings,
    against_brief_note,
    against_brief_rows,
    against_brief_sentences,
)
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.excuse_words import excuse_words
from analyzer.report.words.layout import WIDTH, fitted, table, wrapped
from analyzer.report.words.log_sentences import first_sentences
from analyzer.report.words.named_words import shape_title
from analyzer.report.words.parts_shown import log_ends_sentence
from analyzer.report.words.parts_table import PARTS_NOTE, parts_table
from analyzer.report.words.unrecognised import nothing_found
from analyzer.vocabulary import CheckName

if TYPE_CHECKING:
    from analyzer.checks.figures import Figures
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = [
    "Line",
    "clock_sentence",
    "finding_cells",
    "flown_sentence",
    "lesson_lines",
    "limit_text",
    "needs_sentence",
    "summary_lines",
    "summary_text",
    "where_text",
    "whole_sentence",
    "wind_sentence",
]

_CHARTED = {
    "procedure-turn": "procedure turn",
    "base-turn": "base turn",
    "hold": "hold in lieu",
    "arc": "arc",
    "none": "no reversal",
}


@dataclass(frozen=True)
class Line:
    """A line of the summary, and its tone.

    The tone is ``title``, ``heading``, ``lesson``, ``quiet``, ``excused``, a verdict, or empty for plain.
    """

    text: str
    tone: str = ""


_EMPTY = Line("")
_LOG_ENDS = "; the log ends in the "
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


def summary_text(debrief: DebriefData, width: int = WIDTH) -> str:
    """The summary of a debrief as plain text, ready to print."""
    return "".join(f"{line.text}\n" for line in summary_lines(debrief, width))


def summary_lines(debrief: DebriefData, width: int = WIDTH) -> tuple[Line, ...]:
    """The summary of a debrief, line by line, none longer than so many columns."""
    lines = _summary(debrief, width)
    return tuple(Line(text, line.tone) for line in lines for text in fitted(line.text, width))


def _summary(debrief: DebriefData, width: int) -> tuple[Line, ...]:
    wrap = partial(_paragraph, width=width)
    lines = [*wrap(_title(debrief), "title"), _EMPTY]
    for sentence in first_sentences(debrief):
        lines += [*wrap(sentence), _EMPTY]
    for doubt in debrief.doubts:
        lines += [*wrap(f"Check first: {doubt}", CLOSE), _EMPTY]
    if not debrief.sections:
        lines += wrap(nothing_found(debrief))
    for number, section in enumerate(debrief.sections):
        if section.title:
            lines += [*([_EMPTY] if number else []), Line(section.title, "heading"), _EMPTY]
        lines += _approach(section.seen, section.approach, width)
    for warning in debrief.motion.charted.warnings:
        lines += [_EMPTY, *wrap(f"About the procedure: {warning}")]
    return (*lines, _EMPTY, *wrap(CAUTION, "quiet"))


def _paragraph(text: str, tone: str = "", indent: str = "", hanging: str | None = None, *, width: int) -> list[Line]:
    return [Line(row, tone) for row in wrapped(text, indent, hanging, width)]


def _title(debrief: DebriefData) -> str:
    track = debrief.motion.track
    start, end = (datetime.fromtimestamp(float(t), tz=UTC) for t in (track.time_s[0], track.time_s[-1]))
    last_day = f"{end:%d %b %Y} " if end.date() != start.date() else ""
    span = f"{start:%d %b %Y %H:%M} to {last_day}{end:%H:%M} UTC"
    return f"{debrief.motion.charted.procedure.title} | {track.file} | {span}"


def flown_sentence(procedure: Charted, approach: Approach) -> str:
    """What was charted and what was flown, and where the log ends if that is right at the beginning of a part."""
    flown, ends = _flown_sentence(procedure, approach), log_ends_sentence(approach.figures)
    return flown if _LOG_ENDS in flown else f"{flown}{ends}"


def _flown_sentence(procedure: Charted, approach: Approach) -> str:
    charted, reversal = procedure.kind, approach.reversal
    if procedure.held is not None and reversal.side is not None:
        laps = len(laps_of(reversal))
        numbered = f"{laps} {'lap' if laps == 1 else 'laps'}, numbered below"
        entry = f"{reversal.flown.removeprefix('hold-')} entry, " if reversal.begins_on is None else ""
        begins = "the log begins in it, " if reversal.begins_on is not None else ""
        return f"Hold flown: {entry}{side_word(-reversal.side)} turns, {begins}{numbered}."
    if reversal.flown == STRAIGHT_IN:
        unseen = next((f.reason for f in approach.findings if f.check == "no_reversal" and f.measured is None), None)
        return f"Charted: {_CHARTED[charted]}. Flown: {'straight in' if unseen is None else f'not known, as {unseen}'}."
    if charted == "hold" and reversal.flown.startswith("hold-") and reversal.side is not None:
        # a hold is named by its turns, which are opposite to the side that it lies on
        entry = f"{reversal.flown.removeprefix('hold-')} entry, " if reversal.begins_on is None else ""
        begins = "; the log begins in it" if reversal.begins_on is not None else ""
        return f"Charted: {_CHARTED[charted]}. Flown: {entry}{side_word(-reversal.side)} turns{begins}."
    side = f", {side_word(reversal.side)} of the outbound course" if reversal.side is not None else ""
    if charted == "base-turn" and reversal.flown == "base-turn" and reversal.side is not None:
        side = f" to the {side_word(-reversal.side)}"
    flown = shape_words(reversal.flown, charted)
    if reversal.only_named:
        return f"Charted: {_CHARTED[charted]}. Named: {_bare(shape_title(reversal.flown, charted))}{side}."
    if reversal.part("offset_turn") is not None and reversal.part("reversal_turn") is None:
        last = reversal.parts[-1].name.replace("_", " ")
        return f"Charted: {_CHARTED[charted]}. Begun: {_bare(flown)}{side}{_LOG_ENDS}{last}."
    return f"Charted: {_CHARTED[charted]}. Flown: {_bare(flown)}{side}."


def _bare(shape: str) -> str:
    """A shape without its article: ``teardrop``."""
    return shape.removeprefix("a ").removeprefix("an ")


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
    """A remark if the log's clock could not be checked, else empty."""
    if approach.clock_shown:
        return ""
    return "Clock: cannot be checked from this flight; the check needs a turn of 60° or more with known bank."


def _approach(debrief: DebriefData, approach: Approach, width: int) -> list[Line]:
    wrap = partial(_paragraph, width=width)
    verdict, why = overall(approach.findings, approach.reversal)
    lines = [*wrap(f"{verdict.upper()}: {why}", verdict), *wrap(approach.altitude_remark, CLOSE)]
    lines += wrap(flown_sentence(debrief.motion.charted, approach))
    lines += wrap(wind_sentence(approach.figures))
    lines += wrap(clock_sentence(approach))
    lines += [_EMPTY, *_table(debrief, approach, width), _EMPTY]
    for heading, findings in grouped(approach.findings):
        lines.append(Line(heading, "heading" if informs(findings[0]) else findings[0].verdict))
        for finding in findings:
            if finding.excused is not None:
                lines += wrap(finding.sentence, "excused", indent="  - ", hanging="    ")
                lines += wrap(excuse_words(finding), indent="    ")
            elif (finding.verdict == INSIDE or informs(finding)) and not needs_sentence(finding):
                lines.append(Line(_row(finding, debrief.motion.charted)))
            else:
                lines += wrap(whole_sentence(finding), indent="  - ", hanging="    ")
            for word, text in lesson_lines(finding):
                lines += wrap(f"{word} {text}", "lesson", indent="    ")
    return [*lines, *_against_brief(debrief, approach, width)]


def _against_brief(debrief: DebriefData, approach: Approach, width: int) -> list[Line]:
    """The flight compared with its brief, where there is one."""
    wrap = partial(_paragraph, width=width)
    comparison = approach.comparison
    if comparison is None:
        return []
    lines = [Line("Compared with the brief", "heading")]
    for sentence in against_brief_sentences(comparison, approach.figures, approach.reversal):
        lines += wrap(sentence, indent="  ")
    rows = [against_brief_headings(debrief.motion.charted), *against_brief_rows(comparison, debrief.motion.charted)]
    return [*lines, _EMPTY, *_toned(table(rows, width=width)), *wrap(against_brief_note(debrief.motion.charted), "quiet")]


def lesson_lines(finding: Finding) -> tuple[tuple[str, str], ...]:
    """The lines below a finding, each with its heading: its error if it is too close to call, and its lesson."""
    lesson = finding.lesson
    pairs = (
        ("Error:", error_words(finding) if finding.verdict == CLOSE else None),
        ("Why:", lesson.cause if lesson is not None else None),
        ("Try:", lesson.advice if lesson is not None else None),
    )
    return tuple((word, text) for word, text in pairs if text is not None)


def error_words(finding: Finding) -> str | None:
    """The error of a measured value in words; None where it is not known."""
    if finding.sd is None or not finding.sd > 0.0:
        return None
    return f"± {value_text(finding.sd, finding.unit)}, one standard deviation."


def whole_sentence(finding: Finding) -> str:
    """A finding's sentence, with the excuse if it has one, and the reason if it is not assessed."""
    if finding.excused is not None:
        return f"{finding.sentence} {excuse_words(finding)}"
    return finding.sentence if finding.reason is None else f"{finding.sentence} Not assessed: {finding.reason}."


def needs_sentence(finding: Finding) -> bool:
    """Whether a finding inside needs a sentence: no reversal, and a reversal that first strayed to the uncharted side."""
    return finding.check == "no_reversal" or (finding.check == "reversal_side" and bool(finding.details))


def _row(finding: Finding, charted: Charted) -> str:
    """A finding that needs no sentence, as one row of text."""
    name, where, measured, compared = finding_cells(finding, charted)
    return f"  {name:<19}{where:<15}{measured:>10}   {compared}".rstrip()


def finding_cells(finding: Finding, charted: Charted) -> tuple[str, str, str, str]:
    """The cells of a finding that needs no sentence: check, place, measured value, and the limit or reference."""
    # the words after the distance from the missed approach point say on which side of it
    unsigned = abs(finding.measured) if finding.check == "missed_point" and isinstance(finding.measured, float) else None
    measured = value_text(finding.measured if unsigned is None else unsigned, finding.unit)
    return check_name(finding.check, finding.unit), where_text(finding), measured, _compared_with(finding, charted)


def where_text(finding: Finding) -> str:
    """The fix, part or leg that a finding is about: ``offset leg``."""
    if finding.lap is not None:
        return f"{part_words(finding.part or finding.leg, finding.lap)} {finding.lap}"
    by_leg = finding.check in ("altitude_floor", "altitude_hold", "final_course") and finding.part not in ("arc", "arc_turn")
    on_field = finding.leg == "final" and finding.part == "inbound"
    return finding.fix or (finding.leg if by_leg or on_field else part_words(finding.part or finding.leg))


def _compared_with(finding: Finding, charted: Charted) -> str:
    if finding.check == "descent_timing":
        return finding.sentence.rsplit(" s ", 1)[-1].rstrip(".")
    if finding.check == "altitude_floor" and finding.margin is not None and finding.tolerance - finding.margin >= 1.0:
        below = finding.tolerance - finding.margin
        return f"minimum {value_text(finding.limit, finding.unit)}: {below:.0f} below, {finding.tolerance:.0f} allowed"
    if finding.check == "outbound_length":
        return f"{finding.details['from_passage_s']:.0f} s after the fix"
    if finding.check == "hold_drift":
        due = finding.details.get("outbound_due_s")
        timed = f"; {due:.0f} s called for" if due is not None else ""
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
    return f"{word} {limit_text(finding)}"


def _assigned(finding: Finding, charted: Charted) -> bool:
    """Whether a finding is about an assigned altitude."""
    if finding.check == "step_down":
        return any(fix.assigned for fix in charted.fixes if fix.name == finding.fix)
    return finding.check in ("altitude_floor", "minimum_altitude") and charted.assigned(finding.leg)


def _loses(finding: Finding) -> bool:
    """Whether a finding allows for the height lost in a go-around."""
    return finding.check == "minimum_altitude" and finding.tolerance > 0.0


def limit_text(finding: Finding) -> str:
    """A limit with the tolerance beyond it; the margin counts from both."""
    limit = value_text(finding.limit, finding.unit)
    if finding.tolerance <= 0.0 or finding.limit is None:
        return limit
    if finding.check == "hold_timing":  # outbound the time is a maximum, inbound it is to be met
        allowed = value_text(finding.tolerance, finding.unit)
        return f"{limit} + {allowed} at most" if finding.part == "outbound" else f"{limit} ± {allowed}"
    return f"{limit}, {value_text(finding.tolerance, finding.unit)} {'loss ' if _loses(finding) else ''}allowed"


def _table(debrief: DebriefData, approach: Approach, width: int) -> list[Line]:
    headings, rows = parts_table(debrief.motion, approach.figures)
    return [*_toned(table([headings, *rows], left={0, 1, 4, 6, 7}, width=width)), Line(PARTS_NOTE, "quiet")]


def _toned(lines: Sequence[str]) -> list[Line]:
    """The lines of a table, headings and rule, where it has them, in a quiet tone."""
    ruled = any(line.startswith("---") for line in lines)
    return [Line(line, "quiet" if ruled and number < 2 else "") for number, line in enumerate(lines)]
