"""Which questions are asked of the whole approach: each may be skipped, and what it leads to is then not asked."""

from typing import Any

import pytest

from analyzer.procedure.ask import answered, procedure_of, what_is_wrong
from analyzer.procedure.questions import QUESTIONS, questions

REVERSAL = {
    ("", "title"): "Quorl Bank VOR 18",
    ("fix", "name"): "QRL",
    ("fix", "kind"): "vor",
    ("fix", "latitude_deg"): "41.2",
    ("fix", "longitude_deg"): "-38.4",
    ("reversal", "kind"): "procedure-turn",
    ("reversal", "side"): "left",
    ("reversal", "outbound_course_deg"): "005",
    ("reversal", "inbound_course_deg"): "185",
    ("reversal", "within_nm"): "10",
}


def ask(said: dict[tuple[str, str], str]):
    """The answers to all questions that are asked, and which those are beyond the reversal."""
    answers: dict[tuple[str, str], Any] = {}
    beyond = []
    for question in questions(answers):
        answers[question.table, question.key] = answered(question, (REVERSAL | said).get((question.table, question.key), ""))
        if question not in QUESTIONS:
            beyond.append(f"{question.table} {question.key}")
    return answers, beyond


def test_all_of_it_may_be_skipped():
    answers, beyond = ask({})
    assert beyond == ["fixes 1 name", "minimum kind", "missed_approach altitude_ft"]
    procedure = procedure_of(answers)
    assert (procedure.fixes, procedure.minimum, procedure.missed_approach, procedure.holds) == ((), None, None, ())


def test_fixes_are_asked_for_until_there_are_no_more():
    answers, beyond = ask(
        {
            ("fixes 1", "name"): "TARRO",
            ("fixes 1", "role"): "final-approach-fix",
            ("fixes 1", "distance_nm"): "4.2",
            ("fixes 2", "name"): "KESTA",
            ("fixes 2", "role"): "step-down",
            ("fixes 2", "distance_nm"): "6",
            ("fixes 2", "minimum_ft"): "1300",
        }
    )
    assert [fix.name for fix in procedure_of(answers).fixes] == ["TARRO", "KESTA"]
    assert procedure_of(answers).fixes[1].minimum_ft == 1300.0
    assert "fixes 3 name" in beyond
    assert "fixes 3 role" not in beyond
    assert "fixes 1 latitude_deg" not in beyond  # it is placed by its distance


def test_a_fix_without_a_distance_is_placed_by_its_position():
    _, beyond = ask({("fixes 1", "name"): "MAPAR", ("fixes 1", "role"): "missed-approach-point",
                     ("fixes 1", "latitude_deg"): "41.1", ("fixes 1", "longitude_deg"): "-38.5"})  # fmt: skip
    assert {"fixes 1 latitude_deg", "fixes 1 longitude_deg"} <= set(beyond)


def test_a_minimum_descent_altitude_stands_for_the_minimum():
    """A procedure has one: `[altitudes] final_ft` is the short form of it."""
    answers, beyond = ask({("altitudes", "final_ft"): "640"})
    assert not [name for name in beyond if name.startswith("minimum")]
    assert procedure_of(answers).altitudes.final_ft == 640.0


@pytest.mark.parametrize(("point", "asked"), [("step-down", True), ("missed-approach-point", False)])
def test_the_time_to_the_missed_approach_point_is_asked_where_none_is_charted(point, asked):
    _, beyond = ask(
        {
            ("fixes 1", "name"): "TARRO",
            ("fixes 1", "role"): "final-approach-fix",
            ("fixes 1", "distance_nm"): "1",
            ("fixes 2", "name"): "MAPAR",
            ("fixes 2", "role"): point,
            ("fixes 2", "distance_nm"): "5",
            ("missed_approach", "altitude_ft"): "3000",
        }
    )
    assert ("missed_approach time_s" in beyond) == asked


def test_a_turn_leads_on_a_course_or_to_a_fix():
    missed = {("missed_approach", "altitude_ft"): "3000", ("missed_approach", "turn"): "right"}
    _, by_course = ask(missed | {("missed_approach", "course_deg"): "031"})
    assert "missed_approach to" not in by_course
    answers, direct = ask(missed | {("missed_approach", "to"): "QRL"})
    assert direct[-1] == "missed_approach to"
    assert procedure_of(answers).missed_approach.to == "QRL"


def test_a_hold_at_the_fix_needs_no_position():
    hold = {("missed_approach", "altitude_ft"): "3000", ("holds 1", "name"): "QRL", ("holds 1", "turn"): "left",
            ("holds 1", "inbound_course_deg"): "185", ("holds 1", "leg_time_s"): "60"}  # fmt: skip
    answers, beyond = ask(hold)
    assert not {"holds 1 latitude_deg", "holds 1 leg_length_nm"} & set(beyond)
    (made,) = procedure_of(answers).holds
    assert (made.name, made.role, made.leg_time_s) == ("QRL", "missed-approach", 60.0)


def test_what_contradicts_is_named_by_its_question():
    answers, _ = ask({("missed_approach", "altitude_ft"): "3000", ("missed_approach", "climb_ft"): "4000"})
    (wrong,) = what_is_wrong(answers)
    assert (wrong.table, wrong.key) == ("missed_approach", "climb_ft")
    assert what_is_wrong({**answers, ("missed_approach", "climb_ft"): 1200.0}) == ()


def test_what_contradicts_in_a_list_is_named_by_its_number():
    named = {("fixes 1", "name"): "TARRO", ("fixes 1", "role"): "step-down", ("fixes 1", "distance_nm"): "1",
             ("fixes 2", "name"): "TARRO", ("fixes 2", "role"): "step-down", ("fixes 2", "distance_nm"): "2"}  # fmt: skip
    answers, _ = ask(named)
    assert [(wrong.table, wrong.key) for wrong in what_is_wrong(answers)] == [("fixes 2", "name")]
