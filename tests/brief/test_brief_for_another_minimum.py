"""A brief made for one minimum and a flight that is judged by another."""

import pytest
from after_final import DAY, FEW, SAMPLE
from briefed import _ASKED

from analyzer import read_track
from analyzer.brief.brief_file import read_card
from analyzer.brief.briefing import brief
from analyzer.brief.conditions import asked_for
from analyzer.library.debrief import debrief
from analyzer.procedure.charted import resolve
from analyzer.procedure.read import read_procedure
from analyzer.report.exports.json_text import brief_json_text
from analyzer.report.words.summary import summary_text

LOG = read_track(SAMPLE.parent / "missed_and_hold.csv")
LINES = """[[minimums]]
line = "straight-in"
category = "A-B"
kind = "mda"
altitude_ft = 640

[[minimums]]
line = "circling"
category = "A-B"
kind = "mda"
altitude_ft = 760

"""


@pytest.mark.parametrize(("briefed_for", "judged_by"), [("straight-in", "circling"), ("circling", "straight-in")])
def test_a_brief_for_another_line_of_minimums_is_said(tmp_path, briefed_for, judged_by):
    procedure = two_lines(tmp_path)
    card = card_for(procedure, briefed_for, tmp_path)
    result = debrief(LOG, procedure, card=card, line=judged_by)
    (caution,) = {approach.comparison.caution for approach in result.approaches}
    feet = {"straight-in": 640, "circling": 760}
    assert caution.startswith(
        f"Caution: the brief was made for the {briefed_for} MDA of {feet[briefed_for]} ft, and the flight is judged by the "
        f"{judged_by} MDA of {feet[judged_by]} ft"
    )
    assert f"Brief with --line {judged_by}" in caution
    assert "".join(caution.split()) in "".join(summary_text(result).split())  # lines are broken at hyphens too
    (document,) = {entry["against_brief"]["caution"] for entry in result.to_dict()["reversals"]}
    assert document == caution


@pytest.mark.parametrize("line", ["straight-in", "circling"])
def test_a_brief_for_the_same_line_is_not(tmp_path, line):
    procedure = two_lines(tmp_path)
    result = debrief(LOG, procedure, card=card_for(procedure, line, tmp_path), line=line)
    assert {approach.comparison.caution for approach in result.approaches} == {None}
    assert "Caution" not in summary_text(result)


def test_a_brief_for_a_lower_minimum_than_was_assigned_is_said(tmp_path):
    procedure = two_lines(tmp_path)
    result = debrief(LOG, procedure, card=card_for(procedure, "straight-in", tmp_path), cleared=["final=800"])
    (caution,) = {approach.comparison.caution for approach in result.approaches}
    assert "is judged by the straight-in MDA of 800 ft" in caution
    assert "--line" not in caution


def test_a_brief_that_does_not_say_its_minimum_is_laid_against_the_flight_as_ever(tmp_path):
    procedure = two_lines(tmp_path)
    card = card_for(procedure, "circling", tmp_path).model_copy(update={"minimum": None})
    assert {approach.comparison.caution for approach in debrief(LOG, procedure, card=card).approaches} == {None}


def two_lines(folder):
    text = SAMPLE.read_text(encoding="utf-8")
    start, end = text.index("[minimum]"), text.index("[missed_approach]")
    path = folder / "lines.toml"
    path.write_text(text[:start] + LINES + text[end:], encoding="utf-8")
    return read_procedure(path)


def card_for(procedure, line, folder):
    charted = resolve(procedure, DAY, line)
    made = brief(charted, asked_for(charted, **{**_ASKED, "true_speeds": ["100"]}), FEW)
    path = folder / "card.json"
    path.write_text(brief_json_text(made), encoding="utf-8")
    return read_card(path)
