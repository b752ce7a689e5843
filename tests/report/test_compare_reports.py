"""The comparison as text, JSON and page, for the three sample flights."""

import itertools
import json
import math
import re
from dataclasses import replace
from importlib import resources

import jsonschema
import numpy as np
import pytest
from drawn import signs, texts, words
from report_flights import LOGS, PROCEDURE
from test_report_page import Page

import analyzer
from analyzer.report.exports.json_text import compare_json_text
from analyzer.report.exports.write import write_comparison
from analyzer.report.pages.compare_page import compare_page
from analyzer.report.pictures.compare_align import align
from analyzer.report.pictures.compare_pictures import compare_pictures, compare_plan, compare_strips
from analyzer.report.pictures.drawing import Line, Marker, Words
from analyzer.report.pictures.layout import NARROW, WIDE
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
    assert len(parsed.all("svg")) / 2 == len(parsed.all("figure")) == 2  # in two layouts
    ids = [attributes["id"] for _, attributes, _ in parsed.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    for number in (1, 2, 3):
        assert f"attempt-{number}" in ids
        drawn = [
            attributes
            for tag, attributes, _ in parsed.elements
            if tag == "path" and attributes.get("class") == f"attempt-{number}"
        ]
        assert len(drawn) >= 4  # in the plan and in most strips
    for tag, attributes, _ in parsed.elements:
        for name, value in attributes.items():
            assert not name.startswith("on")
            if name in ("href", "src", "xlink:href"):
                assert value.startswith("#"), (tag, value)
    assert not re.search(r"(?:src|href)=\"https?:", page)
    assert {th.get("scope") for th in parsed.all("th")} == {"col", "row"}


def test_what_marks_the_best_is_named_as_it_is_marked(page, comparison):
    """A star in a terminal, bold on the page."""
    assert "* the best of the row" in " ".join(compare_text(comparison).split())
    assert "Bold: the best of the row" in page
    assert "* the best" not in page


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
    plan, strips = (draw(comparison.attempts, align(comparison.attempts), WIDE) for draw in (compare_plan, compare_strips))
    assert {"1", "2", "3", "limit 10 NM", "WND"} <= set(words(plan))
    assert {"1", "2", "3", "altitude, ft", "distance, NM"} <= set(words(strips))
    farthest = [attempt.approach.figures.farthest.distance_m / 1852.0 for attempt in comparison.attempts]
    marks = [(mark.x, mark.y) for mark in signs(plan, "circle") if mark.size == 4.5]
    assert sorted(float((x**2 + y**2) ** 0.5) for x, y in marks) == pytest.approx(sorted(farthest), abs=0.01)
    assert all(text.text for text in texts(plan))
    assert [picture.name for picture in compare_pictures(comparison)] == ["plan", "strips"]


def test_the_page_is_written_once_and_over_itself(comparison, tmp_path):
    path = write_comparison(comparison, tmp_path, "wendle")
    assert path.name == "wendle-attempts-2026-07-09.html"
    assert write_comparison(comparison, tmp_path, "wendle") == path
    path.write_text("mine")
    with pytest.raises(analyzer.errors.AnalyzerError, match="is not a report"):
        write_comparison(comparison, tmp_path, "wendle")
    assert path.read_text() == "mine"


def circled(panel):
    """The numbers in circles of a panel, with where they stand in points from its lower left corner."""
    frame = panel.frame
    signs = {(mark.x, mark.y) for mark in panel.marks if isinstance(mark, Marker) and mark.size > 10.0}
    return [
        (mark.text, (mark.x - frame.x[0]) / frame.x_per_point, (mark.y - frame.y[0]) / frame.y_per_point)
        for mark in panel.marks
        if isinstance(mark, Words) and (mark.x, mark.y) in signs
    ]


@pytest.mark.parametrize("layout", [WIDE, NARROW], ids=["wide", "narrow"])
def test_attempts_that_coincide_alternate_along_their_line(layout):
    """Three times the same flight: each number stands on the common line several times, and none hides another."""
    track, procedure = analyzer.read_track(LOGS["clean.csv"]), analyzer.read_procedure(PROCEDURE)
    names = ("Ada Quorl", "Bento Ashwick", "")
    attempts = analyzer.compare([analyzer.debrief(replace(track, pilot=name), procedure) for name in names]).attempts
    for drawing in (compare_plan(attempts, align(attempts), layout), compare_strips(attempts, align(attempts), layout)):
        for panel in drawing.panels:
            found = circled(panel)
            if panel.frame.quantity == "compass":
                continue
            assert {number for number, _, _ in found} == {"1", "2", "3"}, panel.frame.quantity
            for (_, x, y), (_, other_x, other_y) in itertools.combinations(found, 2):
                assert math.hypot(x - other_x, y - other_y) >= 1.5 * layout.small
    legends = [text for text in words(compare_plan(attempts, align(attempts), layout)) if "14 Jun 2026 09:12" in text]
    assert [text.partition(",")[0] for text in legends] == ["Ada Quorl", "Bento Ashwick", "clean.csv"]


def test_numbers_stand_on_their_lines_and_not_in_gaps(comparison):
    for panel in compare_strips(comparison.attempts, align(comparison.attempts), WIDE).panels:
        if panel.frame.quantity == "legend":
            continue
        curves = {mark.name: mark for mark in panel.marks if isinstance(mark, Line) and mark.name}
        for number, x, y in circled(panel):
            curve = curves[f"attempt-{number}"]
            off_x = (curve.x - panel.frame.x[0]) / panel.frame.x_per_point - x
            off_y = (curve.y - panel.frame.y[0]) / panel.frame.y_per_point - y
            assert np.nanmin(np.hypot(off_x, off_y)) < 3.0, (panel.frame.quantity, number)


def test_pilots_are_named_where_any_is_known(comparison):
    track = replace(comparison.attempts[0].debrief.motion.track, pilot="Ada Quorl")
    first = analyzer.debrief(track, analyzer.read_procedure(PROCEDURE))
    named = analyzer.compare([first, *(attempt.debrief for attempt in comparison.attempts[1:])])
    assert [attempt["pilot"] for attempt in named.to_dict()["attempts"]] == ["Ada Quorl", None, None]
    assert "Ada Quorl" in Page(compare_page(named)).text("td")
    assert re.search(r"1  14 Jun 2026 09:12  Ada Quorl  45/180  inside", compare_text(named))
    assert "pilot" not in compare_text(comparison).split("figure")[0]
    assert "pilot" not in Page(compare_page(comparison)).text("th")


@pytest.mark.parametrize("width", [40, 60, 80, 100])
def test_the_text_is_as_wide_as_the_terminal(comparison, width):
    text = compare_text(comparison, width)
    assert max(map(len, text.splitlines())) <= width
    for row in comparison.rows:
        assert row.figure.name in text
    for attempt in comparison.attempts:
        assert attempt.debrief.motion.track.file in text
