"""`--cleared` and `--line`: what was cleared and which minimum holds stand in every report, and nonsense is refused."""

import csv
import json
import re
from importlib import resources
from pathlib import Path

import pytest
from command_line import CLEAN, PROCEDURE, SAMPLES, STRONG_WIND
from jsonschema import Draft202012Validator

LINES = """
[[minimums]]
line = "straight-in"
category = "A-B"
kind = "mda"
altitude_ft = 640

[[minimums]]
line = "circling"
category = "A-B"
kind = "mda"
altitude_ft = 900
"""
CIRCLING = "Minimum: 900 ft, circling, category B."
CLEARED = "Cleared: vectors to the final course; assigned 3,500 ft on the arrival leg."
ASKED = ("--cleared", "vectors", "--cleared", "arrival=3500", "--line", "circling")
SAID = {"way": "vectors", "assigned_ft": {"arrival": 3500.0}}
HELD_TO = {"kind": "mda", "altitude_ft": 900.0, "line": "circling", "category": "B", "assigned": False}


@pytest.fixture
def lines(tmp_path: Path) -> str:
    """The sample's procedure with two lines of minimums."""
    path = tmp_path / "lines.toml"
    chart = PROCEDURE.read_text(encoding="utf-8").replace("final_ft = 640", "")
    path.write_text(chart + LINES, encoding="utf-8")
    return str(path)


def valid(document: dict, name: str) -> dict:
    schema = json.loads(resources.files("analyzer.report").joinpath(f"{name}.schema.json").read_text(encoding="utf-8"))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(document)] == []
    return document


def words(text: str) -> str:
    return " ".join(text.split())


def test_every_report_of_a_debrief_says_what_was_settled(here, lines, tmp_path):
    outcome = here("debrief", str(CLEAN), "-p", lines, *ASKED, "--format", "html,pdf,markdown", "--json", "out.json")
    assert outcome.code == 0, outcome.err
    page, markdown = (next((tmp_path / "reports").glob(name)).read_text(encoding="utf-8") for name in ("*.html", "*.md"))
    for text in (words(outcome.out), page, markdown):
        assert CLEARED in text
        assert CIRCLING in text
    assert next((tmp_path / "reports").glob("*.pdf")).stat().st_size > 0
    document = valid(json.loads((tmp_path / "out.json").read_text(encoding="utf-8")), "debrief")
    assert (document["cleared"], document["minimum"]) == (SAID, HELD_TO)
    findings = document["reversals"][0]["findings"]
    assert {f["limit"] for f in findings if f["check"] == "minimum_altitude"} == {900.0}
    assert [f["verdict"] for f in findings if f["check"] == "no_reversal"] == ["outside"]


def test_tables_and_maps_say_it_too(here, lines, tmp_path):
    outcome = here("debrief", str(CLEAN), "-p", lines, *ASKED, "--format", "csv,geojson,kml")
    assert outcome.code == 0, outcome.err
    reports = tmp_path / "reports"
    with (reports / "2026-06-14-0912-clean-findings.csv").open(encoding="utf-8", newline="") as file:
        settled = {(row["cleared"], row["minimum_line"]) for row in csv.DictReader(file)}
    assert settled == {("vectors to the final course; assigned 3,500 ft on the arrival leg", "circling")}
    collection = json.loads((reports / "2026-06-14-0912-clean.geojson").read_text(encoding="utf-8"))
    assert (collection["cleared"], collection["minimum"]) == (SAID, HELD_TO)
    (description,) = re.findall(
        "<description>(.*?)</description>", (reports / "2026-06-14-0912-clean.kml").read_text("utf-8"), re.S
    )[:1]
    assert {CLEARED, CIRCLING} <= set(description.splitlines())


def test_without_them_the_report_says_nothing_of_a_clearance(here, lines):
    document = valid(json.loads(here("debrief", str(CLEAN), "-p", lines, "--json", "-").out), "debrief")
    assert document["cleared"] is None
    assert document["minimum"] == {**HELD_TO, "altitude_ft": 640.0, "line": "straight-in"}
    text = here("debrief", str(CLEAN), "-p", str(PROCEDURE), "-o", "out").out
    assert "Cleared" not in text
    assert "Minimum:" not in text  # there is but one


def test_explain_names_the_assigned_altitude(here):
    asked = ("--cleared", "arrival=3500", "--explain", "altitude_floor")
    text = words(here("debrief", str(CLEAN), "-p", str(PROCEDURE), *asked).out)
    assert "below the assigned altitude of 3,500 ft" in text
    assert "source assigned, 14 CFR 91.123(a)" in text


def test_attempts_are_compared_by_the_same_clearance_and_line(here, lines, tmp_path):
    outcome = here("compare", str(CLEAN), str(STRONG_WIND), "-p", lines, *ASKED, "--json", "both.json")
    assert outcome.code == 0, outcome.err
    (page,) = ((path.read_text(encoding="utf-8")) for path in (tmp_path / "reports").glob("*.html"))
    for text in (words(outcome.out), page):
        assert CLEARED in text
        assert CIRCLING in text
    document = valid(json.loads((tmp_path / "both.json").read_text(encoding="utf-8")), "compare")
    assert (document["cleared"], document["minimum"]) == (SAID, HELD_TO)


def test_a_brief_is_for_one_line_of_minimums(here, lines):
    outcome = here("brief", lines, "--speed", "110", "--line", "circling", "--date", "2026-06-14", "-o", "card")
    assert CIRCLING in words(outcome.out)
    assert CIRCLING in next(Path("card").glob("*.html")).read_text(encoding="utf-8")
    asked = ("brief", lines, "--speed", "110", "--date", "2026-06-14", "--json", "-")
    of = {line: valid(json.loads(here(*asked, "--line", line).out), "brief") for line in ("straight-in", "circling")}
    assert {line: document["minimum"]["altitude_ft"] for line, document in of.items()} == {
        "straight-in": 640.0,
        "circling": 900.0,
    }


def test_a_class_is_graded_by_one_clearance(here, lines, tmp_path):
    folder = tmp_path / "class"
    folder.mkdir()
    (folder / CLEAN.name).write_bytes(CLEAN.read_bytes())
    command = ("grade", "class", "-p", lines, "-o", "grades", "--workers", "1")
    assert "1 inside" in here(*command).out
    outcome = here(*command, *ASKED)
    assert "graded before" not in outcome.out  # what was graded as charted does not hold
    assert "1 outside" in outcome.out
    text = words(outcome.out)
    page = (tmp_path / "grades" / "class.html").read_text(encoding="utf-8")
    assert CLEARED in text
    assert CLEARED in page
    assert "Minimums: circling." in text
    assert "Minimums: circling." in page
    assert "1 of 1 logs were graded before" in here(*command, *ASKED).out


ONE = ("debrief", str(CLEAN), "-p", str(PROCEDURE))
REFUSED = {
    "no such clearance": ((*ONE, "--cleared", "visual"), "--cleared visual", "must be straight-in, vectors, or a leg"),
    "no such leg": ((*ONE, "--cleared", "base=2000"), "--cleared base=2000", "legs are arrival"),
    "no altitude": ((*ONE, "--cleared", "inbound=FL80"), "FL80 is no altitude", "like inbound=3000"),
    "no hold": ((*ONE, "--cleared", "hold=3000"), "Wendle Island VOR 24", "for a hold in lieu"),
    "both ways": ((*ONE, "--cleared", "vectors", "--cleared", "straight-in"), "--cleared vectors", "give vectors alone"),
    "no such line": ((*ONE, "--line", "visual"), "--line visual", "must be straight-in or circling"),
    "no lines": ((*ONE, "--line", "circling"), "no [[minimums]]", "leave out --line"),
    "no lines to brief": (("brief", str(PROCEDURE), "--line", "circling"), "no [[minimums]]", "leave out --line"),
    "a class without lines": (
        ("grade", str(SAMPLES), "-p", str(PROCEDURE), "--line", "circling"), PROCEDURE.name, "leave out --line",
    ),
    "a class cleared nonsense": (
        ("grade", str(SAMPLES), "--procedures", str(SAMPLES), "--cleared", "hold=3000"), "wendle_island_rnav06.toml",
        "for a hold in lieu",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_nonsense_is_refused_with_where_and_the_remedy(here, tmp_path, name):
    arguments, where, remedy = REFUSED[name]
    error = "\n".join(here(*arguments).refused())
    assert where in error
    assert remedy in error
    assert list(tmp_path.iterdir()) == []


def test_a_class_in_feet_and_metres_has_no_altitude_in_common(here, tmp_path):
    chart = PROCEDURE.read_text(encoding="utf-8")
    (tmp_path / "feet.toml").write_text(chart, encoding="utf-8")
    metric = chart.replace("_ft", "_m").replace("[fix]", 'units = { altitude = "m" }\n[fix]', 1)
    (tmp_path / "metres.toml").write_text(metric, encoding="utf-8")
    command = ("grade", str(SAMPLES), "--procedures", ".", "--cleared", "arrival=3500")
    assert "some in metres; grade them apart" in "\n".join(here(*command).refused())
