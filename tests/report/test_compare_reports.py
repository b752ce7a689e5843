"""The comparison as text, JSON and page, for the three sample flights."""

import json
import re
from dataclasses import replace
from importlib import resources

import jsonschema
import pytest
from drawn import texts, words
from report_flights import LOGS, PROCEDURE
from test_report_page import Page

import analyzer
from analyzer.report.exports.json_text import compare_json_text
from analyzer.report.exports.write import write_comparison
from analyzer.report.pages.compare_page import compare_page
from analyzer.report.pictures.compare_pictures import compare_pictures
from analyzer.report.words.compare_text import compare_text


@pytest.fixture(scope="module")
def comparison():
    procedure = analyzer.read_procedure(PROCEDURE)
    return analyzer.compare([analyzer.debrief(analyzer.read_track(path), procedure) for path in LOGS.values()])


@pytest.fixture(scope="module")
def page(comparison):
    return compare_page(comparison)


def test_the_json_keeps_its_schema(comparison):
    schema = json.loads(resources.files("analyzer.report").joinpath("compare.schema.json").read_text(encoding="utf-8"))
    document = json.loads(compare_json_text(comparison))
    jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(document)
    assert all(len(figure["values"]) == len(document["attempts"]) == 3 for figure in document["figures"])


def test_figures_are_those_of_the_debriefs(comparison):
    document = comparison.to_dict()
    by_key = {figure["figure"]: figure["values"] for figure in document["figures"]}
    for number, attempt in enumerate(comparison.attempts):
        entry = attempt.debrief.to_dict()["reversals"][0]
        assert by_key["farthest_nm"][number] == pytest.approx(entry["farthest"]["distance_nm"], abs=6e-4)
        assert by_key["outbound_length_nm"][number] == pytest.approx(entry["figures"]["outbound_length_nm"], abs=1e-3)
        assert by_key["outside"][number] == sum(finding["verdict"] == "outside" for finding in entry["findings"])
        assert by_key["steepest_bank_deg"][number] == pytest.approx(
            max(abs(part["bank_peak_deg"]) for part in entry["parts"] if part["bank_peak_deg"] is not None), abs=0.06
        )


def test_the_text_fits_80_columns_and_names_every_figure(comparison):
    text = compare_text(comparison)
    assert max(map(len, text.splitlines())) <= 80
    for row in comparison.rows:
        assert row.figure.name in text
    for attempt in comparison.attempts:
        assert attempt.debrief.motion.track.file in text
    assert "never for navigation" in " ".join(text.split())
    assert "none can be claimed" in text


def test_the_page_is_whole_and_asks_for_nothing(page, comparison):
    parsed = Page(page)
    assert parsed.text("h1") == "Wendle Island VOR 24"
    assert len(parsed.all("svg")) == len(parsed.all("figure")) == 2
    ids = [attributes["id"] for _, attributes, _ in parsed.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    for number in (1, 2, 3):
        assert f"attempt-{number}" in ids
        drawn = [
            attributes
            for tag, attributes, _ in parsed.elements
            if tag == "g" and attributes.get("class") == f"attempt-{number}"
        ]
        assert len(drawn) >= 4  # in the plan and in most strips
    for tag, attributes, _ in parsed.elements:
        for name, value in attributes.items():
            assert not name.startswith("on")
            if name in ("href", "src", "xlink:href"):
                assert value.startswith("#"), (tag, value)
    assert not re.search(r"(?:src|href)=\"https?:", page)
    assert {th.get("scope") for th in parsed.all("th")} == {"col", "row"}


def test_names_from_files_are_text_on_the_page(comparison):
    hostile = "<script>alert(1)</script>\"'.csv"
    track = replace(analyzer.read_track(LOGS["clean.csv"]), file=hostile)
    debriefs = [analyzer.debrief(track, analyzer.read_procedure(PROCEDURE)), *(a.debrief for a in comparison.attempts[1:])]
    parsed = Page(compare_page(analyzer.compare(debriefs)))
    assert len(parsed.all("script")) == 1
    assert hostile in parsed.text("td")


def test_the_same_input_gives_the_same_bytes(comparison, page):
    again = analyzer.compare([attempt.debrief for attempt in comparison.attempts])
    assert compare_page(again) == page
    assert compare_json_text(again) == compare_json_text(comparison)


def test_pictures_number_the_attempts(comparison):
    from analyzer.report.pictures.compare_pictures import _plan, _strips
    from analyzer.report.pictures.style import look

    with look():
        plan, strips = _plan(comparison.attempts), _strips(comparison.attempts)
    assert {"1", "2", "3", "limit 10 NM", "WND"} <= set(words(plan))
    assert {"1", "2", "3", "altitude, ft", "distance, NM"} <= set(words(strips))
    farthest = [attempt.approach.figures.farthest.distance_m / 1852.0 for attempt in comparison.attempts]
    marks = [
        line.get_xydata()[0] for line in plan.axes[0].lines if len(line.get_xydata()) == 1 and line.get_markersize() == 4.5
    ]
    assert sorted(float((x**2 + y**2) ** 0.5) for x, y in marks) == pytest.approx(sorted(farthest), abs=0.01)
    assert all(text.get_text() for text in texts(plan))
    assert [picture.name for picture in compare_pictures(comparison)] == ["plan", "strips"]


def test_the_page_is_written_once_and_over_itself(comparison, tmp_path):
    path = write_comparison(comparison, tmp_path, "wendle")
    assert path.name == "wendle-attempts.html"
    assert write_comparison(comparison, tmp_path, "wendle") == path
    path.write_text("mine")
    with pytest.raises(analyzer.errors.AnalyzerError, match="is not a report"):
        write_comparison(comparison, tmp_path, "wendle")
    assert path.read_text() == "mine"
