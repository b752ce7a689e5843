"""What an instructor said of a class: read from its file, and carried into rows, words and sheets' keys."""

from pathlib import Path

import pytest

from analyzer.errors import GradeError
from analyzer.gradebook.review import FlightReview, moved_words, read_review, remark_of, review_by_log
from analyzer.gradebook.roster import is_roster
from analyzer.gradebook.rows import COLUMNS, RowContext, rows_of
from analyzer.report.words.class_words import changed_words, mark_short, mark_words

SAID = """
[[remarks]]
log = "group 1/a.csv"
remark = "Turn sooner."
by = "M. Tarn"

[[marks]]
log = "group 1/a.csv"
approach = 2
mark = 85
computed = 92.5
reason = "Gusts"
by = "M. Tarn"

[[excused]]
flight = "b.csv"
check = "turn_bank"
reason = "evading a bird"
by = "M. Tarn"
"""


def read(folder: Path, text: str):
    path = folder / "remarks.toml"
    path.write_text(text, encoding="utf-8")
    return read_review(path)


def document(percent: float | None = 92.5, **more):
    """A log's document with one approach, as grading keeps it, with what rows read of it."""
    mark = {"percent": percent, "earned": 74.0, "possible": 80.0, "apply": 80.0, "failed_outright": [], "note": None}
    approach = dict.fromkeys(
        ("hold", "charted", "flown", "flown_score_gap", "named", "side", "turn", "entry", "wind", "farthest")
    )
    approach |= {"overall": {"verdict": "outside", "sentence": "said"}, "figures": {}, "checks": {}, "reasons": []}
    approach |= {"excused": [], "mark": {**mark, "incomplete": None}}
    log = dict.fromkeys(("sha256", "reason", "procedure", "start", "altitude_reference", "page", "sheet"))
    return {**log, "file": "a.csv", "status": "graded", "doubts": [], "excuses_not_used": [], "approaches": [approach],
            "holds": [], **more}  # fmt: skip


def row_with(review: FlightReview | None, percent: float | None = 92.5):
    ((row, _),) = rows_of(document(percent), RowContext(None, None, (None,), None, None, review))
    return row


def test_a_file_is_read_and_where_there_is_none_nothing_is_said(tmp_path: Path):
    assert review_by_log(read_review(tmp_path / "remarks.toml")) == {}
    review = read(tmp_path, SAID)
    said = review_by_log(review)["group 1/a.csv"]
    assert (said.remark, said.by) == ("Turn sooner.", "M. Tarn")
    (changed,) = said.marks.values()
    assert (changed.part, changed.mark, changed.computed, changed.reason) == ((2, None), 85.0, 92.5, "Gusts")
    assert review.excused[0].excuse().reason == "evading a bird"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (SAID + SAID.partition("[[excused]]")[0], "two remarks for group 1/a.csv; keep one of them"),
        ('[[marks]]\nlog = "a"\nmark = 101\nreason = "x"\nby = "y"\n', "a number from 0 to 100"),
        ('[[marks]]\nlog = "a"\nmark = 50\nreason = ""\nby = "y"\n', "reason"),
        ('[[marks]]\nlog = "a"\nmark = 50\nreason = "x"\nby = ""\n', "by"),
        ("[[marks]\n", "not valid TOML"),
    ],
)
def test_what_is_wrong_in_it_is_said_with_the_file(tmp_path: Path, text: str, said: str):
    with pytest.raises(GradeError, match=said) as error:
        read(tmp_path, text)
    assert "remarks.toml" in str(error.value)


def test_a_changed_mark_takes_the_place_of_the_computed_one_which_stays_to_be_seen(tmp_path: Path):
    text = SAID.replace("group 1/a.csv", "a.csv").replace("approach = 2", "approach = 1")
    row = row_with(review_by_log(read(tmp_path, text))["a.csv"])
    assert (row["mark_percent"], row["mark_computed_percent"], row["mark_changed_by"]) == (85.0, 92.5, "M. Tarn")
    assert set(row) == {column.name for column in COLUMNS}
    assert mark_short(row) == "85%"
    assert mark_words(row) == "85% by M. Tarn: Gusts. Computed: 92.5%: 74 of 80 points."
    assert changed_words(row) == "M. Tarn, computed 92%: Gusts"
    assert row["mark_change_note"] is None
    assert row["instructor_remark"] == "Turn sooner. (M. Tarn)"


def test_one_for_another_approach_changes_nothing(tmp_path: Path):
    row = row_with(review_by_log(read(tmp_path, SAID.replace("group 1/a.csv", "a.csv")))["a.csv"])
    assert (row["mark_percent"], row["mark_changed_by"]) == (92.5, None)
    assert changed_words(row) == ""


def test_where_the_computed_mark_is_another_by_now_that_is_said(tmp_path: Path):
    text = SAID.replace("group 1/a.csv", "a.csv").replace("approach = 2", "approach = 1")
    said = review_by_log(read(tmp_path, text))["a.csv"]
    moved = "the computed mark was 92.5% when M. Tarn changed it, and is 71% now"
    assert row_with(said, 71.0)["mark_change_note"] == moved
    assert moved in row_with(said, 71.0)["remark"]
    assert row_with(said, None)["mark_change_note"].endswith("and is none now")
    (changed,) = said.marks.values()
    assert moved_words(changed, 92.54) == ""
    assert moved_words(changed.model_copy(update={"computed": None}), None) == ""
    assert moved_words(changed.model_copy(update={"computed": None}), 50.0).startswith("the computed mark was none")


def test_the_remark_of_the_roster_and_that_of_the_review_both_stand():
    assert remark_of("From the roster.", FlightReview("Mine,\nin two lines.", "M. Tarn")) == (
        "From the roster. Mine, in two lines. (M. Tarn)"
    )
    assert remark_of(None, FlightReview("Mine.")) == "Mine."
    assert remark_of(None, None) == ""


@pytest.mark.parametrize(
    ("header", "roster"),
    [
        ("file,pilot,date\n", True),
        ('\ufeff"Log file";"Student"\r\n', True),
        ("File\tName\tRemarks\n", True),
        ("time,latitude,longitude,altitude\n", False),
        ("name,track,lat,lon\n", False),
        ("pilot,date\n", False),
        ("", False),
    ],
)
def test_a_roster_is_told_from_a_log_by_its_header(header: str, roster: bool):
    assert is_roster(f"{header}a,b,c\n".encode()) is roster
