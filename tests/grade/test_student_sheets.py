"""The sheets of students: what stands on them, in what order, on what paper; and when they are made again."""

import csv
import json
import re

import pytest
from class_logs import content, csv_text, write_procedure
from printed import in_order, read_pdf

from analyzer.grade.grading import grade
from analyzer.grade.worker_pool import local_pool
from analyzer.gradebook.roster import read_roster
from analyzer.gradebook.settings import read_settings

HOSTILE = "<b>Bo</b> #panic() $x$ *a*"
ROSTER = (
    "file,pilot,date,aircraft,remark\n"
    'far.csv,Cy Tarn,2026-06-09,C172,"Turn back sooner, the wind pushes you out."\n'
    f'good.csv,"{HOSTILE}",,,"{HOSTILE}"\nshort.csv,Dee Wendle,,PA-28,\n'
)
MARGIN_MM, FOOT_MM = 16.0, 8.0


def run(folder, workers=1, **given):
    """Grade the folder's logs by its roster, and say how many were graded anew."""
    settings = read_settings(folder / "quorl.toml", **given)
    with local_pool(workers) as pool:
        made = grade(str(folder / "logs"), settings, pool, str(folder / "out"), read_roster(folder / "roster.csv"))
    return made.graded_anew


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """One good flight, one too far out, one that ends before anything is recognised, one that cannot be read."""
    folder = tmp_path_factory.mktemp("sheets")
    (folder / "logs").mkdir()
    for name in ("good", "far"):
        (folder / "logs" / f"{name}.csv").write_text(csv_text(name), encoding="utf-8")
    (folder / "logs" / "short.csv").write_text("\n".join(csv_text().splitlines()[:100]) + "\n", encoding="utf-8")
    (folder / "logs" / "empty.csv").write_text("", encoding="utf-8")
    (folder / "roster.csv").write_text(ROSTER, encoding="utf-8")
    write_procedure(folder / "quorl.toml")
    run(folder, sheets="a4")
    return folder


@pytest.fixture(scope="module")
def pdfs(folder):
    return {path.stem.rpartition("-")[2]: read_pdf(path.read_bytes()) for path in (folder / "out" / "sheets").glob("*.pdf")}


def test_each_flight_that_could_be_read_has_a_page_and_a_pdf(folder):
    names = sorted(path.name for path in (folder / "out" / "sheets").iterdir())
    assert names == sorted(f"2026-06-01-1000-{log}.{kind}" for log in ("good", "far", "short") for kind in ("html", "pdf"))


def test_it_says_whose_it_is_the_mark_as_a_sum_what_matters_and_the_remark_in_that_order(pdfs):
    text = pdfs["far"].text
    assert in_order(
        text, "Cy Tarn", "2026-06-09", "C172", "Quorl Bank VOR", "far.csv", "0%", "distance limit", "0 of 20", "all others",
        "sum", "1 Outside. Farthest from QRL", "beyond the limit of 10.0 NM", "Why:", "Try:", "Plan view", "Instructor",
        "Turn back sooner, the wind pushes you out.", "Judged by:",
    )  # fmt: skip
    assert "The distance limit fails the approach, whatever the sum." in text


def test_the_points_on_it_add_up(folder):
    (line,) = (
        line for line in (folder / "out" / "rows" / "part-00000.jsonl").read_text().splitlines() if '"file":"far.csv"' in line
    )
    mark = json.loads(line)["approaches"][0]["mark"]
    page = (folder / "out" / "sheets" / "2026-06-01-1000-far.html").read_text(encoding="utf-8")
    rows = page.partition('aria-label="The mark as a sum"')[2].partition("</table>")[0]
    points = [cell.partition("</td>")[0].split(" of ") for cell in rows.split('class="number">')[1:]]
    *parts, total = [(float(earned), float(possible)) for earned, possible in points]
    assert total == (mark["earned"], mark["possible"])
    assert sum(earned for earned, _ in parts) == pytest.approx(total[0], abs=0.02)
    assert sum(possible for _, possible in parts) == pytest.approx(total[1])


def test_the_plan_has_the_faults_on_it(pdfs, folder):
    (plan,) = pdfs["far"].sheets[0].alternatives
    assert plan.startswith("Plan view of the track around QRL. Farthest point")
    page = (folder / "out" / "sheets" / "2026-06-01-1000-far.html").read_text(encoding="utf-8")
    assert page.count("<svg") == 2  # for a wide and for a narrow screen
    assert ">1</text>" in page


@pytest.mark.parametrize("name", ["far", "good", "short"])
def test_it_is_one_side_within_its_margins_and_can_be_read_out(pdfs, name):
    made = pdfs[name]
    (sheet,) = made.sheets
    assert (sheet.width_mm, sheet.height_mm) == pytest.approx((210.0, 297.0), abs=0.1)
    for letter in sheet.letters:
        assert MARGIN_MM - 0.5 <= letter.left < letter.right <= sheet.width_mm - MARGIN_MM + 0.5, letter
        assert FOOT_MM <= letter.bottom < letter.top <= sheet.height_mm - MARGIN_MM + 1.0, letter
    assert made.tagged
    assert made.language == "en"
    assert made.made == ""
    assert all(made.fonts.values())
    assert not sheet.images
    assert {"H1", "Figure"} <= set(sheet.kinds)


def test_a_flight_in_which_nothing_was_recognised_has_one_too(pdfs):
    text = pdfs["short"].text
    assert in_order(text, "Dee Wendle", "PA-28", "No mark.", "No approach", "Plan view")


def test_names_and_remarks_are_text_and_nothing_else(pdfs, folder):
    page = (folder / "out" / "sheets" / "2026-06-01-1000-good.html").read_text(encoding="utf-8")
    assert "<b>" not in page
    assert page.count("&lt;b&gt;Bo&lt;/b&gt;") >= 3
    assert "<script" not in page
    assert pdfs["good"].title == f"{HOSTILE}: Quorl Bank VOR"
    assert pdfs["good"].text.count(HOSTILE) == 2


def test_the_class_page_and_the_table_lead_to_them(folder):
    page = (folder / "out" / "class.html").read_text(encoding="utf-8")
    assert '<a href="sheets/2026-06-01-1000-far.html"><bdi>Cy Tarn</bdi></a>' in page
    with (folder / "out" / "details.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["file"]: row for row in csv.DictReader(file)}
    assert rows["far.csv"]["sheet"] == "sheets/2026-06-01-1000-far.html"
    assert rows["empty.csv"]["sheet"] == ""
    assert (rows["far.csv"]["aircraft"], rows["short.csv"]["aircraft"]) == ("C172", "PA-28")
    assert rows["far.csv"]["instructor_remark"] == "Turn back sooner, the wind pushes you out."


def test_a_sheet_is_made_again_where_the_roster_or_the_paper_changed_and_only_then(folder, tmp_path):
    again = tmp_path / "class"
    (again / "logs").mkdir(parents=True)
    for name in ("good.csv", "far.csv"):
        (again / "logs" / name).write_bytes((folder / "logs" / name).read_bytes())
    write_procedure(again / "quorl.toml")
    (again / "roster.csv").write_text(ROSTER, encoding="utf-8")
    assert run(again) == 2
    assert run(again, sheets="a4") == 2  # there were none
    assert run(again, sheets="a4") == 0
    (again / "roster.csv").write_text(ROSTER.replace("C172", "C182"), encoding="utf-8")
    assert run(again, sheets="a4") == 1
    assert "C182" in read_pdf((again / "out" / "sheets" / "2026-06-01-1000-far.pdf").read_bytes()).text
    assert run(again, sheets="letter") == 2
    (again / "out" / "sheets" / "2026-06-01-1000-far.pdf").unlink()
    assert run(again, sheets="letter") == 1
    assert run(again) == 0
    assert (
        "sheet"
        not in (again / "out" / "class.html").read_text(encoding="utf-8").partition("</style>")[2].partition("<h2>Ev")[0]
    )


def test_the_bytes_are_the_same_from_two_workers(folder, tmp_path):
    made = []
    for workers in (1, 2):
        settings = read_settings(folder / "quorl.toml", sheets="a4")
        with local_pool(workers) as pool:
            roster = read_roster(folder / "roster.csv")
            grade(str(folder / "logs"), settings, pool, str(tmp_path / str(workers)), roster)
        made.append(content(tmp_path / str(workers)))
    assert made[0] == made[1]


def test_options_of_the_command_line_are_not_for_students(folder):
    for path in (folder / "out" / "sheets").glob("*.html"):
        words = path.read_text(encoding="utf-8").partition("<body>")[2]
        assert "--" not in re.sub(r"var\(--|<[^>]*>", "", words)


def test_an_entry_that_names_copies_alike_has_its_sheet_with_the_first(tmp_path):
    """The log handed in twice is the student's once: the row with the name and the sheet with the name are of the same log.

    Two different logs that the entry names alike are nobody's.
    """
    for place, kind in (("a/one", "good"), ("b/one", "good"), ("a/two", "other"), ("b/two", "far")):
        path = tmp_path / "logs" / f"{place}.csv"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(csv_text(kind), encoding="utf-8")
    (tmp_path / "roster.csv").write_text("file,pilot\none.csv,Ada\ntwo.csv,Bo\n", encoding="utf-8")
    write_procedure(tmp_path / "quorl.toml")
    run(tmp_path, sheets="a4")
    with (tmp_path / "out" / "details.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = {row["file"]: row for row in csv.DictReader(file)}
    heads = {}
    for path in (tmp_path / "out" / "sheets").rglob("*.html"):
        name = f"{path.parent.name}/{path.stem.rpartition('-')[2]}.csv"
        heads[name] = re.search(r"<h1>(.*?)</h1>", path.read_text(encoding="utf-8"))[1]
    assert {name: row["pilot"] for name, row in rows.items()} == {
        "a/one.csv": "Ada", "b/one.csv": "", "a/two.csv": "", "b/two.csv": "",
    }  # fmt: skip
    assert rows["b/one.csv"]["duplicate_of"] == "a/one.csv"
    assert heads["a/one.csv"] == "Ada"
    assert all("Ada" not in head and "Bo" not in head for name, head in heads.items() if name != "a/one.csv")
