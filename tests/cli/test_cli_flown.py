"""`--flown`: what was named stands in every report with what it costs, and is refused where it cannot have been flown."""

import json
import re
from importlib import resources

import pytest
from command_line import CLEAN, PROCEDURE, STRONG_WIND, Outcome
from jsonschema import Draft202012Validator

import analyzer

LOG = ("debrief", str(STRONG_WIND), "--procedure", str(PROCEDURE))
VALIDATOR = Draft202012Validator(
    json.loads(resources.files("analyzer.report").joinpath("debrief.schema.json").read_text(encoding="utf-8"))
)
NAMED = (
    "by the user, as a teardrop that begins with the passage of the fix at 15:41:32. Recognition by itself takes it for 45/180."
)

COMPARED = Draft202012Validator(
    json.loads(resources.files("analyzer.report").joinpath("compare.schema.json").read_text(encoding="utf-8"))
)


def one_line(text: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", text).split())


def test_it_stands_in_every_report(here, tmp_path):
    formats = "html,json,markdown,kml,pdf"
    ran: Outcome = here(*LOG, "--flown", "15:41:32=teardrop", "--format", formats, "-o", str(tmp_path / "out"))
    assert ran.code == 0, ran.err
    assert f"Named, not recognised: {NAMED}" in one_line(ran.out)
    assert "the approach is no pass" in one_line(ran.out)
    assert "Named: teardrop, left of the outbound course" in one_line(ran.out)
    written = {path.suffix: path for path in (tmp_path / "out").iterdir()}
    for suffix in (".html", ".md", ".kml"):
        text = one_line(written[suffix].read_text(encoding="utf-8"))
        assert NAMED in text, suffix
        assert "Named, not recognised" in text
    document = json.loads(written[".json"].read_text(encoding="utf-8"))
    assert list(VALIDATOR.iter_errors(document)) == []
    (reversal,) = document["reversals"]
    assert reversal["named"] == {"passage": True, "shape": True, "recognised": "45/180", "against": [], "unlike": []}
    assert reversal["flown"] == "base-turn"
    assert reversal["flown_score_gap"] < 0.0


def test_python_gives_the_same(here):
    ran: Outcome = here(*LOG, "--flown", "15:41:32=80/260", "--json", "-")
    result = analyzer.debrief(analyzer.read_track(STRONG_WIND), analyzer.read_procedure(PROCEDURE), flown="15:41:32=80/260")
    assert json.loads(ran.out) == json.loads(json.dumps(result.to_dict()))
    (reversal,) = json.loads(ran.out)["reversals"]
    assert reversal["named"]["against"] == ["the offset turn is not flown like one"]
    assert reversal["named"]["unlike"] == ["offset_turn"]


def test_without_it_nothing_is_named(here):
    ran: Outcome = here(*LOG, "--json", "-")
    assert [reversal["named"] for reversal in json.loads(ran.out)["reversals"]] == [None]
    assert "Named" not in here(*LOG).out


def test_strict_counts_what_is_only_named_as_not_assessed(here):
    clean = ("debrief", str(CLEAN), "--procedure", str(PROCEDURE), "--strict")
    assert here(*clean).code == 0
    named: Outcome = here(*clean, "--flown", "teardrop")
    assert named.code == 3
    assert "NOT ASSESSED: the shape was named, not recognised" in one_line(named.out)


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("15:52:43=base-turn", "no turn back of 90° or more follows before the log ends"),
        ("12:00", "the log runs from 15:40:00 to 15:55:18 UTC; give a time in it"),
        ("loop", "neither a time like 15:41:30 nor a shape"),
    ],
)
def test_what_cannot_be_is_refused(here, word, said):
    ran: Outcome = here(*LOG, "--flown", word)
    assert ran.code == 2
    assert said in one_line(ran.err)
    assert ran.out == ""


BOTH = ("compare", str(CLEAN), str(STRONG_WIND), "--procedure", str(PROCEDURE))


def test_a_comparison_says_which_attempt_was_named(here, tmp_path):
    ran: Outcome = here(*BOTH, "--flown", "strong_wind.csv=15:41:32=teardrop", "-o", str(tmp_path), "--json", "both.json")
    assert ran.code == 0, ran.err
    (page,) = tmp_path.glob("*.html")
    for text in (one_line(ran.out), one_line(page.read_text(encoding="utf-8"))):
        assert f"Attempt 2: named, not recognised, {NAMED}" in text
        assert "base-turn (named, not recognised)" in text
    document = json.loads((tmp_path / "both.json").read_text(encoding="utf-8"))
    assert list(COMPARED.iter_errors(document)) == []
    first, second = document["attempts"]
    assert first["named"] is None
    assert second["named"] == {"passage": True, "shape": True, "recognised": "45/180", "against": [], "unlike": []}
    assert second["flown"] == "base-turn"


def test_a_comparison_takes_it_from_the_roster_too(here, tmp_path):
    (tmp_path / "roster.csv").write_text(
        "file,pilot,flown as\nclean,Ada,45/180\nstrong_wind,Bo,15:41:32=80/260\n", encoding="utf-8"
    )
    ran: Outcome = here(*BOTH, "--roster", str(tmp_path / "roster.csv"), "--json", "-")
    first, second = json.loads(ran.out)["attempts"]
    assert (first["flown"], first["named"]["recognised"]) == ("45/180", "45/180")
    assert (second["pilot"], second["flown"], second["named"]["recognised"]) == ("Bo", "80/260", "45/180")


def test_a_comparison_refuses_what_is_in_none_of_its_logs(here):
    ran: Outcome = here(*BOTH, "--flown", "15:41:32=teardrop")
    assert ran.code == 2
    assert "begins with none of the logs; write it like clean.csv=15:41:30=base-turn" in one_line(ran.err)
