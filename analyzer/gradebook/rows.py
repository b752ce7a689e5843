"""The rows of a class table: one for each approach or hold, or for a log without either. Columns are typed and name units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from analyzer.checks.finding import NOT_ASSESSED
from analyzer.checks.phrases import check_name
from analyzer.checks.run import CHECKS
from analyzer.frozen import dataclass
from analyzer.gradebook.review import ChangedMark, FlightReview, Part, moved_words, remark_of
from analyzer.gradebook.roster import Entry
from analyzer.safe_text import plain_line

__all__ = [
    "COLUMNS",
    "DATE",
    "FIGURES",
    "INTEGER",
    "NOT_RECOGNISED",
    "NUMBER",
    "TEXT",
    "TIME",
    "Column",
    "Json",
    "RowContext",
    "lost_parts",
    "rows_of",
]  # fmt: skip

Json = dict[str, Any]
Row = dict[str, Any]
TEXT = "text"
NUMBER = "number"
INTEGER = "integer"
TIME = "time"
DATE = "date"
NOT_RECOGNISED = "not recognised"
_RECOGNISED = "recognised"
_STATUS_OF_COPY = "duplicate"


@dataclass(frozen=True)
class Column:
    """A column and the type of its values: ``text``, ``number``, ``integer``, ``time`` (RFC 3339) or ``date``."""

    name: str
    type: str


# Figures whose spread the class page shows: column, name and unit.
FIGURES: Mapping[str, tuple[str, str]] = {
    "mark_percent": ("mark", "%"),
    "farthest_distance_nm": ("farthest from the fix", "NM"),
    "outbound_length_nm": ("outbound length", "NM"),
    "offset_leg_s": ("time on the offset leg", "s"),
    "outbound_peak_deviation_deg": ("greatest deviation outbound, joining the course included", "°"),
    "inbound_peak_deviation_deg": ("greatest deviation inbound, joining the course included", "°"),
    "overshoot_nm": ("overshoot of the inbound course", "NM"),
    "max_indicated_kt": ("greatest indicated airspeed", "kt"),
    "wind_speed_kt": ("wind speed", "kt"),
}


def _of_checks() -> Iterator[Column]:
    for check, row in CHECKS.items():
        yield Column(f"{check}_verdict", TEXT)
        yield Column(f"{check}_measured", TEXT if row.in_words else NUMBER)
        yield Column(f"{check}_unit", TEXT)
        yield Column(f"{check}_margin", NUMBER)
        yield Column(f"{check}_mark_earned", NUMBER)
        yield Column(f"{check}_mark_possible", NUMBER)


COLUMNS: tuple[Column, ...] = (
    *(Column(name, TEXT) for name in ("file", "pilot")),
    Column("date", DATE),
    Column("aircraft", TEXT),
    *(Column(name, INTEGER) for name in ("attempt", "approach", "approaches")),
    *(Column(name, TEXT) for name in ("procedure", "procedure_title")),
    *(Column(name, NUMBER) for name in ("procedure_misfit", "procedure_gap")),
    *(Column(name, TEXT) for name in ("procedure_next", "procedure_rivals", "status", "reason", "duplicate_of")),
    Column("start", TIME),
    Column("altitude_reference", TEXT),
    *(Column(name, TEXT) for name in ("charted", "flown")),
    Column("flown_score_gap", NUMBER),
    *(Column(name, TEXT) for name in ("named", "side", "turn", "entry", "hold")),
    Column("laps", INTEGER),
    *(Column(name, TEXT) for name in ("verdict", "verdict_sentence")),
    *(Column(name, NUMBER) for name in ("mark_percent", "mark_earned", "mark_possible", "mark_weights")),
    *(Column(name, TEXT) for name in ("mark_failed_outright", "mark_incomplete")),
    Column("mark_computed_percent", NUMBER),
    *(Column(name, TEXT) for name in ("mark_changed_by", "mark_change_reason", "mark_change_note")),
    *(Column(name, TEXT) for name in ("doubts", "remark", "excused", "instructor_remark")),
    Column("established", TIME),
    *(
        Column(name, NUMBER)
        for name in (
            "outbound_length_nm", "offset_leg_s", "outbound_peak_deviation_deg", "inbound_peak_deviation_deg", "overshoot_nm",
            "max_indicated_kt", "farthest_distance_nm", "farthest_slant_nm", "farthest_sd_nm",
        )
    ),
    Column("farthest_time", TIME),
    *(
        Column(name, NUMBER)
        for name in ("farthest_latitude_deg", "farthest_longitude_deg", "wind_from_deg_true", "wind_speed_kt", "wind_sd_kt")
    ),
    Column("wind_source", TEXT),
    *_of_checks(),
    *(Column(name, TEXT) for name in ("page", "sheet", "sha256")),
)  # fmt: skip


@dataclass(frozen=True)
class RowContext:
    """The context of a log's rows: its roster entry, the log that it copies, the numbers of its attempts, its page and sheet.

    `review` is what an instructor said of it.
    """

    entry: Entry | None
    duplicate_of: str | None
    attempts: tuple[int | None, ...]
    page: str | None
    sheet: str | None = None
    review: FlightReview | None = None


def rows_of(document: Json, context: RowContext) -> Iterator[tuple[Row, Json]]:
    """The rows of a log, each with its part of the log's document, approaches before holds.

    Every row has all columns, with None for missing values.
    """
    approaches, holds = document["approaches"], document["holds"]
    entries: list[tuple[Json, Part]] = [(approach, (number, None)) for number, approach in enumerate(approaches, 1)]
    entries = [*entries, *((hold, (None, number)) for number, hold in enumerate(holds, 1))] or [({}, (None, None))]
    for (entry, part), attempt in zip(entries, context.attempts, strict=True):
        changed = context.review.marks.get(part) if context.review is not None and entry else None
        row = dict.fromkeys(column.name for column in COLUMNS)
        row |= _of_log(document, context)
        if entry:
            row |= _of_entry(entry) | {"approach": part[0], "approaches": len(approaches), "attempt": attempt}
        if changed is not None:
            row |= _of_change(changed, row["mark_percent"])
        row["remark"] = _remark(document, context, entry, row["mark_change_note"])
        yield row, entry


def _of_log(document: Json, context: RowContext) -> Row:
    procedure: Json = document["procedure"] or {}
    entry, start = context.entry, document["start"]
    logged = start[:10] if start else None
    return {
        "file": plain_line(document["file"]),
        "pilot": plain_line(entry.pilot) if entry is not None else None,
        "date": entry.date.isoformat() if entry is not None and entry.date is not None else logged,
        "aircraft": plain_line(entry.aircraft) if entry is not None and entry.aircraft else None,
        "instructor_remark": remark_of(entry.remark if entry is not None else None, context.review) or None,
        "procedure": procedure.get("name"),
        "procedure_title": procedure.get("title"),
        "procedure_misfit": procedure.get("misfit"),
        "procedure_gap": procedure.get("gap"),
        "procedure_next": procedure.get("next"),
        "procedure_rivals": ", ".join(procedure.get("rivals", ())) or None,
        "status": _STATUS_OF_COPY if context.duplicate_of is not None else document["status"],
        "reason": plain_line(document["reason"]) if document["reason"] else None,
        "duplicate_of": plain_line(context.duplicate_of) if context.duplicate_of is not None else None,
        "start": start,
        "altitude_reference": document["altitude_reference"],
        "doubts": plain_line(" ".join(document["doubts"])) or None,
        "page": context.page,
        "sheet": context.sheet,
        "sha256": document["sha256"],
    }


def _of_entry(approach: Json) -> Row:
    mark: Json = approach["mark"]
    hold: Json = approach["hold"] or {}
    row: Row = {name: approach[name] for name in ("charted", "flown", "flown_score_gap", "side", "turn", "entry")}
    row["named"] = _named(approach)
    row |= {"hold": plain_line(hold["name"]), "laps": hold["laps"]} if hold else {}
    row |= {"verdict": approach["overall"]["verdict"], "verdict_sentence": approach["overall"]["sentence"]}
    row |= {"mark_percent": mark["percent"], "mark_earned": mark["earned"], "mark_possible": mark["possible"]}
    row |= {"mark_weights": mark["apply"], "mark_failed_outright": ", ".join(mark["failed_outright"]) or None}
    row |= {"mark_incomplete": mark["incomplete"]}
    row |= {"excused": plain_line("; ".join(one["short"] for one in approach["excused"])) or None}
    row |= approach["figures"]
    row |= {f"farthest_{name}": value for name, value in (approach["farthest"] or {}).items()}
    row |= {f"wind_{name}": value for name, value in (approach["wind"] or {}).items()}
    for check, result in approach["checks"].items():
        row |= {f"{check}_{name}": result[name] for name in ("verdict", "measured", "unit", "margin")}
        if result["weight"] is not None:
            row |= {f"{check}_mark_earned": result["earned"], f"{check}_mark_possible": result["possible"]}
    return row


def _named(approach: Json) -> str | None:
    """Whether what the roster names as flown was recognised too; None where nothing is named."""
    if approach["named"] is None:
        return None
    return _RECOGNISED if approach["named"]["recognised"] == approach["flown"] else NOT_RECOGNISED


def _of_change(changed: ChangedMark, computed: float | None) -> Row:
    """A mark that an instructor changed, in the place of the computed one, which stays to be seen."""
    return {
        "mark_percent": changed.mark,
        "mark_computed_percent": computed,
        "mark_changed_by": plain_line(changed.by),
        "mark_change_reason": plain_line(changed.reason),
        "mark_change_note": moved_words(changed, computed) or None,
    }


def _remark(document: Json, context: RowContext, approach: Json, moved: str | None) -> str | None:
    """The remarks on a row, in one line."""
    remarks = [moved] if moved else []
    if context.duplicate_of is not None:
        remarks.append(f"the same log as {plain_line(context.duplicate_of)}")
    if approach and _named(approach) == NOT_RECOGNISED:
        seen = approach["named"]["recognised"]
        remarks.append(
            f"flown as {approach['flown']}: named, not recognised; "
            f"recognition by itself {'finds nothing there' if seen is None else f'takes it for {seen}'}"
        )
    elif approach and approach["named"] is not None:
        remarks.append(f"flown as {approach['flown']}: named, and recognised too")
    if approach and approach["mark"]["note"]:
        remarks.append(approach["mark"]["note"])
    remarks += [f"check first: {plain_line(doubt)}" for doubt in document["doubts"]]
    remarks += [plain_line(idle[:1].lower() + idle[1:]) for idle in document["excuses_not_used"]]
    procedure, entry, start = document["procedure"] or {}, context.entry, document["start"]
    rivals = procedure.get("rivals", [])
    if rivals and approach and approach["overall"]["verdict"] != NOT_ASSESSED:
        both = "both" if len(rivals) == 1 else "all"
        remarks.append(f"procedure not decided: {' or '.join([procedure['name'], *rivals])}; the result holds for {both}")
    if entry is not None and entry.date is not None and start and entry.date.isoformat() != start[:10]:
        remarks.append(f"the roster says {entry.date.isoformat()}, the log begins on {start[:10]} UTC")
    return "; ".join(remarks) or None


def lost_parts(approach: Json) -> tuple[str, ...]:
    """The parts of a mark that were not earned in full: ``turn bank 3.3 of 5``."""
    return tuple(
        f"{check_name(check)} {result['earned']:g} of {result['possible']:g}"
        for check, result in approach["checks"].items()
        if result["weight"] is not None and result["earned"] < result["possible"]
    )
