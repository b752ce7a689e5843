"""Procedure files written: they read back as the same value, whatever its names; and the questions that make one."""

import datetime as dt
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import ProcedureError
from analyzer.procedure.ask import answered, procedure_of
from analyzer.procedure.questions import QUESTIONS, Question, questions
from analyzer.procedure.schema import Procedure
from analyzer.procedure.write import procedure_toml
from analyzer.vocabulary import LEGS

names = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=40)
courses = st.floats(0.0, 360.0)
places = st.fixed_dictionaries({"latitude_deg": st.floats(-90.0, 90.0), "longitude_deg": st.floats(-180.0, 180.0)})
floors = st.fixed_dictionaries({}, optional={f"{leg}_ft": st.floats(-1500.0, 60000.0) for leg in LEGS})


levels = st.floats(-1500.0, 60000.0)
lines = st.fixed_dictionaries({"kind": st.sampled_from(["mda", "da"]), "altitude_ft": levels, "category": st.just("A-C")})


@st.composite
def procedures(draw: st.DrawFn) -> Procedure:
    out = draw(courses)
    reversals: list[dict[str, Any]] = [
        {"kind": "procedure-turn", "side": "left", "outbound_course_deg": out, "within_nm": 10.0, "within_from": draw(places)},
        {"kind": "base-turn", "turn": "right", "outbound_course_deg": out, "depicted_track": True},
        {"kind": "hold", "turn": "left", "leg_length_nm": draw(st.floats(0.5, 50.0))},
        {"kind": "none"},
    ]
    fix = {"name": draw(names), "kind": "ndb", **draw(places), "elevation_ft": draw(st.floats(-1500.0, 20000.0))}
    if draw(st.booleans()):
        fix["variation_date"] = draw(st.dates(dt.date(1990, 1, 1), dt.date(2029, 12, 31)))
    table = {**draw(st.sampled_from(reversals)), "inbound_course_deg": draw(courses)}
    beyond = {
        "runway": {
            "name": draw(names), "threshold_latitude_deg": 1.0, "threshold_longitude_deg": 2.0,
            "threshold_elevation_ft": -1500.0, "true_heading_deg": 90.0, "length_ft": draw(st.floats(500.0, 20000.0)),
        },
        "fixes": [
            {"name": name, "role": "step-down", "distance_nm": draw(st.floats(-50.0, 50.0)), "minimum_ft": draw(levels)}
            for name in draw(st.lists(names, max_size=3, unique=True))
        ],
        "minimums": draw(st.lists(lines, max_size=1)),
        "missed_approach": {"turn": "left", "course_deg": draw(courses), "altitude_ft": draw(levels)},
        "holds": [{"name": draw(names), **draw(places), "inbound_course_deg": draw(courses), "turn": "right"}],
        "arrivals": [{"name": draw(names), "course_deg": draw(courses), "reversal": draw(st.booleans())}],
        "speeds": {"final": 90.5},
        "dme": {"name": draw(names), **draw(places)},
    }  # fmt: skip
    chosen = {key: beyond[key] for key in draw(st.sets(st.sampled_from(sorted(beyond))))}
    floor = draw(floors) if "minimums" not in chosen else {}
    return Procedure.model_validate({"title": draw(names), "fix": fix, "reversal": table, "altitudes": floor, **chosen})


@given(procedures(), st.sampled_from(["One line.", "Two\nlines."]))
def test_what_is_written_reads_back_as_the_same(procedure, head):
    text = procedure_toml(procedure, head, {"title": "a remark", "reversal.kind": "another"})
    assert Procedure.model_validate(tomllib.loads(text)) == procedure
    assert text.startswith(f"# {head.splitlines()[0]}\n")


ANSWERS = {
    ("", "title"): "Quorl Bank NDB 18", ("fix", "name"): "QRL", ("fix", "kind"): "NDB", ("fix", "latitude_deg"): "41,2",
    ("fix", "longitude_deg"): "-38.4", ("reversal", "inbound_course_deg"): "005", ("reversal", "outbound_course_deg"): "185",
    ("reversal", "side"): "Left", ("reversal", "turn"): "right", ("reversal", "within_nm"): "10", ("", "category"): "b",
    ("reversal", "leg_length_nm"): "4", ("arc", "latitude_deg"): "41.2", ("arc", "longitude_deg"): "-38.4",
    ("arc", "radius_nm"): "10", ("altitudes", "outbound_ft"): "3000", ("runway", "name"): "18",
    ("runway", "threshold_latitude_deg"): "41.1", ("runway", "threshold_longitude_deg"): "-38.4",
    ("runway", "threshold_elevation_ft"): "20", ("runway", "true_heading_deg"): "170",
}  # fmt: skip


@pytest.mark.parametrize("kind", ["procedure-turn", "base-turn", "hold", "arc", "none"])
def test_the_questions_make_a_procedure_of_every_kind(kind):
    given_answers: dict[tuple[str, str], Any] = {}
    for question in questions(given_answers):
        said = (
            kind if (question.table, question.key) == ("reversal", "kind") else ANSWERS.get((question.table, question.key), "")
        )
        given_answers[question.table, question.key] = answered(question, said)
    procedure = procedure_of(given_answers)
    assert procedure.reversal.kind == kind
    assert procedure.reversal.inbound_course_deg == 5.0
    assert (procedure.category, procedure.fix.kind, procedure.fix.latitude_deg) == ("B", "ndb", 41.2)
    assert (procedure.arc is not None) == (kind == "arc")
    assert procedure.runway is not None
    assert Procedure.model_validate(tomllib.loads(procedure_toml(procedure, "x"))) == procedure


@pytest.mark.parametrize(
    ("key", "said", "accepted"),
    [
        ("latitude_deg", "91", "degrees from -90 to 90"),
        ("latitude_deg", "north", "degrees from -90 to 90"),
        ("latitude_deg", "nan", "degrees from -90 to 90"),
        ("latitude_deg", "", "degrees from -90 to 90"),
        ("kind", "dme", '"vor", "ndb", "marker" or "waypoint"'),
        ("name", "", "a line of 1 to 120 characters"),
    ],
)
def test_an_answer_that_is_none_is_told_what_is(key, said, accepted):
    question = next(q for q in QUESTIONS if (q.table, q.key) == ("fix", key))
    with pytest.raises(ProcedureError, match="accepted") as refusal:
        answered(question, said)
    assert accepted in str(refusal.value)


def test_what_may_be_left_out_is_asked_so():
    assert answered(Question("fix", "elevation_ft", "Elevation", needed=False), " ") is None
    assert "Enter to leave it out" in Question("fix", "elevation_ft", "Elevation", needed=False).prompt
    assert Question("fix", "kind", "What the fix is").prompt == "What the fix is (vor, ndb, marker or waypoint)"


def test_answers_that_make_no_procedure_are_told():
    with pytest.raises(ProcedureError, match="fix"):
        procedure_of({("", "title"): "x"})
