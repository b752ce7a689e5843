"""A class in the folder of a desk, without a browser: its files, what is said of flights, what grading makes of it."""

import csv
import io
import tomllib
import zipfile
from pathlib import Path

import openpyxl
import pytest
from desk_classes import LOGS, ROSTER, graded, many_alike, spring
from desk_served import CLEAN, SAMPLES

from analyzer.desk.changes import changes_of, undo
from analyzer.desk.class_changes import (
    bring_back_into_class,
    excuse_in_class,
    keep_plan,
    keep_review,
    new_class,
    take_back_in_class,
    take_file,
    take_out_of_class,
)
from analyzer.desk.class_exports import all_sheets, class_table, one_sheet
from analyzer.desk.class_files import ClassFiles
from analyzer.desk.class_flight import open_class_flight
from analyzer.desk.class_pages import count_class, list_classes, see_class
from analyzer.desk.class_reading import answer_for_class, look_in_class
from analyzer.desk.store import Store, open_store
from analyzer.errors import AnalyzerError, DeskError

TODAY = "2026-07-01"
OUT = "strong_wind.csv"
# the finding of the sample flight in strong wind, as README prints it: 1.48 NM beyond the limit of 10 NM
FAR = {"approach": "1", "check": "distance_limit", "reason": "vectored", "by": "M. Tarn"}


@pytest.fixture
def files(tmp_path: Path) -> ClassFiles:
    return spring(tmp_path / "desk")


@pytest.fixture
def done(files: ClassFiles) -> ClassFiles:
    graded(files)
    return files


def at(files: ClassFiles) -> tuple[str, str]:
    return str(files.store.folder), files.name


def rows(files: ClassFiles, table: str = "grades.csv") -> dict[str, dict[str, str]]:
    """The rows of a table by their log."""
    text = class_table(*at(files), table).decode("utf-8-sig")
    return {row["log" if table == "grades.csv" else "file"]: row for row in csv.DictReader(io.StringIO(text))}


def said(mark: str = "", reason: str = "", remark: str = "", by: str = "M. Tarn", **more: str) -> dict[str, str]:
    """The form of the page of a flight, sent with nothing said before."""
    field = "approach 1"
    return {"remark": remark, "was remark": "", f"mark {field}": mark, f"reason {field}": reason, f"was mark {field}": "",
            f"was reason {field}": "", f"computed {field}": "0", "by": by, **more}  # fmt: skip


def test_a_class_is_a_folder_that_anybody_can_fill(files: ClassFiles):
    assert [log.name for log in files.logs()] == sorted(LOGS)
    assert graded(files)[-1] == (3, 3)
    assert count_class(*at(files)).graded == 3
    (listed,) = list_classes(str(files.store.folder))
    assert (listed.name, listed.title, listed.count.logs, listed.count.waiting) == ("Spring", "Spring", 3, 0)
    table = rows(files)
    assert {row["name"] for row in table.values()} == {"Ada Quorl", "Bo Wendle", "Cy Tarn"}
    assert (table[OUT]["result"], table[OUT]["mark_percent"]) == ("Outside", "0.0")  # as README prints it
    assert (table["clean.csv"]["mark_percent"], table["clean.csv"]["instructor_remark"]) == ("100.0", "Good briefing.")


def test_a_roster_of_any_name_is_found_and_not_graded(tmp_path: Path):
    files = spring(tmp_path / "desk", "clean.csv", roster="")
    (files.folder / "names.csv").write_text(ROSTER, encoding="utf-8")
    assert [log.name for log in files.logs()] == ["clean.csv"]
    roster = files.roster()
    assert roster is not None
    assert roster.name == "names.csv"


def test_remarks_and_changed_marks_are_plain_files_that_outlast_grading_again(done: ClassFiles):
    keep_review(*at(done), OUT, said("62.5", "Gusts beyond the forecast.", "Turn back sooner."))
    kept = (done.folder / "remarks.toml").read_bytes()
    by = {"log": OUT, "by": "M. Tarn"}
    assert tomllib.loads(kept.decode()) == {
        "remarks": [{**by, "remark": "Turn back sooner."}],
        "marks": [{**by, "approach": 1, "mark": 62.5, "computed": 0.0, "reason": "Gusts beyond the forecast."}],
    }
    many_alike(done, 2)
    graded(done)
    assert (done.folder / "remarks.toml").read_bytes() == kept
    row = rows(done)[OUT]
    assert row["mark_percent"] == "62.5"
    assert row["mark"].startswith("62.5% by M. Tarn: Gusts beyond the forecast. Computed: 0%:")
    assert row["instructor_remark"] == "Turn back sooner. (M. Tarn)"
    detail = rows(done, "details.csv")[OUT]
    assert (detail["mark_computed_percent"], detail["mark_changed_by"]) == ("0.0", "M. Tarn")


def test_the_tables_name_fields_of_the_pages_and_no_options(files: ClassFiles):
    log = "time,lat,lon,altitude\n" + "".join(f"2026-06-01T10:00:{s:02d}Z,44.1,-28.{s:02d},3000\n" for s in range(60))
    (files.folder / "unitless.csv").write_text(log, encoding="utf-8")
    graded(files)
    for table, column in (("grades.csv", "reasons"), ("details.csv", "reason")):
        said = rows(files, table)["unitless.csv"][column]
        assert "“Unit of the altitudes” under “Read the logs differently”" in said
        assert "--" not in said


def test_the_workbook_has_both_marks(done: ClassFiles):
    keep_review(*at(done), OUT, said("62.5", "Gusts.", "Turn back sooner."))
    sheet = openpyxl.load_workbook(io.BytesIO(class_table(*at(done), "grades.xlsx")))["grades"]
    head, *others = [[cell.value for cell in row] for row in sheet.iter_rows()]
    row = next(dict(zip(head, values, strict=True)) for values in others if values[head.index("log")] == OUT)
    assert (row["name"], row["mark_percent"]) == ("Cy Tarn", 62.5)
    assert row["mark"].startswith("62.5% by M. Tarn: Gusts. Computed: 0%")


def test_where_the_computed_mark_changes_later_that_is_said(done: ClassFiles):
    """Another rubric, by which nothing fails outright, gives the flight another mark than the one that was changed."""
    keep_review(*at(done), OUT, said("62.5", "Gusts."))
    (seen,) = open_class_flight(*at(done), OUT).parts
    assert (seen.moved, seen.words) == ("", "0%: the distance limit fails the approach")
    (done.folder / "mild.toml").write_text('based_on = "protection"\ntitle = "Mild"\nfails_outright = []\n', encoding="utf-8")
    keep_plan(*at(done), {"rubric": "mild.toml"})
    assert count_class(*at(done)).waiting == 3
    graded(done)
    (part,) = open_class_flight(*at(done), OUT).parts
    assert part.moved.startswith("the computed mark was 0% when M. Tarn changed it, and is ")
    assert part.moved in rows(done)[OUT]["note"]
    assert part.moved in str(see_class(*at(done)).listed["rows"])


@pytest.mark.parametrize(
    ("form", "why"),
    [
        (said("85", ""), "needs a reason and your name"),
        (said("85", "Gusts.", by=" "), "needs a reason and your name"),
        (said("105", "Gusts."), "no mark; give a percentage from 0 to 100"),
        (said("nan", "Gusts."), "no mark; give a percentage from 0 to 100"),
        (said("good", "Gusts."), "no mark; give a percentage from 0 to 100"),
        ({"mark missed 1": "85", "reason missed 1": "x", "by": "M"}, "names no approach"),
    ],
)
def test_what_cannot_be_kept_is_refused_and_nothing_is_written(files: ClassFiles, form: dict[str, str], why: str):
    with pytest.raises(DeskError, match=why):
        keep_review(*at(files), OUT, form)
    assert not (files.folder / "remarks.toml").exists()


def test_only_what_was_changed_is_written_and_never_over_what_another_wrote(files: ClassFiles):
    keep_review(*at(files), OUT, said(remark="First."))
    with pytest.raises(DeskError, match="somebody else changed this"):
        keep_review(*at(files), OUT, said(remark="Second."))  # by a page that was opened before the first
    keep_review(*at(files), OUT, said("50", "Gusts."))  # which leaves the remark alone
    review = files.review()
    assert [one.remark for one in review.remarks] == ["First."]
    assert [one.mark for one in review.marks] == [50.0]
    keep_review(*at(files), OUT, {"mark approach 1": "", "reason approach 1": "", "was mark approach 1": "50",
                                  "was reason approach 1": "Gusts.", "by": "M. Tarn"})  # fmt: skip
    assert files.review().marks == []


def test_each_change_can_be_undone(files: ClassFiles):
    change = keep_review(*at(files), OUT, said(remark="First."))
    page, back = undo(files.store.folder, change)
    assert (page, (files.folder / "remarks.toml").exists()) == ("/classes/Spring", False)
    undo(files.store.folder, back)
    assert files.review().remarks[0].remark == "First."
    assert keep_review(*at(files), OUT, said(remark="First.")) == ""
    assert [one.words for one in changes_of(files.store, 1)] == [f"Class Spring: mark or remark of {OUT} changed"]


def test_an_excused_finding_counts_neither_way_once_its_log_is_graded_again(done: ClassFiles):
    excuse_in_class(*at(done), OUT, FAR, TODAY)
    assert count_class(*at(done)).waiting == 1  # only that log
    assert graded(done)[-1] == (3, 3)
    row = rows(done)[OUT]
    assert row["mark_percent"] != "0.0"
    assert "distance limit" in row["excused"]
    assert "vectored" in row["excused"]
    seen = see_class(*at(done))
    assert "Excused by M. Tarn" in str(seen.listed["rows"])
    key = done.review().excused[0].model_copy(update={"flight": None}).excuse().key
    take_back_in_class(*at(done), OUT, key)
    graded(done)
    assert rows(done)[OUT]["mark_percent"] == "0.0"


def test_a_sheet_has_name_mark_remark_what_was_outside_why_and_what_to_try(done: ClassFiles):
    keep_review(*at(done), OUT, said("62.5", "Gusts.", "Turn back sooner."))
    stem, html, pdf = one_sheet(*at(done), OUT)
    text = html.decode()
    marks = "62.5%", "Changed by M. Tarn: Gusts. Computed: 0%."
    for words in ("Cy Tarn", *marks, "1.48 NM beyond the limit of 10.0 NM", "Why:", "Try:", "Turn back sooner. (M. Tarn)"):
        assert words in text
    assert pdf.startswith(b"%PDF")
    assert stem == "2026-06-28-1540-strong_wind"


def test_all_sheets_are_made_once_and_anew_only_where_something_on_them_changed(done: ClassFiles):
    with pytest.raises(DeskError, match="not all sheets are made"):
        all_sheets(*at(done))
    graded(done, sheets=True)
    assert see_class(*at(done)).sheets == (3, 0)
    before = archive(all_sheets(*at(done)))
    assert len(before) == 6
    keep_review(*at(done), OUT, said(remark="Turn back sooner."))
    assert see_class(*at(done)).sheets == (2, 1)
    graded(done, sheets=True)
    after = archive(all_sheets(*at(done)))
    assert {name for name in after if after[name] != before[name]} == {
        f"2026-06-28-1540-strong_wind.{kind}" for kind in ("html", "pdf")
    }


def archive(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as file:
        return {name: file.read(name) for name in file.namelist()}


def test_what_a_log_leaves_open_is_answered_for_all(tmp_path: Path):
    files = spring(tmp_path / "desk", "clean.csv", roster="")
    text = CLEAN.read_text(encoding="utf-8").replace("altitude_ft", "alt", 1)
    for name in ("clean.csv", "other.csv"):
        (files.folder / name).write_text(text + "\n" * (name == "other.csv"), encoding="utf-8")
    graded(files)
    assert {row["result"] for row in rows(files).values()} == {"Not read"}
    (why, _) = (row["short_why"] for row in see_class(*at(files)).listed["rows"])
    assert "“Unit of the altitudes” under “Read the logs differently”, ft" in why
    assert "--" not in why
    assert [ask.field for ask in look_in_class(*at(files), "clean.csv").asks][:1] == ["unit altitude"]
    seen, changed = answer_for_class(*at(files), "clean.csv", {"unit altitude": "ft"})
    assert not seen.asks
    assert changed
    graded(files)
    assert {row["result"] for row in rows(files).values()} == {"Inside"}


def test_an_upload_is_the_roster_or_a_log_by_what_is_in_it(files: ClassFiles):
    def dropped(content: bytes, name: str) -> str:
        path = files.store.unsettled(files.room)
        path.write_bytes(content)
        try:
            return take_file(*at(files), str(path), name)[0]
        finally:
            path.unlink(missing_ok=True)

    assert dropped(ROSTER.encode(), "people.csv") == "roster.csv"
    assert dropped(CLEAN.read_bytes(), "roster.csv") == "roster.csv.csv"
    assert dropped(CLEAN.read_bytes(), "class.toml") == "class.toml.csv"
    assert dropped(CLEAN.read_bytes(), "../../x.csv") == "x.csv"
    assert dropped(b"other", "x.csv") == "x-2.csv"
    assert dropped(b"other", "x-2.csv") == "x-2.csv"
    with pytest.raises(DeskError, match=r"^line 3"):  # without the temporary name of the file
        dropped(b"file,pilot\na,b\na,c\n", "r.csv")


def test_a_log_is_taken_out_and_brought_back_with_what_was_said_of_it(done: ClassFiles):
    keep_review(*at(done), OUT, said(remark="Turn back sooner."))
    out = take_out_of_class(*at(done), OUT)
    seen = see_class(*at(done))
    assert seen.count.logs == 2
    assert seen.notes == (f"In remarks.toml, but not a log of this class any more: {OUT}.",)
    assert bring_back_into_class(*at(done), out) == OUT
    assert open_class_flight(*at(done), OUT).remark == "Turn back sooner."
    assert count_class(*at(done)).waiting == 0


def test_nothing_outside_the_folder_is_reached(files: ClassFiles, tmp_path: Path):
    secret = tmp_path / "secret.csv"
    secret.write_bytes(CLEAN.read_bytes())
    (files.folder / "link.csv").symlink_to(secret)
    (files.store.folder / "classes" / "away").symlink_to(tmp_path, target_is_directory=True)
    assert [one.name for one in list_classes(str(files.store.folder))] == ["Spring"]
    for log in ("../secret.csv", "../../secret.csv", str(secret), "roster.csv", "class.toml", "graded/rows/part-00000.jsonl"):
        with pytest.raises(DeskError, match="no log of this class"):
            open_class_flight(*at(files), log)
    assert "a link to a file outside the folder" in open_class_flight(*at(files), "link.csv").fault
    with pytest.raises(DeskError, match="a link"):
        look_in_class(*at(files), "link.csv")
    for name in ("away", "..", "../logs", ".hidden", "a/b"):
        with pytest.raises(DeskError):
            see_class(str(files.store.folder), name)
    (files.folder / "remarks.toml").symlink_to(secret)
    with pytest.raises(DeskError, match="a link"):
        keep_review(*at(files), OUT, said(remark="x"))
    assert secret.read_bytes() == CLEAN.read_bytes()


def test_names_of_classes_become_safe_ones(tmp_path: Path):
    store = open_store(tmp_path / "desk")
    folder = str(store.folder)
    assert new_class(folder, "../../etc") == "-..-etc"
    assert new_class(folder, "Spring / North") == "Spring - North"
    assert see_class(folder, "Spring - North").title == "Spring / North"
    with pytest.raises(DeskError, match="there is a class"):
        new_class(folder, "Spring / North")
    with pytest.raises(DeskError, match="needs a name"):
        new_class(folder, "  ")
    assert sorted(path.name for path in (store.folder / "classes").iterdir()) == ["-..-etc", "Spring - North"]


def test_without_a_chart_the_page_says_what_to_do(tmp_path: Path):
    store = open_store(tmp_path / "desk")
    new_class(str(store.folder), "Spring")
    seen = see_class(str(store.folder), "Spring")
    assert seen.fault.startswith("no chart to grade by: draw one")
    with pytest.raises(AnalyzerError, match="no chart to grade by"):
        graded(ClassFiles(Store(store.folder), "Spring"))


def test_a_chart_that_cannot_be_read_is_left_out_and_named(files: ClassFiles):
    (files.store.folder / "procedures" / "broken.toml").write_text("title = 3\n", encoding="utf-8")
    graded(files)
    seen = see_class(*at(files))
    assert seen.count.graded == 3
    assert seen.notes == ("The chart broken.toml cannot be read and is left out; open it under Charts to see why.",)


def test_rows_of_a_chart_that_is_gone_are_still_shown(done: ClassFiles):
    (done.store.folder / "procedures" / "vor24.toml").rename(done.store.folder / "procedures" / "other.toml")
    seen = see_class(*at(done))
    assert (seen.count.graded, seen.count.earlier, len(seen.listed["rows"])) == (0, 3, 3)


def test_hostile_names_and_remarks_are_text(tmp_path: Path):
    hostile = "<img src=x onerror=alert(1)>"
    files = spring(tmp_path / "desk", roster=f"file,pilot\nclean.csv,{hostile}\n")
    (files.folder / "&lt;b&gt;.csv").write_bytes((SAMPLES / "clean.csv").read_bytes() + b"\n")
    keep_review(*at(files), "clean.csv", said("50", hostile, hostile, by=hostile))
    graded(files)
    seen = see_class(*at(files))
    assert "<img" not in seen.shown
    _, html, _ = one_sheet(*at(files), "clean.csv")
    assert b"<img" not in html
    assert b"&lt;img" in html


def test_the_mark_of_a_hold_is_changed_apart_from_that_of_the_approach(tmp_path: Path):
    files = spring(tmp_path / "desk", "missed_and_hold.csv", roster="")
    (files.store.folder / "procedures" / "vorz24.toml").write_bytes((SAMPLES / "wendle_island_vorz24.toml").read_bytes())
    keep_plan(*at(files), {"chart": "vorz24.toml"})
    graded(files)
    log = "missed_and_hold.csv"
    parts = {part.field: part for part in open_class_flight(*at(files), log).parts}
    assert set(parts) == {"approach 1", "approach 2", "hold 1"}  # as the sample was flown
    form = {"mark hold 1": "30", "reason hold 1": "Wrong entry.", "computed hold 1": parts["hold 1"].computed, "by": "M. Tarn"}
    keep_review(*at(files), log, form)
    changed = {name: row["mark"] for name, row in rows(files).items() if "by M. Tarn" in row["mark"]}
    (name,) = changed
    assert "hold at" in name
    assert changed[name].startswith("30% by M. Tarn: Wrong entry. Computed:")
    after = {part.field: part for part in open_class_flight(*at(files), log).parts}
    assert (after["hold 1"].mark, after["hold 1"].moved, after["approach 1"].mark) == ("30", "", "")
    _, html, _ = one_sheet(*at(files), log)
    assert html.decode().count("Changed by M. Tarn") == 1


def test_a_log_whose_shape_the_roster_names_is_graded_again_where_that_changes(files: ClassFiles):
    named = "file,student,flown as\nclean,Ada Quorl,45/180\nearly_descent,Bo Wendle,\n"
    (files.folder / "roster.csv").write_text(named, encoding="utf-8")
    graded(files)
    assert count_class(*at(files)).waiting == 0
    (files.folder / "roster.csv").write_text(named.replace("45/180", ""), encoding="utf-8")
    assert count_class(*at(files)).waiting == 1
    graded(files)
    assert count_class(*at(files)).waiting == 0


def test_a_unit_that_one_log_leaves_open_is_not_that_of_a_log_that_states_its_own(tmp_path: Path):
    """Feet, answered for the one, were taken for the metres of the other, which lost what is judged by its altitudes."""
    text = CLEAN.read_text(encoding="utf-8")
    head, *rows_below = text.splitlines()
    metres = [[*row.split(",")[:3], f"{float(row.split(',')[3]) * 0.3048:.1f}"] for row in rows_below]
    files = spring(tmp_path / "desk", "clean.csv", roster="")
    (files.folder / "open.csv").write_text(text.replace("altitude_ft", "altitude", 1), encoding="utf-8")
    stated = [head.replace("altitude_ft", "altitude_m"), *map(",".join, metres)]
    (files.folder / "stated.csv").write_text("\n".join(stated), encoding="utf-8")
    answer_for_class(*at(files), "open.csv", {"unit altitude": "ft"})
    graded(files)
    assert {name: row["result"] for name, row in rows(files).items()} == dict.fromkeys(
        ("clean.csv", "open.csv", "stated.csv"), "Inside"
    )
