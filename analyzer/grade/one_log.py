"""The work on a log, and on a few of them in a worker: from a file to the document of its rows, the same in every process."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from analyzer.debriefs.data import DebriefData, Section
from analyzer.errors import AnalyzerError, GradeError
from analyzer.frozen import dataclass
from analyzer.grade.excused_logs import excuses_key
from analyzer.grade.judged_log import Judged, judged_log, without_name
from analyzer.grade.kept_rows import page_name, sheet_key, sheet_names
from analyzer.grade.section_records import section_records
from analyzer.grade.task import NotGraded, Task, at_hand, digest_of, why_unfit
from analyzer.gradebook.mark import Marked
from analyzer.gradebook.settings import Settings
from analyzer.legs.hidden import gap_words
from analyzer.report.documents.debrief_document import debrief_document, rfc3339
from analyzer.report.exports.formats import FORMATS
from analyzer.report.words.excuse_words import idle_sentences
from analyzer.report.words.unrecognised import nowhere_near

__all__ = ["Graded", "failed", "grade_some", "line_of", "opened"]

Json = dict[str, Any]


@dataclass(frozen=True)
class Graded:
    """The result for a log: the line to save, None if the known one is still valid; and page and sheets by name."""

    name: str
    line: bytes | None
    files: tuple[tuple[str, bytes], ...] = ()


def grade_some(settings: Settings, tasks: Sequence[Task]) -> tuple[Graded, ...]:
    """Grade a few logs, one after the other."""
    return tuple(_grade(settings, task) for task in tasks)


def failed(settings: Settings, task: Task, reason: str) -> Graded:
    """The result for a log that the program fails on; it has no digest, so the next run tries again."""
    return Graded(task.name, line_of(_document(settings, task, None, status="not analysed", reason=reason)))


def line_of(document: Json) -> bytes:
    """A document as the line to save."""
    return json.dumps(document, separators=(",", ":"), allow_nan=False).encode() + b"\n"


def _grade(settings: Settings, task: Task) -> Graded:
    digest, files = None, tuple[tuple[str, bytes], ...]()
    unfit = why_unfit(settings, task)
    if unfit is not None:
        return Graded(task.name, line_of(_document(settings, task, None, status="not read", reason=unfit)))
    try:
        with at_hand(task) as path:
            digest = digest_of(path)
            if digest == task.known:
                return Graded(task.name, None)
            document, files = _written(settings, task, path, digest)
    except NotGraded as why:
        document = _document(settings, task, digest, status=why.status, reason=why.reason)
    except OSError as error:
        document = _document(settings, task, digest, status="not read", reason=f"cannot be read: {error.strerror or error}")
    return Graded(task.name, line_of(document), files)


def opened(settings: Settings, task: Task) -> tuple[DebriefData, Sequence[Marked]]:
    """The debrief of a log by which it is graded, with its lessons, and its marks. Raises `GradeError`."""
    unfit = why_unfit(settings, task)
    if unfit is not None:
        raise GradeError(f"{task.name}: {unfit}")
    try:
        with at_hand(task) as path:
            judged = judged_log(settings, task, path)
            return judged.taught(), judged.marked
    except NotGraded as why:
        raise GradeError(f"{task.name}: {why.reason}") from why
    except OSError as error:
        raise GradeError(f"{task.name}: cannot be read: {error.strerror or error}") from error


def _written(settings: Settings, task: Task, path: Path, digest: str) -> tuple[Json, tuple[tuple[str, bytes], ...]]:
    """The document of a log, and its page and sheets, with their names. Raises `NotGraded`."""
    judged = judged_log(settings, task, path)
    track, pick, seen, debrief, marked = judged.track, judged.pick, judged.seen, judged.both.debrief, judged.marked
    try:
        files = tuple(_files(settings, task, judged))
    except AnalyzerError as error:
        raise NotGraded("not graded", without_name(str(error), path, task.name)) from error
    procedure: Json = {"name": seen.candidate.name, "title": seen.candidate.procedure.title}
    if pick is not None:
        procedure |= {
            "misfit": round(pick.misfit, 2),
            "gap": None if pick.gap is None else round(pick.gap, 2),
            "next": pick.next_best,
            "rivals": [rival.candidate.name for rival in pick.rivals],
        }
    status = "graded" if debrief.sections else "no approach"
    reason = None if debrief.sections else _why_none(debrief)
    document = _document(settings, task, digest, status=status, reason=reason, written=True)
    debriefed = debrief_document(debrief)
    flown = list(zip(debrief.sections, marked, strict=True))
    sections = {of: sorted((pair for pair in flown if pair[0].of == of), key=_number) for of in ("reversal", "hold")}
    return {
        **document,
        "start": rfc3339(float(track.time_s[0])),
        "procedure": procedure,
        "altitude_reference": track.altitude_reference if track.has_altitude else None,
        "doubts": list(debrief.doubts),
        "excuses_not_used": list(idle_sentences(debrief)),
        "approaches": section_records(sections["reversal"], debriefed["reversals"]),
        "holds": section_records(sections["hold"], debriefed["holds"]),
    }, files


def _number(pair: tuple[Section, Marked]) -> int:
    return pair[0].number


def _why_none(debrief: DebriefData) -> str:
    """Why there is nothing to grade: how far away it was flown, what gaps may hide, and what is in doubt."""
    why = nowhere_near(debrief) or "no known approach was found at the procedure's fix"
    hidden = gap_words(debrief.motion)
    return ". ".join(
        [f"{why}; {hidden}, which may hide it" if hidden else why, *(doubt.rstrip(".") for doubt in debrief.doubts)]
    )


def _files(settings: Settings, task: Task, judged: Judged) -> Iterator[tuple[str, bytes]]:
    """The page of a log, as a single debrief writes it, and its sheets."""
    if not settings.pages and settings.sheets is None:
        return
    debrief, marked, start = judged.taught(), judged.marked, rfc3339(float(judged.track.time_s[0]))
    if settings.pages:
        (made,) = FORMATS["html"].write(debrief)
        yield page_name(task.name, start), made.content
    if settings.sheets is not None:
        from analyzer.grade.student_sheets import student_sheets  # loads drawing and typesetting, which only sheets need

        made_of = student_sheets(settings, debrief, marked, task.entry, start[:10], task.review)
        yield from zip(sheet_names(task.name, start), made_of, strict=True)


def _document(
    settings: Settings, task: Task, digest: str | None, *, status: str, reason: str | None, written: bool = False
) -> Json:
    """The document of any log. With `written` it was judged, so page and sheets exist if they are wanted."""
    return {
        "file": task.name,
        "sha256": digest,
        "made_by": settings.fingerprint,
        "status": status,
        "reason": reason,
        "page": written and settings.pages,
        "sheet": sheet_key(settings, task.entry, task.review) if written else None,
        "flown_as": list(task.flown_as),
        "excuses": excuses_key(task.excuses),
        "start": None,
        "procedure": None,
        "altitude_reference": None,
        "doubts": [],
        "excuses_not_used": [],
        "approaches": [],
        "holds": [],
    }
