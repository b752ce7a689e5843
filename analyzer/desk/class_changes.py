"""What is written in a class: a new one, its logs and roster, what it is graded by, and what the instructor says of a flight.

What can be changed again is a change of the desk, which can be undone. A form sends what it showed along with what was typed:
only what was changed in it is written, and not over what somebody else wrote since.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TypeVar

from analyzer.checks.excuse_file import ExcuseTable
from analyzer.checks.phrases import check_name
from analyzer.desk.changes import make_change
from analyzer.desk.class_files import CARD_OF_CLASS, ROSTER, ClassCard, ClassFiles
from analyzer.desk.excused import excuse_table_of
from analyzer.desk.locked import locked
from analyzer.desk.names import safe_name
from analyzer.desk.store import CHART, CLASSES, Store
from analyzer.errors import DeskError, GradeError
from analyzer.files import read_bounded
from analyzer.gradebook.review import ChangedMark, Remark, Review
from analyzer.gradebook.roster import is_roster, read_roster
from analyzer.toml_files import checked

__all__ = [
    "bring_back_into_class",
    "excuse_in_class",
    "keep_plan",
    "keep_review",
    "new_class",
    "take_back_in_class",
    "take_file",
    "take_out_of_class",
]

_OfLog = TypeVar("_OfLog", Remark, ChangedMark)
_LINES = ("title", "chart", "rubric", "paper", "by")
_LONGEST_LINE, _LONGEST_WORDS, _MOST_EXCUSES = 200, 2000, 5000
_LONGEST_ROSTER = 1_000_000
_PARTS = ("approach", "hold")


def new_class(folder: str, title: str) -> str:
    """Make a class. Returns the name of its folder. Raises `DeskError`."""
    store, said = Store(Path(folder)), " ".join(title.split())[:_LONGEST_LINE]
    if not said:
        raise DeskError("a class needs a name; go back and type one, like Spring")
    name = safe_name(re.sub(r"[/\\]", "-", said), "class")
    with locked(store.folder):
        place = store.folder / CLASSES
        if place.is_symlink():
            raise DeskError(f"{place}: a link, which may lead out of the folder; make a folder of it")
        path = place / name
        if path.exists() or path.is_symlink():
            raise DeskError(f"there is a class {name} already; open it from the list, or give another name")
        path.mkdir(parents=True)
        files = ClassFiles(store, name)
        if name != said:
            make_change(store, f"Class {said}: begun", files.card_file(ClassCard(title=said)))
    return name


def take_file(folder: str, name: str, temporary: str, file: str) -> tuple[str, str]:
    """Take an uploaded file into a class, as its roster where it reads like one. Returns what it became, and the change."""
    files = ClassFiles(Store(Path(folder)), name)
    path = Path(temporary)
    if is_roster(read_bounded(path, _LONGEST_ROSTER)[:4000]):
        return ROSTER, _take_roster(files, path)
    file = f"{file}.csv" if file.lower().endswith(CHART) or safe_name(file).lower() == ROSTER else file
    if files.store.holds(files.room, file, path):
        return safe_name(file), ""
    return files.store.settle(files.room, file, path), ""


def _take_roster(files: ClassFiles, path: Path) -> str:
    content = read_bounded(path, _LONGEST_ROSTER)
    if len(content) > _LONGEST_ROSTER:
        raise DeskError(f"a roster of more than {_LONGEST_ROSTER:,} bytes is longer than one may be")
    try:
        read_roster(path)
    except GradeError as error:  # by its temporary name, which says nothing to anybody
        raise DeskError(str(error).removeprefix(f"{path}: ")) from error
    with locked(files.store.folder):
        return make_change(files.store, f"Class {files.name}: roster changed", {(files.room, ROSTER): content})


def take_out_of_class(folder: str, name: str, log: str) -> str:
    """Remove a log from a class; what was said of it stays. Returns the name under which it can be restored."""
    files = ClassFiles(Store(Path(folder)), name)
    files.log(log)
    if "/" in log:
        raise DeskError(f"{log}: lies in a folder of the class; remove it there")
    return files.store.take_out(files.room, log)


def bring_back_into_class(folder: str, name: str, log: str) -> str:
    """Restore a log that was removed from a class. Returns its name."""
    files = ClassFiles(Store(Path(folder)), name)
    return files.store.bring_back(files.room, log)


def keep_plan(folder: str, name: str, said: Mapping[str, str]) -> str:
    """Keep what a class is graded by. Returns the change, empty where nothing is another. Raises `DeskError`."""
    files = ClassFiles(Store(Path(folder)), name)
    with locked(files.store.folder):
        card = files.card()
        meant = {key: " ".join(said[key].split())[:_LONGEST_LINE] for key in _LINES if key in said}
        if meant.get("chart"):
            files.store.there("procedures", meant["chart"])
        if meant.get("rubric", card.rubric) not in (*files.rubrics(), card.rubric):
            raise DeskError(f"{meant['rubric'][:40]!r}: no rubric of the list; choose one of them")
        tables = card.model_dump() | {key: value for key, value in meant.items() if value or key != "rubric"}
        new = checked(ClassCard, tables, CARD_OF_CLASS, DeskError)
        return make_change(files.store, f"Class {new.title or name}: settings changed", files.card_file(new))


def keep_review(folder: str, name: str, log: str, said: Mapping[str, str]) -> str:
    """Keep the instructor's remark and changed marks of a flight. Returns the change, empty where nothing is another.

    Fields are ``remark`` and ``by``, and for each approach and hold ``mark approach 1``, ``reason approach 1`` and
    ``computed approach 1``, the computed mark that was shown; with ``was`` before each what the form had.

    Raises
    ------
    DeskError
        A mark is none from 0 to 100, lacks its reason or the name, or somebody else changed the same meanwhile.
    """
    files = ClassFiles(Store(Path(folder)), name)
    files.log(log)
    by = " ".join(said.get("by", "").split())[:_LONGEST_LINE]
    with locked(files.store.folder):
        review = files.review()
        new = _with_remark(review, log, said, by)
        for field in [key.removeprefix("mark ") for key in said if key.startswith("mark ")]:
            new = _with_mark(new, log, field, said, by)
        return make_change(files.store, f"Class {name}: mark or remark of {log} changed", files.review_file(new))


def _with_remark(review: Review, log: str, said: Mapping[str, str], by: str) -> Review:
    remark, was = (_words(said.get(key, "")) for key in ("remark", "was remark"))
    before = next((one for one in review.remarks if one.log == log), None)
    if remark == was:
        return review
    _check_untouched(was, before.remark if before is not None else "", remark)
    others = [one for one in review.remarks if one.log != log]
    kept = [Remark(log=log, remark=remark, by=by)] if remark else []
    return review.model_copy(update={"remarks": _in_order([*others, *kept])})


def _with_mark(review: Review, log: str, field: str, said: Mapping[str, str], by: str) -> Review:
    part, number = _part(field)
    mark, reason = said[f"mark {field}"].strip().rstrip("% "), _words(said.get(f"reason {field}", ""))
    was = said.get(f"was mark {field}", ""), _words(said.get(f"was reason {field}", ""))
    if (mark, reason) == was:
        return review
    before = next((one for one in review.marks if one.log == log and getattr(one, part) == number), None)
    now = ("", "") if before is None else (f"{before.mark:g}", before.reason)
    _check_untouched(" ".join(was), " ".join(now), f"{mark} {reason}")
    others = [one for one in review.marks if one is not before]
    if not mark:
        return review.model_copy(update={"marks": others})
    if not reason or not by:
        raise DeskError("a changed mark needs a reason and your name, which are shown with it; fill in both")
    computed = said.get(f"computed {field}", "")
    changed = {"log": log, part: number, "mark": _percent(mark), "reason": reason, "by": by}
    changed |= {"computed": _percent(computed)} if computed else {}
    new = checked(ChangedMark, changed, "changed mark", DeskError)
    return review.model_copy(update={"marks": _in_order([*others, new])})


def _check_untouched(was: str, now: str, meant: str) -> None:
    """Raise `DeskError` where what the form showed is not what is kept any more."""
    if now not in (was, meant):
        raise DeskError("somebody else changed this since you opened it; open the flight again and look at what they wrote")


def _in_order(said: Sequence[_OfLog]) -> list[_OfLog]:
    return sorted(said, key=lambda one: one.log)


def _part(field: str) -> tuple[str, int]:
    part, _, number = field.partition(" ")
    if part not in _PARTS or not number.isdecimal() or len(number) > 3:
        raise DeskError("this form names no approach of the flight; open the flight again")
    return part, int(number)


def _percent(text: str) -> float:
    try:
        value = round(float(text.replace(",", ".")), 1)
    except (ValueError, OverflowError):
        value = math.nan
    if not 0.0 <= value <= 100.0:
        raise DeskError(f"{text[:20]!r} is no mark; give a percentage from 0 to 100, such as 85")
    return value


def _words(text: str) -> str:
    return text.replace("\r\n", "\n").strip()[:_LONGEST_WORDS]


def excuse_in_class(folder: str, name: str, log: str, said: Mapping[str, str], today: str) -> str:
    """Excuse a finding of a flight of a class, as the form at it says. Returns the change. Raises `DeskError`."""
    files, given = ClassFiles(Store(Path(folder)), name), excuse_table_of(said, today).model_copy(update={"flight": log})
    files.log(log)
    with locked(files.store.folder):
        review = files.review()
        others = [one for one in review.excused if _finding(one) != _finding(given)]
        if len(others) >= _MOST_EXCUSES:
            raise DeskError(f"{_MOST_EXCUSES:,} findings of this class are excused already; take some back first")
        new = review.model_copy(update={"excused": [*others, given]})
        return make_change(files.store, f"Class {name}: {check_name(given.check)} of {log} excused", files.review_file(new))


def take_back_in_class(folder: str, name: str, log: str, key: str) -> str:
    """Take an excuse back, by its key. Returns the change, empty if there is no such excuse any more."""
    files = ClassFiles(Store(Path(folder)), name)
    with locked(files.store.folder):
        review = files.review()
        kept = [one for one in review.excused if one.flight != log or key not in _keys(one)]
        new = review.model_copy(update={"excused": kept})
        return make_change(files.store, f"Class {name}: an excuse of {log} taken back", files.review_file(new))


def _keys(one: ExcuseTable) -> tuple[str, str]:
    """The keys by which the form at a finding may refer to its excuse: with the log that it names, and without."""
    return one.excuse().key, one.model_copy(update={"flight": None}).excuse().key


def _finding(one: ExcuseTable) -> dict[str, object]:
    return one.model_dump(exclude={"reason", "by", "on", "sentence"})
