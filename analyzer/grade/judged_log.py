"""A log that is read, laid against its procedure, judged and marked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from analyzer.debriefs.data import DebriefData, Section
from analyzer.debriefs.excusing import excuse_findings
from analyzer.debriefs.judging import doubted_too, judge, taught
from analyzer.errors import AnalyzerError, LogError
from analyzer.frozen import dataclass
from analyzer.grade.pick import Pick, Seen, pick_procedure, see
from analyzer.grade.task import NotGraded, Task
from analyzer.grade.undecided import Weighed, weighed
from analyzer.gradebook.mark import Mark, Marked
from analyzer.gradebook.mark import marked as mark_of
from analyzer.gradebook.settings import Settings
from analyzer.legs.named import Named, read_flown
from analyzer.track.read import read_track
from analyzer.track.track import Track

__all__ = ["Judged", "judged_log", "without_name"]


@dataclass(frozen=True, eq=False)
class Judged:
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


def judged_log(settings: Settings, task: Task, path: Path) -> Judged:
    """A log, judged and marked. Raises `NotGraded`."""
    try:
        track = replace(read_track(path, settings.options.for_several()), file=task.name)
    except LogError as error:
        raise NotGraded("not read", without_name(str(error), path, task.name)) from error
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
        raise NotGraded("not graded", without_name(str(error), path, task.name)) from error
    return Judged(track, pick, seen, alone, both, marked)


def _picked(settings: Settings, track: Track, date: dt.date, named: Sequence[Named]) -> Pick | None:
    """The procedure that the flight fits best; None if there is nothing to pick. Raises `NotGraded` if it fits none."""
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
    raise NotGraded("no procedure fits", fits_none)


def without_name(message: str, path: Path, name: str) -> str:
    """A message on one line without the name of the file, which the row has."""
    for spelling in (str(path), name):
        message = message.replace(f"{spelling}: ", "").replace(spelling, path.name)
    return " ".join(message.split())


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
