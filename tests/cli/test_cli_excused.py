"""`--excused`: an excused finding stands in every report, struck through where that can be, with reason and name in words."""

import csv
import json
import re
from importlib import resources

import pytest
from command_line import PROCEDURE, STRONG_WIND
from jsonschema import Draft202012Validator
from printed import read_pdf

EXCUSED = """
[[excused]]
flight = "strong_wind.csv"
check = "distance_limit"
reason = "cleared to extend <b>outbound</b>"
by = "B. Instructor"
on = 2026-06-29

[[excused]]
flight = "strong_wind.csv"
check = "turn_bank"
part = "offset_turn"
reason = "gusts"
by = "B. Instructor"

[[excused]]
flight = "of_somebody_else.csv"
check = "turn_bank"
reason = "gusts"
by = "B. Instructor"
"""
SENTENCE = "Farthest from WND: 11.48 NM at 15:45:33, 1.48 NM beyond the limit of 10.0 NM."
WHO = "Excused by B. Instructor on 29 June 2026: cleared to extend <b>outbound</b>. It is outside, and counts neither way."
IDLE = "Excuse not used: turn bank (offset turn), excused by B. Instructor: gusts. But the finding on turn bank is inside"


@pytest.fixture
def asked(tmp_path):
    (tmp_path / "excused.toml").write_text(EXCUSED, encoding="utf-8")
    return (str(STRONG_WIND), "-p", str(PROCEDURE), "--excused", "excused.toml")


def words(text: str) -> str:
    return " ".join(text.split())


def plain(page: str) -> str:
    """What a page says, without its tags."""
    return words(re.sub(r"<[^>]*>", " ", page)).replace("&lt;", "<").replace("&gt;", ">")


def test_every_report_of_a_debrief_shows_it(here, asked, tmp_path):
    outcome = here("debrief", *asked, "--strict", "--format", "html,pdf,markdown,csv,kml", "--json", "out.json")
    assert outcome.code == 0, outcome.err  # inside, as the only finding outside is excused
    page, markdown, kml = (
        next((tmp_path / "reports").glob(f"*.{end}")).read_text(encoding="utf-8") for end in ("html", "md", "kml")
    )
    pdf = read_pdf(next((tmp_path / "reports").glob("*.pdf")).read_bytes()).text
    for text in (words(outcome.out), plain(page), pdf):
        assert SENTENCE in text
        assert WHO in text
        assert IDLE in text
        assert "1 finding is excused" in text
    assert f"<s>{SENTENCE}</s>" in page
    assert "<b>outbound" not in page
    assert f"~~{SENTENCE}~~ Excused by B. Instructor on 29 June 2026" in markdown
    assert "<name>distance limit: excused</name>" in kml
    assert "Excused by B. Instructor on 29 June 2026" in kml
    with next((tmp_path / "reports").glob("*-findings.csv")).open(encoding="utf-8", newline="") as file:
        rows = {row["check"]: row for row in csv.DictReader(file)}
    assert (rows["distance_limit"]["verdict"], rows["distance_limit"]["excused_verdict"]) == ("not assessed", "outside")


def test_the_json_has_it_by_the_schema(here, asked, tmp_path):
    assert here("debrief", *asked, "--json", "-").code == 0
    document = json.loads(here("debrief", *asked, "--json", "-").out)
    schema = json.loads(resources.files("analyzer.report").joinpath("debrief.schema.json").read_text(encoding="utf-8"))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(document)] == []
    (finding,) = [one for one in document["reversals"][0]["findings"] if one["excused"] is not None]
    reason = "cleared to extend <b>outbound</b>"
    assert finding["excused"] == {
        "by": "B. Instructor", "reason": reason, "on": "2026-06-29", "sentence": None, "verdict": "outside"
    }  # fmt: skip
    assert (finding["verdict"], finding["reason"], finding["lesson"]) == (
        "not assessed", f"excused by B. Instructor: {reason}", None
    )  # fmt: skip
    (idle,) = document["excuses_not_used"]
    assert (idle["check"], idle["part"], idle["by"]) == ("turn_bank", "offset_turn", "B. Instructor")


def test_a_comparison_counts_it_neither_way(here, asked):
    log, *others = asked
    counted = []
    for excused in (others, others[:2]):
        document = json.loads(here("compare", log, log, *excused, "--json", "-").out)
        counted.append(next(row["values"] for row in document["figures"] if row["figure"] == "outside"))
    assert counted == [[0.0, 0.0], [1.0, 1.0]]


def test_a_file_for_other_flights_is_refused(here, tmp_path):
    (tmp_path / "excused.toml").write_text(EXCUSED.replace("strong_wind.csv", "other.csv"), encoding="utf-8")
    outcome = here("debrief", str(STRONG_WIND), "-p", str(PROCEDURE), "--excused", "excused.toml")
    assert outcome.code == 2
    assert "its excuses are for other flights (other.csv, of_somebody_else.csv)" in words(outcome.err)
