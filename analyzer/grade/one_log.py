"""The work on a log, and on a few of them in a worker: from a file to the document of its rows, the same in every process."""

from __future__ import annotations

import datetime as dt
import json
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from analyzer.checks.excuse import Excuse
from analyzer.debriefs.data import DebriefData, Section
from analyzer.debriefs.excusing import excuse_findings
from analyzer.debriefs.judging import doubted_too, judge, taught
from analyzer.errors import AnalyzerError, GradeError, LogError
from analyzer.files import check_ordinary
from analyzer.frozen import dataclass
from analyzer.grade.addresses import file_system, is_address
from analyzer.grade.excused_logs import excuses_key
from analyzer.grade.kept_rows import page_name, sheet_key, sheet_names
from analyzer.grade.pick import Pick, Seen, pick_procedure, see
from analyzer.grade.section_records import section_records
from analyzer.grade.undecided import Weighed, weighed
from analyzer.gradebook.mark import Mark, Marked
from analyzer.gradebook.mark import marked as mark_of
from analyzer.gradebook.review import FlightReview
from analyzer.gradebook.roster import Entry
from analyzer.gradebook.settings import Settings
from analyzer.legs.hidden import gap_words
from analyzer.legs.named import Named, read_flown
from analyzer.motion.motion import Motion
from analyzer.report.documents.debrief_document import debrief_document, rfc3339
from analyzer.report.exports.formats import FORMATS
from analyzer.report.words.excuse_words import idle_sentences
from analyzer.temporary import temporary_folder
from analyzer.track.read import read_track
from analyzer.track.track import Track

__all__ = ["Graded", "Task", "copies", "failed", "grade_some", "line_of", "opened"]

Json = dict[str, Any]
_PIECE = 1 << 20


@dataclass(frozen=True)
class Task:
    """A log to grade; its size is None for a folder. `known` is the digest of the content that is already graded.

    `leads_out` marks a link to a file outside the folder of logs. `entry` is its line of the roster, for the student's sheet
    and for what it names as flown; `excuses` are those for its findings; `review` is what the instructor said of the flight.
    """

    name: str
    address: str
    size_bytes: int | None
    known: str | None = None
    leads_out: bool = False
    entry: Entry | None = None
    excuses: tuple[Excuse, ...] = ()
    review: FlightReview | None = None

    @property
    def flown_as(self) -> tuple[str, ...]:
        """The words of the roster for what was flown."""
        return self.entry.flown_as if self.entry is not None else ()


@dataclass(frozen=True)
class Graded:
    """The result for a log: the line to save, None if the known one is still valid; and page and sheets by name."""

    name: str
    line: bytes | None
    files: tuple[tuple[str, bytes], ...] = ()


class _NotGraded(Exception):  # noqa: N818 (a state, which becomes a row)
    """Why a log has no grade: the status of its row, and the reason."""

    def __init__(self, status: str, reason: str) -> None:
        super().__init__(reason)
        self.status, self.reason = status, reason


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
    unfit = _unfit(settings, task)
    if unfit is not None:
        return Graded(task.name, line_of(_document(settings, task, None, status="not read", reason=unfit)))
    try:
        with _at_hand(task) as path:
            digest = _digest(path)
            if digest == task.known:
                return Graded(task.name, None)
            document, files = _written(settings, task, path, digest)
    except _NotGraded as why:
        document = _document(settings, task, digest, status=why.status, reason=why.reason)
    except OSError as error:
        document = _document(settings, task, digest, status="not read", reason=f"cannot be read: {error.strerror or error}")
    return Graded(task.name, line_of(document), files)


def _unfit(settings: Settings, task: Task) -> str | None:
    """Why a log is not even opened, or None."""
    if task.size_bytes is None:
        return "a folder, not a log; rename the folder, or put the log itself there"
    if task.leads_out:
        return "a link to a file outside the folder: put the log itself there"
    if task.size_bytes > settings.largest_bytes:
        most = f"{settings.largest_bytes / 1e6:g} MB"
        return f"{task.size_bytes / 1e6:,.1f} MB, more than the {most} that --largest allows"
    return None


def copies(tasks: Sequence[Task], settings: Settings) -> bool:
    """Whether all of some logs can be read and have the same content."""
    if len({task.size_bytes for task in tasks}) > 1 or any(_unfit(settings, task) is not None for task in tasks):
        return False
    digests = set()
    for task in tasks:
        try:
            with _at_hand(task) as path:
                digests.add(_digest(path))
        except (OSError, AnalyzerError):  # its row says why
            return False
    return len(digests) == 1


@contextmanager
def _at_hand(task: Task) -> Iterator[Path]:
    """The log as a local file."""
    if not is_address(task.address):
        yield Path(task.address)
        return
    system, path = file_system(task.address)
    with temporary_folder() as folder:
        copy = folder / os.path.basename(path)  # noqa: PTH119 (a path of that file system, not of this one)
        system.get_file(path, str(copy))
        yield copy


def _digest(path: Path) -> str:
    check_ordinary(path)  # reading a pipe would wait, and a device has no end
    digest = sha256()
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            digest.update(piece)
    return digest.hexdigest()


@dataclass(frozen=True, eq=False)
class _Judged:
    """A log that is judged: by which procedure, alone and with its rivals, and the marks of its approaches and holds."""

    track: Track
    pick: Pick | None
    seen: Seen
    alone: DebriefData
    both: Weighed
    marked: Sequence[Marked]

    def taught(self) -> DebriefData:
        """The debrief with its lessons, as a single debrief has it, and with any doubt about which procedure was flown."""
        debrief = taught(self.alone)
        return debrief if self.both.doubt is None else doubted_too(debrief, self.both.doubt)


def opened(settings: Settings, task: Task) -> tuple[DebriefData, Sequence[Marked]]:
    """The debrief of a log by which it is graded, with its lessons, and its marks. Raises `GradeError`."""
    unfit = _unfit(settings, task)
    if unfit is not None:
        raise GradeError(f"{task.name}: {unfit}")
    try:
        with _at_hand(task) as path:
            judged = _judged(settings, task, path)
            return judged.taught(), judged.marked
    except _NotGraded as why:
        raise GradeError(f"{task.name}: {why.reason}") from why
    except OSError as error:
        raise GradeError(f"{task.name}: cannot be read: {error.strerror or error}") from error


def _judged(settings: Settings, task: Task, path: Path) -> _Judged:
    """A log, judged and marked. Raises `_NotGraded`."""
    try:
        track = replace(read_track(path, settings.options), file=task.name)
    except LogError as error:
        raise _NotGraded("not read", _without(str(error), path, task.name)) from error
    date = dt.datetime.fromtimestamp(float(track.time_s[0]), tz=dt.UTC).date()
    try:
        named = read_flown(task.flown_as, float(track.time_s[0]), float(track.time_s[-1]))
        pick = _picked(settings, track, date, named)
        seen = pick.best if pick is not None else see(track, settings.candidates[0], date, named)
        alone = excuse_findings(judge(seen.motion, seen.flight, settings.standard), task.excuses)
        both = Weighed(alone, None, {})
        if pick is not None and not pick.sure:
            both = weighed(alone, pick, settings, task.excuses)
        marked = [_marked(settings, one, both.marks.get((one.of, one.number))) for one in both.debrief.sections]
    except AnalyzerError as error:
        raise _NotGraded("not graded", _without(str(error), path, task.name)) from error
    return _Judged(track, pick, seen, alone, both, marked)


def _written(settings: Settings, task: Task, path: Path, digest: str) -> tuple[Json, tuple[tuple[str, bytes], ...]]:
    """The document of a log, and its page and sheets, with their names. Raises `_NotGraded`."""
    judged = _judged(settings, task, path)
    track, pick, seen, debrief, marked = judged.track, judged.pick, judged.seen, judged.both.debrief, judged.marked
    try:
        files = tuple(_files(settings, task, judged))
    except AnalyzerError as error:
        raise _NotGraded("not graded", _without(str(error), path, task.name)) from error
    procedure: Json = {"name": seen.candidate.name, "title": seen.candidate.procedure.title}
    if pick is not None:
        procedure |= {
            "misfit": round(pick.misfit, 2),
            "gap": None if pick.gap is None else round(pick.gap, 2),
            "next": pick.next_best,
            "rivals": [rival.candidate.name for rival in pick.rivals],
        }
    status = "graded" if debrief.sections else "no approach"
    reason = None if debrief.sections else "no known approach was found at the procedure's fix" + _hidden(debrief.motion)
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


def _without(message: str, path: Path, name: str) -> str:
    """A message on one line without the name of the file, which the row has."""
    for spelling in (str(path), name):
        message = message.replace(f"{spelling}: ", "").replace(spelling, path.name)
    return " ".join(message.split())


def _picked(settings: Settings, track: Track, date: dt.date, named: Sequence[Named]) -> Pick | None:
    """The procedure that the flight fits best; None if there is nothing to pick. Raises `_NotGraded` if it fits none."""
    if not settings.pick:
        return None
    candidates = settings.candidates if settings.country is None else settings.country.near(track)
    pick = pick_procedure(track, candidates, date, named)
    if pick is not None:
        return pick
    flight = "the flight"
    if named:
        flight = f"flown as the roster has it ({' '.join(one.word for one in named)}), the flight"
    if settings.country is not None:
        fits_none = f"{flight} fits none of the {len(candidates)} procedures of {settings.country.name} that it passes near"
    else:
        fits = f"fits none of the {len(candidates)} procedures" if len(candidates) > 1 else "does not fit the only procedure"
        fits_none = f"{flight} {fits}: no approach on {'their' if len(candidates) > 1 else 'its'} courses was found"
    raise _NotGraded("no procedure fits", fits_none)


def _hidden(motion: Motion) -> str:
    """The gaps of the log near the fix, which may be why nothing was found."""
    words = gap_words(motion)
    return f"; {words}, which may hide it" if words else ""


def _files(settings: Settings, task: Task, judged: _Judged) -> Iterator[tuple[str, bytes]]:
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


def _marked(settings: Settings, section: Section, marks: tuple[float | None, ...] | None) -> Marked:
    """The mark of an approach or hold.

    `marks` are the different marks by several procedures that fit equally well; then there is no mark.
    """
    marked = mark_of(section.approach.findings, section.approach.reversal, settings.rubric)
    return replace(marked, mark=_none_of(marked.mark, marks)) if marks is not None else marked


def _none_of(mark: Mark, percents: tuple[float | None, ...]) -> Mark:
    """The mark without its percentage, because it depends on which procedure was flown."""
    listed = " or ".join("none" if percent is None else f"{percent:g}%" for percent in percents)
    return replace(mark, percent=None, note=f"no mark: {listed} by the procedures that it fits")
