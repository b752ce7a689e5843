"""The class page: stands by itself, holds every log, escapes what files are called, says how marks are made."""

import re
from html.parser import HTMLParser

import pytest
from class_logs import write_procedure

from analyzer.gradebook.index import Index
from analyzer.gradebook.roster import Matches, Roster
from analyzer.gradebook.rows import COLUMNS
from analyzer.gradebook.sample import Sample
from analyzer.gradebook.settings import read_settings
from analyzer.gradebook.tally import Tally
from analyzer.report.pages.class_page import class_page
from analyzer.report.words.class_text import class_text

VOID = {"meta", "link", "br", "hr", "img", "input"}


class Read(HTMLParser):
    """The page's elements and words; every element must be closed in order."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words: list[str] = []
        self.links: list[str] = []
        self._open: list[str] = []
        self.feed(page)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.links += [value for name, value in attributes if name in ("href", "src") and value]
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag):
        assert self._open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def page(mixed_graded):
    return (mixed_graded[1] / "class.html").read_text(encoding="utf-8")


def test_it_asks_for_nothing_and_runs_nothing(page):
    read = Read(page)
    assert "script" not in read.tags
    assert "default-src 'none'" in page
    assert not re.search(r"""(src|href)=["']?https?:""", page)
    assert all(not link.startswith(("http", "//", "data")) for link in read.links)
    assert 'lang="en"' in page
    assert read.tags.count("h1") == 1


def test_every_log_is_a_row(mixed, page):
    text = Read(page).text
    for path in (mixed / "logs").iterdir():
        if not path.name.startswith(".") and path.suffix != ".md":
            assert path.name in text


def test_it_says_what_was_found_and_what_is_missing(page):
    text = Read(page).text
    assert "3 approaches." in text
    assert "Also: 2 copies of another log, 1 no approach, 1 not graded, 5 not read." in text
    assert "Named in roster.csv, but without a log: lost.csv (line 5)." in text
    assert "2 rows are copies of another log and not counted above." in text
    assert "distance limit 0 of 20" in text
    assert "fails outright" in text
    assert "counts neither way" in text
    assert "Bo Wendle" in text


def test_pictures_have_words_and_no_two_names_alike(page):
    assert page.count('role="img"') >= 5
    assert 'aria-label="Mark of every approach: median' in page
    names = re.findall(r'\bid="([^"]+)"', page)
    assert len(names) == len(set(names))
    assert "nan" not in Read(page).text.lower().split()


def row(**given):
    return dict.fromkeys(column.name for column in COLUMNS) | {"status": "graded"} | given


def made(tmp_path, rows):
    tally = Tally()
    for each in rows:
        tally.add(each, {})
    settings = read_settings(write_procedure(tmp_path / "quorl.toml"))
    index = Index(len(rows), {}, Matches({}, 0, (), ()), {})
    return class_page(tally, index, settings, None), class_text(tally, index, settings, None), tally


def test_names_and_words_from_files_are_escaped(tmp_path):
    hostile = "<script>alert(1)</script>"
    rows = [
        row(
            file=hostile,
            pilot=f"{hostile} $x^2$ {k}",
            attempt=n,
            verdict="inside",
            verdict_sentence=hostile,
            mark_percent=50.0 + n,
        )
        for k in range(2)
        for n in (1, 2)
    ]
    page, _, _ = made(tmp_path, [*rows, row(file=hostile, status="not read", reason=hostile, remark=hostile)])
    read = Read(page)
    assert "script" not in read.tags
    assert hostile in read.text


def test_a_large_class_is_listed_by_its_worst(tmp_path):
    rows = [
        row(file=f"{k:05d}.csv", verdict="outside" if k % 3 else "inside", verdict_sentence="said", mark_percent=float(k % 100))
        for k in range(2100)
    ]
    page, text, tally = made(tmp_path, rows)
    assert "These are the worst 2,000 of 2,100 rows; grades.csv lists them all." in page
    assert "and 2,070 more rows; the files list all of them" in text
    worst = [listed.row for listed in tally.worst(40)]
    assert [r["mark_percent"] for r in worst] == sorted(r["mark_percent"] for r in rows if r["verdict"] == "outside")[:40]
    assert [r["file"] for r in worst][:2] == ["00100.csv", "00200.csv"]


def test_rows_without_a_grade_come_after_those_outside_and_before_the_rest(tmp_path):
    rows = [
        row(file="in", verdict="inside", mark_percent=10.0),
        row(file="un", status="not read", reason="why"),
        row(file="na", verdict="not assessed"),
        row(file="cl", verdict="too close to call", mark_percent=90.0),
        row(file="b", verdict="outside", mark_percent=80.0),
        row(file="a", verdict="outside", mark_percent=70.0),
    ]
    _, text, tally = made(tmp_path, rows)
    assert [listed.row["file"] for listed in tally.worst()] == ["a", "b", "un", "cl", "na", "in"]
    assert max(map(len, text.splitlines())) <= 80


def test_an_empty_class_says_so(tmp_path):
    page, text, _ = made(tmp_path, [])
    assert "0 approaches" in Read(page).text
    assert text.splitlines()[1] == "0 logs, 0 approaches:"


def test_a_sample_keeps_a_bounded_number_of_values_evenly():
    spread = Sample()
    for k in range(100_000):
        spread.add(float(k))
    assert spread.seen == 100_000
    assert len(spread.values) <= 20_000
    assert spread.values == [float(k) for k in range(0, 100_000, spread.step)]


def test_reasons_are_wrapped_at_the_width_of_the_terminal_and_none_is_cut(tmp_path):
    why = "5 of 20 findings: distance limit, altitude floor, minimum altitude, turn bank, speed limit, hold entry"
    tally = Tally()
    doubt = "The log begins in the turn back."
    rows = [
        row(file="one.csv", verdict="outside", verdict_sentence=why, mark_percent=40.0, mark_possible=100.0, procedure="quorl"),
        row(file="two.csv", verdict="not assessed", verdict_sentence="why", doubts=doubt, mark_possible=0.0, procedure="bank"),
    ]
    for each in rows:
        tally.add(each, {})
    write_procedure(tmp_path / "charts" / "quorl.toml")
    settings = read_settings(procedures=tmp_path / "charts")
    index = Index(2, {}, Matches({}, 0, (), ()), {})
    for width in (80, 100, 140):
        lines = class_text(tally, index, settings, None, width).splitlines()
        assert max(map(len, lines)) <= width
        assert len(lines[4]) == width  # the rule
        table = " ".join(" ".join(lines[5:]).split())
        for said in ("speed limit", "hold entry", "check first: The log begins", "quorl", "bank"):
            assert said in table
    assert len(class_text(tally, index, settings, None, 140).splitlines()) < len(
        class_text(tally, index, settings, None, 80).splitlines()
    )


def test_a_pilot_without_a_recognised_approach_is_in_every_list(tmp_path):
    rows = [
        row(
            file="a.csv",
            pilot="Ada Quorl",
            attempt=1,
            verdict="inside",
            mark_percent=100.0,
            mark_earned=10.0,
            mark_possible=10.0,
        ),
        row(
            file="b.csv", pilot="Ada Quorl", attempt=2, verdict="inside", mark_percent=90.0, mark_earned=9.0, mark_possible=10.0
        ),
        row(file="c.csv", pilot="Bo Wendle", status="no approach", reason="nothing that is known"),
    ]
    tally = Tally()
    for each in rows:
        tally.add(each, {"checks": {}, "reasons": [], "excused": []} if each["verdict"] else {})
    settings = read_settings(write_procedure(tmp_path / "quorl.toml"))
    index, roster = Index(3, {}, Matches({}, 0, (), ()), {}), Roster("roster.csv", {})
    page, text = class_page(tally, index, settings, roster), class_text(tally, index, settings, roster)
    assert "Bo Wendle" in text
    for heading in ("Names and marks", "Pilots", "Every flight"):
        assert "Bo Wendle" in page.partition(f"<h2>{heading}</h2>")[2].partition("<h2>")[0]
    assert "c.csv: no approach" in page
