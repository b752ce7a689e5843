"""A comparison as text for the terminal: what changed, the attempts, and every figure side by side."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from analyzer.checks.phrases import HeightUnit, height_unit
from analyzer.comparison.comparing import changed_most, tested
from analyzer.comparison.laps import Lap, laps_flown
from analyzer.comparison.trends import LEVEL, attempts_needed
from analyzer.physics.units import FT
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.clearance_text import settled_sentences
from analyzer.report.words.layout import WIDTH, fitted, wrapped
from analyzer.report.words.named_words import named_briefly, named_words

if TYPE_CHECKING:
    from analyzer.comparison.attempt import Attempt
    from analyzer.comparison.comparing import ComparisonData, Row

__all__ = [
    "BEST_NOTE",
    "OWN_NOTE",
    "attempt_heads",
    "attempt_words",
    "change_words",
    "compare_text",
    "figure_words",
    "lap_words",
    "row_sentences",
    "sentence_name",
    "sentences",
    "slope_words",
    "spread_words",
    "title_words",
    "trend_sentence",
    "value_words",
]

_NAME_WIDTH, _CELL_WIDTH, _INDENT = 24, 8, 5
_LAST = 2  # columns after those of the attempts
OWN_NOTE = (
    "In still air: the reversal simulated without the wind from the same place, with the same headings, bank and times. "
    "Missing where the simulation in the wind does not reproduce the flight."
)
BEST_NOTE = (
    "the best of the row, unless it is outside its own limit, where the standard asks for as little as can be. "
    "Spread: one standard deviation. "
    "Change: last minus first; in brackets where it is within its error."
)
_SENTENCE_NAME = {
    "outside": "number of findings outside",
    "hold_laps": "number of laps held",
    "farthest_still_air_nm": "greatest distance in still air",
    "rolled_out_still_air_nm": "distance off course at roll-out in still air",
    "rolled_out_nm": "distance off course at roll-out",
    "farthest_nm": "greatest distance",
    "established_nm": "distance from the fix when established",
    "reversal_bank_deg": "mean bank of the turn back",
    "above_minimum_ft": "least height above a minimum",
    "outbound_deviation_deg": "peak deviation outbound",
    "inbound_deviation_deg": "peak deviation inbound",
    "missed_begun_nm": "distance beyond the missed approach point at the start of the climb",
    "missed_turn_above_ft": "height of the missed approach turn above the charted altitude",
    "missed_course_deg": "departure from the course of the missed approach",
    "missed_altitude_ft": "departure from the altitude of the missed approach",
    "hold_outbound_s": "error of the outbound time in the hold",
    "hold_inbound_s": "error of the inbound time in the hold",
    "hold_length_nm": "error of the leg length in the hold",
    "hold_altitude_ft": "departure from the altitude of the hold",
    "altitude_hold_ft": "greatest departure from a level altitude",
    "offset_heading_deg": "departure from the offset heading",
}


def compare_text(comparison: ComparisonData, width: int = WIDTH) -> str:
    """The comparison, ready to print."""
    lines = [*wrapped(f"{title_words(comparison)} | {len(comparison.attempts)} attempts", width=width), ""]
    for sentence in settled_sentences(comparison.attempts[0].debrief.motion.charted):
        lines += [*wrapped(sentence, width=width), ""]
    for sentence in sentences(comparison):
        lines += wrapped(sentence, hanging="  ", width=width)
    lines += ["", *_attempts(comparison, width), ""]
    lines += [*_tables(comparison, width), *wrapped(f"* {BEST_NOTE}", width=width)]
    if any(row.figure.own for row in comparison.rows):
        lines += wrapped(OWN_NOTE, width=width)
    lines += ["", *wrapped(CAUTION, width=width)]
    return "".join(f"{row.rstrip()}\n" for line in lines for row in fitted(line, width))


def _attempts(comparison: ComparisonData, width: int) -> Iterator[str]:
    """The attempts in columns, the logs below where not all have room, each with the laps of its hold."""
    cells = [attempt_words(comparison, attempt) for attempt in comparison.attempts]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    below = _INDENT + sum(widths) + 2 * len(widths[1:]) > width
    for attempt, row in zip(comparison.attempts, cells, strict=True):
        *before, log = (cell.ljust(wide) for cell, wide in zip(row, widths, strict=True))
        line = "  ".join(before if below else [*before, log])
        yield from wrapped(line, f"{attempt.number:>3}  ", " " * _INDENT, width)
        if below:
            yield from wrapped(log, " " * _INDENT, width=width)
        for words in lap_words(attempt):
            yield from wrapped(words, " " * _INDENT, width=width)


def title_words(comparison: ComparisonData) -> str:
    """The procedure, and the hold where attempts at one are compared."""
    first = comparison.attempts[0]
    title = first.debrief.motion.charted.procedure.title
    return title if first.hold is None else f"{title}, hold at {first.hold}"


def lap_words(attempt: Attempt) -> tuple[str, ...]:
    """The laps of a hold, one line each: the timed leg compared with the chart, and the departure from level flight."""
    if attempt.hold is None:
        return ()
    height = height_unit(attempt.debrief.motion.charted.altitude_unit)
    return tuple(f"lap {lap.number}: {_timed(lap)}{_off_level(lap, height)}" for lap in laps_flown(attempt))


def _timed(lap: Lap) -> str:
    if lap.timed is None:
        return "not timed"
    decimals = 0 if lap.unit == "s" else 1
    charted = f" of {lap.charted:.{decimals}f}" if lap.charted is not None else ""
    return f"{lap.part} {lap.timed:.{decimals}f}{charted} {lap.unit}"


def _off_level(lap: Lap, height: HeightUnit) -> str:
    return "" if lap.off_level_ft is None else f", at most {height.text(lap.off_level_ft * FT)} off its level"


def attempt_heads(comparison: ComparisonData) -> tuple[str, ...]:
    """What `attempt_words` says of each attempt. Pilots are among it where any is known."""
    pilot = ("pilot",) if any(attempt.pilot for attempt in comparison.attempts) else ()
    return ("begun", *pilot, "flown", "result", "log")


def attempt_words(comparison: ComparisonData, attempt: Attempt) -> tuple[str, ...]:
    """When an attempt began, the pilot where any is known, what was flown, the verdict and the file."""
    start = datetime.fromtimestamp(attempt.start_s, tz=UTC)
    named = named_briefly(attempt.approach.reversal)
    words = {
        "begun": f"{start:%d %b %Y %H:%M}",
        "pilot": attempt.pilot or "-",
        "flown": attempt.approach.reversal.flown + (f" ({named})" if named else ""),
        "result": attempt.verdict,
        "log": attempt.debrief.motion.track.file,
    }
    return tuple(words[head] for head in attempt_heads(comparison))


def sentences(comparison: ComparisonData) -> Iterator[str]:
    """Which attempts were named, what changed most, which trends can be claimed, and which logs are left out."""
    for attempt in comparison.attempts:
        reversal = attempt.approach.reversal
        if reversal.named is not None:
            lead, text = named_words(reversal, reversal.named, attempt.debrief.motion.charted.kind)
            yield f"Attempt {attempt.number}: {lead[:1].lower()}{lead[1:]}, {text}"
    yield from row_sentences(comparison.rows_as_charted, len(comparison.attempts))
    if comparison.left_out:
        hold = comparison.attempts[0].hold
        missing = "no approach" if hold is None else f"no hold at {hold}"
        hint = "; logs of a hold alone are compared by themselves" if hold is None else ""
        yield f"Left out, with {missing}: {', '.join(comparison.left_out)}{hint}."


def row_sentences(rows: Sequence[Row], attempts: int) -> Iterator[str]:
    """What changed most from the first of some attempts to the last, and which trends can be claimed."""
    changed = changed_most(rows)
    for row in changed:
        yield _changed(row)
    if not changed:
        yield "Between the first and the last attempt nothing changed by as much as a pilot would notice."
    claimed = [row for row in rows if row.claimed]
    yield from map(trend_sentence, claimed)
    figures = tested(rows)
    needed = attempts_needed(figures)
    if not claimed and attempts < needed:
        of_figures = f"with {figures} figures that takes at least" if figures else "that takes at least"
        yield f"Trend: none can be claimed; {of_figures} {needed} attempts."
    elif not claimed:
        yield f"Trend: none stands out from chance (at {LEVEL:g} for all figures together)."


def trend_sentence(row: Row) -> str:
    """A trend that can be claimed, with its slope, and how likely chance would bring such an order."""
    up, p = (row.trend.slope > 0.0, row.trend.p) if row.trend is not None else (False, 1.0)
    way = "up" if up else "down"
    return (
        f"Trend: {sentence_name(row)} goes {way} by {slope_words(row)} per attempt "
        f"(probability of such an order by chance: {p:.2g})."
    )


def slope_words(row: Row) -> str:
    """How much a figure changes from one attempt to the next, without its sign: ``about 0.53 NM``.

    Of many attempts the step may be small and come to much: then it has more decimals.
    """
    slope, decimals = abs(row.trend.slope) if row.trend is not None else 0.0, row.figure.decimals + 1
    known = sum(value is not None for value in row.values)
    least = 10.0**-decimals
    if slope >= least:
        return f"about {slope:.{decimals}f}{_unit(row)}"
    if slope * (known - 1) < 10.0 * least:  # not seen in the values as they are shown
        return f"less than {least:.{decimals}f}{_unit(row)}"
    return f"about {slope:.{1 - math.floor(math.log10(slope))}f}{_unit(row)}"


def _changed(row: Row) -> str:
    values = [value for value in row.values if value is not None]
    before, after = (f"{value.value:,.{row.figure.decimals}f}".replace("-", "−") for value in (values[0], values[-1]))
    better = ""
    if row.figure.better is not None and row.change is not None:
        better = ", better" if (row.change < 0.0) == (row.figure.better == "less") else ", worse"
    return f"Changed: {sentence_name(row)} from {before} to {after}{_unit(row)}{better}."


def _unit(row: Row) -> str:
    return row.figure.unit if row.figure.unit in ("", "°") else f" {row.figure.unit}"


def sentence_name(row: Row) -> str:
    """What a figure is called in a sentence."""
    return _SENTENCE_NAME.get(row.figure.key, row.figure.name)


def figure_words(row: Row) -> str:
    """A figure's name with its unit."""
    return row.figure.name + (f", {row.figure.unit}" if row.figure.unit else "")


def value_words(row: Row, number: int) -> str:
    """The value of an attempt, numbered from 1; the best has a star."""
    value = row.values[number - 1]
    if value is None:
        return "-"
    return f"{value.value:,.{row.figure.decimals}f}".replace("-", "−") + ("*" if number in row.best else "")


def spread_words(row: Row) -> str:
    """The standard deviation of the values."""
    return "" if row.spread is None else f"{row.spread:,.{row.figure.decimals}f}"


def change_words(row: Row) -> str:
    """Last minus first; in brackets where it is within two standard deviations of zero."""
    if row.change is None:
        return ""
    change = round(row.change, row.figure.decimals)
    text = f"{change:+,.{row.figure.decimals}f}".replace("-", "−") if change else f"{0.0:.{row.figure.decimals}f}"
    return text if row.changed is not None else f"({text})"


def _tables(comparison: ComparisonData, width: int) -> Iterator[str]:
    """The figures, as many attempts a table as fit; spread and change stand in the last, or in one of their own."""
    rows = comparison.rows_as_charted
    across = max(1, (width - _NAME_WIDTH) // _CELL_WIDTH)
    most = across - _LAST if across > _LAST else across
    numbers = [attempt.number for attempt in comparison.attempts]
    blocks = [numbers[k : k + most] for k in range(0, len(numbers), most)]
    if len(blocks[-1]) + _LAST > across:
        blocks.append([])
    for block in blocks:
        last = block is blocks[-1]
        heads = [f"{number}" for number in block] + (["spread", "change"] if last else [])
        yield "figure".ljust(_NAME_WIDTH) + "".join(head.rjust(_CELL_WIDTH) for head in heads)
        yield "-" * (_NAME_WIDTH + _CELL_WIDTH * len(heads))
        for row in rows:
            cells = [value_words(row, number) for number in block]
            cells += [spread_words(row), change_words(row)] if last else []
            name = f"{'  ' if row.figure.own else ''}{figure_words(row)}"
            yield name.ljust(_NAME_WIDTH) + "".join(cell.rjust(_CELL_WIDTH) for cell in cells)
        if not last:
            yield ""
